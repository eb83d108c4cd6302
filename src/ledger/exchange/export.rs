//! The ledger given out: as lines of JSON that another ledger takes in, and as tables (CSV).

use super::lines::{
    EntryLine, LedgerLine, Line, LoadLine, PassLine, PhotographLine, SCHEMA, TemperaturesLine,
};
use crate::ledger::LedgerError;
use crate::ledger::entries::{Entry, FIRINGS, Kind, LOADS, PIECES, RECIPES, Value};
use crate::ledger::file::{Inside, Ledger};
use crate::ledger::kept::{log_of, texts_of};
use crate::reading::{Record, from_json_line, to_json_line};
use rusqlite::Row;
use serde_json::value::RawValue;
use std::collections::BTreeMap;

/// What an export may tell besides the craft. Nothing of it unless asked.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Private {
    /// Folders of the photographs.
    pub folders: bool,
    /// Places of the firings.
    pub places: bool,
    /// Time and exposure of the photographs.
    pub exif: bool,
}

impl Private {
    /// Everything.
    pub const ALL: Self = Self { folders: true, places: true, exif: true };

    fn without(self) -> Vec<String> {
        let left_out = [("folders", self.folders), ("places", self.places), ("exif", self.exif)];
        left_out.into_iter().filter(|(_, told)| !told).map(|(word, _)| word.to_owned()).collect()
    }

    /// The record without what is not to be told.
    fn record(self, text: &str) -> Result<String, serde_json::Error> {
        if self == Self::ALL {
            return Ok(text.to_owned());
        }
        let mut record = from_json_line(text)?;
        let photo = match &mut record {
            Record::Measured(reading) => &mut reading.photo,
            Record::Failed(failure) => &mut failure.photo,
        };
        if !self.folders {
            photo.path = photo.path.rsplit(['/', '\\']).next().unwrap_or("").to_owned();
        }
        if !self.exif {
            (photo.taken, photo.exposure) = (None, None);
        }
        to_json_line(&record)
    }
}

impl Ledger {
    /// The whole ledger as lines of JSON, each handed to `put` with its line end. Entries are in the order of their names,
    /// photographs in that of their hashes.
    ///
    /// # Errors
    /// [`LedgerError`], or what `put` says.
    pub fn export_lines<E: From<LedgerError>>(
        &self,
        private: Private,
        mut put: impl FnMut(&str) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut line = |line: &Line| -> Result<(), E> {
            let text = serde_json::to_string(line).map_err(|e| self.unwritable(&e))?;
            put(&format!("{text}\n"))
        };
        line(&Line::Ledger(LedgerLine {
            schema: SCHEMA.into(),
            version: env!("CARGO_PKG_VERSION").into(),
            without: private.without(),
        }))?;
        for (kind, wrap) in [
            (&RECIPES, Line::Recipe as fn(EntryLine) -> Line),
            (&FIRINGS, Line::Firing),
            (&PIECES, Line::Piece),
        ] {
            for mut entry in self.entries(kind)? {
                entry.corrections = self.corrections(kind, entry.id)?;
                line(&wrap(entry_line(kind, entry, private)))?;
            }
        }
        for load in self.loads(None, None)? {
            let values = by_word(load.values);
            let entered = self.entered(&LOADS, load.id)?;
            let (firing, piece, corrections) = (load.firing, load.piece, load.corrections);
            line(&Line::Load(LoadLine { firing, piece, values, entered, corrections }))?;
        }
        for log in self.temperature_lines()? {
            line(&Line::Temperatures(log))?;
        }
        for id in self.photographs_by_hash()? {
            line(&Line::Photograph(Box::new(self.photograph_line(id, private)?)))?;
        }
        Ok(())
    }

    fn unwritable(&self, error: &serde_json::Error) -> LedgerError {
        LedgerError::Ours { path: self.path.clone(), what: error.to_string() }
    }

    fn entered(&self, kind: &Kind, id: i64) -> Result<String, LedgerError> {
        let sql = format!("SELECT entered FROM {} WHERE id = ?1", kind.table);
        self.connection.query_row(&sql, [id], |row| row.get(0)).map_err(|e| self.failed(&e))
    }

