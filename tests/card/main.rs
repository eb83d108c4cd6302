//! The card: its files, finding it, reading it, learning one, borrowing its correction, the checks on how it
//! was photographed, and the commands about it.
#![allow(missing_docs)]

mod bad_files;
mod borrow;
mod capture;
mod commands;
mod composed;
mod files;
mod find;
mod learn;
mod reading;
mod scene;
mod support;
