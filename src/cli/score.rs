//! `score`: measure, grade, show.

use super::arguments::ScoreOptions;
use super::exit::{self, Trouble, say, say_stopped};
use super::inputs::{Inputs, gather};
use super::outputs::{self, Wanted};
use super::sheet::Sheet;
use super::{progress, settings, table};
use rayon::prelude::*;
use sherdlight::reading::{Grade, Reading, Record, to_json_line};
use sherdlight::report::{PagePictures, output_stems};
use sherdlight::road::{self, Measured, Settings, Stopped};
use sherdlight::verdict::join;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};

/// What one photograph came to.
pub struct Outcome {
    /// A record a piece, or the one that says why there is none.
    pub records: Vec<Record>,
    /// Pictures for the page, one a record, where a page is wanted.
    pub pictures: Vec<PagePictures>,
    /// A file that could not be written; the records stand all the same.
    pub unwritten: Option<String>,
    /// Why it was not measured, as said to people.
    pub stopped: Option<Stopped>,
}

/// Runs the command.
pub fn run(options: &ScoreOptions) -> Result<u8, Trouble> {
    let settings = settings::settings(&options.read)?;
    let sheet = options.sheet.as_deref().map(Sheet::read).transpose()?;
    let inputs = gather(&options.paths)?;
    say_left_aside(&inputs, sheet.as_ref(), options);
    if inputs.photographs.is_empty() {
        return Err(Trouble::NoneUsable {
            sentence: "No photographs were found".into(),
            hint: "Name JPEG, PNG or TIFF files, or a folder that holds some.".into(),
        });
    }
    let wanted = Wanted::prepare(options)?;
    let pool = settings::pool(&options.read)?;
    let mut outcomes =
        pool.install(|| measure_all(&inputs.photographs, &settings, sheet.as_ref(), &wanted, options));
    let (mut records, mut pictures) = (Vec::new(), Vec::new());
    for outcome in &mut outcomes {
        let mut shown = std::mem::take(&mut outcome.pictures).into_iter();
        pictures.extend(outcome.records.iter().map(|_| shown.next()));
        records.append(&mut outcome.records);
    }
    join_views(&mut records);
    wanted.write_load(&records, &pictures)?;
    print(&records, options)?;
    finish(&outcomes, &records, inputs.photographs.len(), options)
}

/// Gives each record the views of its piece where the sheet names it in several photographs.
fn join_views(records: &mut [Record]) {
    let measured: Vec<&Reading> = records.iter().filter_map(Record::reading).collect();
    let mut views = join(&measured);
    let readings = records.iter_mut().filter_map(|record| match record {
        Record::Measured(reading) => Some(reading),
        Record::Failed(_) => None,
    });
    for (at, reading) in readings.enumerate() {
        reading.views = views.remove(&at);
    }
}

fn say_left_aside(inputs: &Inputs, sheet: Option<&Sheet>, options: &ScoreOptions) {
    for folder in &inputs.empty_folders {
        say(&format!(
            "{}: no photographs in this folder. Put JPEG, PNG or TIFF files there.",
            folder.display()
        ));
    }
    if options.read.quiet {
        return;
    }
    if !inputs.left_aside.is_empty() {
        let names: Vec<String> = inputs
            .left_aside
            .iter()
            .map(|p| p.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned()))
            .collect();
        say(&format!("Left aside, no pictures: {}", names.join(", ")));
    }
    for file in sheet.map(|s| s.unmatched(&inputs.photographs)).unwrap_or_default() {
        say(&format!("The sheet names '{file}', which is none of the photographs."));
    }
}

