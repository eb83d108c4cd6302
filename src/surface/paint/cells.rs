//! The neutral places of one piece in small cells, freed of their light.
//!
//! Comes in: the corrected picture, the labels and a smooth light. Goes out: [`Cells`], the natural log of how much
//! light a cell gives back against the slip about it, where neither red nor clay nor ground is mixed in.

use super::super::grid::{Grid, Tint};
use super::super::neighbours::blur;
use super::super::{Label, SurfaceMap};
use crate::card::CorrectedImage;

/// Side of a cell, map pixels: two keep lines of three pixels, and halve the grain.
pub(super) const STEP: usize = 2;
/// Pixels this near to red, clay or ground hold some of it (two steps along rows and columns).
const MIXED: usize = 2;
/// Width of the neighbourhood whose slip tells what the smooth light does not, share of the piece's size: strokes
/// are narrower.
const WIDE: f64 = 0.1;
/// What keeps a plane from tipping where its cells lie in one line, squared widths.
const STIFF: f32 = 0.1;
/// Cells further apart than this (natural log) are not mixed to lessen the grain.
const APART: f32 = 0.25;
/// Fewer cells of slip than this tell nothing.
const LEAST_CELLS: usize = 500;

/// The cells over the box of a piece.
pub(super) struct Cells {
    pub width: usize,
    pub height: usize,
    /// Side of a square as large as the piece, in cells.
    pub size: f64,
    /// Whether a cell is slip or paint, and nothing else.
    pub neutral: Vec<bool>,
    /// Whether it is red all over, and whether it is bare clay.
    pub ochre: Vec<bool>,
    pub clay: Vec<bool>,
    /// Natural log of the luminance under the smooth light; 0 off these.
    pub log: Vec<f32>,
    /// X, Y, Z of each cell under the smooth light.
    xyz: Vec<[f32; 3]>,
    /// `log` of neutral cells over what the slip about them gives back; 0 off them.
    pub seen: Vec<f32>,
    /// The same with the nearest cells of the like mixed in: less grain.
    pub calm: Vec<f32>,
}

impl Cells {
    /// Of a piece; `None` where too little slip is seen to tell anything.
    pub fn of(
        image: &CorrectedImage,
        map: &SurfaceMap,
        index: usize,
        number: u8,
        smooth: &[f32],
    ) -> Option<Self> {
        let piece = &map.pieces[index];
        let [x0, y0, x1, y1] = piece.bounds;
        let (w, h) = (x1 - x0, y1 - y0);
        let (width, height) = (w.div_ceil(STEP), h.div_ceil(STEP));
        let row = |y: usize| (y0 + y) * map.width + x0..(y0 + y) * map.width + x1;
        let mut other: Vec<u8> = Vec::with_capacity(w * h);
        for y in 0..h {
            let of_piece = map.piece_of[row(y)].iter().map(|&p| p == number);
            let neutral = map.labels[row(y)].iter().map(|&l| is_neutral(l));
            other.extend(of_piece.zip(neutral).map(|(own, neutral)| u8::from(!(own && neutral))));
        }
        (0..MIXED).for_each(|_| spread(&mut other, w));
        let mut sums = vec![Sum::default(); width * height];
        for y in 0..h {
            let line = &mut sums[y / STEP * width..][..width];
            let (pixels, light, clipped) = (&image.xyz[row(y)], &smooth[row(y)], &image.clipped[row(y)]);
            let labels = map.labels[row(y)].iter().zip(&map.piece_of[row(y)]).zip(&other[y * w..]);
            for (x, ((&label, &piece), &other)) in labels.enumerate() {
                let unmixed = other == 0 || matches!(label, Label::Red | Label::Body);
                if unmixed && piece == number && !clipped[x] {
                    let sum = &mut line[x / STEP];
                    let share = 1.0 / light[x].max(0.02);
                    (0..3).for_each(|c| sum.xyz[c] += pixels[x][c] * share);
                    sum.pixels += 1;
                    sum.white += u8::from(label == Label::White);
                    sum.ochre += u8::from(label == Label::Red);
                    sum.clay += u8::from(label == Label::Body);
                }
            }
        }
        let mask = |test: &dyn Fn(&Sum) -> bool| -> Vec<bool> {
            sums.iter().map(|s| s.xyz[1] > 1e-4 * f32::from(s.pixels.max(1)) && test(s)).collect()
        };
        const MOST: u8 = (STEP * STEP / 2) as u8;
        let neutral = mask(&|s| s.pixels > MOST && s.ochre + s.clay == 0);
        let white = mask(&|s| s.pixels > MOST && s.white == s.pixels);
        let ochre = mask(&|s| s.pixels > MOST && s.ochre == s.pixels);
        let clay = mask(&|s| s.pixels > MOST && s.clay == s.pixels);
        if white.iter().filter(|&&s| s).count() < LEAST_CELLS {
            return None;
        }
        let known = |i: usize| neutral[i] || ochre[i] || clay[i];
        let log: Vec<f32> = (0..sums.len())
            .map(|i| if known(i) { (sums[i].xyz[1] / f32::from(sums[i].pixels)).ln() } else { 0.0 })
            .collect();
        let size = (piece.area as f64).sqrt() / STEP as f64;
        let plane = planes(&log, &white, width, WIDE * size);
        let seen: Vec<f32> =
            (0..neutral.len()).map(|i| if neutral[i] { log[i] - plane[i] } else { 0.0 }).collect();
        let xyz = sums.iter().map(|s| s.xyz.map(|v| v / f32::from(s.pixels.max(1)))).collect();
        let calm = calmed(&seen, &neutral, width);
        Some(Self { width, height, size, neutral, ochre, clay, log, xyz, seen, calm })
    }

