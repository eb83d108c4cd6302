//! PNG (W3C, third edition), 8 and 16 bit.
//!
//! The chunks are walked here. Only those that make up the picture and its ICC profile reach the
//! decoder: text, which may unpack to any size, is never read.

use std::io::Cursor;

use image::codecs::png::PngDecoder;
use image::{DynamicImage, ImageDecoder};

use super::exif::{self, ExifFacts};
use super::profile::{Declared, Samples};
use super::read::{Decoded, remark};
use super::{Limits, PhotoError};

const TRUNCATED: PhotoError = PhotoError::Truncated { format: "PNG" };
const SIGNATURE: usize = 8;
/// Bytes the decoder may use for rows and the unpacked profile.
const DECODER_BYTES: u64 = 64 << 20;

/// What the chunks say.
#[derive(Default)]
struct Chunks<'a> {
    size: (u32, u32),
    exif: Option<&'a [u8]>,
    cicp: Option<&'a [u8]>,
    has_icc: bool,
    has_srgb: bool,
    /// `gAMA`: exponent times 100,000.
    gamma: Option<u32>,
    is_animated: bool,
    /// The file again, with the chunks of the picture only.
    picture: Vec<u8>,
}

/// Decodes to RGB or grey of 8 or 16 bit.
pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Decoded, PhotoError> {
    let chunks = chunks(bytes, limits)?;
    let mut allowed = image::Limits::no_limits();
    allowed.max_alloc = Some(DECODER_BYTES);
    let mut decoder =
        PngDecoder::with_limits(Cursor::new(&chunks.picture), allowed).map_err(|e| failure(e, "PNG"))?;
    let profile = decoder.icc_profile().ok().flatten();
    let declared = declared(&chunks, profile)?;
    let picture = DynamicImage::from_decoder(decoder).map_err(|e| failure(e, "PNG"))?;
    let exif = chunks.exif.map_or_else(|| ExifFacts { orientation: 1, ..ExifFacts::default() }, exif::read);
    let mut remarks = Vec::new();
    if chunks.is_animated {
        remark(&mut remarks, "more-pages", "The file is animated; only its first picture was read.");
    }
    finish(picture, declared, exif, remarks)
}

/// The strongest statement wins: cICP, iCCP, sRGB, gAMA (PNG third edition, section 4.3).
fn declared(chunks: &Chunks, profile: Option<Vec<u8>>) -> Result<Declared, PhotoError> {
    if let Some(cicp) = chunks.cicp {
        return match *cicp {
            [primaries, transfer, 0, 1] => Ok(Declared::Cicp { primaries, transfer }),
            _ => Err(PhotoError::ProfileUnsupported("its cICP chunk is not full-range RGB".to_owned())),
        };
    }
    Ok(match (profile, chunks.gamma) {
        (Some(profile), _) => Declared::Icc(profile),
        (None, _) if chunks.has_icc => Declared::BrokenIcc,
        (None, _) if chunks.has_srgb => Declared::Srgb,
        // 45455 stands for sRGB. Another exponent alone says too little to be trusted or ignored.
        (None, Some(gamma)) if gamma.abs_diff(45455) > 500 => {
            let text = format!("its gAMA chunk says {gamma} without a profile");
            return Err(PhotoError::ProfileUnsupported(text));
        }
        _ => Declared::Nothing,
    })
}

/// Walks all chunks; checks the size before anything is copied.
fn chunks<'a>(bytes: &'a [u8], limits: &Limits) -> Result<Chunks<'a>, PhotoError> {
    let mut chunks = Chunks::default();
    let mut at = SIGNATURE;
    loop {
        let head = bytes.get(at..at + 8).ok_or(TRUNCATED)?;
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]) as usize;
        let kind = &head[4..8];
        // Length, name and check sum make 12 bytes.
        let whole = bytes.get(at..at.saturating_add(length).saturating_add(12)).ok_or(TRUNCATED)?;
        let data = &whole[8..8 + length];
        if at == SIGNATURE {
            let (b"IHDR", [w0, w1, w2, w3, h0, h1, h2, h3, ..]) = (kind, data) else {
                return Err(PhotoError::Damaged("its first chunk is not the header".to_owned()));
            };
            chunks.size =
                (u32::from_be_bytes([*w0, *w1, *w2, *w3]), u32::from_be_bytes([*h0, *h1, *h2, *h3]));
            limits.check_size(chunks.size.0, chunks.size.1)?;
            chunks.picture.reserve_exact(bytes.len());
            chunks.picture.extend_from_slice(&bytes[..SIGNATURE]);
        }
        match kind {
            b"eXIf" => chunks.exif = Some(data),
            b"cICP" => chunks.cicp = Some(data),
            b"iCCP" => chunks.has_icc = true,
            b"sRGB" => chunks.has_srgb = true,
            b"gAMA" => chunks.gamma = data.first_chunk().map(|&four| u32::from_be_bytes(four)),
            b"acTL" => chunks.is_animated = true,
            _ => {}
        }
        if matches!(kind, b"IHDR" | b"PLTE" | b"tRNS" | b"iCCP" | b"IDAT" | b"IEND") {
            chunks.picture.extend_from_slice(whole);
        }
        if kind == b"IEND" {
            return Ok(chunks);
        }
        at += whole.len();
    }
}

