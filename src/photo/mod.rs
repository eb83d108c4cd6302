//! From a file's bytes to linear light, upright, with what is known of the exposure.
//!
//! Comes in: a path (JPEG, PNG or TIFF, 8 or 16 bit). Goes out: a [`Photo`]: encoded pixels that
//! can only be read as linear light, and [`PhotoFacts`]. Anything that cannot be measured is a
//! [`PhotoError`] that says what to do. Pixel coordinates are those of the upright picture.

mod error;
mod image;

pub use self::error::PhotoError;
pub use self::image::{Exposure, LinearImage, Photo, PhotoFacts};
