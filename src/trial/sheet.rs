//! The sheet of a plan, to be filled with what photographs of its tiles show.
//!
//! Comes in: the table that `plan` wrote, with any columns a person added. Goes out: a [`Sheet`], its rows by tile, row and
//! column.

use super::TrialError;
use super::factors::fault;
use crate::ledger::{CellFault, Table};
use std::collections::BTreeMap;

/// One place of a tile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct SheetPlace {
    /// Number of the tile.
    pub tile: usize,
    /// Row from 1.
    pub row: usize,
    /// Column from 1.
    pub column: usize,
}

/// A plan as its file tells it.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// The header as written.
    pub header: Vec<String>,
    /// The rows in the order of the file: where the swatch lies, its cells, and whether it is a blank.
    pub rows: Vec<(SheetPlace, Vec<String>, bool)>,
}

impl Sheet {
    /// Reads a plan.
    ///
    /// # Errors
    /// No table; columns `tile`, `row` or `column` missing; cells that are no whole number from 1; a place told twice.
    pub fn read(bytes: &[u8]) -> Result<Self, TrialError> {
        let table = Table::read(bytes)?;
        let names: Vec<&str> = table.header.iter().map(String::as_str).filter(|n| !n.is_empty()).collect();
        let (columns, mut faults) = table.columns(&names);
        faults.extend(table.faults.iter().cloned());
        faults.extend(columns.missing(&["tile", "row", "column"]));
        let mut taken: BTreeMap<SheetPlace, usize> = BTreeMap::new();
        let mut rows = Vec::new();
        for row in &table.rows {
            let mut number = |name: &str| {
                let cell = columns.cell(row, name).unwrap_or_default();
                let read = cell.parse::<usize>().ok().filter(|n| *n > 0);
                if read.is_none() && columns.has(name) {
                    faults.push(columns.fault(row, name, format!("'{cell}' is no whole number from 1")));
                }
                read
            };
            let (Some(tile), Some(at), Some(column)) = (number("tile"), number("row"), number("column"))
            else {
                continue;
            };
            let place = SheetPlace { tile, row: at, column };
            if let Some(first) = taken.insert(place, row.line) {
                let what = format!("row {at}, column {column} of tile {tile} stands in row {first} already");
                faults.push(fault(row.line, "tile", what));
            }
            let is_blank = columns.cell(row, "role").is_some_and(|role| role.eq_ignore_ascii_case("blank"));
            rows.push((place, row.cells.clone(), is_blank));
        }
        if faults.is_empty() {
            return Ok(Self { header: table.header, rows });
        }
        faults.sort_by_key(|fault: &CellFault| fault.line);
        Err(TrialError::Cells(faults))
    }

    /// Numbers of the tiles, rising.
    pub fn tiles(&self) -> Vec<usize> {
        let mut tiles: Vec<usize> = self.rows.iter().map(|(place, ..)| place.tile).collect();
        tiles.sort_unstable();
        tiles.dedup();
        tiles
    }

    /// The grid that a tile shows: rows and columns from its first planned swatch to its last, and how many rows and
    /// columns of the plan lie before it. A tile that the plan does not fill may have its outer rows empty.
    pub fn grid(&self, tile: usize) -> ([usize; 2], [usize; 2]) {
        let places = || self.rows.iter().map(|(place, ..)| place).filter(|place| place.tile == tile);
        let span = |get: fn(&SheetPlace) -> usize| {
            let (first, last) = (places().map(get).min().unwrap_or(1), places().map(get).max().unwrap_or(1));
            (last - first + 1, first - 1)
        };
        let (rows, columns) = (span(|place| place.row), span(|place| place.column));
        ([rows.0, columns.0], [rows.1, columns.1])
    }

    /// Whether a place is told, and whether it is a blank.
    pub fn is_blank(&self, place: SheetPlace) -> Option<bool> {
        self.rows.iter().find(|(known, ..)| *known == place).map(|(.., blank)| *blank)
    }
}
