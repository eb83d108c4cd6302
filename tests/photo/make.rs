//! Builds files byte by byte.

use image::{DynamicImage, ImageEncoder};
use sherdlight::photo::{Limits, Photo, PhotoError, read_bytes};

/// Reads with the usual limits.
pub fn read(bytes: &[u8]) -> Result<Photo, PhotoError> {
    read_bytes(bytes, &Limits::default())
}

/// A file of `tests/data/photo`.
pub fn fixture(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/tests/data/photo/{name}", env!("CARGO_MANIFEST_DIR"))).expect("fixture")
}

/// What may be embedded beside the pixels.
#[derive(Default, Clone)]
pub struct Beside {
    pub icc: Option<Vec<u8>>,
    pub exif: Option<Vec<u8>>,
}

fn encode<E: ImageEncoder>(mut encoder: E, picture: &DynamicImage, beside: &Beside) {
    if let Some(icc) = &beside.icc {
        encoder.set_icc_profile(icc.clone()).expect("profile");
    }
    if let Some(exif) = &beside.exif {
        encoder.set_exif_metadata(exif.clone()).expect("exif");
    }
    picture.write_with_encoder(encoder).expect("encoding");
}

/// A baseline JPEG by `image`, quality 95.
pub fn jpeg(picture: &DynamicImage, beside: &Beside) -> Vec<u8> {
    let mut bytes = Vec::new();
    encode(image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 95), picture, beside);
    bytes
}

/// A PNG by `image`.
pub fn png(picture: &DynamicImage, beside: &Beside) -> Vec<u8> {
    let mut bytes = Vec::new();
    encode(image::codecs::png::PngEncoder::new(&mut bytes), picture, beside);
    bytes
}

/// Puts a chunk into a PNG right after its header.
pub fn with_chunk(png: &[u8], kind: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let after_header = 8 + 25;
    let mut out = png[..after_header].to_vec();
    out.extend(chunk(kind, data));
    out.extend_from_slice(&png[after_header..]);
    out
}

/// One PNG chunk with its check sum (PNG third edition, annex D).
pub fn chunk(kind: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let body: Vec<u8> = kind.iter().chain(data).copied().collect();
    let mut crc = !0u32;
    for byte in &body {
        crc ^= u32::from(*byte);
        for _ in 0..8 {
            crc = if crc & 1 == 1 { 0xEDB8_8320 ^ (crc >> 1) } else { crc >> 1 };
        }
    }
    let length = (data.len() as u32).to_be_bytes();
    length.into_iter().chain(body).chain((!crc).to_be_bytes()).collect()
}

/// A PNG of the given header and no pixels.
pub fn png_header(width: u32, height: u32) -> Vec<u8> {
    let mut header = [width.to_be_bytes(), height.to_be_bytes()].concat();
    header.extend([8, 2, 0, 0, 0]);
    [b"\x89PNG\r\n\x1a\n".to_vec(), chunk(b"IHDR", &header), chunk(b"IDAT", &[]), chunk(b"IEND", &[])]
        .concat()
}

/// Writes over the frame header of a JPEG: `edit` sees precision, height, width, count, components.
pub fn with_frame(jpeg: &[u8], edit: impl FnOnce(&mut u8, &mut [u8])) -> Vec<u8> {
    let mut out = jpeg.to_vec();
    let at = out.windows(2).position(|w| matches!(w, [0xFF, 0xC0..=0xC2])).expect("a frame header");
    let (head, body) = out.split_at_mut(at + 4);
    edit(&mut head[at + 1], body);
    out
}

/// A tag of a TIFF: number, type (3 short, 4 long, 7 undefined), values.
pub type TiffTag = (u16, u16, Vec<u32>);