    /// Redness and yellowness of the tint of a cell (a*, b* at L* 50).
    pub fn tint(&self, i: usize) -> [f32; 2] {
        let tint = Tint::of(self.xyz[i]);
        [tint.a, tint.b]
    }
}

/// What the pixels of a cell sum up to.
#[derive(Clone, Copy, Default)]
struct Sum {
    /// X, Y, Z under the smooth light.
    xyz: [f32; 3],
    pixels: u8,
    /// Of these, taken for white, red and clay so far.
    white: u8,
    ochre: u8,
    clay: u8,
}

/// Labels between which this stage decides.
pub(super) fn is_neutral(label: Label) -> bool {
    matches!(label, Label::White | Label::Black | Label::LostPaint)
}

/// Median; `None` of nothing.
pub(super) fn median(mut values: Vec<f32>) -> Option<f32> {
    let at = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(at, f32::total_cmp).1)
}

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

/// Each known cell with those of its known neighbours that are like it, weights 1 2 1 both ways.
fn calmed(values: &[f32], known: &[bool], width: usize) -> Vec<f32> {
    let height = values.len() / width;
    let mut calm = values.to_vec();
    for y in 1..height.saturating_sub(1) {
        for x in 1..width.saturating_sub(1) {
            let i = y * width + x;
            if !known[i] {
                continue;
            }
            let (mut sum, mut weights) = (4.0 * values[i], 4.0);
            let near = [
                i - width - 1,
                i - width,
                i - width + 1,
                i - 1,
                i + 1,
                i + width - 1,
                i + width,
                i + width + 1,
            ];
            for (j, weight) in near.into_iter().zip([1.0, 2.0, 1.0, 2.0, 2.0, 1.0, 2.0, 1.0]) {
                if known[j] && (values[j] - values[i]).abs() < APART {
                    sum += weight * values[j];
                    weights += weight;
                }
            }
            calm[i] = sum / weights;
        }
    }
    calm
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A planted plane with strips where nothing is known comes back inside; at the rim, where cells lie on one side
    /// only, what keeps planes from tipping costs a part of the slope, never more than the slope over one width.
    #[test]
    fn a_planted_plane_comes_back() {
        let (width, height, sigma) = (120, 90, 12.0);
        let plane = |i: usize| 0.004 * (i % width) as f32 - 0.003 * (i / width) as f32 - 1.0;
        let known: Vec<bool> = (0..width * height).map(|i| (i % width) % 30 > 4).collect();
        let values: Vec<f32> = (0..width * height).map(|i| if known[i] { plane(i) } else { 0.0 }).collect();
        let found = planes(&values, &known, width, sigma);
        for (i, found) in found.iter().enumerate() {
            let (x, y) = (i % width, i / width);
            let inside = x > 24 && x + 24 < width && y > 24 && y + 24 < height;
            let off = (found - plane(i)).abs();
            assert!(off < if inside { 0.005 } else { 0.005 * sigma as f32 }, "{x} {y}: {off}");
        }
    }
}
