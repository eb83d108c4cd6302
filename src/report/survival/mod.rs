//! What the fire left of the paint, as a picture and as lines of text.

mod picture;
mod table;

pub use picture::{SurvivalSides, survival_picture};
pub use table::{survival_table, survival_words};
