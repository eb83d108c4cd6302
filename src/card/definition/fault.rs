//! What is wrong with a card's file, and where.

use crate::card::CardError;
use std::fmt;

/// One fault of a card's file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DefinitionFault {
    /// Line of the file, counted from 1.
    pub line: Option<usize>,
    /// The field, such as `patch 4, lab`, `layout, rows` or `LAB_A`.
    pub field: Option<String>,
    /// What is wrong, and what is wanted.
    pub reason: String,
}

impl DefinitionFault {
    /// A fault of the file as a whole.
    pub(super) fn whole(reason: impl Into<String>) -> Self {
        Self { line: None, field: None, reason: reason.into() }
    }
    /// A fault of a line.
    pub(super) fn at(line: usize, reason: impl Into<String>) -> Self {
        Self { line: Some(line), field: None, reason: reason.into() }
    }
    /// The same fault with its field.
    pub(super) fn of(mut self, field: impl Into<String>) -> Self {
        self.field = Some(field.into());
        self
    }
}

impl fmt::Display for DefinitionFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, &self.field) {
            (Some(line), Some(field)) => write!(f, "line {line}, {field}: {}", self.reason),
            (Some(line), None) => write!(f, "line {line}: {}", self.reason),
            (None, Some(field)) => write!(f, "{field}: {}", self.reason),
            (None, None) => f.write_str(&self.reason),
        }
    }
}

/// A card's file that cannot be used, with every fault found. Nothing of it is kept.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("card definition {name}: {}", self.summary())]
pub struct DefinitionError {
    /// Id or file name.
    pub name: String,
    /// The faults, in the order of the file; never empty.
    pub faults: Vec<DefinitionFault>,
}

/// Faults told in one sentence; the rest are counted.
const TOLD: usize = 3;

impl DefinitionError {
    /// The first faults in a line.
    fn summary(&self) -> String {
        let told: Vec<String> = self.faults.iter().take(TOLD).map(ToString::to_string).collect();
        let more = self.faults.len().saturating_sub(TOLD);
        let told = told.join("; ");
        if more > 0 { format!("{told}; and {more} more, see 'sherdlight card check'") } else { told }
    }
}

impl From<DefinitionError> for CardError {
    fn from(error: DefinitionError) -> Self {
        CardError::Definition { reason: error.summary(), name: error.name }
    }
}
