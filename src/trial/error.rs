//! Why a trial cannot be planned or compared.

use crate::ledger::{CellFault, TableError};

/// What stopped a trial; every one is for the person to put right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TrialError {
    /// The file is no table.
    #[error(transparent)]
    Table(#[from] TableError),
    /// Cells that cannot be used, in the order of the file.
    #[error("{}", listed(.0))]
    Cells(Vec<CellFault>),
    /// A factor that every trial needs has no level.
    #[error("the factor '{factor}' has no level")]
    MissingFactor {
        /// slip, paint or coats.
        factor: &'static str,
    },
    /// No level of the factor is marked as that of the control.
    #[error("the control's {factor} is missing: no level of '{factor}' has 'yes' in the column control")]
    MissingControl {
        /// slip, paint or coats.
        factor: &'static str,
    },
    /// Two levels of a factor are marked as that of the control.
    #[error("the control can have one {factor} only, but '{first}' and '{second}' are both marked 'yes'")]
    TwoControls {
        /// slip, paint or coats.
        factor: &'static str,
        /// The level marked first.
        first: String,
        /// The level marked after it.
        second: String,
    },
    /// The tile has no room for a control, a blank and a swatch.
    #[error(
        "a tile of {rows} x {columns} swatches is too small: the control, the blank and one swatch need 3 places"
    )]
    SmallTile {
        /// Rows of a tile.
        rows: usize,
        /// Columns of a tile.
        columns: usize,
    },
    /// The tiles hold too few swatches.
    #[error(
        "the plan does not fit: {swatches} swatches a firing need {wanted} tiles of {places} places (2 of them for control and blank), {firings} firing(s) therefore {}, but there are {tiles}",
        wanted * firings
    )]
    DoesNotFit {
        /// Trial swatches of one firing.
        swatches: usize,
        /// Tiles that one firing needs.
        wanted: usize,
        /// Places of a tile.
        places: usize,
        /// Firings.
        firings: usize,
        /// Tiles asked for.
        tiles: usize,
    },
    /// The tiles cannot be shared out equally between the firings.
    #[error("{tiles} tiles cannot be shared out equally between {firings} firings")]
    UnequalFirings {
        /// Tiles asked for.
        tiles: usize,
        /// Firings.
        firings: usize,
    },
    /// More than a plan or a comparison can hold.
    #[error("the trial is too large: {what}")]
    TooLarge {
        /// What there is too much of, and the most that can be.
        what: String,
    },
    /// The table has no such column.
    #[error("the table has no column '{column}'; it has {}", known.join(", "))]
    NoSuchColumn {
        /// The column asked for.
        column: String,
        /// The columns there are.
        known: Vec<String>,
    },
    /// A column of the plan cannot be the value.
    #[error("'{column}' is a column of the plan, not a measured value")]
    NotAValue {
        /// The column asked for.
        column: String,
    },
    /// A column of half-widths of intervals cannot be the value.
    #[error("'{column}' tells how sure each reading of '{of}' is; it is no reading")]
    HalfWidths {
        /// The column asked for.
        column: String,
        /// The column of the readings.
        of: String,
    },
    /// No swatch has a value.
    #[error("no trial or control swatch has a value in the column '{column}'")]
    NoValues {
        /// The column asked for.
        column: String,
    },
    /// The factor has one level or none.
    #[error("there is nothing to compare: {}", match level {
        Some(level) => format!("every swatch has the {factor} '{level}'"),
        None => format!("no swatch tells its {factor}"),
    })]
    OneLevel {
        /// The factor asked for.
        factor: &'static str,
        /// Its only level.
        level: Option<String>,
    },
    /// No factor has two levels.
    #[error("there is nothing to share out: slip, paint, coats and firing are the same on all swatches")]
    NothingVaries,
    /// A tile stands in two firings.
    #[error("tile '{tile}' stands in the firings '{first}' and '{second}', but a tile is fired once")]
    TileFiredTwice {
        /// The tile.
        tile: String,
        /// The firing in the first of its rows.
        first: String,
        /// Another one.
        second: String,
    },
}

impl TrialError {
    /// What to do next, one sentence; empty where the sentence says it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Table(_) => "Save the table as text (CSV).",
            Self::Cells(_) => "Put the table right.",
            Self::MissingFactor { .. } => "A trial needs slip, paint and coats, with one level at least.",
            Self::MissingControl { .. } => "Write 'yes' beside the level that your known control has.",
            Self::TwoControls { .. } => "Leave 'yes' beside one of them.",
            Self::SmallTile { .. } => "Take a larger grid.",
            Self::DoesNotFit { .. } => "Take more tiles, a larger grid, fewer levels or fewer repeats.",
            Self::UnequalFirings { .. } => "Take a multiple of the number of firings.",
            Self::TooLarge { .. } => "Split the trial.",
            Self::NoSuchColumn { .. } => "Check the spelling.",
            Self::HalfWidths { .. } => "Name the column without 'u95_'.",
            Self::NotAValue { .. } => "Name a column with readings, such as l or contrast_delta_l.",
            Self::NoValues { .. } => "Fill in the readings, or name another column.",
            Self::OneLevel { .. } => "Compare by another factor.",
            Self::NothingVaries => "",
            Self::TileFiredTwice { .. } => "Number the tiles through all firings.",
        }
    }
}

fn listed(faults: &[CellFault]) -> String {
    const SHOWN: usize = 12;
    let mut text: Vec<String> = faults.iter().take(SHOWN).map(ToString::to_string).collect();
    if faults.len() > SHOWN {
        text.push(format!("and {} more", faults.len() - SHOWN));
    }
    text.join("; ")
}
