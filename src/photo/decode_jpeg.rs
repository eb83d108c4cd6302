//! JPEG (ITU-T T.81), strict: a file that is cut off is refused.
//!
//! The markers before the first scan are walked here, so that size, coding and sampling are known
//! before the decoder allocates anything.

use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use super::exif::{self, ExifFacts};
use super::profile::{Declared, Samples};
use super::read::{Decoded, remark};
use super::{Limits, PhotoError, gain_map};

const TRUNCATED: PhotoError = PhotoError::Truncated { format: "JPEG" };
const SAVE_AGAIN: &str = "Save it again as a JPEG with usual settings, or as a TIFF.";

/// What the markers before the first scan say.
#[derive(Default)]
struct Header<'a> {
    width: u16,
    height: u16,
    /// Bits a sample.
    precision: u8,
    /// Start-of-frame marker, 0xC0 to 0xCF.
    frame: u8,
    /// Horizontal and vertical sampling factors.
    components: Vec<(u8, u8)>,
    exif: Option<&'a [u8]>,
    has_icc: bool,
    /// A segment names a gain map.
    has_gain_map: bool,
    /// Where the index of the file's pictures begins (CIPA DC-007).
    pictures_at: Option<usize>,
    /// Where the first scan begins.
    scan: usize,
}

/// Decodes to 8-bit RGB or grey.
pub(super) fn decode(bytes: &[u8], limits: &Limits) -> Result<Decoded, PhotoError> {
    let header = header(bytes)?;
    check(&header, limits)?;
    // A scan without an end marker lacks at least that; how much more, no decoder can tell.
    if !bytes[header.scan..].windows(2).rev().any(|two| two == [0xFF, 0xD9]) {
        return Err(TRUNCATED);
    }
    let channels = header.components.len();
    let colours = if channels == 1 { ColorSpace::Luma } else { ColorSpace::RGB };
    let options = DecoderOptions::default()
        .set_strict_mode(true)
        .jpeg_set_out_colorspace(colours)
        .set_max_width(usize::from(header.width))
        .set_max_height(usize::from(header.height));
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    let damaged = |error: String| PhotoError::Damaged(error);
    let codes = decoder.decode().map_err(|e| damaged(e.to_string()))?;
    let (width, height) = (usize::from(header.width), usize::from(header.height));
    if codes.len() != width * height * channels {
        return Err(damaged("its headers contradict each other".to_owned()));
    }
    let exif = header.exif.map_or_else(|| ExifFacts { orientation: 1, ..ExifFacts::default() }, exif::read);
    let declared = match decoder.icc_profile() {
        Some(profile) => Declared::Icc(profile),
        None if header.has_icc => Declared::BrokenIcc,
        // EXIF: 1 is sRGB; anything else is named by the interoperability index (DCF 2.0).
        None if exif.colour_space == Some(1) => Declared::Srgb,
        None if exif.is_op_rgb => Declared::OpRgb,
        None => Declared::Nothing,
    };
    let mut remarks = Vec::new();
    if header.has_gain_map || header.pictures_at.is_some_and(|at| gain_map::is_in_other_pictures(bytes, at)) {
        remark(
            &mut remarks,
            "gain-map",
            "The file holds a gain map for bright screens. It was left aside and the base picture measured, \
             which bright screens show differently. Switch HDR off in the camera for the next photo.",
        );
    }
    Ok(Decoded { samples: Samples::Eight(codes), channels, size: (width, height), declared, exif, remarks })
}

/// Refuses what no decoder here gets right, before anything is allocated.
fn check(header: &Header, limits: &Limits) -> Result<(), PhotoError> {
    limits.check_size(u32::from(header.width), u32::from(header.height))?;
    let unsupported = |format| Err(PhotoError::Unsupported { format, remedy: SAVE_AGAIN });
    match header.frame {
        0xC0..=0xC2 => {}
        0xC9..=0xCB => return unsupported("a JPEG with arithmetic coding"),
        _ => return unsupported("a lossless or layered JPEG"),
    }
    if header.precision != 8 {
        return unsupported("a JPEG of more than 8 bits");
    }
    match *header.components.as_slice() {
        [_] => Ok(()),
        [(h, v), one, two] => {
            if [one, two].iter().any(|c| c.0 > h || c.1 > v) {
                return Err(PhotoError::ChromaFinerThanLuma);
            }
            let is_usual = |factor: u8| matches!(factor, 1 | 2 | 4);
            if one != two || ![h, v, one.0, one.1].into_iter().all(is_usual) {
                return unsupported("a JPEG with a rare chroma layout");
            }
            Ok(())
        }
        [_, _, _, _] => Err(PhotoError::Cmyk),
        _ => unsupported("a JPEG with an odd number of channels"),
    }
}

/// Walks the markers up to the first scan.
fn header(bytes: &[u8]) -> Result<Header<'_>, PhotoError> {
    let mut header = Header::default();
    let mut at = 2;
    loop {
        // Bytes between segments are skipped; fill bytes (0xFF) before a marker are allowed.
        while *bytes.get(at).ok_or(TRUNCATED)? != 0xFF {
            at += 1;
        }
        while *bytes.get(at).ok_or(TRUNCATED)? == 0xFF {
            at += 1;
        }
        let marker = bytes[at];
        at += 1;
        match marker {
            // Stuffed zero, TEM, restart and start markers stand alone.
            0x00 | 0x01 | 0xD0..=0xD8 => continue,
            0xD9 => return Err(PhotoError::Damaged("it ends before its first scan".to_owned())),
            _ => {}
        }
        let length = bytes.get(at..at + 2).ok_or(TRUNCATED)?;
        let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
        let segment = bytes.get(at + 2..at + length.max(2)).ok_or(TRUNCATED)?;
        if marker == 0xE2 && segment.starts_with(b"MPF\0") {
            header.pictures_at = Some(at + 2 + 4);
        }
        header.has_gain_map |= gain_map::is_named(marker, segment);
        at += length.max(2);
        match marker {
            0xDA if header.frame == 0 => {
                return Err(PhotoError::Damaged("it has no frame header".to_owned()));
            }
            0xDA => {
                header.scan = at;
                return Ok(header);
            }
            // Start of frame; C4, C8 and CC are something else.
            0xC0..=0xCF if !matches!(marker, 0xC4 | 0xC8 | 0xCC) => frame(&mut header, marker, segment)?,
            0xE1 if header.exif.is_none() => header.exif = segment.strip_prefix(b"Exif\0\0"),
            0xE2 if segment.starts_with(b"ICC_PROFILE\0") => header.has_icc = true,
            _ => {}
        }
    }
}

fn frame(header: &mut Header, marker: u8, segment: &[u8]) -> Result<(), PhotoError> {
    let [precision, h0, h1, w0, w1, count, components @ ..] = segment else {
        return Err(PhotoError::Damaged("its frame header is too short".to_owned()));
    };
    header.frame = marker;
    header.precision = *precision;
    header.height = u16::from_be_bytes([*h0, *h1]);
    header.width = u16::from_be_bytes([*w0, *w1]);
    header.components =
        components.chunks_exact(3).take(usize::from(*count)).map(|c| (c[1] >> 4, c[1] & 15)).collect();
    if header.components.len() != usize::from(*count) {
        return Err(PhotoError::Damaged("its frame header is too short".to_owned()));
    }
    Ok(())
}
