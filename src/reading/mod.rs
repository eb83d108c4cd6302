//! From labels and corrected light to numbers with their uncertainty: one record a piece.
//!
//! Comes in: [`Sources`]: the photograph, the card's reading, the corrected picture, the surface
//! map. Goes out: a [`Reading`] a piece, without its verdicts. The record's fields and units are a
//! contract (`record/`, and the JSON Schema beside it). Reflectance is a mean in linear light over
//! a surface's inner part, shading removed; sums are `f64` in a fixed order.

mod changes;
mod colours;
mod contrast;
mod ground;
mod inner;
mod json;
mod lengths;
mod measure;
mod nearby;
mod paint;
mod paint_edges;
mod parts;
mod plane;
mod record;
mod remarks;
mod size;
mod statistics;
mod strips;
mod survival;
mod swatches;
mod tally;
mod uncertainty;
mod unevenness;

pub use crate::card::CARD_SMALL;
pub use changes::{Change, changes};
pub use json::{from_json_line, to_json_line};
pub use measure::{Sources, measure};
pub use parts::{card_part, photo_part};
pub use record::*;
pub use remarks::{NO_GRADE, OVEREXPOSED, UNDEREXPOSED, WARNING_CODES};
pub use survival::{UNMATCHED, survival_part, unmatched};
pub use swatches::measure_swatches;
pub(crate) use uncertainty::of_spread;

/// The JSON Schema (2020-12) of a record.
pub const READING_SCHEMA: &str = include_str!("reading.schema.json");
