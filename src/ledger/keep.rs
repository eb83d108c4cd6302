//! Readings kept: one transaction a photograph.
//!
//! A photograph is its bytes. Each time it is read it gets a pass, with a reading a piece; the pass that none replaces is the
//! one that counts. What the sheet says of it (piece, firing, recipes, place) is entered with it, and corrected where the
//! sheet says something else than before.

use super::entries::Values;
use super::fields::{FIRINGS, Kind, LOADS, PIECES, Value};
use super::kept::records_of;
use super::open::{Entering, Inside, Ledger};
use super::packed::pack;
use super::{LedgerError, Named};
use crate::reading::{Reading, Record, SheetRow, Verdict, to_json_line};
use rusqlite::{OptionalExtension, ToSql, params};
use sha2::{Digest, Sha256};
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
pub(super) fn measured(record: &Record) -> Option<String> {
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
    pub(super) fn keep_records(&self, shot: Shot, records: &[Record]) -> Result<Keeping, Inside> {
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
        for (column, table, old, new) in
            [("piece_id", &PIECES, old_piece, piece), ("firing_id", &FIRINGS, old_firing, firing)]
        {
            if let Some(new) = new.filter(|new| old != Some(*new)) {
                let sql = format!("UPDATE photographs SET {column} = ?1 WHERE id = ?2");
                self.connection.prepare_cached(&sql)?.execute([new, id])?;
                if let Some(old) = old {
                    let (was, now) = (self.name_of(table, old)?, self.name_of(table, new)?);
                    keeping.corrected.push(format!("{name}: {} was '{was}', now '{now}'", table.word));
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
        let Some(name) = &row.piece else { return Ok((firing, None)) };
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

    /// The pass of a photograph that none replaces.
    pub(super) fn current_pass(&self, photograph: i64) -> Result<Option<i64>, Inside> {
        let mut asked = self.connection.prepare_cached(
            "SELECT id FROM passes p WHERE photograph_id = ?1
             AND NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id) ORDER BY id DESC",
        )?;
        Ok(asked.query_row([photograph], |row| row.get(0)).optional()?)
    }

    fn settings_of(&self, pass: i64) -> Result<String, Inside> {
        let mut asked = self.connection.prepare_cached(
            "SELECT s.sha256 FROM passes p JOIN settings s ON s.id = p.settings_id WHERE p.id = ?1",
        )?;
        Ok(asked.query_row([pass], |row| row.get(0))?)
    }

    /// A new pass with its readings.
    pub(super) fn enter_pass(
        &self,
        photograph: i64,
        settings: &str,
        records: &[Record],
        replaces: Option<i64>,
    ) -> Result<i64, Inside> {
        let failure = records.iter().find_map(|record| match record {
            Record::Failed(failure) => Some(failure),
            Record::Measured(_) => None,
        });
        let version = records.first().map_or(env!("CARGO_PKG_VERSION"), |record| match record {
            Record::Failed(failure) => &failure.made_by.version,
            Record::Measured(reading) => &reading.made_by.version,
        });
        let failed =
            failure.map(|f| to_json_line(&Record::Failed(f.clone()))).transpose().map_err(unwritable)?;
        let stored: [Box<dyn ToSql>; 6] = [
            Box::new(photograph),
            Box::new(self.settings(settings, version)?),
            Box::new(failure.map(|f| f.error.code.clone())),
            Box::new(failed),
            Box::new(replaces),
            Box::new(self.now.clone()),
        ];
        let columns = ["photograph_id", "settings_id", "error_code", "failure", "replaces", "entered"];
        let pass = self.insert("passes", &columns, &stored)?;
        for reading in records.iter().filter_map(Record::reading) {
            self.enter_reading(pass, reading)?;
        }
        Ok(pass)
    }

    fn enter_reading(&self, pass: i64, reading: &Reading) -> Result<(), Inside> {
        // How the views of a piece join is worked out anew whenever they are looked at.
        let plain = Record::Measured(Box::new(Reading { views: None, ..reading.clone() }));
        let text = to_json_line(&plain).map_err(unwritable)?;
        let (reference, against) = self.reference(&text)?;
        let packed = pack(&text, &against).ok_or_else(|| ours("a record could not be deflated"))?;
        let present: Vec<&str> = reading
            .faults
            .iter()
            .filter(|f| f.verdict == Verdict::Present)
            .map(|f| f.fault.as_str())
            .collect();
        let contrast = reading.contrast.as_ref();
        self.connection
            .prepare_cached(
                "INSERT INTO readings (pass_id, piece_number, grade, grade_because, faults_present, white_black_ratio,
                    white_black_ratio_u95, white_black_delta_l, white_black_delta_l_u95, paint_kept, paint_kept_u95,
                    clouds, light_source, targets)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
            )?
            .execute(params![
                pass,
                reading.piece.number as i64,
                reading.grade.name(),
                words(reading.grade_because.join(" ")),
                words(present.join(", ")),
                contrast.map(|c| c.reflectance_ratio).map(rounded),
                contrast.map(|c| c.u95.reflectance_ratio).map(rounded),
                contrast.map(|c| c.delta_l).map(rounded),
                contrast.map(|c| c.u95.delta_l).map(rounded),
                reading.paint.as_ref().map(|p| p.retained_fraction).map(rounded),
                reading.paint.as_ref().map(|p| p.u95).map(rounded),
                rounded(reading.clouds.area_fraction),
                reading.light.source,
                reading.targets,
            ])?;
        let id = self.connection.last_insert_rowid();
        self.connection
            .prepare_cached(
                "INSERT INTO records (reading_id, record, bytes, sha256, reference_id) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?
            .execute(params![
                id,
                packed,
                text.len() as i64,
                format!("{:x}", Sha256::digest(text.as_bytes())),
                reference,
            ])?;
        for (name, surface) in reading.surfaces.iter() {
            let whiteness = surface.whiteness.as_ref().filter(|w| w.valid).map(|w| rounded(w.value));
            self.connection
                .prepare_cached(
                    "INSERT INTO surfaces (surface, reading_id, area_fraction, l, a, b, u95_l, u95_a, u95_b, to_target,
                        whiteness, munsell) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
                )?
                .execute(params![
                    name,
                    id,
                    rounded(surface.area_fraction),
                    rounded(surface.lab[0]),
                    rounded(surface.lab[1]),
                    rounded(surface.lab[2]),
                    rounded(surface.u95[0]),
                    rounded(surface.u95[1]),
                    rounded(surface.u95[2]),
                    surface.to_target_de00.map(rounded),
                    whiteness,
                    surface.munsell.first().map(|m| m.notation.clone()),
                ])?;
        }
        Ok(())
    }

    /// The row of these settings.
    fn settings(&self, sha256: &str, version: &str) -> Result<i64, Inside> {
        let new = "INSERT OR IGNORE INTO settings (sha256, version) VALUES (?1, ?2)";
        self.connection.prepare_cached(new)?.execute([sha256, version])?;
        let mut asked =
            self.connection.prepare_cached("SELECT id FROM settings WHERE sha256 = ?1 AND version = ?2")?;
        Ok(asked.query_row([sha256, version], |row| row.get(0))?)
    }

    /// The text that records are deflated against: at first that of the first record, later that of two together.
    fn reference(&self, text: &str) -> Result<(i64, String), Inside> {
        /// Records that are kept against the first text alone.
        const FEW: i64 = 8;
        let mut asked = self
            .connection
            .prepare_cached("SELECT id, text FROM record_references ORDER BY id DESC LIMIT 1")?;
        let known: Option<(i64, String)> =
            asked.query_row([], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
        let text = match known {
            Some((1, first)) => {
                let mut asked = self
                    .connection
                    .prepare_cached("SELECT EXISTS (SELECT 1 FROM records LIMIT 1 OFFSET ?1)")?;
                if !asked.query_row([FEW - 1], |row| row.get(0))? {
                    return Ok((1, first));
                }
                first + text
            }
            Some(known) => return Ok(known),
            None => text.to_owned(),
        };
        self.connection.execute("INSERT INTO record_references (text) VALUES (?1)", [&text])?;
        Ok((self.connection.last_insert_rowid(), text))
    }

    /// Makes an earlier pass count again: a copy of it that replaces the one that counts now.
    fn take_up(&self, pass: i64, current: i64) -> Result<(), Inside> {
        self.connection.execute(
            "INSERT INTO passes (photograph_id, settings_id, error_code, failure, replaces, entered)
             SELECT photograph_id, settings_id, error_code, failure, ?2, ?3 FROM passes WHERE id = ?1",
            params![pass, current, self.now],
        )?;
        let copy = self.connection.last_insert_rowid();
        let columns = "piece_number, grade, grade_because, faults_present, white_black_ratio, white_black_ratio_u95,
            white_black_delta_l, white_black_delta_l_u95, paint_kept, paint_kept_u95, clouds, light_source, targets";
        self.connection.execute(
            &format!(
                "INSERT INTO readings (pass_id, {columns}) SELECT ?2, {columns} FROM readings WHERE pass_id = ?1"
            ),
            [pass, copy],
        )?;
        self.connection.execute(
            "INSERT INTO records (reading_id, record, bytes, sha256, reference_id)
             SELECT new.id, r.record, r.bytes, r.sha256, r.reference_id
             FROM records r JOIN readings old ON old.id = r.reading_id AND old.pass_id = ?1
             JOIN readings new ON new.pass_id = ?2 AND new.piece_number = old.piece_number",
            [pass, copy],
        )?;
        self.connection.execute(
            "INSERT INTO surfaces (surface, reading_id, area_fraction, l, a, b, u95_l, u95_a, u95_b, to_target, whiteness, munsell)
             SELECT s.surface, new.id, s.area_fraction, s.l, s.a, s.b, s.u95_l, s.u95_a, s.u95_b, s.to_target, s.whiteness,
                 s.munsell
             FROM surfaces s JOIN readings old ON old.id = s.reading_id AND old.pass_id = ?1
             JOIN readings new ON new.pass_id = ?2 AND new.piece_number = old.piece_number",
            [pass, copy],
        )?;
        Ok(())
    }
}

fn words(text: String) -> Option<String> {
    (!text.is_empty()).then_some(text)
}

/// As the record holds it: three decimals at most.
fn rounded(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0 + 0.0
}

fn ours(what: &str) -> Inside {
    Inside::Said(LedgerError::Ours { path: "ledger".into(), what: what.into() })
}

fn unwritable(error: serde_json::Error) -> Inside {
    ours(&format!("a record could not be written: {error}"))
}
