//! The label map.

use super::classes::{Window, label};
use super::field::{Field, Scene};
use super::grid::{Grid, Tint, polygon_mask};
use super::outline::{Blob, Search};
use super::seeds::groups;
use super::trace::outline;
use super::{Label, SurfaceError};
use crate::card::{CardReading, CorrectedImage};
use rayon::prelude::*;

/// The outline of the piece, told by hand, full-size pixels.
#[derive(Debug, Clone, PartialEq)]
pub enum Outline {
    /// x, y of the top left corner, width, height: the piece lies inside, its exact outline is found.
    Box([f64; 4]),
    /// The outline itself, at least three points.
    Polygon(Vec<[f64; 2]>),
}

/// How surfaces are to be mapped.
#[derive(Debug, Clone, Default)]
pub struct SurfaceSettings {
    /// Outline told by hand.
    pub outline: Option<Outline>,
}

/// One piece in the photograph.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Outline polygon, full-size pixels.
    pub outline_px: Vec<[f64; 2]>,
    /// Bounding box in map pixels: x0, y0, x1, y1 (past the end).
    pub bounds: [usize; 4],
    /// Area in map pixels.
    pub area: usize,
}

/// Labels and relative light, at the size of the corrected picture.
#[derive(Debug, Clone)]
pub struct SurfaceMap {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Full-size pixels per map pixel.
    pub factor: usize,
    /// A label a pixel.
    pub labels: Vec<Label>,
    /// Number of the piece a pixel belongs to, 1 the largest, 0 none.
    pub piece_of: Vec<u8>,
    /// Light on each place of a piece as a share of the light on its brightest part (the shading
    /// field; smooth; 1.0 off the piece).
    pub light: Vec<f32>,
    /// The pieces, the largest first.
    pub pieces: Vec<Piece>,
    /// Remarks for the record: (code, text).
    pub warnings: Vec<(String, String)>,
}

/// Maps the surfaces of all pieces in the picture.
///
/// # Errors
/// [`SurfaceError::NoPiece`] where nothing stands out.
pub fn map_surfaces(
    image: &CorrectedImage,
    card: &CardReading,
    settings: &SurfaceSettings,
) -> Result<SurfaceMap, SurfaceError> {
    let (w, h) = (image.width, image.height);
    let scale = 1.0 / image.factor as f64;
    let frame: Vec<[f64; 2]> = card.frame_px.iter().map(|p| [p[0] * scale, p[1] * scale]).collect();
    let blobs = match &settings.outline {
        Some(Outline::Polygon(corners)) => {
            let corners: Vec<[f64; 2]> = corners.iter().map(|p| [p[0] * scale, p[1] * scale]).collect();
            vec![Blob::of_polygon(&corners, w, h).ok_or(SurfaceError::EmptyOutline)?]
        }
        Some(Outline::Box(told)) => {
            let window = window_of(told.map(|v| v * scale), w, h).ok_or(SurfaceError::EmptyOutline)?;
            Search { image, card: frame.clone(), window: Some(window) }.blobs()
        }
        None => Search { image, card: frame.clone(), window: None }.blobs(),
    };
    let (balls, blobs): (Vec<Blob>, Vec<Blob>) = blobs.into_iter().partition(|b| b.ball);
    if blobs.is_empty() {
        return Err(SurfaceError::NoPiece);
    }
    let mut labels = vec![Label::Background; w * h];
    let mut piece_of = vec![0u8; w * h];
    let mut light = vec![1f32; w * h];
    let mut pieces = Vec::new();
    for (l, _) in labels.iter_mut().zip(polygon_mask(&frame, w, h)).filter(|(_, in_card)| *in_card) {
        *l = Label::Card;
    }
    for ball in &balls {
        for (l, _) in labels.iter_mut().zip(&ball.mask).filter(|(_, own)| **own) {
            *l = Label::Ball;
        }
    }
    for (k, b) in blobs.iter().enumerate() {
        let bounds = bounds_of(&b.mask, w);
        map_piece(image, b, bounds, &mut labels, &mut light);
        let outline_px = outline(&b.mask, w, bounds, image.factor);
        pieces.push(Piece { outline_px, bounds, area: b.area });
        for i in 0..w * h {
            if b.mask[i] {
                piece_of[i] = k as u8 + 1;
            }
        }
    }
    Ok(SurfaceMap {
        width: w,
        height: h,
        factor: image.factor,
        labels,
        piece_of,
        light,
        pieces,
        warnings: vec![],
    })
}

/// Cells of the reduced piece on which light and surfaces are found together.
const CELLS: f64 = 160_000.0;
/// Pixels given to k-means.
const SAMPLES: usize = 6000;

/// Fewest pixels of an outline told by hand.
const LEAST_PIXELS: usize = 100;

