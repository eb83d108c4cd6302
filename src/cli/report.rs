//! `report`: the page of a load that was read before, from the ledger or from files of records.

use super::again::Photographs;
use super::arguments::ReportOptions;
use super::exit::{self, Trouble, say};
use super::{ledger_file, page, progress, score, settings};
use rayon::prelude::*;
use sherdlight::ledger::{Choice, FIRINGS, Ledger, Named, read_records};
use sherdlight::reading::{Record, changes};
use sherdlight::report::PagePictures;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Runs the command.
pub fn run(options: &ReportOptions) -> Result<u8, Trouble> {
    page::check_place(&options.out)?;
    options.context.as_deref().map_or(Ok(()), page::check_context)?;
    let (mut records, ledger) = records(options)?;
    score::join_views(&mut records);
    let photographs = Photographs::below(&options.photos)?;
    let pool = settings::threads(options.pace.threads)?;
    let pictures = pool.install(|| pictures(&records, &photographs, options.pace.quiet));
    let load = page::Load {
        records: &records,
        pictures: &pictures.by_record,
        ledger: ledger.as_ref(),
        misfits: &pictures.misfits,
        firing: options.firing.as_deref(),
        title: options.title.as_deref(),
    };
    page::write(&load, &options.out, options.context.as_deref())?;
    if !options.pace.quiet {
        pictures.say();
        page::say_written(&options.out);
    }
    Ok(exit::ALL_MEASURED)
}

/// The records that are wanted, and the ledger where they come from it.
fn records(options: &ReportOptions) -> Result<(Vec<Record>, Option<Ledger>), Trouble> {
    let choice = match (&options.firing, &options.since) {
        (Some(firing), _) => Choice::Firing(firing),
        (None, Some(day)) => Choice::Since(day),
        (None, None) if options.records.is_empty() => {
            return Err(Trouble::usage(
                "nothing is named that the report is to be made from",
                "Say --firing NAME, --since 2026-05-03, or name files of records.",
            ));
        }
        (None, None) => {
            let mut records = Vec::new();
            for path in &options.records {
                records.extend(read_records(path)?);
            }
            if records.is_empty() {
                let sentence = "these files hold no records".into();
                let hint = "'score --out DIR' writes them.".into();
                return Err(Trouble::NoneUsable { sentence, hint });
            }
            return Ok((records, None));
        }
    };
    let ledger = ledger_file::look(&options.place)?;
    if let Choice::Firing(name) = choice {
        // A name that is misspelt is told with those that are near.
        ledger.entry(&FIRINGS, &Named::new(name))?;
    }
    if let Choice::Since(_) = choice {
        match ledger.undated()? {
            0 => {}
            1 => say("1 photograph is left out: neither it nor its firing carries a date."),
            count => say(&format!(
                "{count} photographs are left out: neither they nor their firings carry a date."
            )),
        }
    }
    Ok((ledger.records_of_choice(choice)?, Some(ledger)))
}

/// Pictures made again, and what became of the others.
#[derive(Default)]
struct Pictures {
    by_record: Vec<Option<Arc<PagePictures>>>,
    /// Photographs that were not found.
    missing: usize,
    /// Records that their photographs no longer give, and the names of these.
    misfits: BTreeSet<usize>,
    otherwise: Vec<String>,
    /// Why others have no picture.
    reasons: Vec<String>,
}

impl Pictures {
    fn say(&self) {
        if self.missing > 0 {
            let count = self.missing;
            let are = if count == 1 { "photograph was" } else { "photographs were" };
            say(&format!("{count} {are} not found: no picture. Say --photos DIR where they lie."));
        }
        self.reasons.iter().for_each(|reason| say(reason));
        if !self.otherwise.is_empty() {
            say(&format!(
                "Measured again these come out otherwise than the records tell, so the map may not fit the numbers: {}.",
                self.otherwise.join(", ")
            ));
        }
    }
}

/// What one photograph gave.
enum Made {
    Pictures(PagePictures, bool),
    Missing,
    None(String),
}

fn pictures(records: &[Record], photographs: &Photographs, quiet: bool) -> Pictures {
    // Records of one photograph, read with one set of settings, share their pictures.
    let mut groups: BTreeMap<(&str, Option<&str>), Vec<usize>> = BTreeMap::new();
    for (at, record) in records.iter().enumerate() {
        if let Some(reading) = record.reading() {
            let key = (reading.made_by.settings_sha256.as_str(), reading.photo.sha256.as_deref());
            groups.entry(key).or_default().push(at);
        }
    }
    let groups: Vec<Vec<usize>> = groups.into_values().collect();
    let bar = progress::counting(groups.len(), quiet);
    let made: Vec<Made> = groups
        .par_iter()
        .map(|group| {
            let made = one(&group.iter().map(|at| &records[*at]).collect::<Vec<_>>(), photographs);
            bar.inc(1);
            made
        })
        .collect();
    bar.finish_and_clear();
    let mut all = Pictures { by_record: vec![None; records.len()], ..Pictures::default() };
    for (group, made) in groups.iter().zip(made) {
        let name = &records[group[0]].photo().path;
        match made {
            Made::Missing => all.missing += 1,
            Made::None(reason) => all.reasons.push(format!("{name}: no picture, {reason}.")),
            Made::Pictures(pictures, same) => {
                let shared = Arc::new(pictures);
                group.iter().for_each(|at| all.by_record[*at] = Some(Arc::clone(&shared)));
                if !same {
                    all.misfits.extend(group);
                    all.otherwise.push(name.clone());
                }
            }
        }
    }
    all
}

/// The pictures of a photograph, from one or more records of it.
fn one(records: &[&Record], photographs: &Photographs) -> Made {
    let photo = records[0].photo();
    let Some(file) = photo.sha256.as_deref().and_then(|hash| photographs.find(&photo.path, hash)) else {
        return Made::Missing;
    };
    let settings = match photographs.settings(records[0]) {
        Ok(settings) => settings,
        Err(reason) => return Made::None(reason),
    };
    match score::measure(&file, &settings) {
        Ok(measured) => {
            let same = records.iter().all(|record| {
                let number = record.reading().map_or(1, |reading| reading.piece.number);
                let again = measured.readings.iter().find(|reading| reading.piece.number == number);
                again.is_some_and(|reading| {
                    changes(record, &Record::Measured(Box::new(reading.clone()))).is_empty()
                })
            });
            match PagePictures::new(&measured.image, &measured.map, measured.photo.width()) {
                Ok(pictures) => Made::Pictures(pictures, same),
                Err(error) => Made::None(error.to_string()),
            }
        }
        Err(stopped) => Made::None(stopped.fault.to_string()),
    }
}
