//! Firings, recipes and readings kept, so that one firing can be set beside another.
//!
//! Comes in: [`Record`](crate::reading::Record)s with what the sheet says of the pieces, firings, recipes and temperature logs
//! as a person tells them, files of records (JSON Lines). Goes out: the same, later. They lie in one SQLite file, a
//! [`Ledger`], whose tables any SQLite client can show. Nothing in it is overwritten: a new reading points to the one it
//! replaces, a correction keeps what stood there before.

mod entries;
mod error;
mod exchange;
mod file;
mod file_names;
mod kept;
mod records;
mod sheet;
mod swatch_names;
pub mod table;
pub mod temperatures;
pub mod trend;

pub use entries::{
    Correction, Entered, Entry, FIRINGS, Field, Holds, Kind, LOADS, Load, PIECES, RECIPES, Value, Values,
    is_day,
};
pub use error::LedgerError;
pub use exchange::{Imported, Private};
pub use file::{Checked, LAYOUT, Ledger, default_place};
pub use file_names::FileNames;
pub use kept::{Choice, Glance, Keeping, Kept, Known, KnownTrial, Shot, TrialSwatch};
pub use records::read_records;
pub use sheet::{SHEET_COLUMNS, Sheet};
pub use swatch_names::SwatchNames;
pub(crate) use table::safe_cell;
pub use table::{CellFault, Table, TableError};

/// What an entry is known by: its name, and of a recipe its kind.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Named {
    /// `clay`, `slip`, `red`, `paint` of a recipe; nothing else has one.
    pub kind: Option<String>,
    /// The name.
    pub name: String,
}

impl Named {
    /// An entry that is no recipe, or a recipe whose kind need not be told.
    pub fn new(name: impl Into<String>) -> Self {
        Self { kind: None, name: name.into() }
    }
}
