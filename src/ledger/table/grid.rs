//! Rows of cells before anybody has said which one is the header.

use super::decode::decode;
use super::{CellFault, DecimalSigns, Separator, TableError};

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Line in the file where the row begins, from 1.
    pub line: usize,
    /// Its cells, trimmed; an empty cell is unknown.
    pub cells: Vec<String>,
}

/// All rows that have a filled cell.
#[derive(Debug)]
pub(in crate::ledger) struct Grid {
    pub(in crate::ledger) separator: Separator,
    pub(in crate::ledger) decimals: DecimalSigns,
    pub(in crate::ledger) rows: Vec<Row>,
    pub(in crate::ledger) faults: Vec<CellFault>,
    pub(in crate::ledger) remarks: Vec<String>,
}

impl Grid {
    pub(in crate::ledger) fn read(bytes: &[u8]) -> Result<Self, TableError> {
        let (text, remarks) = decode(bytes)?;
        // Some spreadsheets write the separator into a first line of its own.
        let told = |line: &str| match line.trim_matches(|c| c == '"' || c == ' ') {
            "sep=," => Some(Separator::Comma),
            "sep=;" => Some(Separator::Semicolon),
            "sep=\t" => Some(Separator::Tab),
            _ => None,
        };
        let (first, rest) = text.split_once('\n').unwrap_or((&text, ""));
        let (separator, body, lines_before) = match told(first) {
            Some(separator) => (separator, rest, 1),
            None => (Separator::of(&text), text.as_str(), 0),
        };
        let mut faults = Vec::new();
        let rows = rows(body, separator, lines_before, &mut faults);
        if rows.is_empty() {
            return Err(TableError::Empty);
        }
        let decimals = DecimalSigns::of(&rows, separator);
        Ok(Self { separator, decimals, rows, faults, remarks })
    }
}

fn rows(text: &str, separator: Separator, lines_before: usize, faults: &mut Vec<CellFault>) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator.sign() as u8)
        .from_reader(text.as_bytes());
    let bytes = text.as_bytes();
    let mut rows = Vec::new();
    let mut record = csv::StringRecord::new();
    let (mut line, mut counted) = (1 + lines_before, 0usize);
    while let Ok(true) = reader.read_record(&mut record) {
        // The reader says where it began to look, which is before any empty lines.
        let begun = record.position().map_or(counted, |at| at.byte() as usize).min(bytes.len());
        let start = begun + bytes[begun..].iter().take_while(|b| **b == b'\n').count();
        line += line_ends(&bytes[counted..start]);
        counted = start;
        let end = (reader.position().byte() as usize).clamp(start, bytes.len());
        let raw = bytes[start..end].trim_ascii_end();
        if end == bytes.len() && raw.contains(&b'\n') && raw.iter().filter(|b| **b == b'"').count() % 2 == 1 {
            let what =
                "a quotation mark opened in this row is never closed; the rows after it cannot be told apart";
            faults.push(CellFault::row(line, what));
            break;
        }
        let cells: Vec<String> = record.iter().map(|cell| trimmed(cell).to_owned()).collect();
        if cells.iter().any(|cell| !cell.is_empty()) {
            rows.push(Row { line, cells });
        }
    }
    rows
}

fn line_ends(bytes: &[u8]) -> usize {
    bytes.iter().filter(|b| **b == b'\n').count()
}

/// Without white space at its ends, nor a byte order mark, which files put together carry inside.
fn trimmed(cell: &str) -> &str {
    cell.trim_matches(|c: char| c.is_whitespace() || c == '\u{FEFF}')
}

/// Cells up to the last filled one.
pub(in crate::ledger) fn filled_width(cells: &[String]) -> usize {
    cells.iter().rposition(|cell| !cell.is_empty()).map_or(0, |last| last + 1)
}

/// Whether a row has the cells of a table that wide; empty cells too many at its end do no harm.
pub(in crate::ledger) fn fits(row: &Row, width: usize, faults: &mut Vec<CellFault>) -> bool {
    let (cells, filled) = (row.cells.len(), filled_width(&row.cells));
    let what = match () {
        () if filled > width => {
            format!(
                "has {filled} cells where the header has {width}; put quotation marks around a cell that holds a separator"
            )
        }
        () if cells == 1 && width > 1 => format!("has 1 cell where the header has {width}"),
        () if cells < width => format!("has {cells} cells where the header has {width}"),
        () => return true,
    };
    faults.push(CellFault::row(row.line, what));
    false
}