/// Samples without alpha, from what `image` decoded.
pub(super) fn finish(
    picture: DynamicImage,
    declared: Declared,
    exif: ExifFacts,
    mut remarks: Vec<(String, String)>,
) -> Result<Decoded, PhotoError> {
    let size = (picture.width() as usize, picture.height() as usize);
    let (samples, channels, transparent) = match picture {
        DynamicImage::ImageLuma8(p) => (Samples::Eight(p.into_raw()), 1, false),
        DynamicImage::ImageRgb8(p) => (Samples::Eight(p.into_raw()), 3, false),
        DynamicImage::ImageLuma16(p) => (Samples::Sixteen(p.into_raw()), 1, false),
        DynamicImage::ImageRgb16(p) => (Samples::Sixteen(p.into_raw()), 3, false),
        DynamicImage::ImageLumaA8(p) => without_alpha(p.into_raw(), 1, Samples::Eight),
        DynamicImage::ImageRgba8(p) => without_alpha(p.into_raw(), 3, Samples::Eight),
        DynamicImage::ImageLumaA16(p) => without_alpha(p.into_raw(), 1, Samples::Sixteen),
        DynamicImage::ImageRgba16(p) => without_alpha(p.into_raw(), 3, Samples::Sixteen),
        _ => {
            return Err(PhotoError::Unsupported {
                format: "a picture of floating-point numbers",
                remedy: "Export it as a 16-bit TIFF.",
            });
        }
    };
    if transparent {
        remark(
            &mut remarks,
            "transparent",
            "The photo has transparent parts; they were read as black. Use the photo as it was taken.",
        );
    }
    Ok(Decoded { samples, channels, size, declared, exif, remarks })
}

/// Drops the alpha channel in place. A pixel at least half opaque keeps its own colour (alpha is not
/// multiplied in); any other becomes black, since nothing was photographed there.
fn without_alpha<T: Copy + Default + Into<u32> + MaxValue>(
    mut codes: Vec<T>,
    channels: usize,
    wrap: fn(Vec<T>) -> Samples,
) -> (Samples, usize, bool) {
    let pixels = codes.len() / (channels + 1);
    let top: u32 = T::MAX.into();
    let mut transparent = false;
    for pixel in 0..pixels {
        let from = pixel * (channels + 1);
        let alpha: u32 = codes[from + channels].into();
        transparent |= alpha < top;
        for c in 0..channels {
            codes[pixel * channels + c] = if alpha * 2 >= top { codes[from + c] } else { T::default() };
        }
    }
    codes.truncate(pixels * channels);
    codes.shrink_to_fit();
    (wrap(codes), channels, transparent)
}

/// The largest value of a sample.
trait MaxValue {
    const MAX: Self;
}
impl MaxValue for u8 {
    const MAX: Self = u8::MAX;
}
impl MaxValue for u16 {
    const MAX: Self = u16::MAX;
}

/// Says in our words what `image` refused.
pub(super) fn failure(error: image::ImageError, format: &'static str) -> PhotoError {
    match error {
        image::ImageError::IoError(e) if e.kind() == std::io::ErrorKind::UnexpectedEof => {
            PhotoError::Truncated { format }
        }
        image::ImageError::Unsupported(_) => PhotoError::Unsupported {
            format: if format == "TIFF" { "a TIFF of a rare kind" } else { "a PNG of a rare kind" },
            remedy: "Export it as an 8-bit or 16-bit RGB TIFF without layers.",
        },
        other => PhotoError::Damaged(other.to_string()),
    }
}
