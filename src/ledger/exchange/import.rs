//! Lines taken in: an export of another ledger, or a file of records. What is here already is not entered twice.
//!
//! Entries are matched by name, photographs by their bytes, readings by settings and result. A blank is filled; where both
//! ledgers know something and differ, this one's value stays and the difference is told.

use super::lines::{EntryLine, Line, LoadLine, PassLine, PhotographLine, SCHEMA, TemperaturesLine};
use crate::ledger::entries::{Correction, FIRINGS, Kind, LOADS, PIECES, RECIPES, Value, Values};
use crate::ledger::file::{Entering, Inside, Ledger};
use crate::ledger::{CellFault, LedgerError, Named};
use crate::reading::{Record, SCHEMA as RECORD_SCHEMA, SheetRow, from_json_line, to_json_line};
use rusqlite::{ToSql, params};
use serde::Serialize;
use serde_json::value::RawValue;
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
        _ => check(&read).map(|()| Taken::Line(read)),
    }
}

/// Whether everything in a line can be entered, so that what cannot is told by its row.
fn check(line: &Line) -> Result<(), String> {
    let named = |what: &str, name: &str| match name.trim() {
        "" => Err(format!("a {what} needs a name")),
        _ => Ok(()),
    };
    let holds = |kind: &Kind, values: &BTreeMap<String, Value>| {
        values.iter().try_for_each(|(word, value)| {
            let field = kind.field(word).ok_or_else(|| format!("a {} has no field '{word}'", kind.word))?;
            match field.value(&value.to_string()) {
                Ok(Some(_)) => Ok(()),
                Ok(None) => Err(format!("{word} is empty; leave it away where it is not known")),
                Err(error) => Err(error.to_string()),
            }
        })
    };
    let entry = |kind: &Kind, entry: &EntryLine| {
        named(kind.word, &entry.name)?;
        match entry.kind.as_deref() {
            Some("clay" | "slip" | "red" | "paint") if kind == &RECIPES => {}
            None if kind != &RECIPES => {}
            _ => return Err(format!("the kind of this {} cannot be used", kind.word)),
        }
        holds(kind, &entry.values)
    };
    match line {
        Line::Ledger(_) => Ok(()),
        Line::Recipe(line) => entry(&RECIPES, line),
        Line::Firing(line) => entry(&FIRINGS, line),
        Line::Piece(line) => entry(&PIECES, line),
        Line::Load(line) => {
            named("firing", &line.firing)?;
            named("piece", &line.piece)?;
            holds(&LOADS, &line.values)
        }
        Line::Temperatures(line) => named("firing", &line.firing),
        Line::Photograph(line) => {
            named("photograph", &line.sha256)?;
            line.piece.as_ref().map_or(Ok(()), |name| named("piece", name))?;
            line.firing.as_ref().map_or(Ok(()), |name| named("firing", name))?;
            line.passes.iter().flat_map(|pass| &pass.records).try_for_each(|record| {
                from_json_line(record.get()).map(drop).map_err(|error| format!("a record in it: {error}"))
            })
        }
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
        let (made_by, sheet) = match first {
            Record::Measured(reading) => (&reading.made_by, reading.sheet.clone().unwrap_or_default()),
            Record::Failed(failure) => (&failure.made_by, SheetRow::default()),
        };
        self.take_sheet(&sheet, imported)?;
        let mut raw = Vec::new();
        for record in records {
            raw.push(to_json_line(record).and_then(RawValue::from_string).map_err(unwritable)?);
        }
        let path = Path::new(&photo.path);
        let exposure = photo.exposure.as_ref();
        let line = PhotographLine {
            sha256: sha256.clone(),
            file_name: path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned()),
            folder: path.parent().map(|f| f.to_string_lossy().into_owned()).filter(|f| !f.is_empty()),
            width: photo.width.map(|n| n as i64),
            height: photo.height.map(|n| n as i64),
            taken: photo.taken.clone(),
            exposure_seconds: exposure.and_then(|e| e.seconds),
            f_number: exposure.and_then(|e| e.f_number),
            iso: exposure.and_then(|e| e.iso),
            piece: named_in(&sheet.piece),
            firing: named_in(&sheet.firing),
            entered: self.now.clone(),
            passes: vec![PassLine {
                settings_sha256: made_by.settings_sha256.clone(),
                version: made_by.version.clone(),
                entered: self.now.clone(),
                records: raw,
            }],
            corrections: Vec::new(),
        };
        // When a file of records was made it does not tell: what counts here goes on counting.
        self.take_photograph(&line, imported, true)
    }

    /// What a record's sheet says: blanks are filled, differences told.
    fn take_sheet(&self, row: &SheetRow, imported: &mut Imported) -> Result<(), Inside> {
        let told = |words: &[(&str, &Option<String>)]| -> BTreeMap<String, Value> {
            let known = words.iter().filter_map(|(word, value)| Some((*word, named_in(value)?)));
            known.map(|(word, value)| (word.to_owned(), Value::Words(value))).collect()
        };
        let entry = |name: &String, values| EntryLine {
            kind: None,
            name: name.clone(),
            values,
            entered: self.now.clone(),
            corrections: Vec::new(),
        };
        let (piece, firing) = (named_in(&row.piece), named_in(&row.firing));
        if let Some(firing) = &firing {
            self.take_entry(&FIRINGS, entry(firing, BTreeMap::new()), imported)?;
        }
        let Some(piece) = piece else { return Ok(()) };
        let mut own = told(&[
            ("shape", &row.shape),
            ("size", &row.size),
            ("state", &row.state),
            ("soak-test", &row.soak_test),
            ("clay", &row.clay),
            ("slip", &row.slip),
            ("red", &row.red),
            ("paint", &row.paint),
        ]);
        let mut here = told(&[("place", &row.place), ("flaws", &row.flaws), ("notes", &row.notes)]);
        if firing.is_none() {
            here.remove("place");
            own.append(&mut here);
        }
        self.take_entry(&PIECES, entry(&piece, own), imported)?;
        match firing {
            Some(firing) => {
                let (entered, corrections) = (self.now.clone(), Vec::new());
                self.take_load(LoadLine { firing, piece, values: here, entered, corrections }, imported)
            }
            None => Ok(()),
        }
    }

    fn take_line(&self, line: Line, imported: &mut Imported) -> Result<(), Inside> {
        match line {
            Line::Ledger(_) => Ok(()),
            Line::Recipe(entry) => self.take_entry(&RECIPES, entry, imported),
            Line::Firing(entry) => self.take_entry(&FIRINGS, entry, imported),
            Line::Piece(entry) => self.take_entry(&PIECES, entry, imported),
            Line::Load(load) => self.take_load(load, imported),
            Line::Temperatures(log) => self.take_log(&log, imported),
            Line::Photograph(photograph) => self.take_photograph(&photograph, imported, false),
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
        let new = entering.enter_log(firing, &log.file_name, &log.sha256, &log.log, false)?;
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

/// A name or value that holds more than blanks.
fn named_in(text: &Option<String>) -> Option<String> {
    text.as_deref().map(str::trim).filter(|text| !text.is_empty()).map(str::to_owned)
}

fn unwritable(error: serde_json::Error) -> Inside {
    Inside::Said(LedgerError::Ours { path: "the import".into(), what: error.to_string() })
}
