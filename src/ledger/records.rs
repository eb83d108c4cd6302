//! Files of records read again.

use super::LedgerError;
use crate::reading::{Record, from_json_line};
use std::path::Path;

/// All records of a file; empty lines are passed over.
///
/// # Errors
/// [`LedgerError`], with the file and the line at fault. Nothing is left out in silence.
pub fn read_records(path: &Path) -> Result<Vec<Record>, LedgerError> {
    let unreadable = |e: std::io::Error| LedgerError::Unreadable { path: path.into(), reason: e.to_string() };
    let text = std::fs::read_to_string(path).map_err(unreadable)?;
    let lines = text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    lines
        .map(|(at, line)| {
            from_json_line(line).map_err(|e| LedgerError::NotARecord {
                path: path.into(),
                line: at + 1,
                reason: e.to_string(),
            })
        })
        .collect()
}
