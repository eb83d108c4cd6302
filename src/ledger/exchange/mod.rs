//! The ledger given out and taken in: lines of JSON, tables (CSV).

mod export;
mod import;
mod lines;
mod photographs;
mod tables;

pub use export::Private;
pub use import::Imported;
