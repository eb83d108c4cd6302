//! TIFF 6.0 and BigTIFF, 8 and 16 bit, first picture only.

use std::io::Cursor;

use image::codecs::tiff::TiffDecoder;
use image::{DynamicImage, ExtendedColorType, ImageDecoder};

use super::decode_png::{failure, finish};
use super::exif::{self, ExifFacts};
use super::profile::Declared;
use super::read::{Decoded, remark};
use super::sniff::{DEVELOP, RAW};
use super::{Limits, PhotoError};

/// Bytes the decoder may use beside the pixels, for strips, tables and the profile.
const DECODER_BYTES: u64 = 256 << 20;

/// Decodes to RGB or grey of 8 or 16 bit.
pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Decoded, PhotoError> {
    // A TIFF is built like an EXIF block. BigTIFF is not: its exposure facts stay unknown.
    let is_big = matches!(bytes[2..4], [b'+', 0] | [0, b'+']);
    let mut exif = if is_big { ExifFacts::default() } else { exif::read(bytes) };
    if exif.is_raw {
        return Err(PhotoError::Unsupported { format: RAW, remedy: DEVELOP });
    }
    if let Some((width, height)) = exif.size {
        limits.check_size(width, height)?;
    }
    let mut decoder = TiffDecoder::new(Cursor::new(bytes)).map_err(|e| failure(e, "TIFF"))?;
    let (width, height) = decoder.dimensions();
    limits.check_size(width, height)?;
    let coded = decoder.original_color_type();
    if matches!(coded, ExtendedColorType::Cmyk8 | ExtendedColorType::Cmyk16) {
        return Err(PhotoError::Cmyk);
    }
    if matches!(coded, ExtendedColorType::Rgb32F | ExtendedColorType::Rgba32F) {
        return Err(PhotoError::Unsupported {
            format: "a picture of floating-point numbers",
            remedy: "Export it as a 16-bit TIFF.",
        });
    }
    let mut allowed = image::Limits::no_limits();
    allowed.max_alloc = Some(decoder.total_bytes() + DECODER_BYTES);
    decoder.set_limits(allowed).map_err(|e| failure(e, "TIFF"))?;
    exif.orientation = decoder.orientation().map_err(|e| failure(e, "TIFF"))?.to_exif();
    let declared = match decoder.icc_profile().ok().flatten() {
        Some(profile) => Declared::Icc(profile),
        None if exif.has_icc => Declared::BrokenIcc,
        None if exif.colour_space == Some(1) => Declared::Srgb,
        None if exif.is_op_rgb => Declared::OpRgb,
        None => Declared::Nothing,
    };
    let mut remarks = Vec::new();
    if exif.has_more_pages {
        remark(&mut remarks, "more-pages", "The file holds several pictures; only the first was read.");
    }
    let picture = DynamicImage::from_decoder(decoder).map_err(|e| failure(e, "TIFF"))?;
    finish(picture, declared, exif, remarks)
}
