//! Passes: each time a photograph was read, with a reading a piece.

use super::packed::pack;
use crate::ledger::LedgerError;
use crate::ledger::file::{Entering, Inside};
use crate::reading::{Reading, Record, Verdict, to_json_line};
use rusqlite::{OptionalExtension, ToSql, params};
use sha2::{Digest, Sha256};

impl Entering<'_> {
    /// The pass of a photograph that none replaces.
    pub(in crate::ledger) fn current_pass(&self, photograph: i64) -> Result<Option<i64>, Inside> {
        let mut asked = self.connection.prepare_cached(
            "SELECT id FROM passes p WHERE photograph_id = ?1
             AND NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id) ORDER BY id DESC",
        )?;
        Ok(asked.query_row([photograph], |row| row.get(0)).optional()?)
    }

    pub(super) fn settings_of(&self, pass: i64) -> Result<String, Inside> {
        let mut asked = self.connection.prepare_cached(
            "SELECT s.sha256 FROM passes p JOIN settings s ON s.id = p.settings_id WHERE p.id = ?1",
        )?;
        Ok(asked.query_row([pass], |row| row.get(0))?)
    }

    /// A new pass with its readings.
    pub(in crate::ledger) fn enter_pass(
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
        self.enter_swatches(id, reading.swatches.as_deref().unwrap_or_default())
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
    pub(in crate::ledger) fn take_up(&self, pass: i64, current: i64) -> Result<(), Inside> {
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
        let columns = "photo_row, photo_column, name, trial, tile, \"row\", \"column\", role, slip, paint, coats, l, a, b, u95_l,
            u95_a, u95_b, contrast_delta_l, contrast_left, retained, stands_out, left_out";
        self.connection.execute(
            &format!(
                "INSERT INTO swatches (reading_id, {columns}) SELECT new.id, {columns}
                 FROM swatches s JOIN readings old ON old.id = s.reading_id AND old.pass_id = ?1
                 JOIN readings new ON new.pass_id = ?2 AND new.piece_number = old.piece_number"
            ),
            [pass, copy],
        )?;
        Ok(())
    }
}

fn words(text: String) -> Option<String> {
    (!text.is_empty()).then_some(text)
}

/// As the record holds it: three decimals at most.
pub(super) fn rounded(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0 + 0.0
}

fn ours(what: &str) -> Inside {
    Inside::Said(LedgerError::Ours { path: "ledger".into(), what: what.into() })
}

fn unwritable(error: serde_json::Error) -> Inside {
    ours(&format!("a record could not be written: {error}"))
}
