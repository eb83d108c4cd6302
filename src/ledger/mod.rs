//! Firings, recipes and readings kept, so that one firing can be set beside another.
//!
//! Comes in: [`Record`](crate::reading::Record)s with what the sheet says of the pieces, firings, recipes and temperature logs
//! as a person tells them, files of records (JSON Lines). Goes out: the same, later. They lie in one SQLite file, a
//! [`Ledger`], whose tables any SQLite client can show. Nothing in it is overwritten: a new reading points to the one it
//! replaces, a correction keeps what stood there before.

mod check;
mod entries;
mod entry_table;
mod error;
mod export;
mod fields;
mod file_names;
mod import;
mod keep;
mod kept;
mod lines;
mod logs;
mod open;
mod overview;
mod packed;
mod place;
mod points;
mod records;
mod sheet;
pub mod table;
mod tables_out;
pub mod temperatures;
pub mod trend;

pub use check::Checked;
pub use entries::{Correction, Entry, Load, Values};
pub use entry_table::Entered;
pub use error::LedgerError;
pub use export::Private;
pub use fields::{FIRINGS, Field, Holds, Kind, LOADS, PIECES, RECIPES, Value};
pub use file_names::FileNames;
pub use import::Imported;
pub use keep::{Keeping, Kept, Shot};
pub use kept::Known;
pub use open::{LAYOUT, Ledger};
pub use overview::Glance;
pub use place::default_place;
pub use records::read_records;
pub use sheet::{SHEET_COLUMNS, Sheet};
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
