//! What a trial varies: the table of factors and levels.

use super::TrialError;
use crate::ledger::table::plain_name;
use crate::ledger::{CellFault, Table};
use serde::Serialize;
use std::fmt;

/// What can differ between swatches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Factor {
    /// The slip under the paint.
    Slip,
    /// The paint.
    Paint,
    /// How many coats of paint, or how thick.
    Coats,
    /// The firing, of whole tiles.
    Firing,
    /// The tile: never compared, but tiles differ.
    Tile,
}

impl Factor {
    /// All of them, in the order of the model.
    pub const ALL: [Factor; 5] = [Self::Slip, Self::Paint, Self::Coats, Self::Firing, Self::Tile];
    /// Those of a table of factors.
    const PLANNED: [Factor; 4] = [Self::Slip, Self::Paint, Self::Coats, Self::Firing];

    /// Its name, as it stands in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Slip => "slip",
            Self::Paint => "paint",
            Self::Coats => "coats",
            Self::Firing => "firing",
            Self::Tile => "tile",
        }
    }

    /// The factor of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|factor| factor.name() == plain_name(name))
    }
}

impl fmt::Display for Factor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// One level of a factor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Level {
    /// Its name as written.
    pub name: String,
    /// Whether the known control has it.
    pub control: bool,
}

/// The factors of a trial with their levels, in the order of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Factors {
    /// Slips; one is the control's.
    pub slip: Vec<Level>,
    /// Paints; one is the control's.
    pub paint: Vec<Level>,
    /// Coats; one is the control's.
    pub coats: Vec<Level>,
    /// Firings; empty where there is one firing only. None is the control's: it lies in all of them.
    pub firing: Vec<Level>,
}

impl Factors {
    /// Reads a table with the columns `factor` (slip, paint, coats, firing), `level` (any name) and `control` (`yes`
    /// beside the level that the known control has; `no` or empty beside the others). One row a level. Slip, paint and
    /// coats need one level and one `yes` each; firing may be left out and takes no `yes`.
    ///
    /// # Errors
    /// No table; unknown factors, empty or repeated levels and other words beside them ([`TrialError::Cells`], all at
    /// once); a factor or a control's level that is missing, or two levels of the control.
    pub fn read(bytes: &[u8]) -> Result<Self, TrialError> {
        let table = Table::read(bytes)?;
        let (columns, mut faults) = table.columns(&["factor", "level", "control"]);
        faults.extend(columns.missing(&["factor", "level"]));
        faults.extend(table.faults.iter().cloned());
        if !faults.is_empty() {
            return Err(TrialError::Cells(faults));
        }
        let mut levels: [Vec<(Level, usize)>; 4] = Default::default();
        for row in &table.rows {
            let named = columns.cell(row, "factor");
            let known =
                named.and_then(|name| Factor::PLANNED.iter().position(|f| f.name() == plain_name(name)));
            let Some(place) = known else {
                let what = match named {
                    Some(name) => {
                        format!("'{}' is no factor; known: slip, paint, coats, firing", short(name))
                    }
                    None => "the factor is missing: slip, paint, coats or firing".into(),
                };
                faults.push(columns.fault(row, "factor", what));
                continue;
            };
            let factor = Factor::PLANNED[place];
            let Some(name) = columns.cell(row, "level") else {
                faults.push(columns.fault(row, "level", format!("this level of '{factor}' has no name")));
                continue;
            };
            let same = |(level, _): &&(Level, usize)| plain_name(&level.name) == plain_name(name);
            if let Some((_, line)) = levels[place].iter().find(same) {
                let what = format!("the {factor} '{}' stands in row {line} already", short(name));
                faults.push(columns.fault(row, "level", what));
                continue;
            }
            let control = match columns.cell(row, "control").map(plain_name).as_deref() {
                None | Some("no") => false,
                Some("yes") if factor == Factor::Firing => {
                    faults.push(columns.fault(
                        row,
                        "control",
                        "a firing takes no 'yes': the control lies in all of them",
                    ));
                    continue;
                }
                Some("yes") => true,
                Some(other) => {
                    let what = format!("'{}' is neither 'yes' nor 'no'", short(other));
                    faults.push(columns.fault(row, "control", what));
                    continue;
                }
            };
            levels[place].push((Level { name: name.to_owned(), control }, row.line));
        }
        if !faults.is_empty() {
            return Err(TrialError::Cells(faults));
        }
        let [slip, paint, coats, firing] = levels.map(|of| of.into_iter().map(|(level, _)| level).collect());
        let factors = Self { slip, paint, coats, firing };
        for factor in [Factor::Slip, Factor::Paint, Factor::Coats] {
            factors.control(factor)?;
        }
        Ok(factors)
    }

    /// The levels of a factor; none of the tile.
    pub fn levels(&self, factor: Factor) -> &[Level] {
        match factor {
            Factor::Slip => &self.slip,
            Factor::Paint => &self.paint,
            Factor::Coats => &self.coats,
            Factor::Firing => &self.firing,
            Factor::Tile => &[],
        }
    }

    /// The level that the control has.
    ///
    /// # Errors
    /// The factor has no level, none of the control, or two of it.
    pub fn control(&self, factor: Factor) -> Result<&str, TrialError> {
        let (levels, factor) = (self.levels(factor), factor.name());
        if levels.is_empty() {
            return Err(TrialError::MissingFactor { factor });
        }
        let mut marked = levels.iter().filter(|level| level.control).map(|level| level.name.as_str());
        match (marked.next(), marked.next()) {
            (Some(level), None) => Ok(level),
            (None, _) => Err(TrialError::MissingControl { factor }),
            (Some(first), Some(second)) => {
                Err(TrialError::TwoControls { factor, first: first.into(), second: second.into() })
            }
        }
    }
}

/// A level beside those of other factors: a number alone says what it counts.
pub fn in_words(factor: Factor, level: &str) -> String {
    match (factor, level.parse::<f64>()) {
        (Factor::Coats, Ok(1.0)) => format!("{level} coat"),
        (Factor::Coats, Ok(_)) => format!("{level} coats"),
        _ => level.to_owned(),
    }
}

/// A cell for a sentence: no line ends, 40 letters at most.
pub(super) fn short(cell: &str) -> String {
    cell.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A fault of a whole table.
pub(super) fn fault(line: usize, column: &str, what: String) -> CellFault {
    CellFault::cell(line, column, what)
}
