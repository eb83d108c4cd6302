//! Names of columns matched to the names that are known.

use super::{CellFault, DecimalSigns, Row, Table, number, shown};
use std::collections::BTreeMap;

/// Where the known columns stand in a table.
#[derive(Debug, Clone)]
pub struct Columns {
    places: BTreeMap<String, (usize, String)>,
    decimals: DecimalSigns,
    header_line: usize,
}

/// A name for comparing: small letters, and one space for white space, underscores and hyphens.
pub fn plain_name(name: &str) -> String {
    let spaced = name.replace(['_', '-'], " ").to_lowercase();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

impl Table {
    /// Matches the header to the columns that are known, whatever their case and whether their words are parted
    /// by spaces, underscores or hyphens. Columns unknown, written twice, or filled without a name are faults.
    pub fn columns(&self, known: &[&str]) -> (Columns, Vec<CellFault>) {
        let mut places: BTreeMap<String, (usize, String)> = BTreeMap::new();
        let mut faults = Vec::new();
        for (column, name) in self.header.iter().enumerate() {
            let plain = plain_name(name);
            let what = if name.is_empty() {
                let filled = |row: &&Row| row.cells.get(column).is_some_and(|cell| !cell.is_empty());
                let Some(row) = self.rows.iter().find(filled) else { continue };
                let what = format!("column {} has no name, but row {} fills it", column + 1, row.line);
                faults.push(CellFault::row(self.header_line, what));
                continue;
            } else if !known.iter().any(|k| plain_name(k) == plain) {
                format!("no such column; known: {}", known.join(", "))
            } else if let Some((first, _)) = places.get(&plain) {
                format!("stands twice, as columns {} and {}", first + 1, column + 1)
            } else {
                places.insert(plain, (column, name.clone()));
                continue;
            };
            faults.push(CellFault::cell(self.header_line, name, what));
        }
        (Columns { places, decimals: self.decimals, header_line: self.header_line }, faults)
    }
}

impl Columns {
    /// Whether the table has this column.
    pub fn has(&self, name: &str) -> bool {
        self.places.contains_key(&plain_name(name))
    }

    /// A fault for each of these columns that the table does not have.
    pub fn missing(&self, wanted: &[&str]) -> Vec<CellFault> {
        let absent = wanted.iter().filter(|name| !self.has(name));
        absent.map(|name| CellFault::cell(self.header_line, name, "this column is missing")).collect()
    }

    /// A cell; none where the table has no such column or the cell is empty: unknown.
    pub fn cell<'row>(&self, row: &'row Row, name: &str) -> Option<&'row str> {
        let (column, _) = self.places.get(&plain_name(name))?;
        row.cells.get(*column).map(String::as_str).filter(|cell| !cell.is_empty())
    }

    /// A cell as a number; none where it is unknown.
    ///
    /// # Errors
    /// A cell that is no number, told by row and column.
    pub fn number(&self, row: &Row, name: &str) -> Result<Option<f64>, CellFault> {
        let Some(cell) = self.cell(row, name) else { return Ok(None) };
        number(cell, self.decimals).map_err(|what| self.fault(row, name, what))
    }

    /// A fault of a cell, told by the column's name as written.
    pub fn fault(&self, row: &Row, name: &str, what: impl Into<String>) -> CellFault {
        let written = self.places.get(&plain_name(name)).map_or(name, |(_, written)| written);
        CellFault::cell(row.line, &shown(written), what)
    }
}