    fn temperature_lines(&self) -> Result<Vec<TemperaturesLine>, LedgerError> {
        let read = || -> Result<Vec<TemperaturesLine>, Inside> {
            let mut asked = self.connection.prepare(
                "SELECT l.id, f.name, l.file_name, l.sha256, l.entered FROM temperature_logs l
                 JOIN firings f ON f.id = l.firing_id ORDER BY f.name, l.file_name, l.entered, l.id",
            )?;
            let logs: Vec<(i64, String, String, String, String)> = asked
                .query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?)))?
                .collect::<Result<_, _>>()?;
            let line = |(id, firing, file_name, sha256, entered)| -> Result<TemperaturesLine, Inside> {
                let log = log_of(&self.connection, id)?;
                Ok(TemperaturesLine { firing, file_name, sha256, entered, log })
            };
            logs.into_iter().map(line).collect()
        };
        self.said(read())
    }

    fn photographs_by_hash(&self) -> Result<Vec<i64>, LedgerError> {
        let read = || -> Result<Vec<i64>, Inside> {
            let mut asked = self.connection.prepare("SELECT id FROM photographs ORDER BY sha256")?;
            Ok(asked.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?)
        };
        self.said(read())
    }

    fn photograph_line(&self, id: i64, private: Private) -> Result<PhotographLine, LedgerError> {
        let read = || -> Result<PhotographLine, Inside> {
            let mut asked = self.connection.prepare_cached(
                "SELECT h.*, i.name AS piece, f.name AS firing FROM photographs h
                 LEFT JOIN pieces i ON i.id = h.piece_id LEFT JOIN firings f ON f.id = h.firing_id WHERE h.id = ?1",
            )?;
            Ok(asked.query_row([id], |row| photograph(row, private))?)
        };
        let mut line = self.said(read())?;
        line.corrections = self.corrections(&PHOTOGRAPHS, id)?;
        for correction in &mut line.corrections {
            for value in [&mut correction.was, &mut correction.now] {
                *value = self.name_behind(&correction.field, value.take())?;
            }
        }
        if !private.folders {
            line.corrections.retain(|c| c.field != "folder");
        }
        for (pass, settings_sha256, version, entered) in self.passes(id)? {
            let mut records = Vec::new();
            for text in self.said(texts_of(&self.connection, &self.path, pass))? {
                let text = private.record(&text).map_err(|e| self.unwritable(&e))?;
                records.push(RawValue::from_string(text).map_err(|e| self.unwritable(&e))?);
            }
            line.passes.push(PassLine { settings_sha256, version, entered, records });
        }
        Ok(line)
    }

    /// The name of a piece or firing for its row.
    fn name_behind(&self, field: &str, value: Option<Value>) -> Result<Option<Value>, LedgerError> {
        let table = match field {
            "piece_id" => "pieces",
            "firing_id" => "firings",
            _ => return Ok(value),
        };
        let Some(Value::Number(id)) = value else { return Ok(value) };
        let sql = format!("SELECT name FROM {table} WHERE id = ?1");
        let name = self.connection.query_row(&sql, [id as i64], |row| row.get(0));
        name.map(|name| Some(Value::Words(name))).map_err(|e| self.failed(&e))
    }

    /// The passes of a photograph in the order in which they replaced each other: row, settings, version, entered.
    fn passes(&self, photograph: i64) -> Result<Vec<(i64, String, String, String)>, LedgerError> {
        let read = || -> Result<Vec<_>, Inside> {
            let mut asked = self.connection.prepare_cached(
                "WITH RECURSIVE chain (id, place) AS (
                    SELECT id, 0 FROM passes WHERE photograph_id = ?1 AND replaces IS NULL
                    UNION ALL SELECT p.id, place + 1 FROM passes p JOIN chain ON p.replaces = chain.id)
                 SELECT p.id, s.sha256, s.version, p.entered FROM chain JOIN passes p ON p.id = chain.id
                 JOIN settings s ON s.id = p.settings_id
                 ORDER BY place, p.id",
            )?;
            let rows = asked
                .query_map([photograph], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        };
        self.said(read())
    }
}

/// Corrections of photographs are kept like those of entries; what can be corrected is no field a person types.
pub(super) static PHOTOGRAPHS: Kind = Kind { word: "photograph", table: "photographs", fields: &[] };

fn photograph(row: &Row, private: Private) -> rusqlite::Result<PhotographLine> {
    let exif = |column: &str| -> rusqlite::Result<Option<f64>> {
        if private.exif { row.get(column) } else { Ok(None) }
    };
    Ok(PhotographLine {
        sha256: row.get("sha256")?,
        file_name: row.get("file_name")?,
        folder: if private.folders { row.get("folder")? } else { None },
        width: row.get("width")?,
        height: row.get("height")?,
        taken: if private.exif { row.get("taken")? } else { None },
        exposure_seconds: exif("exposure_seconds")?,
        f_number: exif("f_number")?,
        iso: exif("iso")?,
        piece: row.get("piece")?,
        firing: row.get("firing")?,
        entered: row.get("entered")?,
        passes: Vec::new(),
        corrections: Vec::new(),
    })
}

fn by_word(values: BTreeMap<&'static str, Value>) -> BTreeMap<String, Value> {
    values.into_iter().map(|(word, value)| (word.to_owned(), value)).collect()
}

fn entry_line(kind: &Kind, entry: Entry, private: Private) -> EntryLine {
    let hidden = |word: &str| kind.table == "firings" && word == "place" && !private.places;
    let mut values = by_word(entry.values);
    values.retain(|word, _| !hidden(word));
    let mut corrections = entry.corrections;
    corrections.retain(|c| !hidden(&c.field));
    EntryLine { kind: entry.kind, name: entry.name, values, entered: entry.entered, corrections }
}
