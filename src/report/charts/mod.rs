//! The charts, as SVG text: each a pure function from plain values, with a title and a description that states the
//! finding in words.
//!
//! Comes in: values with the half-widths of their 95 % intervals, readings, target ranges. Goes out: SVG that stands
//! alone as a file and inside an HTML page, the same bytes for the same values. What is no number is left out, and
//! what is missing is said. Everything is told by form as well as by colour.

mod bands;
mod difference;
mod heat;
mod kept;
mod levels;
mod load;
mod marks;
mod parts;
mod placing;
mod ranges;
mod ratios;
mod residual;
pub(super) mod scale;
pub(super) mod svg;
pub(super) mod text;
mod tile;

pub use difference::difference_chart;
pub use heat::heat_chart;
pub use kept::kept_chart;
pub use levels::{LevelMark, LevelsTold, levels_chart};
pub use load::load_chart;
pub use marks::LoadMark;
pub use ranges::ranges_chart;
pub use residual::residual_chart;
pub use tile::{PatchMark, TilePatch, tile_chart};
