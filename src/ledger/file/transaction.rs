//! Work done as one transaction: all of it is kept or nothing.

use super::open::Ledger;
use crate::ledger::LedgerError;
use rusqlite::{Connection, ToSql, TransactionBehavior};
use std::path::Path;

impl Ledger {
    /// Runs `work` as one transaction: all of it is kept or nothing.
    pub(in crate::ledger) fn at_once<T>(
        &mut self,
        work: impl FnOnce(&Entering) -> Result<T, Inside>,
    ) -> Result<T, LedgerError> {
        let path = self.path.clone();
        let outside = |inside: Inside| match inside {
            Inside::Said(error) => error,
            Inside::Database(error) => LedgerError::of(&path, &error),
        };
        let fixed = self.fixed_time;
        let begun = self.connection.transaction_with_behavior(TransactionBehavior::Immediate);
        let transaction = begun.map_err(|e| outside(e.into()))?;
        let now = transaction.query_row(NOW, [fixed], |row| row.get(0)).map_err(|e| outside(e.into()))?;
        let entering = Entering { connection: &transaction, path: &path, now };
        let done = work(&entering).map_err(outside)?;
        transaction.commit().map_err(|e| outside(e.into()))?;
        Ok(done)
    }

    /// What ended a look into the file, for a person.
    pub(in crate::ledger) fn said<T>(&self, done: Result<T, Inside>) -> Result<T, LedgerError> {
        done.map_err(|inside| match inside {
            Inside::Said(error) => error,
            Inside::Database(error) => self.failed(&error),
        })
    }
}

/// Now, or the time that was fixed, in UTC.
const NOW: &str = "SELECT CASE WHEN ?1 IS NULL THEN strftime('%Y-%m-%dT%H:%M:%SZ', 'now')
    ELSE strftime('%Y-%m-%dT%H:%M:%SZ', ?1, 'unixepoch') END";

/// A transaction under way.
pub(in crate::ledger) struct Entering<'a> {
    pub(in crate::ledger) connection: &'a Connection,
    /// The ledger's file.
    pub(in crate::ledger) path: &'a Path,
    /// When it was begun, in UTC.
    pub(in crate::ledger) now: String,
}

/// What ends a transaction early.
#[derive(Debug)]
pub(in crate::ledger) enum Inside {
    /// Something to be said to a person.
    Said(LedgerError),
    /// What the database says.
    Database(rusqlite::Error),
}

impl From<rusqlite::Error> for Inside {
    fn from(error: rusqlite::Error) -> Self {
        Self::Database(error)
    }
}

impl From<LedgerError> for Inside {
    fn from(error: LedgerError) -> Self {
        Self::Said(error)
    }
}

impl Entering<'_> {
    /// A new row.
    pub(in crate::ledger) fn insert(
        &self,
        table: &str,
        columns: &[&str],
        stored: &[Box<dyn ToSql>],
    ) -> Result<i64, Inside> {
        let names: Vec<String> = columns.iter().map(|c| format!("\"{c}\"")).collect();
        let places: Vec<String> = (1..=columns.len()).map(|n| format!("?{n}")).collect();
        let sql = format!("INSERT INTO {table} ({}) VALUES ({})", names.join(", "), places.join(", "));
        let given: Vec<&dyn ToSql> = stored.iter().map(AsRef::as_ref).collect();
        self.connection.prepare_cached(&sql)?.execute(&given[..])?;
        Ok(self.connection.last_insert_rowid())
    }
}
