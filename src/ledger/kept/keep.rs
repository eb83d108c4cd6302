//! Readings kept: one transaction a photograph.
//!
//! A photograph is its bytes. Each time it is read it gets a pass, with a reading a piece; the pass that none replaces is the
//! one that counts. What the sheet says of it (piece, firing, recipes, place) is entered with it, and corrected where the
//! sheet says something else than before.

use super::known::records_of;
use crate::ledger::entries::{FIRINGS, Kind, LOADS, PIECES, Value, Values};
use crate::ledger::file::{Entering, Inside, Ledger};
use crate::ledger::{LedgerError, Named};
use crate::reading::{Record, SheetRow, to_json_line};
use rusqlite::{OptionalExtension, params};
use std::path::Path;

/// A photograph that was or is to be read.
#[derive(Debug, Clone, Copy)]
pub struct Shot<'a> {
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: &'a str,
    /// The file as it was named.
    pub path: &'a Path,
    /// Hash of the settings it is read with.
    pub settings_sha256: &'a str,
    /// What the sheet, the name of the file or the command line say of it.
    pub sheet: Option<&'a SheetRow>,
}

/// What keeping came to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Keeping {
    /// How the reading stands to what was there.
    pub reading: Kept,
    /// Firings that were not known before.
    pub new_firings: Vec<String>,
    /// What was corrected in pieces and photographs, one sentence each.
    pub corrected: Vec<String>,
    /// What was told and could not be kept, one sentence each.
    pub not_kept: Vec<String>,
}

/// How a reading stands to the one that was there.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Kept {
    /// The first of this photograph.
    #[default]
    New,
    /// It replaces another, which is kept.
    Replaces,
    /// It is the same as the one that counts: nothing was entered.
    Same,
}

impl Ledger {
    /// Keeps the readings of a photograph, or why it could not be measured. A reading that is the same as the one that counts
    /// already is not entered twice.
    ///
    /// # Errors
    /// [`LedgerError`]; nothing of this photograph is kept then.
    pub fn keep(&mut self, shot: Shot, records: &[Record]) -> Result<Keeping, LedgerError> {
        self.at_once(|entering| entering.keep_records(shot, records))
    }

    /// Enters what the sheet says now of a photograph that was read before. A pass read with these settings that another has
    /// replaced since counts again.
    ///
    /// # Errors
    /// [`LedgerError`]; nothing is changed then.
    pub fn keep_known(&mut self, shot: Shot, pass: i64) -> Result<Keeping, LedgerError> {
        self.at_once(|entering| {
            let mut keeping = Keeping { reading: Kept::Same, ..Keeping::default() };
            let photograph = entering.photograph(shot, None, &mut keeping)?;
            let current = entering.current_pass(photograph)?;
            if let Some(current) = current.filter(|current| *current != pass) {
                entering.take_up(pass, current)?;
                keeping.reading = Kept::Replaces;
            }
            Ok(keeping)
        })
    }
}

impl Ledger {
    /// Enters what a row of the sheet says of a piece and its firing, without a photograph.
    ///
    /// # Errors
    /// [`LedgerError`]; nothing is changed then.
    pub fn keep_row(&mut self, row: &SheetRow) -> Result<Keeping, LedgerError> {
        self.at_once(|entering| {
            let mut keeping = Keeping { reading: Kept::Same, ..Keeping::default() };
            entering.sheet_row(row, &mut keeping)?;
            Ok(keeping)
        })
    }
}

/// Whether two readings of a photograph came to the same.
fn same(one: &[Record], other: &[Record]) -> bool {
    one.len() == other.len() && one.iter().zip(other).all(|(one, other)| measured(one) == measured(other))
}

/// A record without what depends on where it was read, what was said of it and what an export leaves out: the measurement
/// alone.
pub(in crate::ledger) fn measured(record: &Record) -> Option<String> {
    let mut plain = record.clone();
    let photo = match &mut plain {
        Record::Measured(reading) => {
            reading.outputs.clear();
            (reading.sheet, reading.views) = (None, None);
            &mut reading.photo
        }
        Record::Failed(failure) => {
            failure.outputs.clear();
            &mut failure.photo
        }
    };
    photo.path.clear();
    (photo.taken, photo.exposure) = (None, None);
    to_json_line(&plain).ok()
}

/// File name and folder of a path.
fn parts(path: &Path) -> (String, Option<String>) {
    let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let folder = path.parent().map(|f| f.to_string_lossy().into_owned()).filter(|f| !f.is_empty());
    (name, folder)
}

