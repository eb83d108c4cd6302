//! The names of swatches: which slip or paint lies in which row and column.
//!
//! Comes in: a table (CSV in any of the usual dialects) with the columns `row`, `column`, `name`, of bands `row`, `name`,
//! `file` where a table tells of several photographs, and `surface` (`white`, `red`, `black`, `body`) where it is known
//! what was laid. Goes out: swatches with their names, or every cell that cannot be
//! used, by row and column.

use super::LedgerError;
use super::table::Table;
use crate::reading::Swatch;
use crate::surface::Label;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// The columns of a list of names.
const COLUMNS: [&str; 5] = ["file", "row", "column", "name", "surface"];
/// Surfaces that a swatch may be told to be.
const SURFACES: [Label; 4] = [Label::White, Label::Red, Label::Black, Label::Body];

/// Names by photograph and place.
#[derive(Debug, Clone, Default)]
pub struct SwatchNames {
    what: String,
    /// What the list tells of each place.
    names: BTreeMap<Place, Told>,
}

/// File (`None` every photograph), row, column.
type Place = (Option<String>, usize, usize);

/// What one row of the list tells.
#[derive(Debug, Clone)]
struct Told {
    line: usize,
    name: String,
    surface: Option<Label>,
}

impl SwatchNames {
    /// Reads a list of names.
    ///
    /// # Errors
    /// [`LedgerError::Unreadable`] for a file that is no table, [`LedgerError::Cells`] for columns that are missing, places
    /// that are no whole numbers from 1, and places or names that stand twice for one photograph.
    pub fn read(path: &Path) -> Result<Self, LedgerError> {
        let unreadable = |reason: String| LedgerError::Unreadable { path: path.into(), reason };
        let bytes = std::fs::read(path).map_err(|e| unreadable(e.to_string()))?;
        let table = Table::read(&bytes).map_err(|e| unreadable(e.to_string()))?;
        let (columns, mut faults) = table.columns(&COLUMNS);
        faults.extend(table.faults.iter().cloned());
        faults.extend(columns.missing(&["row", "name"]));
        let mut names = Self { what: format!("the list of names '{}'", path.display()), ..Self::default() };
        let mut taken: BTreeMap<(Option<String>, String), usize> = BTreeMap::new();
        for row in &table.rows {
            let mut place = |column: &str| match columns.cell(row, column) {
                Some(cell) => cell.parse::<usize>().ok().filter(|n| *n > 0).or_else(|| {
                    faults.push(columns.fault(row, column, format!("'{cell}' is no whole number from 1")));
                    None
                }),
                None if column == "column" => Some(1),
                None => {
                    faults.push(columns.fault(row, column, "this cell is empty"));
                    None
                }
            };
            let (Some(r), Some(c)) = (place("row"), place("column")) else { continue };
            let Some(name) = columns.cell(row, "name") else {
                faults.push(columns.fault(
                    row,
                    "name",
                    "this cell is empty: a swatch without a name is left out of the list",
                ));
                continue;
            };
            let file = columns.cell(row, "file").map(str::to_owned);
            if let Some(first) = taken.insert((file.clone(), name.to_owned()), row.line) {
                faults.push(columns.fault(row, "name", format!("'{name}' stands in row {first} already")));
            }
            let surface = columns.cell(row, "surface").and_then(|cell| {
                let known = SURFACES.into_iter().find(|label| label.name() == cell.to_lowercase());
                if known.is_none() {
                    let what = format!("'{cell}' is no surface: white, red, black or body");
                    faults.push(columns.fault(row, "surface", what));
                }
                known
            });
            let told = Told { line: row.line, name: name.to_owned(), surface };
            if let Some(Told { line: first, .. }) = names.names.insert((file, r, c), told) {
                faults.push(columns.fault(
                    row,
                    "row",
                    format!("row {r}, column {c} stands in row {first} already"),
                ));
            }
        }
        if faults.is_empty() {
            return Ok(names);
        }
        faults.sort_by_key(|fault| fault.line);
        Err(LedgerError::Cells { what: names.what, faults })
    }

    /// Under which file the list tells of a photograph: its path as written, its file name, or every photograph.
    fn list(&self, photo: &Path) -> Option<Option<String>> {
        let short = photo.file_name().map(|n| n.to_string_lossy().into_owned());
        let whole = photo.to_string_lossy().into_owned();
        let lists = [Some(whole), short, None];
        lists.into_iter().find(|file| self.names.keys().any(|(known, _, _)| known == file))
    }

    /// The surface that was laid in a row and column, where the list tells it.
    pub fn surface(&self, photo: &Path, row: usize, column: usize) -> Option<Label> {
        self.names.get(&(self.list(photo)?, row, column))?.surface
    }

    /// Gives the swatches of a photograph their names. Rows that name its file go before those for every photograph.
    ///
    /// # Errors
    /// One sentence that tells which swatches have no name, or which names have no swatch.
    pub fn apply(&self, photo: &Path, swatches: &mut [Swatch]) -> Result<(), String> {
        let short = photo.file_name().map(|n| n.to_string_lossy().into_owned());
        let whole = photo.to_string_lossy().into_owned();
        let lists = [Some(whole), short, None];
        let Some(list) = lists.iter().find(|file| self.names.keys().any(|(known, _, _)| known == *file))
        else {
            return Err(format!("{} names no swatch of this photograph", self.what));
        };
        let key = |swatch: &Swatch| (list.clone(), swatch.row, swatch.column);
        let without: Vec<String> = swatches
            .iter()
            .filter(|s| !self.names.contains_key(&key(s)))
            .map(|s| format!("row {}, column {}", s.row, s.column))
            .collect();
        if !without.is_empty() {
            return Err(format!("{} has no name for {}", self.what, listed(&without)));
        }
        let shown: BTreeSet<_> = swatches.iter().map(&key).collect();
        let of_list = self.names.iter().filter(|(key, _)| key.0 == *list);
        let strange: Vec<String> = of_list
            .filter(|(key, _)| !shown.contains(*key))
            .map(|((_, row, column), told)| format!("'{}' (row {row}, column {column})", told.name))
            .collect();
        if !strange.is_empty() {
            return Err(format!("the piece shows no swatch for {} of {}", listed(&strange), self.what));
        }
        for swatch in swatches.iter_mut() {
            if let Some(told) = self.names.get(&key(swatch)) {
                swatch.id.clone_from(&told.name);
            }
        }
        Ok(())
    }
}

/// The first few of a list, and how many more there are.
fn listed(all: &[String]) -> String {
    const TOLD: usize = 4;
    let told = all[..all.len().min(TOLD)].join("; ");
    match all.len().saturating_sub(TOLD) {
        0 => told,
        more => format!("{told} and {more} more"),
    }
}
