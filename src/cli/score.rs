//! `score`: measure, grade, show, keep.

use super::arguments::ScoreOptions;
use super::exit::{self, Trouble, say};
use super::inputs::{Inputs, gather};
use super::keeper::{Keeper, written};
use super::outputs::{self, Wanted};
use super::said::Said;
use super::{ledger_file, page, progress, settings, table};
use rayon::prelude::*;
use sherdlight::ledger::Shot;
use sherdlight::reading::{Grade, Reading, Record, SheetRow, UNMATCHED, to_json_line};
use sherdlight::report::{PagePictures, output_stems};
use sherdlight::road::{self, Before, Measured, Settings, Stopped};
use sherdlight::verdict::join;
use std::collections::BTreeSet;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What one photograph came to.
#[derive(Default)]
pub struct Outcome {
    /// A record a piece, or the one that says why there is none.
    pub records: Vec<Record>,
    /// Pictures of the photograph for the page, where a page is wanted.
    pub pictures: Option<Arc<PagePictures>>,
    /// A file that could not be written; the records stand all the same.
    pub unwritten: Option<String>,
    /// Why it was not measured, as said to people.
    pub stopped: Option<String>,
}

/// A load of photographs under way.
struct Load<'a> {
    paths: &'a [PathBuf],
    settings: &'a Settings,
    settings_sha256: String,
    said: &'a Said,
    wanted: &'a Wanted,
    keeper: Option<&'a Keeper>,
    options: &'a ScoreOptions,
}

/// Runs the command.
pub fn run(options: &ScoreOptions) -> Result<u8, Trouble> {
    let mut settings = settings::settings(&options.read)?;
    let inputs = gather(&options.paths)?;
    say_left_aside(&inputs, options);
    if inputs.photographs.is_empty() {
        return Err(Trouble::NoneUsable {
            sentence: "No photographs were found".into(),
            hint: "Name JPEG, PNG or TIFF files, or a folder that holds some.".into(),
        });
    }
    let pool = settings::pool(&options.read)?;
    if let Some(path) = &options.before {
        settings.before = Some(pool.install(|| before_shot(path, &inputs.photographs, &settings))?);
    }
    let wanted = Wanted::prepare(options)?;
    let said = Said::read(options, &inputs.photographs)?;
    let keeper = Keeper::open(options)?;
    if let (Some(keeper), Some(sheet)) = (&keeper, &said.sheet) {
        keeper.keep_pieces(sheet, options.firing.as_deref());
    }
    let load = Load {
        paths: &inputs.photographs,
        settings: &settings,
        settings_sha256: settings.sha256(),
        said: &said,
        wanted: &wanted,
        keeper: keeper.as_ref(),
        options,
    };
    let mut outcomes = pool.install(|| load.measure());
    let (mut records, mut pictures) = (Vec::new(), Vec::new());
    for outcome in &mut outcomes {
        pictures.extend(outcome.records.iter().map(|_| outcome.pictures.clone()));
        records.append(&mut outcome.records);
    }
    join_views(&mut records);
    if let Some(keeper) = &keeper {
        keeper.end(options.read.quiet);
    }
    // Only now: the page shows what the ledger knows, this load with it.
    let ledger = keeper.is_some().then(|| ledger_file::look(&options.place)).transpose()?;
    let load = page::Load {
        records: &records,
        pictures: &pictures,
        ledger: ledger.as_ref(),
        misfits: &BTreeSet::new(),
        firing: options.firing.as_deref(),
        title: None,
    };
    wanted.write_load(&load)?;
    print(&records, options)?;
    let code = finish(&outcomes, &records, inputs.photographs.len(), options)?;
    match keeper.and_then(|keeper| keeper.trouble()) {
        Some(error) => Err(error.into()),
        None => Ok(code),
    }
}

/// Reads the photograph before the fire.
fn before_shot(path: &Path, fired: &[PathBuf], settings: &Settings) -> Result<Arc<Before>, Trouble> {
    let [fired] = fired else {
        return Err(Trouble::usage(
            format!("--before goes with one photograph of the fired piece, and there are {}", fired.len()),
            "Run it once for each fired piece with its own photograph before the fire.",
        ));
    };
    let unusable = |why: &str, hint: &str| {
        let name = path.display();
        Trouble::settings(format!("the photograph before the fire '{name}' cannot be used: {why}"), hint)
    };
    if outputs::hash_of(path).is_some_and(|hash| outputs::hash_of(fired) == Some(hash)) {
        return Err(unusable(
            "it is the photograph of the fired piece",
            "Name the one taken before the fire.",
        ));
    }
    caught(path, settings, || Before::read(path, settings))
        .map(Arc::new)
        .map_err(|stopped| unusable(&stopped.fault.to_string(), &stopped.fault.hint()))
}

/// Gives each record the views of its piece where the sheet names it in several photographs.
pub fn join_views(records: &mut [Record]) {
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

fn say_left_aside(inputs: &Inputs, options: &ScoreOptions) {
    for folder in &inputs.empty_folders {
        say(&format!(
            "{}: no photographs in this folder. Put JPEG, PNG or TIFF files there.",
            folder.display()
        ));
    }
    if options.read.quiet || inputs.left_aside.is_empty() {
        return;
    }
    let names: Vec<String> = inputs
        .left_aside
        .iter()
        .map(|p| p.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned()))
        .collect();
    say(&format!("Left aside, no pictures: {}", names.join(", ")));
}

