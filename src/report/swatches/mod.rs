//! Swatches shown: the grid drawn over the photograph, a table for people and one for programs.
//!
//! Comes in: [`Swatch`](crate::reading::Swatch)es with their photograph. Goes out: a picture, text, CSV.

mod csv;
mod picture;
mod table;

pub use csv::swatches_csv;
pub use picture::swatch_picture;
pub use table::swatch_table;
