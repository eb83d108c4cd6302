//! The ledger as a person meets it: loads kept and gone on with, entries, corrections, exchange, files that are none of ours.

mod entries;
mod exchange;
mod files;
mod kill;
mod load;
mod reported;
mod support;