fn measure_all(
    paths: &[PathBuf],
    settings: &Settings,
    sheet: Option<&Sheet>,
    wanted: &Wanted,
    options: &ScoreOptions,
) -> Vec<Outcome> {
    let stems = output_stems(paths, |i| outputs::hash_of(&paths[i]));
    let bar = progress::counting(paths.len(), options.read.quiet);
    let one = |index: usize| {
        let outcome = measure_one(&paths[index], &stems[index], settings, sheet, wanted);
        bar.suspend(|| outcome.stopped.iter().for_each(say_stopped));
        bar.inc(1);
        outcome
    };
    // With --fail-fast one after the other, so that the same photographs are measured every time.
    let outcomes = if options.fail_fast {
        let mut done = Vec::new();
        for index in 0..paths.len() {
            done.push(one(index));
            if done.last().is_some_and(|o| o.stopped.is_some()) {
                break;
            }
        }
        done
    } else {
        (0..paths.len()).into_par_iter().map(one).collect()
    };
    bar.finish_and_clear();
    outcomes
}

/// Measures one photograph and writes its files. Whatever happens, the load goes on.
pub fn measure_one(
    path: &Path,
    stem: &str,
    settings: &Settings,
    sheet: Option<&Sheet>,
    wanted: &Wanted,
) -> Outcome {
    match measure(path, settings) {
        Ok(mut measured) => {
            let row = sheet.and_then(|s| s.row(path));
            measured.readings.iter_mut().for_each(|r| r.sheet = row.cloned());
            wanted.write_photograph(stem, measured)
        }
        Err(mut stopped) => {
            let unwritten = wanted.write_search(stem, &mut stopped).err().map(|error| error.to_string());
            Outcome { unwritten, ..Outcome::of_stopped(*stopped) }
        }
    }
}

/// Measures one photograph; a panic is one more reason to stop.
pub fn measure(path: &Path, settings: &Settings) -> Result<Measured, Box<Stopped>> {
    catch_unwind(AssertUnwindSafe(|| road::measure(path, settings))).unwrap_or_else(|panic| {
        Err(Stopped::ours(&path.to_string_lossy(), &settings.made_by(), exit::panic_words(&*panic)))
    })
}

impl Outcome {
    fn of_stopped(stopped: Stopped) -> Self {
        let records = vec![Record::Failed(Box::new(stopped.record.clone()))];
        Self { records, pictures: Vec::new(), unwritten: None, stopped: Some(stopped) }
    }
}

fn print(records: &[Record], options: &ScoreOptions) -> Result<(), Trouble> {
    let mut out = io::stdout().lock();
    if options.read.json {
        for record in records {
            writeln!(out, "{}", to_json_line(record)?)?;
        }
    } else {
        write!(out, "{}", table::load(records))?;
    }
    Ok(out.flush()?)
}

fn finish(
    outcomes: &[Outcome],
    records: &[Record],
    asked: usize,
    options: &ScoreOptions,
) -> Result<u8, Trouble> {
    let failed = outcomes.iter().filter(|o| o.stopped.is_some()).count();
    for unwritten in outcomes.iter().filter_map(|o| o.unwritten.as_ref()) {
        say(&format!("{unwritten}."));
    }
    if !options.read.quiet {
        let untouched = match asked - outcomes.len() {
            0 => String::new(),
            n => format!(", {n} not begun"),
        };
        say(&format!("{} photographs measured, {failed} not{untouched}.", outcomes.len() - failed));
    }
    if outcomes.iter().any(|o| o.unwritten.is_some()) {
        return Ok(exit::SETTINGS);
    }
    if failed == outcomes.len() {
        return Ok(exit::NONE_USABLE);
    }
    if failed > 0 {
        return Ok(exit::SOME_FAILED);
    }
    let limit = options.fail_under.as_deref().and_then(Grade::from_name);
    let readings: Vec<&Reading> = records.iter().filter_map(|r| r.reading()).collect();
    let below = limit.is_some_and(|limit| {
        readings.iter().any(|r| r.views.as_ref().map_or(r.grade, |views| views.grade) < limit)
    });
    Ok(if below { exit::GRADE_BELOW } else { exit::ALL_MEASURED })
}
