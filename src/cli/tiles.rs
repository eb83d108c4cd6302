//! `tiles`: the swatches of test tiles and test cylinders.

use super::exit::{self, Trouble, say};
use super::outputs::{QUALITY, hash_of, make_folder};
use super::tile_arguments::TilesOptions;
use super::{score, settings, table};
use rayon::prelude::*;
use sherdlight::ledger::SwatchNames;
use sherdlight::reading::{Reading, Record, Swatch, measure_swatches, to_json_line};
use sherdlight::report::{
    DISPLAY_SIDE, corrected_picture, jpeg, output_stems, swatch_picture, swatch_table, swatches_csv,
    write_file,
};
use sherdlight::road::{self, Measured, Settings, Stopped};
use sherdlight::surface::{GridChoice, Label, SwatchSettings, find_swatches};
use sherdlight::verdict::{join_swatches, judge_swatches};
use std::io::{self, Write};
use std::path::Path;

/// What one photograph came to: a record, and why there are no swatches in it.
struct Outcome {
    record: Record,
    trouble: Option<String>,
}

/// Which corners are wanted.
const GRID_CORNERS: &str = "Give x,y of the middles of four swatches: first and last of the first row, last and first of \
                            the last row.";

/// Runs the command. The largest piece of each photograph is the tile.
pub fn run(options: &TilesOptions) -> Result<u8, Trouble> {
    let settings = settings::settings(&options.read)?;
    let grid = match (options.grid, options.bands) {
        (Some(grid), _) => GridChoice::Grid(grid),
        (None, Some(bands)) => GridChoice::Bands(usize::from(bands)),
        (None, None) => GridChoice::Seen,
    };
    let corners = options
        .grid_corners
        .as_deref()
        .map(|text| settings::corners("--grid-corners", text, GRID_CORNERS))
        .transpose()?;
    let wanted = SwatchSettings { grid, corners };
    let names = options.names.as_deref().map(SwatchNames::read).transpose()?;
    options.out.as_deref().map_or(Ok(()), make_folder)?;
    let stems = output_stems(&options.paths, |i| hash_of(&options.paths[i]));
    let pool = settings::pool(&options.read)?;
    let one = |(path, stem): (&std::path::PathBuf, &String)| {
        read(path, stem, &settings, &wanted, names.as_ref(), options.out.as_deref())
    };
    let outcomes: Vec<Outcome> =
        pool.install(|| options.paths.par_iter().zip(&stems).map(one).collect::<Result<_, Trouble>>())?;
    outcomes.iter().filter_map(|o| o.trouble.as_ref()).for_each(|line| say(line));
    let failed = outcomes.iter().filter(|o| o.trouble.is_some()).count();
    let records: Vec<Record> = outcomes.into_iter().map(|o| o.record).collect();
    if let Some(folder) = &options.out {
        let mut lines = String::new();
        for record in &records {
            lines.push_str(&to_json_line(record)?);
            lines.push('\n');
        }
        write_file(&folder.join("records.jsonl"), lines.as_bytes())?;
        write_file(&folder.join("swatches.csv"), &swatches_csv(&records)?)?;
    }
    print(&records, options)?;
    Ok(match failed {
        0 => exit::ALL_MEASURED,
        all if all == records.len() => exit::NONE_USABLE,
        _ => exit::SOME_FAILED,
    })
}

fn read(
    path: &Path,
    stem: &str,
    settings: &Settings,
    wanted: &SwatchSettings,
    names: Option<&SwatchNames>,
    out: Option<&Path>,
) -> Result<Outcome, Trouble> {
    let told = |row, column| names.and_then(|names| names.surface(path, row, column));
    let name = |swatches: &mut [Swatch]| names.map_or(Ok(()), |names| names.apply(path, swatches));
    let (mut measured, swatches) = match measure(path, settings, wanted, &told, &name) {
        Ok(read) => read,
        Err(stopped) => {
            let trouble = Some(exit::stopped_line(&stopped));
            return Ok(Outcome { record: Record::Failed(Box::new(stopped.record)), trouble });
        }
    };
    // A measured photograph has a piece: without one it is stopped.
    let mut reading = measured.readings.swap_remove(0);
    let trouble = match swatches {
        Ok(swatches) => {
            if let Some(folder) = out {
                let file = format!("{stem}.swatches.jpg");
                let corrected = corrected_picture(&measured.image, DISPLAY_SIDE);
                let drawn = swatch_picture(&corrected, measured.photo.width(), &swatches);
                write_file(&folder.join(&file), &jpeg(&drawn, QUALITY)?)?;
                reading.outputs.insert("swatches".into(), file);
            }
            reading.swatches = Some(swatches);
            None
        }
        Err(why) => {
            reading.null_because.insert("swatches".into(), why.clone());
            let path = path.display();
            Some(format!(
                "{path}: {why}. Tell the grid with --grid or --bands, its corners with --grid-corners."
            ))
        }
    };
    Ok(Outcome { record: Record::Measured(Box::new(reading)), trouble })
}

