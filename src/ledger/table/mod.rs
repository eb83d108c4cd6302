//! Stub.

/// A cell that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellFault {
    /// Line of the file, from 1.
    pub line: usize,
    /// The column, where one is at fault.
    pub column: Option<String>,
    /// What is wrong.
    pub what: String,
}

impl std::fmt::Display for CellFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "row {}, column {}: {}", self.line, self.column.as_deref().unwrap_or(""), self.what)
    }
}
