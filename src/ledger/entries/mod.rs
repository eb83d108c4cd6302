//! Firings, recipes, pieces and their places in a load, as a person tells them.

mod entry;
mod fields;
mod from_table;
mod rows;

pub use entry::{Correction, Entry, Load, Values};
pub use fields::{FIRINGS, Field, Holds, Kind, LOADS, PIECES, RECIPES, Value, is_day};
pub use from_table::Entered;
