//! Delimited text as people really have it: sheets saved as text, and the files of loggers.
//!
//! Comes in: the bytes of a file. Goes out: a [`Table`] with its header, its [`Separator`] and rows whose cells
//! are trimmed and which know their line in the file, with every fault told by row and column ([`CellFault`]).
//! Separator, encoding and decimal sign are told by content. An empty cell is unknown, never 0.

mod cells;
mod columns;
mod decode;
mod fault;
mod grid;
mod separator;

pub use cells::{DecimalSigns, number};
pub use columns::{Columns, plain_name};
pub(crate) use fault::safe_cell;
pub(super) use fault::shown;
pub use fault::{CellFault, TableError};
pub use grid::Row;
pub(super) use grid::{Grid, filled_width, fits};
pub use separator::Separator;

/// A table with one line of names above its rows.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Table {
    /// Names of the columns as written, trimmed; those without a name at the end are left out.
    pub header: Vec<String>,
    /// Line of the header in the file, from 1.
    pub header_line: usize,
    /// What stands between two cells.
    pub separator: Separator,
    /// Which numbers such as `1,234` are read, and which are refused.
    pub decimals: DecimalSigns,
    /// The rows that have as many cells as the header. Rows without any filled cell are passed over.
    pub rows: Vec<Row>,
    /// Rows too short or too long: none of them is in `rows`.
    pub faults: Vec<CellFault>,
    /// What was found and dealt with, as sentences for the person.
    pub remarks: Vec<String>,
}

impl Table {
    /// Reads a table; the first line that is not empty is its header.
    ///
    /// # Errors
    /// [`TableError`] where the file is empty or no text.
    pub fn read(bytes: &[u8]) -> Result<Self, TableError> {
        let grid = Grid::read(bytes)?;
        let Grid { separator, decimals, rows, mut faults, remarks } = grid;
        let mut rows = rows.into_iter();
        let first = rows.next().ok_or(TableError::Empty)?;
        let mut header = first.cells;
        header.truncate(header.iter().rposition(|name| !name.is_empty()).map_or(0, |last| last + 1));
        let rows = rows.filter(|row| fits(row, header.len(), &mut faults)).collect();
        faults.sort_by_key(|fault| fault.line);
        Ok(Self { header, header_line: first.line, separator, decimals, rows, faults, remarks })
    }
}
