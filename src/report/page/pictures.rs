//! The pictures of one photograph in a page: the corrected photograph once, and over it a layer a label.
//!
//! Every layer is a picture of its own with a see-through ground, cut to what it covers, so that a page can show and hide
//! each. It has a tint, an edge in the label's colour and the label's pattern: the map reads in grey and with any colour
//! vision.

use crate::card::CorrectedImage;
use crate::report::ReportError;
use crate::report::display::data_uri;
use crate::report::label_style::label_style;
use crate::report::overlay::{CHALK, INK, TINT, labels_of, mark_colour};
use crate::report::picture::{corrected_picture, jpeg};
use crate::surface::{Label, SurfaceMap};
use image::RgbImage;
use rayon::prelude::*;

/// Long side of the photograph in a page, pixels.
const LONG_SIDE: usize = 900;
/// Qualities that are tried in their order until the photograph is small enough.
const QUALITIES: [u8; 4] = [82, 74, 64, 50];
/// Bytes that one photograph may fill: forty with their layers stay well under 12 MB as text.
const BYTES: usize = 130_000;
/// Level of the layers' compression, 1 to 9: the usual one.
const DEFLATE: u8 = 6;
/// Distance of the pattern's lines, pixels.
const PITCH: usize = 7;

/// The pictures of one photograph, encoded small enough for a page. Make them as each photograph ends: they are a fraction
/// of the size of what they are made from.
#[derive(Debug, Clone, Default)]
pub struct PagePictures {
    /// The corrected photograph, a JPEG data URI.
    pub(super) photo: String,
    /// Its width and height.
    pub(super) size: [u32; 2],
    /// Its pixels to one of the photograph at full size.
    pub(super) scale: f64,
    /// In the order of the labels.
    pub(super) layers: Vec<Layer>,
}

/// One label of the map.
#[derive(Debug, Clone)]
pub(super) struct Layer {
    pub(super) label: Label,
    /// A PNG data URI.
    pub(super) source: String,
    /// Left, top, width, height in the photograph.
    pub(super) place: [u32; 4],
}

impl PagePictures {
    /// Takes the corrected image and the map of a photograph that is `full_width` pixels wide.
    ///
    /// # Errors
    /// [`ReportError::Encode`] where a picture is empty.
    pub fn new(image: &CorrectedImage, map: &SurfaceMap, full_width: usize) -> Result<Self, ReportError> {
        let shown = corrected_picture(image, LONG_SIDE);
        let size = [shown.width(), shown.height()];
        let labels = labels_of(map, size.map(|side| side as usize));
        let layers = layers(&labels, &shown)?;
        Ok(Self {
            photo: data_uri("image/jpeg", &small_jpeg(&shown)?),
            size,
            scale: f64::from(size[0]) / full_width.max(1) as f64,
            layers,
        })
    }
}

fn small_jpeg(picture: &RgbImage) -> Result<Vec<u8>, ReportError> {
    let mut bytes = Vec::new();
    for quality in QUALITIES {
        bytes = jpeg(picture, quality)?;
        if bytes.len() <= BYTES {
            break;
        }
    }
    Ok(bytes)
}

/// What a pixel of a layer shows: numbers of its palette.
const NOTHING: u8 = 0;
const PLAIN: u8 = 1;
const EDGE: u8 = 2;
const DARK: u8 = 3;
const LIGHT: u8 = 4;

