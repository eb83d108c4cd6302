//! The slip of one piece in small cells, freed of its light.
//!
//! Comes in: the corrected picture and the labels. Goes out: [`Cells`], the natural log of how much light the slip
//! gives back against the slip about it, where nothing but slip (or paint that is gone from it) is seen.

use super::super::grid::{Grid, blur, extreme};
use super::super::{Label, Piece, SurfaceMap};
use crate::card::CorrectedImage;

/// Side of a cell, map pixels: two keep lines of three pixels, and halve the grain.
pub(super) const STEP: usize = 2;
/// Pixels this near to another surface hold some of it (two steps along rows and columns).
const MIXED: usize = 2;
/// Cells about a fire cloud that still hold soot.
const SOOTY: usize = 6;
/// Width of the neighbourhood that tells the light on a cell, share of the piece's size: strokes and what is left
/// of them are narrower, and light and form change more slowly.
const WIDE: f64 = 0.1;
/// What keeps a plane from tipping where its cells lie in one line, squared widths.
const STIFF: f32 = 0.1;

/// The cells over the box of a piece.
pub(super) struct Cells {
    pub width: usize,
    pub height: usize,
    /// Whether a cell shows slip and nothing else.
    pub slip: Vec<bool>,
    /// Whether it is black paint for the most part.
    pub black: Vec<bool>,
    /// Natural log of the luminance over that of the slip about it, as seen; 0 off the slip.
    pub seen: Vec<f32>,
    /// The same with the nearest cells mixed in: less grain.
    pub calm: Vec<f32>,
}

impl Cells {
    /// Of a piece; `None` where too little slip is seen to tell anything.
    pub fn of(image: &CorrectedImage, map: &SurfaceMap, piece: &Piece, number: u8) -> Option<Self> {
        let [x0, y0, x1, y1] = piece.bounds;
        let (w, h) = (x1 - x0, y1 - y0);
        let (width, height) = (w.div_ceil(STEP), h.div_ceil(STEP));
        let row = |y: usize| (y0 + y) * map.width + x0..(y0 + y) * map.width + x1;
        let mut other: Vec<u8> = Vec::with_capacity(w * h);
        for y in 0..h {
            let of_piece = map.piece_of[row(y)].iter().map(|&p| p == number);
            let slip = map.labels[row(y)].iter().map(|l| matches!(l, Label::White | Label::LostPaint));
            other.extend(of_piece.zip(slip).map(|(own, slip)| u8::from(!(own && slip))));
        }
        (0..MIXED).for_each(|_| spread(&mut other, w));
        let mut sums = vec![[0f32; 2]; width * height];
        let mut blacks = vec![0u8; width * height];
        let mut soot = vec![0f32; width * height];
        for y in 0..h {
            for x in 0..w {
                let (at, cell) = ((y0 + y) * map.width + x0 + x, y / STEP * width + x / STEP);
                if other[y * w + x] == 0 && !image.clipped[at] {
                    sums[cell][0] += image.xyz[at][1];
                    sums[cell][1] += 1.0;
                } else if map.piece_of[at] == number {
                    blacks[cell] += u8::from(map.labels[at] == Label::Black);
                    soot[cell] += f32::from(u8::from(map.labels[at] == Label::Cloud));
                }
            }
        }
        if soot.iter().any(|&s| s > 0.0) {
            soot = extreme(&soot, width, height, SOOTY, true);
        }
        let most = (STEP * STEP / 2) as f32;
        let slip: Vec<bool> =
            sums.iter().zip(&soot).map(|([y, n], s)| *n > most && *y > 1e-4 * n && *s == 0.0).collect();
        if slip.iter().filter(|&&s| s).count() < LEAST_CELLS {
            return None;
        }
        let log_y: Vec<f32> =
            sums.iter().zip(&slip).map(|([y, n], &s)| if s { (y / n).ln() } else { 0.0 }).collect();
        let size = (piece.area as f64).sqrt() / STEP as f64;
        let light = planes(&log_y, &slip, width, WIDE * size);
        let seen: Vec<f32> =
            (0..slip.len()).map(|i| if slip[i] { log_y[i] - light[i] } else { 0.0 }).collect();
        let calm = calmed(&seen, &slip, width);
        let black = blacks.iter().map(|&n| 2 * usize::from(n) > STEP * STEP).collect();
        Some(Self { width, height, slip, black, seen, calm })
    }
}

/// Fewer cells of slip than this tell nothing.
const LEAST_CELLS: usize = 500;

