//! From a file's bytes to linear light, upright, with what is known of the exposure.
//!
//! Comes in: a path (JPEG, PNG or TIFF, 8 or 16 bit) and [`Limits`]. Goes out: a [`Photo`]: encoded
//! pixels that can only be read as linear light (sRGB primaries, 1.0 = the encoding's white, not
//! clamped), and [`PhotoFacts`]. Anything that cannot be measured is a [`PhotoError`] that says what
//! to do. Pixel coordinates are those of the upright picture.
//!
//! The road inside: `read` opens and looks at the content, `decode_*` unpack it, `orientation` turns
//! it upright, `profile` gives the samples their meaning, `image` and `reduce` hand out light.

mod decode_jpeg;
mod decode_png;
mod decode_tiff;
mod error;
mod exif;
mod gain_map;
mod glance;
mod image;
mod limits;
mod orientation;
mod preview;
mod primaries;
mod profile;
mod read;
mod reduce;
mod sniff;

pub use self::error::PhotoError;
pub use self::image::{Exposure, LinearImage, Photo, PhotoFacts};
pub use self::limits::Limits;
pub use self::read::{read, read_bytes};
