//! Lines taken in: an export of another ledger, or a file of records. What is here already is not entered twice.
//!
//! Entries are matched by name, photographs by their bytes, readings by settings and result. A blank is filled; where both
//! ledgers know something and differ, this one's value stays and the difference is told.

use super::lines::{EntryLine, Line, LoadLine, SCHEMA, TemperaturesLine};
use crate::ledger::entries::{Correction, FIRINGS, Kind, LOADS, PIECES, RECIPES, Value, Values};
use crate::ledger::file::{Entering, Inside, Ledger};
use crate::ledger::kept::{Kept, Shot};
use crate::ledger::{CellFault, LedgerError, Named};
use crate::reading::{Record, SCHEMA as RECORD_SCHEMA, from_json_line};
use rusqlite::{ToSql, params};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::Path;

/// What an import came to.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Imported {
    /// Rows that are new, by what they are.
    pub new: BTreeMap<&'static str, usize>,
    /// Rows that were here already, by what they are.
    pub known: BTreeMap<&'static str, usize>,
    /// Where the two differ and this ledger's value stays, one sentence each.
    pub differences: Vec<String>,
    /// Lines that cannot be used and were left out.
    pub left_out: Vec<String>,
}

impl Imported {
    pub(super) fn count(&mut self, what: &'static str, new: bool) {
        *if new { &mut self.new } else { &mut self.known }.entry(what).or_default() += 1;
    }
}

/// One line of either kind of file.
enum Taken {
    Line(Line),
    Record(Box<Record>),
}

impl Ledger {
    /// Takes in a file of lines, all of it or nothing; with `partial` all lines that can be used.
    ///
    /// # Errors
    /// [`LedgerError::Cells`] with every line that cannot be used, unless `partial`.
    pub fn import(&mut self, path: &Path, partial: bool) -> Result<Imported, LedgerError> {
        let unreadable =
            |e: std::io::Error| LedgerError::Unreadable { path: path.into(), reason: e.to_string() };
        let file = BufReader::new(File::open(path).map_err(unreadable)?);
        self.at_once(|entering| {
            let mut imported = Imported::default();
            let (mut faults, mut taken) = (Vec::new(), 0);
            let mut records: Vec<Record> = Vec::new();
            // Line by line: a season's ledger need not fit into memory. A fault takes all of it back.
            for (at, line) in file.lines().enumerate() {
                let line = line.map_err(unreadable)?;
                let text = line.trim_start_matches('\u{feff}').trim();
                if text.is_empty() {
                    continue;
                }
                match read_line(text) {
                    Err(what) => faults.push(CellFault::row(at + 1, what)),
                    Ok(_) if !partial && !faults.is_empty() => {}
                    Ok(Taken::Record(record)) => {
                        taken += 1;
                        if !records.first().is_some_and(|first| same_pass(first, &record)) {
                            entering.take_records(&std::mem::take(&mut records), &mut imported)?;
                        }
                        records.push(*record);
                    }
                    Ok(Taken::Line(line)) => {
                        taken += 1;
                        entering.take_line(line, &mut imported)?;
                    }
                }
            }
            if !faults.is_empty() && (!partial || taken == 0) {
                return Err(LedgerError::Cells { what: format!("'{}'", path.display()), faults }.into());
            }
            entering.take_records(&records, &mut imported)?;
            imported.left_out.extend(faults.iter().map(ToString::to_string));
            Ok(imported)
        })
    }
}

fn read_line(line: &str) -> Result<Taken, String> {
    #[derive(serde::Deserialize)]
    struct Head {
        schema: Option<String>,
    }
    let head: Head = serde_json::from_str(line).map_err(|e| e.to_string())?;
    if head.schema.as_deref() == Some(RECORD_SCHEMA) {
        return from_json_line(line).map(|r| Taken::Record(Box::new(r))).map_err(|e| e.to_string());
    }
    let read: Line =
        serde_json::from_str(line).map_err(|e| format!("no record and no line of an export: {e}"))?;
    match &read {
        Line::Ledger(head) if head.schema != SCHEMA => {
            Err(format!("the format '{}' is not known, only '{SCHEMA}'", head.schema))
        }
        _ => Ok(Taken::Line(read)),
    }
}

/// Whether two records come from one reading of one photograph.
fn same_pass(one: &Record, other: &Record) -> bool {
    let settings = |record: &Record| match record {
        Record::Measured(reading) => reading.made_by.settings_sha256.clone(),
        Record::Failed(failure) => failure.made_by.settings_sha256.clone(),
    };
    one.photo().sha256.is_some()
        && one.photo().sha256 == other.photo().sha256
        && settings(one) == settings(other)
}