/// Grows a mask by one step along rows and columns.
fn spread(mask: &mut Vec<u8>, width: usize) {
    let mut grown = mask.clone();
    let height = mask.len() / width;
    for (y, to) in grown.chunks_exact_mut(width).enumerate() {
        let line = |y: usize| &mask[y * width..(y + 1) * width];
        let own = line(y);
        to[1..].iter_mut().zip(own).for_each(|(t, v)| *t |= v);
        to.iter_mut().zip(&own[1..]).for_each(|(t, v)| *t |= v);
        if y > 0 {
            to.iter_mut().zip(line(y - 1)).for_each(|(t, v)| *t |= v);
        }
        if y + 1 < height {
            to.iter_mut().zip(line(y + 1)).for_each(|(t, v)| *t |= v);
        }
    }
    *mask = grown;
}

/// The plane that fits the values about each cell best, at that cell: least squares with Gaussian weights.
fn planes(values: &[f32], known: &[bool], width: usize, sigma: f64) -> Vec<f32> {
    let height = values.len() / width;
    // A plane over a wide neighbourhood changes slowly: it is worked out for blocks.
    let block = ((sigma / 4.0) as usize).max(1);
    let (w, h) = (width.div_ceil(block), height.div_ceil(block));
    let place = |at: usize| at as f32 / sigma as f32;
    let mut sums = vec![vec![0f32; w * h]; 9];
    for (i, _) in known.iter().enumerate().filter(|(_, k)| **k) {
        let (x, y, v) = (place(i % width), place(i / width), values[i]);
        let to = i / width / block * w + i % width / block;
        let add = [1.0, x, y, x * x, x * y, y * y, v, v * x, v * y];
        sums.iter_mut().zip(add).for_each(|(sum, a)| sum[to] += a);
    }
    sums.iter_mut().for_each(|sum| blur(sum, w, h, sigma / block as f64));
    let at_block: Vec<f32> = (0..w * h)
        .map(|i| {
            let n = sums[0][i] + 1e-6;
            let mean = |k: usize| sums[k][i] / n;
            let (x, y, v) = (mean(1), mean(2), mean(6));
            let (xx, yy) = (mean(3) - x * x + STIFF, mean(5) - y * y + STIFF);
            let (xy, vx, vy) = (mean(4) - x * y, mean(7) - v * x, mean(8) - v * y);
            let area = xx * yy - xy * xy;
            let slope = [(yy * vx - xy * vy) / area, (xx * vy - xy * vx) / area];
            let middle = |at: usize| (at as f32 + 0.5) * block as f32 / sigma as f32;
            v + slope[0] * (middle(i % w) - x) + slope[1] * (middle(i / w) - y)
        })
        .collect();
    let blocks = Grid { width: w, height: h, step: block, tint: Vec::new() };
    let mut planes = vec![0f32; values.len()];
    planes.chunks_exact_mut(width).enumerate().for_each(|(y, row)| blocks.row_between(&at_block, y, row));
    planes
}

/// Each known cell with its known neighbours, weights 1 2 1 both ways.
fn calmed(values: &[f32], known: &[bool], width: usize) -> Vec<f32> {
    let height = values.len() / width;
    let along = |of: &dyn Fn(usize) -> f32| -> Vec<f32> {
        let line = |i: usize| {
            let x = i % width;
            let before = if x > 0 { of(i - 1) } else { 0.0 };
            before + 2.0 * of(i) + if x + 1 < width { of(i + 1) } else { 0.0 }
        };
        let rows: Vec<f32> = (0..values.len()).map(line).collect();
        (0..values.len())
            .map(|i| {
                let above = if i >= width { rows[i - width] } else { 0.0 };
                above + 2.0 * rows[i] + if i / width + 1 < height { rows[i + width] } else { 0.0 }
            })
            .collect()
    };
    let weight = along(&|i| f32::from(u8::from(known[i])));
    let sum = along(&|i| values[i]);
    (0..values.len()).map(|i| if known[i] { sum[i] / weight[i] } else { 0.0 }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A plane with a dark stroke on a part of it: away from the stroke the plane comes back.
    #[test]
    fn a_planted_plane_comes_back() {
        let (width, height) = (120, 90);
        let plane = |i: usize| 0.004 * (i % width) as f32 - 0.003 * (i / width) as f32 - 1.0;
        let known: Vec<bool> = (0..width * height).map(|i| (i % width) % 30 > 4).collect();
        let values: Vec<f32> = (0..width * height).map(|i| if known[i] { plane(i) } else { 0.0 }).collect();
        let found = planes(&values, &known, width, 12.0);
        for i in (0..width * height).filter(|&i| known[i]) {
            // What keeps planes from tipping costs a little of the slope at the edges.
            assert!((found[i] - plane(i)).abs() < 0.02, "{i}: {} for {}", found[i], plane(i));
        }
    }
}
