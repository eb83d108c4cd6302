//! Swatches with their readings, as a table tells them.

use super::factors::{fault, short};
use super::{Factor, Role, TrialError};
use crate::ledger::table::{Columns, Row, number, plain_name};
use crate::ledger::{CellFault, Table};
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Columns of a plan, which hold no readings.
const PLAN: [&str; 11] =
    ["trial", "tile", "row", "column", "swatch", "role", "slip", "paint", "coats", "firing", "seed"];

/// Largest reading, either way: no quantity that is measured on a swatch comes near.
const LARGEST: f64 = 1e9;
/// Most levels of all factors, tiles among them: the model is as wide.
const MOST_LEVELS: usize = 500;

/// Rows that were not used, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeftOut {
    /// Why, after "left out, ".
    pub reason: String,
    /// How many.
    pub count: usize,
}

/// One swatch that takes part.
#[derive(Debug, Clone)]
pub(super) struct ReadSwatch {
    /// Number of its level, for each factor of [`Factor::ALL`]; 0 where the factor takes no part.
    pub(super) levels: [usize; 5],
    /// The reading; none where it was lost.
    pub(super) value: Option<f64>,
    /// Whether it is the known control.
    pub(super) control: bool,
}

/// One column of readings with the factors of each swatch.
#[derive(Debug, Clone)]
pub struct Readings {
    /// The column's name as written.
    pub value: String,
    /// Rows that are not used.
    pub left_out: Vec<LeftOut>,
    /// Names of the levels, for each factor of [`Factor::ALL`]: numbers by size, else by alphabet. Empty where the
    /// factor takes no part.
    pub(super) levels: [Vec<String>; 5],
    pub(super) swatches: Vec<ReadSwatch>,
}

impl Readings {
    /// Reads a table with the columns of a plan (`slip`, `paint`, `coats`, `firing`, `tile`, `role`; each may be left
    /// out) and `value`, the column of readings; with several names in a column `trial`, tiles of one number are told apart by
    /// it. Levels that differ in case or spaces only are one, and so
    /// are `2` and `2.0`. An empty reading is
    /// a lost swatch: its level stays known. Blanks take no part; controls count as swatches of what
    /// they are.
    ///
    /// # Errors
    /// No table, no such column or one of half-widths, cells that are no number or no role (all at once), a tile in two
    /// firings, no readings.
    pub fn read(bytes: &[u8], value: &str) -> Result<Self, TrialError> {
        let table = Table::read(bytes)?;
        let names: Vec<&str> = table.header.iter().map(String::as_str).filter(|n| !n.is_empty()).collect();
        let (columns, mut faults) = table.columns(&names);
        faults.extend(table.faults.iter().cloned());
        if PLAN.contains(&plain_name(value).as_str()) {
            return Err(TrialError::NotAValue { column: value.into() });
        }
        if let Some(of) = plain_name(value).strip_prefix("u95 ") {
            return Err(TrialError::HalfWidths { column: value.into(), of: of.replace(' ', "_") });
        }
        let Some(at) = table.header.iter().position(|name| plain_name(name) == plain_name(value)) else {
            let known = names.iter().map(|name| short(name)).collect();
            return Err(TrialError::NoSuchColumn { column: value.into(), known });
        };
        let name = table.header[at].clone();
        let mut kept: Vec<(&Row, bool, Option<f64>)> = Vec::new();
        let mut blanks = 0;
        for row in &table.rows {
            let role = columns.cell(row, "role");
            let control = match (role, role.and_then(Role::from_name)) {
                (None, _) | (_, Some(Role::Trial)) => false,
                (_, Some(Role::Control)) => true,
                (_, Some(Role::Blank)) => {
                    blanks += 1;
                    continue;
                }
                (Some(other), None) => {
                    faults.push(columns.fault(row, "role", Role::unknown(other)));
                    continue;
                }
            };
            match row.cells.get(at).map_or(Ok(None), |cell| number(cell, table.decimals)) {
                Ok(Some(value)) if value.abs() > LARGEST => {
                    faults.push(fault(
                        row.line,
                        &short(&name),
                        format!("{value:e} is no reading: too large"),
                    ));
                }
                Ok(value) => kept.push((row, control, value)),
                Err(what) => faults.push(fault(row.line, &short(&name), what)),
            }
        }
        if !faults.is_empty() {
            faults.sort_by_key(|fault: &CellFault| fault.line);
            return Err(TrialError::Cells(faults));
        }
        let (trials, _) =
            sorted(kept.iter().filter_map(|(row, ..)| columns.cell(row, "trial")).map(Cow::from));
        let several = trials.len() > 1;
        let mut left_out = vec![LeftOut { reason: "blanks".into(), count: blanks }];
        let (mut levels, mut numbers) =
            (<[Vec<String>; 5]>::default(), <[BTreeMap<String, usize>; 5]>::default());
        for factor in Factor::ALL {
            // A factor that no row fills takes no part; one that some rows do not fill cannot use these.
            let filled =
                kept.iter().filter(|(row, ..)| level_of(&columns, row, factor, several).is_some()).count();
            if filled > 0 && filled < kept.len() {
                left_out.push(LeftOut { reason: format!("without {factor}"), count: kept.len() - filled });
                kept.retain(|(row, ..)| level_of(&columns, row, factor, several).is_some());
            }
        }
        for (place, factor) in Factor::ALL.into_iter().enumerate() {
            (levels[place], numbers[place]) =
                sorted(kept.iter().filter_map(|(row, ..)| level_of(&columns, row, factor, several)));
        }
        let swatches = kept.iter().map(|(row, control, value)| {
            let level = |factor: Factor, numbers: &BTreeMap<String, usize>| {
                level_of(&columns, row, factor, several)
                    .and_then(|name| numbers.get(&key(&name)).copied())
                    .unwrap_or(0)
            };
            let levels = std::array::from_fn(|place| level(Factor::ALL[place], &numbers[place]));
            ReadSwatch { levels, value: *value, control: *control }
        });
        let swatches: Vec<ReadSwatch> = swatches.collect();
        let count: usize = levels.iter().map(Vec::len).sum();
        if count > MOST_LEVELS {
            let what =
                format!("slips, paints, coats, firings and tiles are {count}, {MOST_LEVELS} are the most");
            return Err(TrialError::TooLarge { what });
        }
        let lost = swatches.iter().filter(|swatch| swatch.value.is_none()).count();
        if lost == swatches.len() {
            return Err(TrialError::NoValues { column: name });
        }
        left_out.push(LeftOut { reason: format!("without a value of {name}"), count: lost });
        left_out.retain(|left| left.count > 0);
        let readings = Self { value: name, left_out, levels, swatches };
        readings.check_tiles()?;
        Ok(readings)
    }

