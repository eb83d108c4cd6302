//! Does the ledger hold together? SQLite's own check, links between rows, the hash of every record, photographs at hand.

use super::open::{LAYOUT, Ledger};
use super::transaction::Inside;
use crate::ledger::LedgerError;
use crate::ledger::kept::text_of;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;

/// What a check found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Checked {
    /// The file.
    pub ledger: String,
    /// The layout of its tables.
    pub layout: u32,
    /// Rows by table.
    pub rows: BTreeMap<&'static str, i64>,
    /// Photographs found in the folder that was named, whose bytes are the ones that were read.
    pub photographs_found: usize,
    /// What does not hold together, one sentence each; empty where all does.
    pub problems: Vec<String>,
}

/// Tables that are counted.
const TABLES: [&str; 11] = [
    "firings",
    "temperature_logs",
    "temperatures",
    "recipes",
    "pieces",
    "loads",
    "photographs",
    "passes",
    "readings",
    "swatches",
    "corrections",
];

impl Ledger {
    /// Checks the whole file, and against `photographs` (a folder) whether files of a name that was read still have the same
    /// bytes.
    ///
    /// # Errors
    /// [`LedgerError`] where it cannot even be looked through.
    pub fn check(&self, photographs: Option<&Path>) -> Result<Checked, LedgerError> {
        let mut problems = Vec::new();
        if let Err(LedgerError::Damaged { what, .. }) = self.must_hold_together("integrity_check") {
            problems.push(format!("the file: {what}"));
        }
        let links = || -> Result<i64, Inside> {
            let sql = "SELECT count(*) FROM pragma_foreign_key_check";
            Ok(self.connection.query_row(sql, [], |row| row.get(0))?)
        };
        match self.said(links())? {
            0 => {}
            n => problems.push(format!("{n} rows point to rows that are not there")),
        }
        let mut rows = BTreeMap::new();
        for table in TABLES {
            let sql = format!("SELECT count(*) FROM {table}");
            let count = self.connection.query_row(&sql, [], |row| row.get(0)).map_err(|e| self.failed(&e))?;
            rows.insert(table, count);
        }
        self.said(self.check_readings(&mut problems))?;
        let mut photographs_found = 0;
        if let Some(folder) = photographs {
            photographs_found = self.check_photographs(folder, &mut problems)?;
        }
        let ledger = self.path.display().to_string();
        Ok(Checked { ledger, layout: LAYOUT, rows, photographs_found, problems })
    }

    fn check_readings(&self, problems: &mut Vec<String>) -> Result<(), Inside> {
        let mut asked = self.connection.prepare("SELECT id FROM readings ORDER BY id")?;
        let ids = asked.query_map([], |row| row.get(0))?.collect::<Result<Vec<i64>, _>>()?;
        for id in ids {
            match text_of(&self.connection, &self.path, id) {
                Err(Inside::Said(LedgerError::Damaged { what, .. })) => problems.push(what),
                Err(other) => return Err(other),
                Ok(_) => {}
            }
        }
        // Two passes of a photograph that none replaces would count it twice.
        let mut asked = self.connection.prepare(
            "SELECT h.file_name FROM passes p JOIN photographs h ON h.id = p.photograph_id
             WHERE NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id)
             GROUP BY p.photograph_id HAVING count(*) > 1 ORDER BY h.file_name",
        )?;
        for name in asked.query_map([], |row| row.get::<_, String>(0))? {
            problems.push(format!("{}: two of its readings count", name?));
        }
        Ok(())
    }

    fn check_photographs(&self, folder: &Path, problems: &mut Vec<String>) -> Result<usize, LedgerError> {
        if !folder.is_dir() {
            let reason = "there is no such folder".into();
            return Err(LedgerError::Unreadable { path: folder.into(), reason });
        }
        let read = || -> Result<Vec<(String, String)>, Inside> {
            let mut asked = self
                .connection
                .prepare("SELECT file_name, sha256 FROM photographs ORDER BY file_name, sha256")?;
            let rows = asked.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        };
        let mut by_name: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (name, sha256) in self.said(read())? {
            by_name.entry(name).or_default().push(sha256);
        }
        let mut found = 0;
        for (name, hashes) in by_name {
            let bytes = match std::fs::read(folder.join(&name)) {
                Ok(bytes) => bytes,
                Err(error) if error.kind() == std::io::ErrorKind::NotFound => continue,
                Err(error) => {
                    problems.push(format!("{name}: it cannot be read: {error}"));
                    continue;
                }
            };
            if hashes.contains(&format!("{:x}", Sha256::digest(bytes))) {
                found += 1;
            } else {
                problems
                    .push(format!("{name}: the file in {} is not the one that was read", folder.display()));
            }
        }
        Ok(found)
    }
}
