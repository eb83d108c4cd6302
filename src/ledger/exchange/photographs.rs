//! Photographs and their passes taken in from another ledger.

use super::export::PHOTOGRAPHS;
use super::import::Imported;
use super::lines::{PassLine, PhotographLine};
use crate::ledger::LedgerError;
use crate::ledger::file::{Entering, Inside};
use crate::ledger::kept::{measured, records_of};
use crate::reading::{Record, from_json_line};
use rusqlite::{OptionalExtension, params};

impl Entering<'_> {
    /// A photograph with its passes. With `older` they come before the pass that counts here, if there is one.
    pub(super) fn take_photograph(
        &self,
        line: &PhotographLine,
        imported: &mut Imported,
        older: bool,
    ) -> Result<(), Inside> {
        let known: Option<i64> = self
            .connection
            .prepare_cached("SELECT id FROM photographs WHERE sha256 = ?1")?
            .query_row([&line.sha256], |row| row.get(0))
            .optional()?;
        imported.count("photograph", known.is_none());
        let piece = line.piece.as_ref().map(|name| self.piece(name)).transpose()?.map(|(id, _)| id);
        let firing = line.firing.as_ref().map(|name| self.firing(name)).transpose()?.map(|(id, _)| id);
        let id = match known {
            Some(id) => {
                self.fill_photograph(id, line, piece, firing, imported)?;
                id
            }
            None => {
                self.connection.prepare_cached(
                    "INSERT INTO photographs (sha256, file_name, folder, width, height, taken, exposure_seconds, f_number,
                        iso, piece_id, firing_id, entered) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
                )?
                .execute(params![
                    line.sha256,
                    line.file_name,
                    line.folder,
                    line.width,
                    line.height,
                    line.taken,
                    line.exposure_seconds,
                    line.f_number,
                    line.iso,
                    piece,
                    firing,
                    line.entered,
                ])?;
                self.connection.last_insert_rowid()
            }
        };
        self.take_corrections(&PHOTOGRAPHS, id, &line.corrections)?;
        for pass in &line.passes {
            let new = self.take_pass(id, pass, older)?;
            imported.count("readings", new);
        }
        self.count_last(id, &line.passes)
    }

    /// Where the pass that counts here is one of the line's, the last of the line counts.
    fn count_last(&self, photograph: i64, passes: &[PassLine]) -> Result<(), Inside> {
        let (Some(current), Some(last)) = (self.current_pass(photograph)?, passes.last()) else {
            return Ok(());
        };
        let mut known = Vec::new();
        for pass in passes {
            known.push(self.alike(photograph, pass, &parsed(pass)?)?);
        }
        let one_of_them = known.iter().any(|alike| alike.contains(&current));
        match known.last().and_then(|alike| alike.first()) {
            Some(&pass) if one_of_them && !known.last().is_some_and(|alike| alike.contains(&current)) => {
                Entering { now: last.entered.clone(), ..*self }.take_up(pass, current)
            }
            _ => Ok(()),
        }
    }

    /// The passes of a photograph that are the same as one of another ledger.
    fn alike(&self, photograph: i64, line: &PassLine, records: &[Record]) -> Result<Vec<i64>, Inside> {
        let mut asked = self.connection.prepare_cached(
            "SELECT p.id FROM passes p JOIN settings s ON s.id = p.settings_id
             WHERE p.photograph_id = ?1 AND s.sha256 = ?2 AND s.version = ?3 ORDER BY p.id DESC",
        )?;
        let candidates: Vec<i64> = asked
            .query_map(params![photograph, line.settings_sha256, line.version], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let plain: Vec<_> = records.iter().map(measured).collect();
        let mut alike = Vec::new();
        for pass in candidates {
            let here = records_of(self.connection, self.path, pass)?;
            if here.iter().map(measured).collect::<Vec<_>>() == plain {
                alike.push(pass);
            }
        }
        Ok(alike)
    }

    fn fill_photograph(
        &self,
        id: i64,
        line: &PhotographLine,
        piece: Option<i64>,
        firing: Option<i64>,
        imported: &mut Imported,
    ) -> Result<(), Inside> {
        self.connection.execute(
            "UPDATE photographs SET folder = coalesce(folder, ?2), width = coalesce(width, ?3), height = coalesce(height, ?4),
                taken = coalesce(taken, ?5), exposure_seconds = coalesce(exposure_seconds, ?6),
                f_number = coalesce(f_number, ?7), iso = coalesce(iso, ?8), piece_id = coalesce(piece_id, ?9),
                firing_id = coalesce(firing_id, ?10)
             WHERE id = ?1",
            params![
                id,
                line.folder,
                line.width,
                line.height,
                line.taken,
                line.exposure_seconds,
                line.f_number,
                line.iso,
                piece,
                firing,
            ],
        )?;
        let mut asked = self.connection.prepare_cached(
            "SELECT i.name, f.name FROM photographs h LEFT JOIN pieces i ON i.id = h.piece_id
             LEFT JOIN firings f ON f.id = h.firing_id WHERE h.id = ?1",
        )?;
        let (here_piece, here_firing): (Option<String>, Option<String>) =
            asked.query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
        for (what, here, there) in [("piece", here_piece, &line.piece), ("firing", here_firing, &line.firing)]
        {
            if let (Some(here), Some(there)) = (here, there)
                && here != *there
            {
                let name = &line.file_name;
                imported
                    .differences
                    .push(format!("{name}: the {what} is '{here}' here and '{there}' there; '{here}' stays"));
            }
        }
        Ok(())
    }

    /// A pass of another ledger; false where the same is here already. A newer one than the one that counts replaces it, an
    /// older one, or one that is told to be, becomes the one that all others followed.
    fn take_pass(&self, photograph: i64, line: &PassLine, older: bool) -> Result<bool, Inside> {
        let records = parsed(line)?;
        if !self.alike(photograph, line, &records)?.is_empty() {
            return Ok(false);
        }
        let current = self.current_pass(photograph)?;
        let entered: Option<String> = current
            .map(|pass| {
                self.connection
                    .query_row("SELECT entered FROM passes WHERE id = ?1", [pass], |row| row.get(0))
            })
            .transpose()?;
        let entering = Entering { now: line.entered.clone(), ..*self };
        if entered.as_ref().is_some_and(|entered| older || line.entered < *entered) {
            let first: i64 = self.connection.query_row(
                "SELECT id FROM passes WHERE photograph_id = ?1 AND replaces IS NULL ORDER BY id LIMIT 1",
                [photograph],
                |row| row.get(0),
            )?;
            let older = entering.enter_pass(photograph, &line.settings_sha256, &records, None)?;
            self.connection.execute("UPDATE passes SET replaces = ?1 WHERE id = ?2", [older, first])?;
        } else {
            entering.enter_pass(photograph, &line.settings_sha256, &records, current)?;
        }
        Ok(true)
    }
}

fn parsed(line: &PassLine) -> Result<Vec<Record>, Inside> {
    let unreadable = |error: serde_json::Error| {
        Inside::Said(LedgerError::Unreadable {
            path: "the import".into(),
            reason: format!("a record in it cannot be read: {error}"),
        })
    };
    line.records.iter().map(|r| from_json_line(r.get())).collect::<Result<_, _>>().map_err(unreadable)
}