/// A layer for each label on a piece that is anywhere in the picture.
fn layers(labels: &[Label], picture: &RgbImage) -> Result<Vec<Layer>, ReportError> {
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    let mut bounds: [Option<[usize; 4]>; Label::ALL.len()] = [None; Label::ALL.len()];
    for (at, label) in labels.iter().enumerate().filter(|(_, label)| label.on_piece()) {
        let (x, y) = (at % width, at / width);
        let known = &mut bounds[*label as usize];
        let [x0, y0, x1, y1] = known.unwrap_or([x, y, x, y]);
        *known = Some([x0.min(x), y0.min(y), x1.max(x), y1.max(y)]);
    }
    let codes: Vec<u8> = (0..labels.len())
        .into_par_iter()
        .map(|at| {
            let (label, x, y) = (labels[at], at % width, at / width);
            if !label.on_piece() {
                return NOTHING;
            }
            let differs = |there: usize| labels[there] != label;
            let edge = (x > 0 && differs(at - 1))
                || (x + 1 < width && differs(at + 1))
                || (y > 0 && differs(at - width))
                || (y + 1 < height && differs(at + width));
            if edge {
                EDGE
            } else if label_style(label).pattern.marks(x, y, PITCH) {
                // Light marks on dark places and dark ones on light places: they show in grey too.
                let pixel = picture.get_pixel(x as u32, y as u32).0;
                let sum: u32 = pixel.iter().map(|code| u32::from(*code)).sum();
                if sum > 3 * 120 { DARK } else { LIGHT }
            } else {
                PLAIN
            }
        })
        .collect();
    let seen: Vec<(Label, [usize; 4])> =
        Label::ALL.into_iter().filter_map(|label| Some((label, bounds[label as usize]?))).collect();
    let cut = |label: Label, [x0, y0, x1, y1]: [usize; 4]| -> Vec<u8> {
        let rows = (y0..=y1).flat_map(|y| y * width + x0..=y * width + x1);
        rows.map(|at| if labels[at] == label { codes[at] } else { NOTHING }).collect()
    };
    seen.into_par_iter().map(|(label, bounds)| layer(label, bounds, &cut(label, bounds))).collect()
}

/// The layer of a label from what its pixels show within its bounds.
fn layer(label: Label, [x0, y0, x1, y1]: [usize; 4], codes: &[u8]) -> Result<Layer, ReportError> {
    let style = label_style(label);
    let place = [x0, y0, x1 - x0 + 1, y1 - y0 + 1].map(|v| v as u32);
    let share = if style.left_out { 0.7 } else { 0.35 };
    let mark = |colour: [u8; 3]| over(style.colour, TINT, colour, share);
    let palette = [
        ([0; 3], 0),
        (style.colour, (TINT * 255.0).round() as u8),
        (mark_colour(style), 255),
        mark(INK),
        mark(CHALK),
    ];
    let png = indexed_png(codes, [place[2], place[3]], &palette)?;
    Ok(Layer { label, source: data_uri("image/png", &png), place })
}

/// A colour over a see-through tint, as one colour and its opacity (source-over, Porter & Duff 1984).
fn over(tint: [u8; 3], tint_share: f64, colour: [u8; 3], share: f64) -> ([u8; 3], u8) {
    let all = share + tint_share * (1.0 - share);
    let mixed = std::array::from_fn(|c| {
        let sum = f64::from(colour[c]) * share + f64::from(tint[c]) * tint_share * (1.0 - share);
        (sum / all).round() as u8
    });
    (mixed, (255.0 * all).round() as u8)
}

fn indexed_png(
    codes: &[u8],
    [width, height]: [u32; 2],
    palette: &[([u8; 3], u8)],
) -> Result<Vec<u8>, ReportError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.iter().flat_map(|(colour, _)| *colour).collect::<Vec<u8>>());
    encoder.set_trns(palette.iter().map(|(_, opacity)| *opacity).collect::<Vec<u8>>());
    encoder.set_filter(png::Filter::NoFilter);
    encoder.set_deflate_compression(png::DeflateCompression::Level(DEFLATE));
    let written = encoder.write_header().and_then(|mut writer| {
        writer.write_image_data(codes)?;
        writer.finish()
    });
    written.map_err(|error| ReportError::Encode {
        width: width as usize,
        height: height as usize,
        reason: error.to_string(),
    })?;
    Ok(bytes)
}
