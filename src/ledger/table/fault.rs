//! What is wrong with a table, and where.

use serde::Serialize;
use std::fmt;

/// One fault of a table, told so that the person finds it in an editor or a spreadsheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CellFault {
    /// Line in the file, from 1.
    pub line: usize,
    /// The column's name as written; none where the whole row is at fault.
    pub column: Option<String>,
    /// What is wrong, and where it helps, what is wanted.
    pub what: String,
}

impl CellFault {
    /// A fault of one cell.
    pub fn cell(line: usize, column: &str, what: impl Into<String>) -> Self {
        Self { line, column: Some(column.to_owned()), what: what.into() }
    }

    /// A fault of a whole row.
    pub fn row(line: usize, what: impl Into<String>) -> Self {
        Self { line, column: None, what: what.into() }
    }
}

impl fmt::Display for CellFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.column {
            Some(column) => write!(f, "row {}, column {}: {}", self.line, shown(column), self.what),
            None => write!(f, "row {}: {}", self.line, self.what),
        }
    }
}

impl std::error::Error for CellFault {}

/// A file that is no table at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum TableError {
    /// Nothing in it but empty lines.
    #[error("the file is empty")]
    Empty,
    /// A picture, a spreadsheet's own format, or damaged.
    #[error("the file is no text: {what}")]
    NotText {
        /// What gives it away, and the next step.
        what: String,
    },
}

/// A cell for a sentence: at most 40 letters, without line ends or other control characters.
pub(in crate::ledger) fn shown(cell: &str) -> String {
    const MOST: usize = 40;
    let mut letters = cell.chars().map(|c| if c.is_control() { ' ' } else { c });
    let mut text: String = letters.by_ref().take(MOST).collect();
    if letters.next().is_some() {
        text.push('…');
    }
    text
}

/// A text that no spreadsheet takes for a formula: an apostrophe before `= + - @`. White space before such a sign does not
/// help, since some programs skip it.
pub(crate) fn safe_cell(value: &str) -> String {
    match value.trim_start().starts_with(['=', '+', '-', '@']) {
        true => format!("'{value}"),
        false => value.to_owned(),
    }
}
