//! Files of records read again.

use crate::reading::{Record, from_json_line};
use std::path::{Path, PathBuf};

/// Records that cannot be read again.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum LedgerError {
    /// The file cannot be opened or is no text.
    #[error("the records '{}' cannot be read: {reason}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        reason: String,
    },
    /// A line is no record of this schema.
    #[error("the records '{}' cannot be used: line {line}: {reason}", path.display())]
    NotARecord {
        /// The file.
        path: PathBuf,
        /// Its line, from 1.
        line: usize,
        /// What is wrong with it.
        reason: String,
    },
}

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