impl Entering<'_> {
    /// The records of one photograph from a file of records.
    fn take_records(&self, records: &[Record], imported: &mut Imported) -> Result<(), Inside> {
        let Some(first) = records.first() else { return Ok(()) };
        let photo = first.photo();
        let Some(sha256) = &photo.sha256 else {
            let what = format!("{}: the record holds no hash of the photograph", photo.path);
            imported.left_out.push(what);
            return Ok(());
        };
        let (settings, sheet) = match first {
            Record::Measured(reading) => (&reading.made_by.settings_sha256, reading.sheet.as_ref()),
            Record::Failed(failure) => (&failure.made_by.settings_sha256, None),
        };
        let shot = Shot { sha256, path: Path::new(&photo.path), settings_sha256: settings, sheet };
        let kept = self.keep_records(shot, records)?;
        imported.differences.extend(kept.corrected);
        imported.count("readings", kept.reading != Kept::Same);
        Ok(())
    }

    fn take_line(&self, line: Line, imported: &mut Imported) -> Result<(), Inside> {
        match line {
            Line::Ledger(_) => Ok(()),
            Line::Recipe(entry) => self.take_entry(&RECIPES, entry, imported),
            Line::Firing(entry) => self.take_entry(&FIRINGS, entry, imported),
            Line::Piece(entry) => self.take_entry(&PIECES, entry, imported),
            Line::Load(load) => self.take_load(load, imported),
            Line::Temperatures(log) => self.take_log(&log, imported),
            Line::Photograph(photograph) => self.take_photograph(&photograph, imported),
        }
    }

    fn take_entry(
        &self,
        kind: &'static Kind,
        entry: EntryLine,
        imported: &mut Imported,
    ) -> Result<(), Inside> {
        let named = Named { kind: entry.kind, name: entry.name };
        let values = columns(kind, &entry.values)?;
        let known = self.find(kind, &named)?;
        imported.count(kind.word, known.is_none());
        let id = match known {
            Some(id) => {
                self.fill(kind, id, &format!("{} {}", kind.word, named.name), values, imported)?;
                id
            }
            None => {
                let entering = Entering { now: entry.entered, ..*self };
                entering.enter(kind, &named, &values)?
            }
        };
        self.take_corrections(kind, id, &entry.corrections)
    }

    fn take_load(&self, line: LoadLine, imported: &mut Imported) -> Result<(), Inside> {
        let (firing, piece) = (self.firing(&line.firing)?.0, self.piece(&line.piece)?.0);
        let values = columns(&LOADS, &line.values)?;
        let entering = Entering { now: line.entered, ..*self };
        let (id, new) = entering.load(firing, piece, &values)?;
        imported.count("place in a load", new);
        if !new {
            let what = format!("piece {} in {}", line.piece, line.firing);
            self.fill(&LOADS, id, &what, values, imported)?;
        }
        self.take_corrections(&LOADS, id, &line.corrections)
    }

    /// Fills what is blank; says where both know something and differ.
    fn fill(
        &self,
        kind: &'static Kind,
        id: i64,
        what: &str,
        values: Values,
        imported: &mut Imported,
    ) -> Result<(), Inside> {
        let mut blank = Values::new();
        for (column, value) in values {
            let Some(field) = kind.fields.iter().find(|f| f.column == column) else { continue };
            match self.value(kind, id, field)? {
                None => drop(blank.insert(column, value)),
                Some(here) if here == value => {}
                Some(here) => imported.differences.push(format!(
                    "{what}: {} is '{here}' here and '{value}' there; '{here}' stays",
                    field.word
                )),
            }
        }
        self.change(kind, id, &blank, &[], Some("taken over from another ledger")).map(drop)
    }

    pub(super) fn take_corrections(
        &self,
        kind: &Kind,
        id: i64,
        corrections: &[Correction],
    ) -> Result<(), Inside> {
        for correction in corrections {
            let field = kind.fields.iter().find(|f| f.word == correction.field);
            let column = field.map_or(correction.field.as_str(), |f| f.column);
            let stored = |value: &Option<Value>| -> Result<Box<dyn ToSql>, Inside> {
                match value {
                    Some(value) => self.stored_or_row(kind, column, value),
                    None => Ok(Box::new(None::<String>)),
                }
            };
            let (was, now) = (stored(&correction.was)?, stored(&correction.now)?);
            self.connection.execute(
                "INSERT INTO corrections (\"table\", row_id, field, was, now, because, replaces, entered)
                 SELECT ?1, ?2, ?3, ?4, ?5, ?6,
                    (SELECT max(id) FROM corrections WHERE \"table\" = ?1 AND row_id = ?2 AND field = ?3), ?7
                 WHERE NOT EXISTS (SELECT 1 FROM corrections WHERE \"table\" = ?1 AND row_id = ?2 AND field = ?3
                    AND was IS ?4 AND now IS ?5 AND entered = ?7)",
                params![kind.table, id, column, was, now, correction.because, correction.entered],
            )?;
        }
        Ok(())
    }

    /// As the file holds it, also the pieces and firings of photographs.
    fn stored_or_row(&self, kind: &Kind, column: &str, value: &Value) -> Result<Box<dyn ToSql>, Inside> {
        match (kind.table, column) {
            ("photographs", "piece_id") => Ok(Box::new(self.piece(&value.to_string())?.0)),
            ("photographs", "firing_id") => Ok(Box::new(self.firing(&value.to_string())?.0)),
            _ => self.stored(kind, column, value),
        }
    }

    fn take_log(&self, log: &TemperaturesLine, imported: &mut Imported) -> Result<(), Inside> {
        let (firing, _) = self.firing(&log.firing)?;
        let entering = Entering { now: log.entered.clone(), ..*self };
        let new = entering.enter_log(firing, &log.file_name, &log.sha256, &log.log)?;
        imported.count("temperature log", new);
        Ok(())
    }
}

/// Values by column for values by word; words of later versions are told, never dropped in silence.
fn columns(kind: &Kind, values: &BTreeMap<String, Value>) -> Result<Values, Inside> {
    let column = |(word, value): (&String, &Value)| match kind.field(word) {
        Some(field) => Ok((field.column, value.clone())),
        None => Err(Inside::Said(LedgerError::Value {
            field: kind.word.into(),
            value: word.clone(),
            wanted: "this field is not known to this version of the program".into(),
        })),
    };
    values.iter().map(column).collect()
}
