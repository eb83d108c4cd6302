//! The sheet of a plan, to be filled with what photographs of its tiles show.
//!
//! Comes in: the table that `plan` wrote, with any columns a person added. Goes out: a [`Sheet`], its rows by tile, row and
//! column.

use super::factors::{fault, short};
use super::readings::unguarded;
use super::{Factor, Role, TrialError};
use crate::ledger::table::plain_name;
use crate::ledger::{CellFault, Table};
use crate::reading::Laid;
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
    /// The rows in the order of the file.
    pub lines: Vec<SheetLine>,
}

/// A row of a plan.
#[derive(Debug, Clone)]
pub struct SheetLine {
    /// Where the swatch lies.
    pub place: SheetPlace,
    /// The cells as written.
    pub cells: Vec<String>,
    /// What they say was laid there; the trial has the name of [`Sheet::name`].
    pub laid: Laid,
}

impl Sheet {
    /// Reads a plan.
    ///
    /// # Errors
    /// No table; columns `tile`, `row` or `column` missing; cells that are no whole number from 1, no role or no seed; a place
    /// told twice; a tile in two firings.
    pub fn read(bytes: &[u8]) -> Result<Self, TrialError> {
        let table = Table::read(bytes)?;
        let names: Vec<&str> = table.header.iter().map(String::as_str).filter(|n| !n.is_empty()).collect();
        let (columns, mut faults) = table.columns(&names);
        faults.extend(table.faults.iter().cloned());
        faults.extend(columns.missing(&["tile", "row", "column"]));
        let mut taken: BTreeMap<SheetPlace, usize> = BTreeMap::new();
        let mut fired: BTreeMap<usize, Option<String>> = BTreeMap::new();
        let mut lines = Vec::new();
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
            let told = |name: &str| columns.cell(row, name).map(|cell| unguarded(cell).to_owned());
            let role = columns.cell(row, "role");
            if let Some(strange) = role.filter(|role| Role::from_name(role).is_none()) {
                faults.push(columns.fault(row, "role", Role::unknown(strange)));
            }
            let seed = columns.cell(row, "seed").map(|cell| (cell, cell.parse().ok()));
            if let Some((cell, None)) = seed {
                faults.push(columns.fault(row, "seed", format!("'{}' is no whole number", short(cell))));
            }
            let laid = Laid {
                trial: String::new(),
                seed: seed.and_then(|(_, seed)| seed),
                tile,
                row: at,
                column,
                swatch: told("swatch"),
                role: role.and_then(Role::from_name).map(|role| role.name().to_owned()),
                slip: told("slip"),
                paint: told("paint"),
                coats: told("coats"),
                firing: told("firing"),
            };
            let first = fired.entry(tile).or_insert_with(|| laid.firing.clone());
            if *first != laid.firing {
                let name = |firing: &Option<String>| firing.as_deref().map_or("none".into(), short);
                let what = format!(
                    "tile {tile} stands in the firings '{}' and '{}'",
                    name(first),
                    name(&laid.firing)
                );
                faults.push(fault(row.line, "firing", what));
            }
            lines.push(SheetLine { place, cells: row.cells.clone(), laid });
        }
        if faults.is_empty() {
            return Ok(Self { header: table.header, lines });
        }
        faults.sort_by_key(|fault: &CellFault| fault.line);
        Err(TrialError::Cells(faults))
    }

    /// Gives the trial its name, by which its tiles are told from those of other trials.
    pub fn name(&mut self, trial: &str) {
        self.lines.iter_mut().for_each(|line| trial.clone_into(&mut line.laid.trial));
    }

    /// The trial's name; empty until it is given.
    pub fn trial(&self) -> &str {
        self.lines.first().map_or("", |line| &line.laid.trial)
    }

    /// Says where these tiles were fired, in place of what the plan says.
    pub fn fire(&mut self, tiles: &[usize], firing: &str) {
        let at = self.header.iter().position(|name| plain_name(name) == Factor::Firing.name());
        let at = at.unwrap_or_else(|| {
            self.header.push(Factor::Firing.name().into());
            self.lines.iter_mut().for_each(|line| line.cells.push(String::new()));
            self.header.len() - 1
        });
        for line in self.lines.iter_mut().filter(|line| tiles.contains(&line.place.tile)) {
            line.laid.firing = Some(firing.to_owned());
            if let Some(cell) = line.cells.get_mut(at) {
                firing.clone_into(cell);
            }
        }
    }

    /// The firing of a tile, as far as it is told.
    pub fn firing(&self, tile: usize) -> Option<&str> {
        self.lines.iter().find(|line| line.place.tile == tile)?.laid.firing.as_deref()
    }

    /// Numbers of the tiles, rising.
    pub fn tiles(&self) -> Vec<usize> {
        let mut tiles: Vec<usize> = self.lines.iter().map(|line| line.place.tile).collect();
        tiles.sort_unstable();
        tiles.dedup();
        tiles
    }

    /// The grid that a tile shows: rows and columns from its first planned swatch to its last, and how many rows and
    /// columns of the plan lie before it. A tile that the plan does not fill may have its outer rows empty.
    pub fn grid(&self, tile: usize) -> ([usize; 2], [usize; 2]) {
        let places = || self.lines.iter().map(|line| &line.place).filter(|place| place.tile == tile);
        let span = |get: fn(&SheetPlace) -> usize| {
            let (first, last) = (places().map(get).min().unwrap_or(1), places().map(get).max().unwrap_or(1));
            (last - first + 1, first - 1)
        };
        let (rows, columns) = (span(|place| place.row), span(|place| place.column));
        ([rows.0, columns.0], [rows.1, columns.1])
    }

    /// What was laid at a place; none where the plan leaves it free.
    pub fn laid(&self, place: SheetPlace) -> Option<&Laid> {
        self.lines.iter().find(|line| line.place == place).map(|line| &line.laid)
    }

    /// Why this plan cannot be that of a trial of its name that was read before: another seed, or something else on a tile that
    /// it lays out as well. `known` are swatches of that trial.
    pub fn clash(&self, known: &[Laid]) -> Option<String> {
        let seed = |laid: &Laid| laid.seed;
        let (ours, theirs) =
            (self.lines.iter().find_map(|line| seed(&line.laid)), known.iter().find_map(seed));
        if let (Some(ours), Some(theirs)) = (ours, theirs)
            && ours != theirs
        {
            return Some(format!("its places were drawn by seed {theirs}, those of this plan by {ours}"));
        }
        let what = |laid: &Laid| {
            let parts = [&laid.role, &laid.slip, &laid.paint, &laid.coats];
            parts.map(|part| part.as_deref().map(plain_name))
        };
        let other = known.iter().find(|laid| {
            let place = SheetPlace { tile: laid.tile, row: laid.row, column: laid.column };
            self.laid(place).is_none_or(|here| what(here) != what(laid))
        })?;
        let (tile, row, column) = (other.tile, other.row, other.column);
        Some(format!("row {row}, column {column} of tile {tile} was another swatch"))
    }
}
