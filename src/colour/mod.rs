//! Colour arithmetic: spaces with their white points, adaptation, differences. No image in sight.
//!
//! Comes in: single colours. Goes out: the same colours in other spaces, distances between them,
//! whiteness and yellowness, nearest Munsell notations, contrast.
//! Units: linear values are relative, 1.0 = the white of the space; `XyzD50` has Y = 1.0 for the
//! perfect reflecting diffuser; L* runs 0..100, hue angles are degrees 0..360. Every figure taken
//! from a publication stands in [`constants`].
//!
//! Encoded and linear light have different types:
//!
//! ```
//! use sherdlight::colour::{EncodedSrgb, XyzD50};
//! fn measure(code: [u8; 3]) -> XyzD50 {
//!     EncodedSrgb::from_u8(code).to_linear_unclamped().to_xyz_d50()
//! }
//! assert!((measure([255, 255, 255]).y - 1.0).abs() < 1e-12);
//! ```
//!
//! An encoded colour where linear light is wanted does not compile:
//!
//! ```compile_fail,E0308
//! use sherdlight::colour::{EncodedSrgb, LinearRgb, XyzD50};
//! fn measure(light: LinearRgb) -> XyzD50 {
//!     light.to_xyz_d50()
//! }
//! measure(EncodedSrgb::from_u8([255, 255, 255]));
//! ```

mod adaptation;
pub mod constants;
mod contrast;
mod difference;
mod encoded;
mod matrix;
mod munsell;
mod spaces;
mod whiteness;

pub use adaptation::{adapt, bradford, cielab, cielab_to_xyz};
pub use contrast::{luminance_ratio, michelson};
pub use difference::{Ciede2000Parts, ciede2000, ciede2000_parts};
pub use encoded::EncodedSrgb;
pub use matrix::Matrix3;
pub use munsell::{
    MunsellMatch, MunsellNotation, lab_to_munsell, munsell_to_lab, munsell_value_to_y, nearest_munsell,
};
pub use spaces::{LabD50, LchD50, LinearRgb, XyzD50};
pub use whiteness::{
    IndexIlluminant, Whiteness, Yellowness, whiteness, whiteness_of_xyz, yellowness, yellowness_of_xyz,
};