/// A measured photograph, and the swatches of its largest piece or why there are none.
type Read = (Measured, Result<Vec<Swatch>, String>);
/// The surface laid in a row and column, where it is known.
pub type Laid<'a> = &'a dyn Fn(usize, usize) -> Option<Label>;
/// Gives swatches their names, or says why it cannot.
pub type Naming<'a> = &'a dyn Fn(&mut [Swatch]) -> Result<(), String>;

fn measure(
    path: &Path,
    settings: &Settings,
    wanted: &SwatchSettings,
    laid: Laid,
    name: Naming,
) -> Result<Read, Box<Stopped>> {
    let measured = score::measure(path, settings)?;
    let shown = path.to_string_lossy();
    let found = find_swatches(&measured.image, &measured.map, 1, wanted).map_err(|error| error.to_string());
    let swatches = found.and_then(|grid| {
        let mut swatches = measure_swatches(road::sources(&shown, &measured), 0, &grid, laid);
        name(&mut swatches)?;
        let warnings = measured.readings.first().map_or(&[][..], |reading| &reading.warnings);
        judge_swatches(&mut swatches, warnings, &settings.targets, settings.rule);
        Ok(swatches)
    });
    Ok((measured, swatches))
}

/// The largest piece in a photograph with its swatches, or one sentence on why there are none.
pub fn read_tile(
    path: &Path,
    settings: &Settings,
    wanted: &SwatchSettings,
    laid: Laid,
    name: Naming,
) -> Result<Box<Reading>, String> {
    let read = measure(path, settings, wanted, laid, name);
    let (mut measured, swatches) =
        read.map_err(|stopped| format!("{} {}", stopped.fault, stopped.fault.hint()))?;
    let swatches = Some(swatches?);
    Ok(Box::new(Reading { swatches, ..measured.readings.swap_remove(0) }))
}

fn print(records: &[Record], options: &TilesOptions) -> Result<(), Trouble> {
    let mut out = io::stdout().lock();
    let readings: Vec<&Reading> =
        records.iter().filter_map(Record::reading).filter(|r| r.swatches.is_some()).collect();
    if options.read.json {
        for record in records {
            writeln!(out, "{}", to_json_line(record)?)?;
        }
        return Ok(out.flush()?);
    }
    for reading in &readings {
        writeln!(out, "{}", reading.photo.path)?;
        write!(out, "{}", table::align(&swatch_table(reading), &[0, 4, 5, 6, 7, 8, 9]))?;
        for line in alike(reading) {
            writeln!(out, "{line}")?;
        }
        writeln!(out)?;
    }
    if options.names.is_some() && readings.len() > 1 {
        let joined = join_swatches(&readings);
        writeln!(out, "All photographs, joined by name")?;
        let mut rows = vec![["swatch", "seen in", "L*", "a*", "b*", ""].map(str::to_owned).to_vec()];
        rows.extend(joined.iter().map(|j| {
            let value = |c: usize| format!("{:.1} ± {:.1}", j.lab[c], j.u95[c]);
            let apart = if j.views_agree { "" } else { "its views differ by more than their intervals" };
            vec![j.id.clone(), j.views.to_string(), value(0), value(1), value(2), apart.to_owned()]
        }));
        write!(out, "{}", table::align(&rows, &[1, 2, 3, 4]))?;
    }
    Ok(out.flush()?)
}

/// What cannot be told apart, each pair once, and how that was decided.
fn alike(reading: &Reading) -> Vec<String> {
    /// More names than this are counted.
    const TOLD: usize = 5;
    let mut swatches: Vec<_> = reading.swatches.iter().flatten().filter(|s| s.rank.is_some()).collect();
    swatches.sort_by_key(|s| s.rank);
    let mut lines = Vec::new();
    for (i, swatch) in swatches.iter().enumerate() {
        let later = swatches[i + 1..].iter().filter(|s| s.like.contains(&swatch.id));
        let names: Vec<&str> = later.map(|s| s.id.as_str()).collect();
        let told = names[..names.len().min(TOLD)].join(", ");
        match names.len().saturating_sub(TOLD) {
            _ if names.is_empty() => {}
            0 => lines.push(format!("{} cannot be told from {told}.", swatch.id)),
            more => lines.push(format!("{} cannot be told from {told} and {more} more.", swatch.id)),
        }
    }
    if lines.is_empty() && swatches.len() > 1 {
        lines.push("Every swatch differs from every other.".into());
    } else {
        lines.push("All other pairs differ.".into());
    }
    lines.push(
        "A false difference anywhere on a tile has a chance of 5 % at most (every pair, Holm 1979).".into(),
    );
    lines
}
