//! What `score` and `trial read` keep in the ledger: every photograph as it ends, and which need not be read again.

use super::arguments::ScoreOptions;
use super::exit::{Trouble, say};
use super::ledger_file;
use sherdlight::ledger::{Keeping, Kept, Known, Ledger, LedgerError, Sheet, Shot};
use sherdlight::reading::{Record, from_json_line, to_json_line};
use std::collections::BTreeSet;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The ledger of a run, shared by all that measure.
pub struct Keeper {
    inner: Mutex<Inner>,
    /// Read photographs again that were read before.
    again: bool,
}

struct Inner {
    ledger: Ledger,
    /// Photographs that were read before and not again.
    known: usize,
    /// Photographs that were read again for their pictures only.
    for_pictures: usize,
    /// Photographs read again, and how many of these came out otherwise.
    again: usize,
    otherwise: usize,
    new_firings: BTreeSet<String>,
    corrected: Vec<String>,
    not_kept: BTreeSet<String>,
    /// Other versions of the program that read what was not read again.
    versions: BTreeSet<String>,
    trouble: Option<LedgerError>,
}

impl Keeper {
    /// Opens the ledger where the options ask for one.
    pub fn open(options: &ScoreOptions) -> Result<Option<Self>, Trouble> {
        if options.firing.is_none() && options.place.ledger.is_none() {
            if options.again {
                return Err(Trouble::usage(
                    "--again reads photographs again that are in the ledger, and no ledger is asked for",
                    "Say --firing NAME or --ledger FILE as well.",
                ));
            }
            return Ok(None);
        }
        Ok(Some(Self::over(ledger_file::open(&options.place)?, options.again)))
    }

    /// Keeps in this ledger; with `again` photographs are read again that were read before.
    pub fn over(ledger: Ledger, again: bool) -> Self {
        ledger.hurry();
        let inner = Inner {
            ledger,
            known: 0,
            for_pictures: 0,
            again: 0,
            otherwise: 0,
            new_firings: BTreeSet::new(),
            corrected: Vec::new(),
            not_kept: BTreeSet::new(),
            versions: BTreeSet::new(),
            trouble: None,
        };
        Self { inner: Mutex::new(inner), again }
    }

    fn inner(&self) -> MutexGuard<'_, Inner> {
        // A panic elsewhere leaves the ledger whole: what was under way was taken back.
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What was read before, unless all is to be read again. `None` too where the ledger cannot be read: see
    /// [`Keeper::trouble`].
    pub fn known(&self, shot: Shot) -> Option<Known> {
        if self.again {
            return None;
        }
        let mut inner = self.inner();
        let known = inner.ledger.known(shot);
        inner.take(known).flatten()
    }

    /// Notes that a photograph was read before; its pictures may be made again all the same.
    pub fn keep_known(&self, shot: Shot, known: &Known, for_pictures: bool) {
        let mut inner = self.inner();
        *(if for_pictures { &mut inner.for_pictures } else { &mut inner.known }) += 1;
        if known.version != env!("CARGO_PKG_VERSION") {
            inner.versions.insert(known.version.clone());
        }
        let keeping = inner.ledger.keep_known(shot, known.pass);
        inner.note(keeping);
    }

    /// Keeps what a photograph came to. Goes out: the records as the ledger gives them out again, so that a run that was
    /// broken off and gone on with ends with the same numbers.
    pub fn keep(&self, shot: Shot, records: Vec<Record>) -> Vec<Record> {
        let mut inner = self.inner();
        let keeping = inner.ledger.keep(shot, &records);
        let kept = inner.note(keeping);
        if self.again && kept != Some(Kept::New) {
            inner.again += 1;
            inner.otherwise += usize::from(kept == Some(Kept::Replaces));
        }
        drop(inner);
        written(records)
    }

    /// Asks the ledger, or changes it, besides what is kept. `None` where that fails: see [`Keeper::trouble`].
    pub fn with<T>(&self, work: impl FnOnce(&mut Ledger) -> Result<T, LedgerError>) -> Option<T> {
        let mut inner = self.inner();
        let done = work(&mut inner.ledger);
        inner.take(done)
    }

    /// Enters pieces that the sheet tells of without a photograph.
    pub fn keep_pieces(&self, sheet: &Sheet, firing: Option<&str>) {
        let mut inner = self.inner();
        for row in sheet.pieces_without_file() {
            let mut row = row.clone();
            if let Some(firing) = firing {
                row.firing.get_or_insert_with(|| firing.into());
            }
            let keeping = inner.ledger.keep_row(&row);
            inner.note(keeping);
        }
    }

    /// Why nothing more can be kept.
    pub fn trouble(&self) -> Option<LedgerError> {
        self.inner().trouble.clone()
    }

    /// Ends the work on the ledger and says what a person should know of it.
    pub fn end(&self, quiet: bool) {
        let inner = self.inner();
        inner.ledger.settle();
        for line in &inner.corrected {
            say(&format!("Corrected in the ledger, the first value is kept: {line}."));
        }
        inner.not_kept.iter().for_each(|line| say(&format!("Not kept: {line}.")));
        if quiet {
            return;
        }
        inner.new_firings.iter().for_each(|name| say_new_firing(name));
        if inner.known > 0 {
            let older = match inner.versions.iter().cloned().collect::<Vec<_>>().join(", ") {
                versions if versions.is_empty() => String::new(),
                versions => format!(", some by version {versions}"),
            };
            say(&format!(
                "{} read before with the same settings{older} and not again (--again reads them again).",
                photographs(inner.known)
            ));
        }
        if inner.for_pictures > 0 {
            say(&format!("{} read again only to make the pictures.", photographs(inner.for_pictures)));
        }
        if inner.again > 0 {
            say(&format!(
                "{} read again; {} came out otherwise and replaced what was there, which is kept.",
                photographs(inner.again),
                inner.otherwise
            ));
        }
        say(&format!("Kept in {}.", inner.ledger.path().display()));
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        self.inner().ledger.settle();
    }
}

impl Inner {
    fn take<T>(&mut self, done: Result<T, LedgerError>) -> Option<T> {
        done.map_err(|error| self.trouble = Some(error)).ok()
    }

    fn note(&mut self, keeping: Result<Keeping, LedgerError>) -> Option<Kept> {
        let keeping = self.take(keeping)?;
        self.new_firings.extend(keeping.new_firings);
        self.corrected.extend(keeping.corrected);
        self.not_kept.extend(keeping.not_kept);
        Some(keeping.reading)
    }
}

/// The records as they read when they have been written.
pub fn written(records: Vec<Record>) -> Vec<Record> {
    let again = |record: &Record| from_json_line(&to_json_line(record).ok()?).ok();
    records.into_iter().map(|record| again(&record).unwrap_or(record)).collect()
}

/// Says that a firing was made by its name alone: perhaps it was mistyped.
pub fn say_new_firing(name: &str) {
    say(&format!(
        "The firing '{name}' is new in the ledger. 'sherdlight firing edit' adds what you know of it."
    ));
}

fn photographs(count: usize) -> String {
    match count {
        1 => "1 photograph was".into(),
        n => format!("{n} photographs were"),
    }
}
