//! What a file is, by its first bytes. Its name does not matter.

use super::PhotoError;

/// A format that is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Format {
    Jpeg,
    Png,
    Tiff,
}

const EXPORT: &str = "Export it as a JPEG, a PNG or a 16-bit TIFF.";
/// The remedy for files straight from a sensor.
pub(super) const DEVELOP: &str = "Develop it with your raw converter and export a 16-bit TIFF or a JPEG.";
/// What a raw file is called.
pub(super) const RAW: &str = "a camera's raw file";

/// Names the format, or the reason why the content is not read.
pub(super) fn format(bytes: &[u8]) -> Result<Format, PhotoError> {
    let starts = |magic: &[u8]| bytes.starts_with(magic);
    if starts(&[0xFF, 0xD8]) {
        return Ok(Format::Jpeg);
    }
    if starts(b"\x89PNG\r\n\x1a\n") {
        return Ok(Format::Png);
    }
    if starts(b"II*\0") || starts(b"MM\0*") || starts(b"II+\0") || starts(b"MM\0+") {
        // Some raw files are TIFFs with their own mark after the header.
        let is_raw = bytes.get(8..10) == Some(b"CR");
        return if is_raw { Err(unsupported(RAW, DEVELOP)) } else { Ok(Format::Tiff) };
    }
    if bytes.get(4..8) == Some(b"ftyp") {
        return Err(iso_media(bytes));
    }
    let riff_kind = if starts(b"RIFF") { bytes.get(8..12) } else { None };
    Err(if riff_kind == Some(b"WEBP") {
        unsupported("a WebP picture", EXPORT)
    } else if starts(b"GIF8") {
        unsupported("a GIF picture", EXPORT)
    } else if starts(b"BM") && bytes.get(6..10) == Some(&[0; 4]) {
        unsupported("a BMP picture", EXPORT)
    } else if starts(&[0xFF, 0x0A]) || starts(b"\0\0\0\x0cJXL ") {
        unsupported("a JPEG XL picture", EXPORT)
    } else if starts(b"\0\0\0\x0cjP  ") || starts(&[0xFF, 0x4F, 0xFF, 0x51]) {
        unsupported("a JPEG 2000 picture", EXPORT)
    } else if starts(b"8BPS") {
        unsupported("a layered picture (PSD)", EXPORT)
    } else if starts(&[0x76, 0x2F, 0x31, 0x01]) {
        unsupported("an OpenEXR picture", EXPORT)
    } else if starts(b"IIRO") || starts(b"IIRS") || starts(b"MMOR") || starts(b"IIU\0") || starts(b"\0MRM") {
        unsupported(RAW, DEVELOP)
    } else if starts(b"%PDF") {
        not_a_picture("a PDF document")
    } else if starts(b"PK\x03\x04") {
        not_a_picture("an archive")
    } else if is_text(bytes) {
        not_a_picture("a text file")
    } else {
        not_a_picture("something else")
    })
}

/// ISO base media (ISO/IEC 14496-12): the major brand, then the compatible ones.
fn iso_media(bytes: &[u8]) -> PhotoError {
    let length = bytes.get(..4).map_or(0, |b| u32::from_be_bytes([b[0], b[1], b[2], b[3]]) as usize);
    let brands = bytes.get(16..length.min(bytes.len())).unwrap_or_default();
    let also = |brand: &[u8]| brands.chunks_exact(4).any(|b| b == brand);
    let major = bytes.get(8..12).unwrap_or_default();
    match major {
        b"avif" | b"avis" => unsupported("an AVIF picture", EXPORT),
        b"mif1" | b"msf1" if also(b"avif") => unsupported("an AVIF picture", EXPORT),
        b"heic" | b"heix" | b"heim" | b"heis" | b"hevc" | b"hevx" | b"mif1" | b"msf1" => {
            PhotoError::Heic { brand: String::from_utf8_lossy(major).into_owned() }
        }
        b"crx " => unsupported(RAW, DEVELOP),
        _ => unsupported("a film or sound file", "Give a still photograph: JPEG, PNG or TIFF."),
    }
}

fn unsupported(format: &'static str, remedy: &'static str) -> PhotoError {
    PhotoError::Unsupported { format, remedy }
}

fn not_a_picture(looks_like: &'static str) -> PhotoError {
    PhotoError::NotAPicture { looks_like }
}

/// Whether the first bytes read as UTF-8 text without control characters.
fn is_text(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(512)];
    let text = match std::str::from_utf8(head) {
        Ok(text) => text,
        // A character cut by the end of the head is no fault.
        Err(error) if error.error_len().is_none() => {
            std::str::from_utf8(&head[..error.valid_up_to()]).unwrap_or_default()
        }
        Err(_) => return false,
    };
    !text.is_empty() && text.chars().all(|c| !c.is_control() || c.is_whitespace())
}
