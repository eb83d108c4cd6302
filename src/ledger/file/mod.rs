//! The file itself: whose it is, its layouts, transactions, backup, check.
//!
//! Comes in: a path. Goes out: an open [`Ledger`], of the newest layout. What stands in its tables is for the rooms beside this one.

mod check;
mod open;
mod place;
mod transaction;

pub use check::Checked;
pub use open::{LAYOUT, Ledger};
pub use place::default_place;
pub(super) use transaction::{Entering, Inside};
