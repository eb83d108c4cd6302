//! Temperature logs of a firing, kept row by row.

use super::fields::FIRINGS;
use super::open::{Entering, Inside, Ledger};
use super::{LedgerError, Named};
use rusqlite::{OptionalExtension, params};

/// A kept reading of a probe: probe, seconds since the first row, time as written, degrees C.
pub type LogRow = (String, f64, String, Option<f64>);

impl Ledger {
    /// Keeps a temperature log with its firing, which is entered by name where it is new. A log of the same file name replaces
    /// the one before, which is kept; the same bytes are not entered twice. Goes out: whether it was new.
    ///
    /// # Errors
    /// [`LedgerError`]; nothing is kept then.
    pub fn keep_log(
        &mut self,
        firing: &str,
        file_name: &str,
        sha256: &str,
        rows: &[LogRow],
    ) -> Result<bool, LedgerError> {
        self.at_once(|entering| {
            let (firing, _) = entering.firing(firing)?;
            let rows =
                rows.iter().map(|(probe, s, time, celsius)| (probe.as_str(), *s, time.as_str(), *celsius));
            entering.enter_log(firing, file_name, sha256, rows)
        })
    }

    /// The logs of a firing that count, by file name.
    ///
    /// # Errors
    /// [`LedgerError::NoSuch`] for a firing the ledger does not know.
    pub fn logs(&self, firing: &str) -> Result<Vec<(String, Vec<LogRow>)>, LedgerError> {
        let id = self.entry(&FIRINGS, &Named::new(firing))?.id;
        let read = || -> Result<Vec<(String, Vec<LogRow>)>, Inside> {
            let mut asked = self.connection.prepare(
                "SELECT id, file_name FROM temperature_logs l WHERE firing_id = ?1
                 AND NOT EXISTS (SELECT 1 FROM temperature_logs later WHERE later.replaces = l.id)
                 ORDER BY file_name, id",
            )?;
            let logs: Vec<(i64, String)> =
                asked.query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
            let mut found = Vec::new();
            for (log, name) in logs {
                let mut asked = self.connection.prepare_cached(
                    "SELECT probe, seconds, time, celsius FROM temperatures WHERE log_id = ?1 ORDER BY seconds, probe",
                )?;
                let rows =
                    asked.query_map([log], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
                found.push((name, rows.collect::<Result<_, _>>()?));
            }
            Ok(found)
        };
        self.said(read())
    }
}

impl Entering<'_> {
    /// A log with its rows; false where the same bytes are there already.
    pub(super) fn enter_log<'a>(
        &self,
        firing: i64,
        file_name: &str,
        sha256: &str,
        rows: impl Iterator<Item = (&'a str, f64, &'a str, Option<f64>)>,
    ) -> Result<bool, Inside> {
        let known = "SELECT id FROM temperature_logs WHERE firing_id = ?1 AND sha256 = ?2";
        let known: Option<i64> =
            self.connection.query_row(known, params![firing, sha256], |row| row.get(0)).optional()?;
        if known.is_some() {
            return Ok(false);
        }
        let replaces: Option<i64> = self
            .connection
            .query_row(
                "SELECT id FROM temperature_logs l WHERE firing_id = ?1 AND file_name = ?2
                 AND NOT EXISTS (SELECT 1 FROM temperature_logs later WHERE later.replaces = l.id)",
                params![firing, file_name],
                |row| row.get(0),
            )
            .optional()?;
        self.connection.execute(
            "INSERT INTO temperature_logs (firing_id, file_name, sha256, replaces, entered) VALUES (?1, ?2, ?3, ?4, ?5)",
            params![firing, file_name, sha256, replaces, self.now],
        )?;
        let log = self.connection.last_insert_rowid();
        for (probe, seconds, time, celsius) in rows {
            self.connection
                .prepare_cached(
                    "INSERT INTO temperatures (log_id, probe, seconds, time, celsius) VALUES (?1, ?2, ?3, ?4, ?5)",
                )?
                .execute(params![log, probe, seconds, time, celsius])?;
        }
        Ok(true)
    }
}