    /// Names of the levels of a factor; empty where it takes no part.
    pub fn levels(&self, factor: Factor) -> &[String] {
        &self.levels[factor as usize]
    }

    /// Swatches of a level that have a reading.
    pub fn count(&self, factor: Factor, level: usize) -> usize {
        self.read_swatches().filter(|(swatch, _)| swatch.levels[factor as usize] == level).count()
    }

    /// Swatches with a reading.
    pub(super) fn read_swatches(&self) -> impl Iterator<Item = (&ReadSwatch, f64)> {
        self.swatches.iter().filter_map(|swatch| Some((swatch, swatch.value?)))
    }

    /// Whether every tile has one level of the factor only; never where tiles are not told.
    pub(super) fn is_of_whole_tiles(&self, factor: Factor) -> bool {
        let mut of_tile: BTreeMap<usize, usize> = BTreeMap::new();
        let mut alike = |swatch: &ReadSwatch| {
            let level = swatch.levels[factor as usize];
            *of_tile.entry(swatch.levels[Factor::Tile as usize]).or_insert(level) == level
        };
        !self.levels(Factor::Tile).is_empty() && self.read_swatches().all(|(swatch, _)| alike(swatch))
    }

    /// Readings on each tile that has any.
    pub(super) fn tile_loads(&self) -> Vec<usize> {
        let tiles = 0..self.levels(Factor::Tile).len();
        tiles.map(|tile| self.count(Factor::Tile, tile)).filter(|count| *count > 0).collect()
    }

    /// The firing of each tile that has a reading.
    pub(super) fn firing_of_tiles(&self) -> BTreeMap<usize, usize> {
        let of = |factor: Factor| move |swatch: &ReadSwatch| swatch.levels[factor as usize];
        self.read_swatches().map(|(s, _)| (of(Factor::Tile)(s), of(Factor::Firing)(s))).collect()
    }

    fn check_tiles(&self) -> Result<(), TrialError> {
        let [firings, tiles] = [Factor::Firing, Factor::Tile].map(|factor| self.levels(factor));
        let mut fired: BTreeMap<usize, usize> = BTreeMap::new();
        for swatch in &self.swatches {
            let [firing, tile] = [Factor::Firing, Factor::Tile].map(|factor| swatch.levels[factor as usize]);
            let first = *fired.entry(tile).or_insert(firing);
            if first != firing && !tiles.is_empty() && !firings.is_empty() {
                let [first, second] = [first, firing].map(|level| firings[level].clone());
                return Err(TrialError::TileFiredTwice { tile: tiles[tile].clone(), first, second });
            }
        }
        Ok(())
    }
}

/// The level as written; none where it is unknown. With several trials a tile is known by trial and number.
fn level_of<'row>(
    columns: &Columns,
    row: &'row Row,
    factor: Factor,
    several: bool,
) -> Option<Cow<'row, str>> {
    let cell = columns.cell(row, factor.name()).map(unguarded)?;
    match columns.cell(row, "trial").map(unguarded) {
        Some(trial) if several && factor == Factor::Tile => Some(format!("{trial} {cell}").into()),
        _ => Some(cell.into()),
    }
}

/// A cell without the apostrophe that keeps spreadsheets from taking it for a formula.
pub(super) fn unguarded(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.trim_start().starts_with(['=', '+', '-', '@']) => rest,
        _ => cell,
    }
}

/// What makes two levels one: the number, else the name without case and spaces.
pub(super) fn key(cell: &str) -> String {
    let plain = plain_name(cell);
    match plain.parse::<f64>() {
        Ok(number) if number.is_finite() => number.to_string(),
        _ => plain,
    }
}

/// Levels in their order, and the number of each by its key.
fn sorted<'a>(cells: impl Iterator<Item = Cow<'a, str>>) -> (Vec<String>, BTreeMap<String, usize>) {
    let mut first: BTreeMap<String, Cow<str>> = BTreeMap::new();
    cells.for_each(|cell| {
        first.entry(key(&cell)).or_insert(cell);
    });
    let mut all: Vec<(Option<f64>, String, Cow<str>)> = first
        .into_iter()
        .map(|(plain, name)| (plain.parse().ok().filter(|n: &f64| n.is_finite()), plain, name))
        .collect();
    if all.iter().all(|(number, ..)| number.is_some()) {
        all.sort_by(|a, b| a.0.unwrap_or(0.0).total_cmp(&b.0.unwrap_or(0.0)));
    }
    let numbers = all.iter().enumerate().map(|(number, (_, plain, _))| (plain.clone(), number)).collect();
    (all.into_iter().map(|(_, _, name)| name.into_owned()).collect(), numbers)
}
