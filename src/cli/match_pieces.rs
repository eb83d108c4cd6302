//! `match`: a replica against photographs of its reference.

use super::arguments::MatchOptions;
use super::exit::{self, Trouble, say, say_stopped};
use super::outputs::Wanted;
use super::score::measure_one;
use super::{settings, table};
use rayon::prelude::*;
use sherdlight::reading::{Comparison, Difference, Reading, Record, to_json_line};
use sherdlight::verdict::compare;
use std::io::{self, Write};

/// Runs the command. The largest piece of each photograph is compared.
pub fn run(options: &MatchOptions) -> Result<u8, Trouble> {
    let settings = settings::settings(&options.read)?;
    let pool = settings::pool(&options.read)?;
    let paths: Vec<_> = std::iter::once(&options.replica).chain(&options.reference).collect();
    let mut outcomes: Vec<_> = pool.install(|| {
        paths.par_iter().map(|path| measure_one(path, "", &settings, None, &Wanted::nothing())).collect()
    });
    outcomes.iter().filter_map(|o| o.stopped.as_ref()).for_each(say_stopped);
    let failed = outcomes.iter().filter(|o| o.stopped.is_some()).count();
    let references: Vec<Record> =
        outcomes.split_off(1).into_iter().flat_map(|o| o.records.into_iter().take(1)).collect();
    let mut replica = outcomes.remove(0).records.remove(0);
    let shots: Vec<&Reading> = references.iter().filter_map(Record::reading).collect();
    if let Record::Measured(reading) = &mut replica
        && !shots.is_empty()
    {
        let differences = compare(reading, &shots);
        let references = shots.iter().map(|r| r.photo.path.clone()).collect();
        reading.comparison = Some(Comparison { references, differences });
    }
    let mut out = io::stdout().lock();
    if options.read.json {
        for record in std::iter::once(&replica).chain(&references) {
            writeln!(out, "{}", to_json_line(record)?)?;
        }
    } else if let Some(comparison) = replica.reading().and_then(|r| r.comparison.as_ref()) {
        write!(out, "{}", difference_table(&comparison.differences))?;
    }
    out.flush()?;
    if replica.reading().is_none_or(|r| r.comparison.is_none()) {
        say("Nothing was compared: the replica and at least one reference shot must be measured.");
        return Ok(exit::NONE_USABLE);
    }
    Ok(if failed > 0 { exit::SOME_FAILED } else { exit::ALL_MEASURED })
}

fn difference_table(differences: &[Difference]) -> String {
    let titles = [
        "surface",
        "CIEDE2000",
        "",
        "lightness",
        "chroma",
        "hue",
        "colour only",
        "delta L*",
        "delta C*",
        "delta h",
        "",
    ];
    let mut rows = vec![titles.map(str::to_owned).to_vec()];
    rows.extend(differences.iter().map(|d| {
        let [l, c, h] = d.delta_lch;
        let [part_l, part_c, part_h] = d.parts;
        vec![
            d.surface.clone(),
            format!("{:.1}", d.de00),
            format!("±{:.1}", d.u95),
            format!("{part_l:+.1}"),
            format!("{part_c:+.1}"),
            format!("{part_h:+.1}"),
            format!("{:.1}", d.colour_only_de00),
            format!("{l:+.1}"),
            format!("{c:+.1}"),
            format!("{h:+.0}°"),
            if d.differs { "differs".into() } else { "not told apart".into() },
        ]
    }));
    table::align(&rows, &[1, 2, 3, 4, 5, 6, 7, 8, 9])
}
