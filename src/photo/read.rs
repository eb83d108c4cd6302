//! Opening, unpacking and joining: the one way in for files.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use sha2::{Digest, Sha256};

use super::exif::ExifFacts;
use super::image::{Photo, PhotoFacts};
use super::profile::{Declared, Samples, resolve};
use super::sniff::{self, Format};
use super::{Limits, PhotoError, decode_jpeg, decode_png, decode_tiff, orientation};

/// What a decoder hands on: samples as stored, and what the file declares.
pub(super) struct Decoded {
    pub samples: Samples,
    /// 1 or 3: alpha is gone.
    pub channels: usize,
    /// Columns and rows as stored, before the orientation.
    pub size: (usize, usize),
    pub declared: Declared,
    pub exif: ExifFacts,
    pub remarks: Vec<(String, String)>,
}

/// Reads a photograph. The content decides the format, not the name.
pub fn read(path: &Path, limits: &Limits) -> Result<Photo, PhotoError> {
    read_bytes(&file_bytes(path, limits)?, limits)
}

/// Reads a photograph from the bytes of its file.
pub fn read_bytes(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
    if bytes.is_empty() {
        return Err(PhotoError::EmptyFile);
    }
    check_bytes(bytes.len() as u64, limits)?;
    // Decoders may panic on crafted input: that is a fault of the file, not of the batch.
    match catch_unwind(AssertUnwindSafe(|| decode(bytes, limits))) {
        Ok(result) => result,
        Err(_) => Err(PhotoError::Damaged("its decoder gave up".to_owned())),
    }
}

fn decode(bytes: &[u8], limits: &Limits) -> Result<Photo, PhotoError> {
    let decoded = match sniff::format(bytes)? {
        Format::Jpeg => decode_jpeg::decode(bytes, limits)?,
        Format::Png => decode_png::decode(bytes, limits)?,
        Format::Tiff => decode_tiff::decode(bytes, limits)?,
    };
    let Decoded { samples, channels, size, declared, exif, mut remarks } = decoded;
    let (samples, (width, height)) = match samples {
        Samples::Eight(codes) => {
            let (codes, size) = orientation::upright(codes, size, channels, exif.orientation);
            (Samples::Eight(codes), size)
        }
        Samples::Sixteen(codes) => {
            let (codes, size) = orientation::upright(codes, size, channels, exif.orientation);
            (Samples::Sixteen(codes), size)
        }
    };
    let bits = if matches!(samples, Samples::Eight(_)) { 8 } else { 16 };
    if channels == 1 {
        remark(&mut remarks, "grey", "The photo is grey: it holds no colour. Take a colour photo.");
    }
    if exif.is_broken {
        remark(
            &mut remarks,
            "bad-exif",
            "The camera's notes (EXIF) are damaged: check that the photo stands upright.",
        );
    }
    let resolved = resolve(declared, samples, channels)?;
    remarks.extend(resolved.remarks);
    let facts = PhotoFacts {
        sha256: Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect(),
        taken: exif.taken,
        exposure: exif.exposure,
        focal_35mm: exif.focal_35mm,
        camera: exif.camera,
        auto_white_balance: exif.auto_white_balance,
        profile: resolved.name,
        bits,
        remarks,
    };
    Ok(Photo { facts, width, height, channels, pixels: resolved.pixels, matrix: resolved.matrix })
}

/// Adds a remark.
pub(super) fn remark(remarks: &mut Vec<(String, String)>, code: &str, text: &str) {
    remarks.push((code.to_owned(), text.to_owned()));
}

/// All bytes of a file within the limit.
fn file_bytes(path: &Path, limits: &Limits) -> Result<Vec<u8>, PhotoError> {
    let unreadable = |error: std::io::Error| match error.kind() {
        ErrorKind::NotFound => PhotoError::NotFound,
        ErrorKind::IsADirectory => PhotoError::IsADirectory,
        _ => PhotoError::Unreadable(error.to_string()),
    };
    let about = std::fs::metadata(path).map_err(unreadable)?;
    if about.is_dir() {
        return Err(PhotoError::IsADirectory);
    }
    if !about.is_file() {
        return Err(PhotoError::Unreadable("not a regular file".to_owned()));
    }
    check_bytes(about.len(), limits)?;
    let mut bytes = Vec::with_capacity(usize::try_from(about.len()).unwrap_or(0));
    let file = File::open(path).map_err(unreadable)?;
    // The file may grow while it is read.
    file.take(limits.max_file_bytes.saturating_add(1)).read_to_end(&mut bytes).map_err(unreadable)?;
    Ok(bytes)
}

fn check_bytes(bytes: u64, limits: &Limits) -> Result<(), PhotoError> {
    if bytes > limits.max_file_bytes {
        return Err(PhotoError::TooManyBytes { bytes, max_bytes: limits.max_file_bytes });
    }
    Ok(())
}
