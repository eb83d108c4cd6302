//! Temperature logs of a firing, kept row by row.

use crate::ledger::entries::FIRINGS;
use crate::ledger::file::{Entering, Inside, Ledger};
use crate::ledger::temperatures::{Cell, LogRow, TemperatureLog, TimeKind, Unit};
use crate::ledger::{LedgerError, Named};
use rusqlite::{Connection, OptionalExtension, params};
use serde::de::DeserializeOwned;

impl Ledger {
    /// Keeps a temperature log with its firing, which is entered by name where it is new. A log of the same file name replaces
    /// the one before, which is kept; the same log is not entered twice. Goes out: whether it was new.
    ///
    /// # Errors
    /// [`LedgerError`]; nothing is kept then.
    pub fn keep_log(
        &mut self,
        firing: &str,
        file_name: &str,
        sha256: &str,
        log: &TemperatureLog,
    ) -> Result<bool, LedgerError> {
        self.at_once(|entering| {
            let (firing, _) = entering.firing(firing)?;
            entering.enter_log(firing, file_name, sha256, log, true)
        })
    }

    /// The logs of a firing that count, each with its file name, in the order of these.
    ///
    /// # Errors
    /// [`LedgerError::NoSuch`] for a firing the ledger does not know.
    pub fn logs(&self, firing: &str) -> Result<Vec<(String, TemperatureLog)>, LedgerError> {
        let id = self.entry(&FIRINGS, &Named::new(firing))?.id;
        let read = || -> Result<Vec<(String, TemperatureLog)>, Inside> {
            let mut asked = self.connection.prepare(
                "SELECT id, file_name FROM temperature_logs l WHERE firing_id = ?1
                 AND NOT EXISTS (SELECT 1 FROM temperature_logs later WHERE later.replaces = l.id)
                 ORDER BY file_name, id",
            )?;
            let logs: Vec<(i64, String)> =
                asked.query_map([id], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
            logs.into_iter().map(|(log, name)| Ok((name, log_of(&self.connection, log)?))).collect()
        };
        self.said(read())
    }
}

/// A log as it was read.
pub(in crate::ledger) fn log_of(connection: &Connection, log: i64) -> Result<TemperatureLog, Inside> {
    let kept = "SELECT times, units FROM temperature_logs WHERE id = ?1";
    let (times, units): (String, String) =
        connection.query_row(kept, [log], |row| Ok((row.get(0)?, row.get(1)?)))?;
    let mut asked = connection.prepare_cached(
        "SELECT seconds, probe_number, probe, time, celsius, no_reading, line FROM temperatures WHERE log_id = ?1
         ORDER BY seconds, probe_number",
    )?;
    let (mut probes, mut rows): (Vec<String>, Vec<LogRow>) = (Vec::new(), Vec::new());
    let mut found = asked.query([log])?;
    while let Some(row) = found.next()? {
        let (seconds, number): (f64, usize) = (row.get(0)?, row.get::<_, u32>(1)? as usize);
        if number == 0 {
            let line = row.get::<_, u32>(6)? as usize;
            rows.push(LogRow { line, written: row.get(3)?, seconds, cells: Vec::new() });
        }
        if number == probes.len() {
            probes.push(row.get(2)?);
        }
        let cell = match (row.get(4)?, row.get(5)?) {
            (Some(celsius), _) => Cell::Celsius(celsius),
            (None, Some(word)) => Cell::NoReading(word),
            (None, None) => Cell::Empty,
        };
        if let Some(row) = rows.last_mut() {
            row.cells.push(cell);
        }
    }
    let units = units.split(' ').filter_map(from_word::<Unit>).collect();
    let time = from_word(&times).unwrap_or(TimeKind::LocalDates);
    Ok(TemperatureLog { time, units, probes, rows })
}

/// The word that an enum has in JSON.
fn word(value: &impl serde::Serialize) -> String {
    serde_json::to_value(value).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

fn from_word<T: DeserializeOwned>(word: &str) -> Option<T> {
    serde_json::from_value(serde_json::Value::String(word.into())).ok()
}

impl Entering<'_> {
    /// A log with its rows; false where the same is there already. A log that another has replaced since is entered anew
    /// where it is told `again`, so that it counts.
    pub(in crate::ledger) fn enter_log(
        &self,
        firing: i64,
        file_name: &str,
        sha256: &str,
        log: &TemperatureLog,
        again: bool,
    ) -> Result<bool, Inside> {
        let mut asked = self.connection.prepare_cached(
            "SELECT id FROM temperature_logs l WHERE firing_id = ?1 AND sha256 = ?2 AND (?3 = 0
                OR NOT EXISTS (SELECT 1 FROM temperature_logs later WHERE later.replaces = l.id)) ORDER BY id DESC",
        )?;
        let alike: Vec<i64> =
            asked.query_map(params![firing, sha256, again], |row| row.get(0))?.collect::<Result<_, _>>()?;
        for known in alike {
            // The same bytes may have been read with another unit, or only in part.
            if log_of(self.connection, known)? == *log {
                return Ok(false);
            }
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
        let units: Vec<String> = log.units.iter().map(word).collect();
        self.connection.execute(
            "INSERT INTO temperature_logs (firing_id, file_name, sha256, times, units, replaces, entered)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            params![firing, file_name, sha256, word(&log.time), units.join(" "), replaces, self.now],
        )?;
        let id = self.connection.last_insert_rowid();
        let mut put = self.connection.prepare_cached(
            "INSERT INTO temperatures (log_id, seconds, probe_number, probe, time, celsius, no_reading, line)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        )?;
        for row in &log.rows {
            for (number, (probe, cell)) in log.probes.iter().zip(&row.cells).enumerate() {
                let (celsius, no_reading) = match cell {
                    Cell::Celsius(celsius) => (Some(*celsius), None),
                    Cell::NoReading(word) => (None, Some(word)),
                    Cell::Empty => (None, None),
                };
                let (number, line) = (number as i64, row.line as i64);
                put.execute(params![id, row.seconds, number, probe, row.written, celsius, no_reading, line])?;
            }
        }
        Ok(true)
    }
}
