//! Readings kept and read again, so that one firing can be set beside another.
//!
//! Comes in: a file of records (JSON Lines), as `score --json` and `score --out` write them. Goes out: the
//! [`Record`](crate::reading::Record)s in the file's order.

mod records;

pub use records::{LedgerError, read_records};