/// The values that a row of the sheet holds, by column.
fn told(columns: &[(&'static str, &Option<String>)]) -> Values {
    let known = columns.iter().filter_map(|(column, value)| Some((*column, (*value).clone()?)));
    known.map(|(column, value)| (column, Value::Words(value))).collect()
}

impl Entering<'_> {
    /// Keeps the records of a photograph unless the pass that counts holds the same.
    pub(in crate::ledger) fn keep_records(&self, shot: Shot, records: &[Record]) -> Result<Keeping, Inside> {
        let mut keeping = Keeping::default();
        let photograph = self.photograph(shot, records.first(), &mut keeping)?;
        let replaces = self.current_pass(photograph)?;
        if let Some(pass) = replaces
            && self.settings_of(pass)? == shot.settings_sha256
            && same(&records_of(self.connection, self.path, pass)?, records)
        {
            return Ok(Keeping { reading: Kept::Same, ..keeping });
        }
        self.enter_pass(photograph, shot.settings_sha256, records, replaces)?;
        let reading = if replaces.is_some() { Kept::Replaces } else { Kept::New };
        Ok(Keeping { reading, ..keeping })
    }

    /// The row of a photograph, with the piece and the firing that the sheet names.
    fn photograph(&self, shot: Shot, record: Option<&Record>, keeping: &mut Keeping) -> Result<i64, Inside> {
        let (firing, piece) = match shot.sheet {
            Some(row) => self.sheet_row(row, keeping)?,
            None => (None, None),
        };
        let (file_name, folder) = parts(shot.path);
        let mut asked = self
            .connection
            .prepare_cached("SELECT id, file_name, piece_id, firing_id FROM photographs WHERE sha256 = ?1")?;
        type Known = (i64, String, Option<i64>, Option<i64>);
        let known: Option<Known> = asked
            .query_row([shot.sha256], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))
            .optional()?;
        let Some((id, name, old_piece, old_firing)) = known else {
            let photo = record.map(Record::photo);
            let exposure = photo.and_then(|p| p.exposure.as_ref());
            self.connection.prepare_cached(
                "INSERT INTO photographs (sha256, file_name, folder, width, height, taken, exposure_seconds, f_number,
                    iso, piece_id, firing_id, entered) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
            )?
            .execute(params![
                shot.sha256,
                file_name,
                folder,
                photo.and_then(|p| p.width).map(|n| n as i64),
                photo.and_then(|p| p.height).map(|n| n as i64),
                photo.and_then(|p| p.taken.as_deref()),
                exposure.and_then(|e| e.seconds),
                exposure.and_then(|e| e.f_number),
                exposure.and_then(|e| e.iso),
                piece,
                firing,
                self.now,
            ])?;
            return Ok(self.connection.last_insert_rowid());
        };
        if let Some(photo) = record.map(Record::photo) {
            // A reading that failed may have told less of the photograph than this one.
            self.connection
                .prepare_cached(
                    "UPDATE photographs SET width = coalesce(width, ?2), height = coalesce(height, ?3),
                        taken = coalesce(taken, ?4) WHERE id = ?1",
                )?
                .execute(params![
                    id,
                    photo.width.map(|n| n as i64),
                    photo.height.map(|n| n as i64),
                    photo.taken,
                ])?;
        }
        for (column, table, old, new) in
            [("piece_id", &PIECES, old_piece, piece), ("firing_id", &FIRINGS, old_firing, firing)]
        {
            if let Some(new) = new.filter(|new| old != Some(*new)) {
                let sql = format!("UPDATE photographs SET {column} = ?1 WHERE id = ?2");
                self.connection.prepare_cached(&sql)?.execute([new, id])?;
                if let Some(old) = old {
                    let (was, now) = (self.name_of(table, old)?, self.name_of(table, new)?);
                    keeping.corrected.push(format!("{name}: {} was '{was}', now '{now}'", table.word));
                    if column == "firing_id" && new != old {
                        let stays = format!("the piece still stands in the firing '{was}' as well");
                        keeping.corrected.push(format!("{name}: {stays}"));
                    }
                }
            }
        }
        Ok(id)
    }

    fn name_of(&self, kind: &Kind, id: i64) -> Result<String, Inside> {
        let sql = format!("SELECT name FROM {} WHERE id = ?1", kind.table);
        Ok(self.connection.prepare_cached(&sql)?.query_row([id], |row| row.get(0))?)
    }

    /// Firing and piece of a row, entered and corrected as the row says.
    fn sheet_row(&self, row: &SheetRow, keeping: &mut Keeping) -> Result<(Option<i64>, Option<i64>), Inside> {
        let mut firing = None;
        if let Some(name) = &row.firing {
            let (id, new) = self.firing(name)?;
            firing = Some(id);
            if new {
                keeping.new_firings.push(name.clone());
            }
        }
        let Some(name) = &row.piece else {
            let lost = [&row.clay, &row.slip, &row.red, &row.paint, &row.place, &row.notes];
            if lost.iter().any(|told| told.is_some()) {
                keeping.not_kept.push("a row tells recipes, place or notes and names no piece".into());
            }
            return Ok((firing, None));
        };
        if let (None, Some(place)) = (firing, &row.place) {
            keeping.not_kept.push(format!("piece {name}: the place '{place}', since no firing is named"));
        }
        let mut own = told(&[
            ("shape", &row.shape),
            ("size", &row.size),
            ("state", &row.state),
            ("soak_test", &row.soak_test),
            ("clay_id", &row.clay),
            ("slip_id", &row.slip),
            ("red_id", &row.red),
            ("paint_id", &row.paint),
        ]);
        // Place, flaws and notes belong to the firing where there is one: the next firing may bring others.
        let here = told(&[("place", &row.place), ("flaws", &row.flaws), ("notes", &row.notes)]);
        if firing.is_none() {
            own.extend(here.clone().into_iter().filter(|(column, _)| *column != "place"));
        }
        let named = Named::new(name);
        let piece = match self.find(&PIECES, &named)? {
            Some(piece) => {
                self.say_changes(&PIECES, piece, name, &own, keeping)?;
                piece
            }
            None => self.enter(&PIECES, &named, &own)?,
        };
        if let Some(firing) = firing {
            let (load, _) = self.load(firing, piece, &here)?;
            self.say_changes(&LOADS, load, name, &here, keeping)?;
        }
        Ok((firing, Some(piece)))
    }

    fn say_changes(
        &self,
        kind: &Kind,
        id: i64,
        piece: &str,
        values: &Values,
        keeping: &mut Keeping,
    ) -> Result<(), Inside> {
        for change in self.change(kind, id, values, &[], Some("said with the photograph"))? {
            // A blank that is filled needs no word.
            if let (Some(was), Some(now)) = (&change.was, &change.now) {
                keeping.corrected.push(format!("piece {piece}: {} was '{was}', now '{now}'", change.field));
            }
        }
        Ok(())
    }
}
