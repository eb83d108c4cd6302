//! Pictures for people and label maps for programs.
//!
//! Corrected light is relative to the card's light: a place that faces the light more squarely
//! than the card may be brighter than the diffuser and is shown as plain white.

use super::ReportError;
use crate::card::CorrectedImage;
use crate::surface::{Label, SurfaceMap};
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder, RgbImage};
use rayon::prelude::*;

/// Long side in pixels of the pictures made for looking at.
pub const DISPLAY_SIDE: usize = 1600;

/// The corrected picture as sRGB, its long side at most `long_side` pixels (never enlarged). Each
/// pixel is the mean, in linear light, of those it covers; values outside sRGB are clamped.
pub fn corrected_picture(image: &CorrectedImage, long_side: usize) -> RgbImage {
    let (width, height) = display_size(image.width, image.height, long_side);
    let mut codes = vec![0u8; width * height * 3];
    if width > 0 {
        codes.par_chunks_mut(width * 3).enumerate().for_each(|(y, row)| {
            let rows = span(y, height, image.height);
            for (x, pixel) in row.chunks_exact_mut(3).enumerate() {
                let columns = span(x, width, image.width);
                let mut sum = [0f64; 3];
                for source_y in rows.clone() {
                    let start = source_y * image.width;
                    for xyz in &image.xyz[start + columns.start..start + columns.end] {
                        (0..3).for_each(|c| sum[c] += f64::from(xyz[c]));
                    }
                }
                let count = (rows.len() * columns.len()) as f64;
                pixel.copy_from_slice(&super::display::srgb_of_xyz(sum.map(|s| s / count)));
            }
        });
    }
    rgb_image(width, height, codes)
}

/// The label map at the photograph's full upright size as an 8-bit grey PNG, one label number a
/// pixel: every map pixel becomes `factor * factor` pixels, cut off at the right and lower edge.
///
/// # Errors
/// [`ReportError::Encode`] where the map is empty or the size is none.
pub fn label_png(map: &SurfaceMap, width: usize, height: usize) -> Result<Vec<u8>, ReportError> {
    grey_png(map, [width, height], |x, y| label_at(map, x, y) as u8)
}

/// Grey value of the card's own light in [`light_png`].
const CARD_LIGHT: f64 = 127.0;

/// The light on the pieces at the photograph's full upright size as an 8-bit grey PNG: 127 is the light on the card, 255
/// twice as much or more, 0 is no piece. `factors` are those of the pieces, the largest first, by which the map's light
/// becomes relative to the card's; pieces beyond their end have 1.
///
/// # Errors
/// [`ReportError::Encode`] where the map is empty or the size is none.
pub fn light_png(map: &SurfaceMap, factors: &[f64], size: [usize; 2]) -> Result<Vec<u8>, ReportError> {
    grey_png(map, size, |x, y| {
        if x >= map.width || y >= map.height || map.piece_of[y * map.width + x] == 0 {
            return 0;
        }
        let at = y * map.width + x;
        let factor = factors.get(usize::from(map.piece_of[at]) - 1).copied().unwrap_or(1.0);
        (CARD_LIGHT * factor * f64::from(map.light[at])).round().clamp(1.0, 255.0) as u8
    })
}

/// One grey value a map pixel, each as `factor * factor` pixels, cut off at the right and lower edge.
fn grey_png(
    map: &SurfaceMap,
    [width, height]: [usize; 2],
    value: impl Fn(usize, usize) -> u8 + Sync,
) -> Result<Vec<u8>, ReportError> {
    let failed = |reason: String| ReportError::Encode { width, height, reason };
    if map.labels.is_empty() || map.labels.len() != map.width * map.height || width == 0 || height == 0 {
        return Err(failed("the map is empty".into()));
    }
    let mut values = vec![0u8; width * height];
    values.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, grey) in row.iter_mut().enumerate() {
            *grey = value(x / map.factor.max(1), y / map.factor.max(1));
        }
    });
    let mut png = Vec::new();
    PngEncoder::new_with_quality(&mut png, CompressionType::Fast, FilterType::Up)
        .write_image(&values, width as u32, height as u32, ExtendedColorType::L8)
        .map_err(|error| failed(error.to_string()))?;
    Ok(png)
}

/// A picture as JPEG; quality 1 to 100.
///
/// # Errors
/// [`ReportError::Encode`] for an empty picture.
pub fn jpeg(picture: &RgbImage, quality: u8) -> Result<Vec<u8>, ReportError> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, quality.clamp(1, 100)).encode_image(picture).map_err(
        |error| ReportError::Encode {
            width: picture.width() as usize,
            height: picture.height() as usize,
            reason: error.to_string(),
        },
    )?;
    Ok(bytes)
}

/// The size that fits `long_side`, never larger than it was, at least 1 x 1 for a picture with pixels.
pub(super) fn display_size(width: usize, height: usize, long_side: usize) -> (usize, usize) {
    let long = width.max(height);
    if long <= long_side.max(1) {
        return (width, height);
    }
    let fit = |side: usize| ((side * long_side.max(1) + long / 2) / long).max(1);
    (fit(width), fit(height))
}

/// The source pixels behind pixel `at` of `to` when `from` pixels are shown as `to`, never none.
pub(super) fn span(at: usize, to: usize, from: usize) -> std::ops::Range<usize> {
    let start = at * from / to;
    start..((at + 1) * from / to).max(start + 1)
}

/// The label of a map pixel; places past the edge take that of the edge.
pub(super) fn label_at(map: &SurfaceMap, x: usize, y: usize) -> Label {
    map.labels[y.min(map.height - 1) * map.width + x.min(map.width - 1)]
}

/// The picture of these codes, which are three a pixel.
fn rgb_image(width: usize, height: usize, codes: Vec<u8>) -> RgbImage {
    RgbImage::from_raw(width as u32, height as u32, codes).unwrap_or_default()
}
