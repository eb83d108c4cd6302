//! The surface map drawn over the corrected picture.
//!
//! Every label has a tint, an edge in the same colour and a pattern, so the map reads in grey and
//! with any colour vision. What is not the piece is dimmed. The outlines of pieces and card are
//! white lines with a dark rim; a dot marks the card's first corner in reading order.

use super::bitmap_text::{draw_text, text_width};
use super::label_style::{LabelStyle, label_style};
use super::picture::{label_at, span};
use crate::surface::{Label, SurfaceMap};
use image::{Rgb, RgbImage};
use rayon::prelude::*;

/// Share of the label's colour in its tint.
pub(super) const TINT: f64 = 0.35;
pub(super) const PAPER: [u8; 3] = [250, 247, 242];
pub(super) const INK: [u8; 3] = [38, 33, 29];
pub(super) const CHALK: [u8; 3] = [255, 255, 255];

/// The map over the [`corrected_picture`](super::corrected_picture) of the same photograph, at the
/// size of that picture. `card_px` are the card's outer corners in full-size pixels and reading order.
pub fn overlay(corrected: &RgbImage, map: &SurfaceMap, card_px: Option<&[[f64; 2]; 4]>) -> RgbImage {
    let mut picture = corrected.clone();
    let (width, height) = (picture.width() as usize, picture.height() as usize);
    if width == 0 || height == 0 || map.labels.is_empty() || map.labels.len() != map.width * map.height {
        return picture;
    }
    let labels = labels_of(map, [width, height]);
    let thick = (width.max(height) / 800).max(1);
    picture.par_chunks_mut(width * 3).enumerate().for_each(|(y, row)| {
        for (x, pixel) in row.chunks_exact_mut(3).enumerate() {
            let label = labels[y * width + x];
            let edge = (1..=thick).any(|d| {
                let differs = |x: usize, y: usize| labels[y * width + x] != label;
                (x >= d && differs(x - d, y))
                    || (x + d < width && differs(x + d, y))
                    || (y >= d && differs(x, y - d))
                    || (y + d < height && differs(x, y + d))
            });
            let shown = tinted([pixel[0], pixel[1], pixel[2]], label, edge, x, y, 7 * thick);
            pixel.copy_from_slice(&shown);
        }
    });
    let scale = width as f64 / (map.width * map.factor.max(1)) as f64;
    let line = thick as f64;
    for piece in &map.pieces {
        stroke(&mut picture, &piece.outline_px, scale, line, CHALK);
    }
    if let Some(corners) = card_px {
        stroke(&mut picture, corners, scale, line, CHALK);
        disc(&mut picture, corners[0].map(|v| v * scale), 5.0 * line, INK);
        disc(&mut picture, corners[0].map(|v| v * scale), 3.5 * line, CHALK);
    }
    if map.pieces.len() > 1 {
        number_pieces(&mut picture, map, thick as u32);
    }
    picture
}

/// The label at the middle of every pixel of a picture of the whole map; background where there is no map.
pub(super) fn labels_of(map: &SurfaceMap, [width, height]: [usize; 2]) -> Vec<Label> {
    if map.labels.is_empty() || map.labels.len() != map.width * map.height {
        return vec![Label::Background; width * height];
    }
    let middle = |at, to, from| {
        let range = span(at, to, from);
        (range.start + range.end) / 2
    };
    (0..width * height)
        .into_par_iter()
        .map(|i| label_at(map, middle(i % width, width, map.width), middle(i / width, height, map.height)))
        .collect()
}

pub(super) fn mix(one: [u8; 3], other: [u8; 3], share_of_other: f64) -> [u8; 3] {
    std::array::from_fn(|c| {
        (f64::from(one[c]) * (1.0 - share_of_other) + f64::from(other[c]) * share_of_other).round() as u8
    })
}

/// The colour in which edges and marks of a label are drawn: its own, chalk where that is black.
pub(super) fn mark_colour(style: LabelStyle) -> [u8; 3] {
    if style.colour == [0; 3] { CHALK } else { style.colour }
}

fn tinted(pixel: [u8; 3], label: Label, edge: bool, x: usize, y: usize, pitch: usize) -> [u8; 3] {
    let style = label_style(label);
    match label {
        Label::Background => mix(pixel, INK, 0.45),
        Label::Card | Label::Ball => pixel,
        _ if edge => mark_colour(style),
        _ if style.pattern.marks(x, y, pitch) => {
            // Light marks on dark places and dark ones on light places: they show in grey too.
            let light = pixel.iter().map(|code| u32::from(*code)).sum::<u32>() > 3 * 120;
            let ground = mix(pixel, style.colour, TINT);
            mix(ground, if light { INK } else { CHALK }, if style.left_out { 0.7 } else { 0.35 })
        }
        _ => mix(pixel, style.colour, TINT),
    }
}

/// A closed line with a dark rim through full-size points.
pub(super) fn stroke(picture: &mut RgbImage, points_px: &[[f64; 2]], scale: f64, line: f64, colour: [u8; 3]) {
    for (radius, colour) in [(1.6 * line, INK), (0.8 * line, colour)] {
        for (i, from) in points_px.iter().enumerate() {
            let to = points_px[(i + 1) % points_px.len()];
            let ([x0, y0], [x1, y1]) = (from.map(|v| v * scale), to.map(|v| v * scale));
            let length = (x1 - x0).hypot(y1 - y0);
            if !length.is_finite() || length > 1e5 {
                continue;
            }
            let steps = (2.0 * length).ceil().max(1.0);
            for step in 0..=steps as usize {
                let t = step as f64 / steps;
                disc(picture, [x0 + t * (x1 - x0), y0 + t * (y1 - y0)], radius, colour);
            }
        }
    }
}

pub(super) fn disc(picture: &mut RgbImage, [x, y]: [f64; 2], radius: f64, colour: [u8; 3]) {
    if !(x.is_finite() && y.is_finite()) {
        return;
    }
    let reach = |centre: f64, end: u32| {
        let low = (centre - radius).floor().max(0.0) as u32;
        low..((centre + radius).ceil().max(0.0) as u32).saturating_add(1).min(end)
    };
    for v in reach(y, picture.height()) {
        for u in reach(x, picture.width()) {
            if (f64::from(u) + 0.5 - x).hypot(f64::from(v) + 0.5 - y) <= radius {
                picture.put_pixel(u, v, Rgb(colour));
            }
        }
    }
}

/// The number of each piece, at the top of it.
fn number_pieces(picture: &mut RgbImage, map: &SurfaceMap, thick: u32) {
    let scale = f64::from(picture.width()) / map.width as f64;
    let dot = 2 * thick;
    for (number, piece) in map.pieces.iter().enumerate() {
        let text = (number + 1).to_string();
        let [x0, y0, x1, _] = piece.bounds.map(|v| (v as f64 * scale) as u32);
        let width = text_width(&text, dot);
        let (left, top) = (((x0 + x1) / 2).saturating_sub(width / 2), y0 + 4 * thick);
        for (u, v) in (0..width + 3 * dot).flat_map(|u| (0..11 * dot).map(move |v| (u, v))) {
            if let Some(pixel) = picture.get_pixel_mut_checked((left + u).saturating_sub(2 * dot), top + v) {
                *pixel = Rgb(PAPER);
            }
        }
        draw_text(picture, &text, left, top + 2 * dot, dot, INK);
    }
}
