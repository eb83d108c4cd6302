//! Readings that were kept, given out again.

use super::keep::Shot;
use super::packed::unpack;
use crate::ledger::LedgerError;
use crate::ledger::file::{Inside, Ledger};
use crate::reading::{Record, SheetRow, from_json_line};
use rusqlite::{Connection, OptionalExtension};
use sha2::{Digest, Sha256};
use std::path::Path;

/// Which photographs are meant.
#[derive(Debug, Clone, Copy)]
pub enum Choice<'a> {
    /// Those with this file name.
    Photograph(&'a str),
    /// Those of this firing.
    Firing(&'a str),
    /// Those of firings since this day, `2026-05-03`; without a firing's date that on which they were taken.
    Since(&'a str),
}

/// A photograph that was read before with the same bytes and settings.
#[derive(Debug, Clone)]
pub struct Known {
    /// Its pass, for [`Ledger::keep_known`].
    pub pass: i64,
    /// What was read then; photo path and sheet are those of now.
    pub records: Vec<Record>,
    /// The version of the program that read it.
    pub version: String,
}

impl Ledger {
    /// The readings of a photograph with the same bytes, read with the same settings; the one that counts before an earlier
    /// one.
    ///
    /// # Errors
    /// [`LedgerError`], [`LedgerError::Damaged`] where a kept record no longer fits its hash.
    pub fn known(&self, shot: Shot) -> Result<Option<Known>, LedgerError> {
        let asked = || -> Result<Option<(i64, String)>, Inside> {
            let mut asked = self.connection.prepare_cached(
                "SELECT p.id, s.version FROM passes p JOIN photographs h ON h.id = p.photograph_id
                 JOIN settings s ON s.id = p.settings_id
                 WHERE h.sha256 = ?1 AND s.sha256 = ?2 AND p.error_code IS NOT 'internal'
                 ORDER BY EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id), p.id DESC LIMIT 1",
            )?;
            let fitting = (shot.sha256, shot.settings_sha256);
            Ok(asked.query_row(fitting, |row| Ok((row.get(0)?, row.get(1)?))).optional()?)
        };
        let Some((pass, version)) = self.said(asked())? else { return Ok(None) };
        let mut records = self.records_of(pass)?;
        for record in &mut records {
            match record {
                Record::Measured(reading) => {
                    reading.photo.path = shot.path.to_string_lossy().into_owned();
                    reading.sheet = shot.sheet.cloned();
                }
                Record::Failed(failure) => failure.photo.path = shot.path.to_string_lossy().into_owned(),
            }
        }
        Ok(Some(Known { pass, records, version }))
    }

    /// The records that count of some photographs, with what is known of piece and firing now; by firing and file name.
    ///
    /// # Errors
    /// [`LedgerError::NoSuch`] or [`LedgerError::NoReadings`] where there are none.
    pub fn records_of_choice(&self, choice: Choice) -> Result<Vec<Record>, LedgerError> {
        type Named = (i64, Option<String>, Option<String>);
        let asked = || -> Result<Vec<Named>, Inside> {
            let mut asked = self.connection.prepare(
                "SELECT p.id, i.name, f.name FROM passes p JOIN photographs h ON h.id = p.photograph_id
                 LEFT JOIN pieces i ON i.id = h.piece_id LEFT JOIN firings f ON f.id = h.firing_id
                 WHERE NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id)
                    AND (?1 IS NULL OR h.file_name = ?1) AND (?2 IS NULL OR f.name = ?2)
                    AND (?3 IS NULL OR coalesce(f.date, substr(h.taken, 1, 10)) >= ?3)
                 ORDER BY f.date IS NULL, f.date, f.name, h.file_name, h.sha256",
            )?;
            let (photograph, firing, since) = match choice {
                Choice::Photograph(name) => (Some(name), None, None),
                Choice::Firing(name) => (None, Some(name), None),
                Choice::Since(day) => (None, None, Some(day)),
            };
            let rows = asked
                .query_map((photograph, firing, since), |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        };
        let mut found = Vec::new();
        for (pass, piece, firing) in self.said(asked())? {
            for mut record in self.records_of(pass)? {
                if let Record::Measured(reading) = &mut record {
                    let row = reading.sheet.take().unwrap_or_default();
                    reading.sheet = Some(SheetRow { piece: piece.clone(), firing: firing.clone(), ..row });
                }
                found.push(record);
            }
        }
        match (found.is_empty(), choice) {
            (false, _) => Ok(found),
            (true, Choice::Photograph(name)) => {
                Err(LedgerError::NoSuch { what: "photograph", name: name.into(), known: Vec::new() })
            }
            (true, Choice::Firing(name)) => {
                Err(LedgerError::NoReadings { of: format!("of the firing '{name}'") })
            }
            (true, Choice::Since(day)) => Err(LedgerError::NoReadings { of: format!("since {day}") }),
        }
    }

    /// How many photographs carry no date, nor their firing: no day is known that they were before or after.
    ///
    /// # Errors
    /// What the database says.
    pub fn undated(&self) -> Result<usize, LedgerError> {
        let asked = "SELECT count(*) FROM photographs h LEFT JOIN firings f ON f.id = h.firing_id
            WHERE f.date IS NULL AND h.taken IS NULL";
        let count = self.connection.query_row(asked, [], |row| row.get::<_, u32>(0));
        Ok(count.map_err(|e| self.failed(&e))? as usize)
    }

    /// The records of a pass: a piece each, the largest first, or why it could not be measured.
    pub(in crate::ledger) fn records_of(&self, pass: i64) -> Result<Vec<Record>, LedgerError> {
        self.said(records_of(&self.connection, &self.path, pass))
    }
}

/// The records of a pass.
pub(in crate::ledger) fn records_of(
    connection: &Connection,
    ledger: &Path,
    pass: i64,
) -> Result<Vec<Record>, Inside> {
    let parsed = |text: &String| {
        from_json_line(text).map_err(|error| damaged(ledger, format!("a record cannot be read: {error}")))
    };
    texts_of(connection, ledger, pass)?.iter().map(parsed).collect()
}

/// The records of a pass as they were kept.
pub(in crate::ledger) fn texts_of(
    connection: &Connection,
    ledger: &Path,
    pass: i64,
) -> Result<Vec<String>, Inside> {
    let mut asked =
        connection.prepare_cached("SELECT failure FROM passes WHERE id = ?1 AND failure IS NOT NULL")?;
    if let Some(failure) = asked.query_row([pass], |row| row.get(0)).optional()? {
        return Ok(vec![failure]);
    }
    let mut asked =
        connection.prepare_cached("SELECT id FROM readings WHERE pass_id = ?1 ORDER BY piece_number")?;
    let ids: Vec<i64> = asked.query_map([pass], |row| row.get(0))?.collect::<Result<_, _>>()?;
    ids.into_iter().map(|id| text_of(connection, ledger, id)).collect()
}

/// The whole record of a reading as it was kept, its hash proven.
pub(in crate::ledger) fn text_of(
    connection: &Connection,
    ledger: &Path,
    reading: i64,
) -> Result<String, Inside> {
    let mut asked = connection.prepare_cached(
        "SELECT r.record, r.bytes, r.sha256, k.text FROM records r
         JOIN record_references k ON k.id = r.reference_id WHERE r.reading_id = ?1",
    )?;
    type Stored = (Vec<u8>, i64, String, String);
    let (packed, bytes, sha256, against): Stored =
        asked.query_row([reading], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
    let text = usize::try_from(bytes).ok().and_then(|bytes| unpack(&packed, &against, bytes));
    let proven = text.filter(|text| format!("{:x}", Sha256::digest(text.as_bytes())) == sha256);
    proven.ok_or_else(|| damaged(ledger, format!("reading {reading} no longer fits its hash")))
}

fn damaged(ledger: &Path, what: String) -> Inside {
    Inside::Said(LedgerError::Damaged { path: ledger.into(), what })
}