impl Load<'_> {
    fn measure(&self) -> Vec<Outcome> {
        let stems = output_stems(self.paths, |i| outputs::hash_of(&self.paths[i]));
        let bar = progress::counting(self.paths.len(), self.options.read.quiet);
        let one = |index: usize| {
            // Where nothing can be kept any more, nothing more is begun: the same command goes on from here.
            if self.keeper.is_some_and(|keeper| keeper.trouble().is_some()) {
                return None;
            }
            let outcome = self.measure_one(&self.paths[index], &stems[index]);
            bar.suspend(|| outcome.stopped.iter().for_each(|line| say(line)));
            bar.inc(1);
            Some(outcome)
        };
        // With --fail-fast one after the other, so that the same photographs are measured every time.
        let outcomes = if self.options.fail_fast {
            let mut done: Vec<Outcome> = Vec::new();
            for outcome in (0..self.paths.len()).map_while(one) {
                let stopped = outcome.stopped.is_some();
                done.push(outcome);
                if stopped {
                    break;
                }
            }
            done
        } else {
            (0..self.paths.len()).into_par_iter().filter_map(one).collect()
        };
        bar.finish_and_clear();
        outcomes
    }

    /// Measures one photograph, writes its files and keeps its readings; or takes them from the ledger.
    fn measure_one(&self, path: &Path, stem: &str) -> Outcome {
        let row = self.said.row(path);
        let Some(keeper) = self.keeper else {
            return measure_one(path, stem, self.settings, row.as_ref(), self.wanted);
        };
        // A file that cannot be read has no hash to be kept under; it is said like any other bad file.
        let Some(sha256) = outputs::hash_of(path) else {
            return measure_one(path, stem, self.settings, row.as_ref(), self.wanted);
        };
        let settings_sha256 = &self.settings_sha256;
        let shot = Shot { sha256: &sha256, path, settings_sha256, sheet: row.as_ref() };
        if let Some(mut known) = keeper.known(shot) {
            let whole = self.wanted.all_there(&mut known.records);
            keeper.keep_known(shot, &known, !whole);
            if whole {
                return Outcome::of_known(known.records);
            }
            let outcome = measure_one(path, stem, self.settings, row.as_ref(), self.wanted);
            return Outcome { records: written(outcome.records), ..outcome };
        }
        let outcome = measure_one(path, stem, self.settings, row.as_ref(), self.wanted);
        Outcome { records: keeper.keep(shot, outcome.records), ..outcome }
    }
}

/// Measures one photograph and writes its files. Whatever happens, the load goes on.
pub fn measure_one(
    path: &Path,
    stem: &str,
    settings: &Settings,
    row: Option<&SheetRow>,
    wanted: &Wanted,
) -> Outcome {
    match measure(path, settings) {
        Ok(mut measured) => {
            measured.readings.iter_mut().for_each(|r| r.sheet = row.cloned());
            wanted.write_photograph(stem, measured)
        }
        Err(mut stopped) => {
            let unwritten = wanted.write_search(stem, &mut stopped).err().map(|error| error.to_string());
            let records = vec![Record::Failed(Box::new(stopped.record.clone()))];
            Outcome { records, unwritten, stopped: Some(exit::stopped_line(&stopped)), ..Outcome::default() }
        }
    }
}

/// Measures one photograph; a panic is one more reason to stop.
pub fn measure(path: &Path, settings: &Settings) -> Result<Measured, Box<Stopped>> {
    caught(path, settings, || road::measure(path, settings))
}

fn caught<T>(
    path: &Path,
    settings: &Settings,
    read: impl FnOnce() -> Result<T, Box<Stopped>>,
) -> Result<T, Box<Stopped>> {
    catch_unwind(AssertUnwindSafe(read)).unwrap_or_else(|panic| {
        Err(Stopped::ours(&path.to_string_lossy(), &settings.made_by(), exit::panic_words(&*panic)))
    })
}

impl Outcome {
    /// What was read before.
    fn of_known(records: Vec<Record>) -> Self {
        let stopped = records.iter().find_map(|record| match record {
            Record::Failed(failure) => Some(format!("{}: {}", failure.photo.path, failure.error.text)),
            Record::Measured(_) => None,
        });
        Self { records, stopped, ..Self::default() }
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
        for reading in records.iter().filter_map(Record::reading) {
            write!(out, "{}", table::survival(reading))?;
        }
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
    // A photograph of another piece was told to be that of this one.
    let unmatched =
        |record: &Record| record.reading().is_some_and(|r| r.null_because.contains_key("survival"));
    if options.before.is_some() && records.iter().all(unmatched) {
        let warned = records.iter().filter_map(Record::reading).flat_map(|r| &r.warnings);
        warned.filter(|w| UNMATCHED.contains(&w.code.as_str())).for_each(|w| say(&w.text));
        return Ok(exit::SOME_FAILED);
    }
    let limit = options.fail_under.as_deref().and_then(Grade::from_name);
    let readings: Vec<&Reading> = records.iter().filter_map(|r| r.reading()).collect();
    let below = limit.is_some_and(|limit| {
        readings.iter().any(|r| r.views.as_ref().map_or(r.grade, |views| views.grade) < limit)
    });
    Ok(if below { exit::GRADE_BELOW } else { exit::ALL_MEASURED })
}