/// A little-endian TIFF 6.0 file of one uncompressed strip. `tags` are added to, or replace, the
/// usual ones.
pub fn tiff(size: (u32, u32), samples: u16, bits: u16, pixels: &[u8], tags: &[TiffTag]) -> Vec<u8> {
    let data_at = 8u32;
    let mut all: Vec<TiffTag> = vec![
        (256, 4, vec![size.0]),
        (257, 4, vec![size.1]),
        (258, 3, vec![u32::from(bits); usize::from(samples)]),
        (259, 3, vec![1]),
        (262, 3, vec![if samples < 3 { 1 } else { 2 }]),
        (273, 4, vec![data_at]),
        (277, 3, vec![u32::from(samples)]),
        (278, 4, vec![size.1]),
        (279, 4, vec![pixels.len() as u32]),
    ];
    for tag in tags {
        all.retain(|old| old.0 != tag.0);
        all.push(tag.clone());
    }
    all.sort_by_key(|tag| tag.0);

    let padded = pixels.len() + pixels.len() % 2;
    let directory_at = data_at as usize + padded;
    let mut extra_at = directory_at + 2 + 12 * all.len() + 4;
    let mut out = b"II*\0".to_vec();
    out.extend((directory_at as u32).to_le_bytes());
    out.extend_from_slice(pixels);
    out.resize(directory_at, 0);
    out.extend((all.len() as u16).to_le_bytes());
    let mut extra = Vec::new();
    for (number, kind, values) in &all {
        let bytes: Vec<u8> = match kind {
            3 => values.iter().flat_map(|v| (*v as u16).to_le_bytes()).collect(),
            4 => values.iter().flat_map(|v| v.to_le_bytes()).collect(),
            _ => values.iter().map(|v| *v as u8).collect(),
        };
        out.extend(number.to_le_bytes());
        out.extend(kind.to_le_bytes());
        out.extend((values.len() as u32).to_le_bytes());
        if bytes.len() <= 4 {
            out.extend(bytes.iter().chain(&[0; 4]).take(4));
        } else {
            out.extend((extra_at as u32).to_le_bytes());
            extra_at += bytes.len() + bytes.len() % 2;
            extra.extend_from_slice(&bytes);
            extra.resize(extra.len() + bytes.len() % 2, 0);
        }
    }
    out.extend([0; 4]);
    out.extend(extra);
    out
}

/// A smooth picture with every pixel its own colour.
pub fn ramp(width: u32, height: u32) -> DynamicImage {
    DynamicImage::ImageRgb8(image::RgbImage::from_fn(width, height, |x, y| {
        image::Rgb([(40 + x) as u8, (30 + y) as u8, (200 - (x + y) / 2) as u8])
    }))
}

/// An ICC profile (ICC.1:2022 section 7) of class `mntr` for the given data and connection space,
/// version 2.4, with the given tags.
pub fn icc(data_space: &[u8; 4], connection: &[u8; 4], tags: &[(&[u8; 4], Vec<u8>)]) -> Vec<u8> {
    let mut head = vec![0u8; 128];
    head[8..12].copy_from_slice(&[2, 0x40, 0, 0]);
    head[12..16].copy_from_slice(b"mntr");
    head[16..20].copy_from_slice(data_space);
    head[20..24].copy_from_slice(connection);
    head[36..40].copy_from_slice(b"acsp");
    let white = xyz([0.9642, 1.0, 0.8249]);
    head[68..80].copy_from_slice(&white[8..]);
    let mut at = 128 + 4 + 12 * tags.len();
    let (mut table, mut body) = ((tags.len() as u32).to_be_bytes().to_vec(), Vec::new());
    for (name, data) in tags {
        table.extend_from_slice(*name);
        table.extend((at as u32).to_be_bytes());
        table.extend((data.len() as u32).to_be_bytes());
        let padded = data.len().next_multiple_of(4);
        body.extend_from_slice(data);
        body.resize(body.len() + padded - data.len(), 0);
        at += padded;
    }
    let mut out = [head, table, body].concat();
    let length = (out.len() as u32).to_be_bytes();
    out[..4].copy_from_slice(&length);
    out
}

/// An `XYZ ` tag of one value, s15Fixed16.
pub fn xyz(value: [f64; 3]) -> Vec<u8> {
    let numbers = value.iter().flat_map(|v| ((v * 65536.0).round() as i32).to_be_bytes());
    b"XYZ \0\0\0\0".iter().copied().chain(numbers).collect()
}

/// A `curv` tag.
pub fn curve(values: &[u16]) -> Vec<u8> {
    let count = (values.len() as u32).to_be_bytes();
    b"curv\0\0\0\0".iter().copied().chain(count).chain(values.iter().flat_map(|v| v.to_be_bytes())).collect()
}