/// A box in map pixels, cut to the picture; `None` where too little is left.
fn window_of([x, y, bw, bh]: [f64; 4], w: usize, h: usize) -> Option<[usize; 4]> {
    let cut = |v: f64, n: usize| v.clamp(0.0, n as f64).round() as usize;
    let window = [cut(x, w), cut(y, h), cut(x + bw, w), cut(y + bh, h)];
    let area = window[2].saturating_sub(window[0]) * window[3].saturating_sub(window[1]);
    (area >= LEAST_PIXELS).then_some(window)
}

fn bounds_of(mask: &[bool], width: usize) -> [usize; 4] {
    let mut b = [width, mask.len() / width, 0, 0];
    for (y, row) in mask.chunks_exact(width).enumerate() {
        let (Some(x0), Some(x1)) = (row.iter().position(|&m| m), row.iter().rposition(|&m| m)) else {
            continue;
        };
        b = [b[0].min(x0), b[1].min(y), b[2].max(x1 + 1), y + 1];
    }
    b
}

fn map_piece(
    image: &CorrectedImage,
    blob: &Blob,
    bounds: [usize; 4],
    labels: &mut [Label],
    light: &mut [f32],
) {
    let [x0, y0, x1, y1] = bounds;
    let (w, h) = (x1 - x0, y1 - y0);
    let step = ((w * h) as f64 / CELLS).sqrt().ceil().max(1.0) as usize;
    let grid = Grid::of(image, bounds, step);
    let inside: Vec<bool> = (0..grid.tint.len())
        .map(|i| {
            let x = (x0 + i % grid.width * step + step / 2).min(x1 - 1);
            let y = (y0 + i / grid.width * step + step / 2).min(y1 - 1);
            blob.mask[y * image.width + x]
        })
        .collect();
    let groups = groups(&samples(&grid, &inside));
    let size = (blob.area as f64).sqrt() / step as f64;
    let scene = Scene {
        width: grid.width,
        height: grid.height,
        tint: &grid.tint,
        inside: &inside,
        groups: &groups,
        size,
    };
    let field = Field::of(&scene);
    let tint: Vec<Tint> = (0..w * h)
        .into_par_iter()
        .map(|i| Tint::of(image.xyz[(y0 + i / w) * image.width + x0 + i % w]))
        .collect();
    let within: Vec<bool> = (0..w * h).map(|i| blob.mask[(y0 + i / w) * image.width + x0 + i % w]).collect();
    let white: Vec<f32> = (0..w * h).map(|i| bilinear(&field.white, &grid, i % w, i / w)).collect();
    let window = Window { width: w, height: h, tint: &tint, inside: &within };
    let found = label(&window, &groups, &white, &field);
    let mut tops: Vec<f32> = (0..w * h).filter(|&i| within[i]).step_by(7).map(|i| white[i]).collect();
    let at = tops.len() * 95 / 100;
    let top = if tops.is_empty() { 0.0 } else { *tops.select_nth_unstable_by(at, f32::total_cmp).1 };
    for i in (0..w * h).filter(|&i| within[i]) {
        let j = (y0 + i / w) * image.width + x0 + i % w;
        labels[j] = found[i];
        light[j] = (white[i] - top).exp();
    }
}

/// Tints of cells away from edges and from darkness, evenly spread.
fn samples(grid: &Grid, inside: &[bool]) -> Vec<Tint> {
    let (w, h) = (grid.width, grid.height);
    let even: Vec<Tint> = (w..w * (h - 1).max(1))
        .filter(|&i| i % w > 0 && i % w + 1 < w)
        .filter(|&i| {
            let near = [i - 1, i + 1, i - w, i + w];
            inside[i]
                && grid.tint[i].l > 12.0
                && near.iter().all(|&j| {
                    let (p, q) = (grid.tint[i], grid.tint[j]);
                    inside[j] && (p.l - q.l).abs() < 6.0 && (p.a - q.a).abs() < 4.0 && (p.b - q.b).abs() < 4.0
                })
        })
        .map(|i| grid.tint[i])
        .collect();
    let step = even.len().div_ceil(SAMPLES).max(1);
    even.into_iter().step_by(step).collect()
}

fn bilinear(values: &[f32], grid: &Grid, x: usize, y: usize) -> f32 {
    let at = |v: usize, n: usize| {
        let p = ((v as f32 + 0.5) / grid.step as f32 - 0.5).clamp(0.0, n as f32 - 1.0);
        let i = (p as usize).min(n.saturating_sub(2));
        (i, (i + 1).min(n - 1), p - i as f32)
    };
    let (i0, i1, u) = at(x, grid.width);
    let (j0, j1, v) = at(y, grid.height);
    let p = |i: usize, j: usize| values[j * grid.width + i];
    (p(i0, j0) * (1.0 - u) + p(i1, j0) * u) * (1.0 - v) + (p(i0, j1) * (1.0 - u) + p(i1, j1) * u) * v
}
