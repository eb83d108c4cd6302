//! From labels and corrected light to numbers with their uncertainty: one record a piece.
//!
//! Comes in: the photograph's facts, the card's reading, the surface map. Goes out: a [`Record`],
//! whose fields and units are a contract (`record.rs`, and the JSON Schema beside it).

mod json;
mod record;

pub use json::{from_json_line, to_json_line};
pub use record::*;

/// The JSON Schema (2020-12) of a record.
pub const READING_SCHEMA: &str = include_str!("reading.schema.json");
