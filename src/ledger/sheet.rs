//! The sheet: one row a photograph, in the potter's own words.
//!
//! Comes in: a table (CSV in any of the usual dialects). Goes out: a [`SheetRow`] a photograph, and every cell that cannot be
//! used, by row and column.

use super::LedgerError;
use super::entries::{Holds, PIECES};
use super::table::{CellFault, Columns, Row, Table};
use crate::reading::SheetRow;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// The columns of a sheet; only `file` is needed.
pub const SHEET_COLUMNS: [&str; 14] = [
    "file",
    "piece",
    "firing",
    "clay",
    "slip",
    "red",
    "paint",
    "place",
    "shape",
    "size",
    "state",
    "soak test",
    "flaws",
    "notes",
];

/// A sheet.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    /// By the file as the sheet names it: its line and what it says.
    rows: BTreeMap<String, (usize, SheetRow)>,
    /// Rows of pieces that name no file, with their lines.
    without_file: Vec<(usize, SheetRow)>,
    /// What cannot be used: of these rows nothing is taken.
    pub faults: Vec<CellFault>,
    /// What was found and dealt with, for people.
    pub remarks: Vec<String>,
}

impl Sheet {
    /// Reads a sheet.
    ///
    /// # Errors
    /// [`LedgerError::Unreadable`] for a file that is no table, [`LedgerError::Cells`] where it has no column `file`. Other
    /// faults are kept beside the rows that are right.
    pub fn read(path: &Path) -> Result<Self, LedgerError> {
        let unreadable = |reason: String| LedgerError::Unreadable { path: path.into(), reason };
        let bytes = std::fs::read(path).map_err(|e| unreadable(e.to_string()))?;
        let table = Table::read(&bytes).map_err(|e| unreadable(e.to_string()))?;
        let (columns, mut faults) = table.columns(&[&SHEET_COLUMNS[..], &["place in the fire"]].concat());
        faults.extend(table.faults.iter().cloned());
        let missing = columns.missing(&["file"]);
        if !missing.is_empty() {
            faults.extend(missing);
            return Err(LedgerError::Cells { what: format!("the sheet '{}'", path.display()), faults });
        }
        let mut sheet = Self { faults, remarks: table.remarks.clone(), ..Self::default() };
        for row in &table.rows {
            sheet.take(&columns, row);
        }
        sheet.faults.sort_by_key(|fault| fault.line);
        Ok(sheet)
    }

    fn take(&mut self, columns: &Columns, row: &Row) {
        let cell = |name: &str| columns.cell(row, name).map(str::to_owned);
        let state = columns.cell(row, "state");
        let told = SheetRow {
            piece: cell("piece"),
            firing: cell("firing"),
            slip: cell("slip"),
            red: cell("red"),
            paint: cell("paint"),
            place: cell("place").or_else(|| cell("place in the fire")),
            clay: cell("clay"),
            shape: cell("shape"),
            size: cell("size"),
            state: state.map(str::to_owned),
            soak_test: cell("soak test"),
            flaws: cell("flaws"),
            notes: cell("notes"),
        };
        if let (Some(state), Some(field)) = (state, PIECES.fields.iter().find(|f| f.holds == Holds::State))
            && let Err(LedgerError::Value { wanted, .. }) = field.value(state)
        {
            self.faults.push(columns.fault(row, "state", format!("'{state}' cannot be used: {wanted}")));
            return;
        }
        if told.piece.is_none() && (told.shape.is_some() || told.flaws.is_some()) {
            let what = "a shape or a flaw without a piece: give the piece a name";
            self.faults.push(columns.fault(row, "piece", what));
            return;
        }
        match columns.cell(row, "file") {
            None if told == SheetRow::default() => {}
            None => self.without_file.push((row.line, told)),
            Some(file) => match self.rows.get(file) {
                Some((line, _)) => {
                    let what = format!("'{file}' stands in row {line} already");
                    self.faults.push(columns.fault(row, "file", what));
                }
                None => drop(self.rows.insert(file.to_owned(), (row.line, told))),
            },
        }
    }

    /// The row for a photograph: by its path as written, else by its file name.
    pub fn row(&self, path: &Path) -> Option<&SheetRow> {
        let name = path.file_name()?.to_string_lossy();
        let row = self.rows.get(path.to_string_lossy().as_ref()).or_else(|| self.rows.get(name.as_ref()));
        row.map(|(_, row)| row)
    }

    /// Rows that name a photograph which is none of `paths`, or several, or none at all, so that a slip of the pen is seen.
    pub fn without_photograph(&self, paths: &[PathBuf]) -> Vec<CellFault> {
        let known: BTreeSet<String> = paths
            .iter()
            .flat_map(|path| {
                let name = path.file_name().map(|n| n.to_string_lossy().into_owned());
                [Some(path.to_string_lossy().into_owned()), name].into_iter().flatten()
            })
            .collect();
        let strange = self.rows.iter().filter(|(file, _)| !known.contains(*file)).map(|(file, (line, _))| {
            CellFault::cell(*line, "file", format!("'{file}' is none of the photographs"))
        });
        let none = self.without_file.iter().map(|(line, row)| {
            let piece = row.piece.as_deref().map_or("this row".to_owned(), |name| format!("piece '{name}'"));
            CellFault::cell(*line, "file", format!("{piece} has no photograph"))
        });
        // Cameras begin their numbers anew: one row must not name the shots of two folders.
        let several = self.rows.iter().filter_map(|(file, (line, _))| {
            let by_name = |path: &&PathBuf| path.file_name().is_some_and(|n| n.to_string_lossy() == *file);
            let count = paths.iter().filter(by_name).filter(|p| p.to_string_lossy() != *file).count();
            let what = format!("'{file}' is the name of {count} photographs: write their folders too");
            (count > 1).then(|| CellFault::cell(*line, "file", what))
        });
        let mut faults: Vec<CellFault> = strange.chain(none).chain(several).collect();
        faults.sort_by_key(|fault| fault.line);
        faults
    }

    /// Pieces that the sheet tells of without naming a photograph.
    pub fn pieces_without_file(&self) -> impl Iterator<Item = &SheetRow> {
        self.without_file.iter().map(|(_, row)| row).filter(|row| row.piece.is_some())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::LOADS;

    #[test]
    fn every_field_of_a_piece_and_its_place_is_a_column() {
        for field in PIECES.fields.iter().chain(LOADS.fields) {
            assert!(SHEET_COLUMNS.contains(&field.word.replace('-', " ").as_str()), "{}", field.word);
        }
    }
}
