//! Colour arithmetic: spaces with their white points, adaptation, differences. No image in sight.
//!
//! Comes in: single colours. Goes out: the same colours in other spaces, and distances between them.
//! Units: linear values are relative, 1.0 = the white of the space; `XyzD50` has Y = 1.0 for the
//! perfect reflecting diffuser; L* runs 0..100, hue angles are degrees 0..360.

mod difference;
mod spaces;

pub use difference::ciede2000;
pub use spaces::{LabD50, LchD50, LinearRgb, XyzD50};
