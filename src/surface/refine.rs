//! What a split costs, and the coarse split drawn again at map size.

use super::cut::GridCut;
use super::grid::{Grid, Tint, fill_holes, parts, polygon_mask};
use super::ground::Ground;
use super::things::Things;
use crate::card::CorrectedImage;

/// Strength of the bond between neighbours without an edge, in units of log likelihood.
const BOND: f64 = 14.0;
/// No single cell may weigh more than this.
const MOST: f64 = 12.0;
/// A blob that stands out.
pub(super) struct Blob {
    /// Bounding box in map pixels: x0, y0, x1, y1 (past the end).
    pub bounds: [usize; 4],
    /// Its pixels inside the box.
    pub mask: Vec<bool>,
    /// Pixels.
    pub area: usize,
    /// A plain pale ball rather than a piece.
    pub ball: bool,
}

impl Blob {
    /// From a mask of a window of the map; `None` where it holds nothing.
    fn of(mask: &[bool], window: [usize; 4], ball: bool) -> Option<Self> {
        let width = window[2] - window[0];
        let (mut x0, mut x1, mut y0, mut y1) = (usize::MAX, 0, usize::MAX, 0);
        for (y, row) in mask.chunks_exact(width).enumerate() {
            if let (Some(first), Some(last)) = (row.iter().position(|&m| m), row.iter().rposition(|&m| m)) {
                (x0, x1, y0, y1) = (x0.min(first), x1.max(last + 1), y0.min(y), y + 1);
            }
        }
        if x1 == 0 {
            return None;
        }
        let own: Vec<bool> =
            (y0..y1).flat_map(|y| mask[y * width + x0..y * width + x1].iter().copied()).collect();
        let area = own.iter().filter(|&&m| m).count();
        let bounds = [window[0] + x0, window[1] + y0, window[0] + x1, window[1] + y1];
        Some(Self { bounds, mask: own, area, ball })
    }

    /// What a polygon in map pixels encloses of a picture.
    pub fn of_polygon(corners: &[[f64; 2]], width: usize, height: usize) -> Option<Self> {
        Self::of(&polygon_mask(corners, width, height), [0, 0, width, height], false)
    }
}

/// One blob of the coarse split and the models that made it.
pub(super) struct Coarse<'a> {
    pub grid: &'a Grid,
    pub inside: &'a [bool],
    pub ground: &'a Ground,
    pub things: &'a Things,
}

impl Coarse<'_> {
    /// Draws the blob again in finer cells, inside a band about its edge. The card, in map pixels, is never part of it.
    pub fn refine(&self, image: &CorrectedImage, card: &[[f64; 2]], ball: bool) -> Option<Blob> {
        let grid = self.grid;
        let window = self.window(image);
        let step = (grid.step / 3).max(1);
        let fine = Grid::of(image, window, step);
        let coarse_of = |x: usize, y: usize| {
            let at = |v: usize, from: usize, n: usize| ((from + v * step + step / 2) / grid.step).min(n - 1);
            at(y, window[1], grid.height) * grid.width + at(x, window[0], grid.width)
        };
        let sure = self.sure();
        let card: Vec<[f64; 2]> = grown(card, 1.0)
            .iter()
            .map(|p| [(p[0] - window[0] as f64) / step as f64, (p[1] - window[1] as f64) / step as f64])
            .collect();
        let in_card = polygon_mask(&card, fine.width, fine.height);
        let mut cut = GridCut::new(fine.width, fine.height);
        let mean = mean_step(&fine);
        for y in 0..fine.height {
            for x in 0..fine.width {
                let (i, cell) = (y * fine.width + x, coarse_of(x, y));
                let near = [(x.wrapping_sub(1), y), (x + 1, y), (x, y.wrapping_sub(1)), (x, y + 1)];
                let beside = |&(nx, ny): &(usize, usize)| {
                    nx < fine.width && ny < fine.height && sure[coarse_of(nx, ny)] == 1
                };
                let pull = match sure[cell] {
                    1 if in_card[i] => -MOST,
                    1 => pull(self.ground, self.things, cell, fine.tint[i]),
                    _ if !near.iter().any(beside) => continue,
                    0 => -1000.0,
                    _ => 1000.0,
                };
                cut.set_pull(x, y, units(pull));
                cut.set_bonds(x, y, bonds(&fine, x, y, mean));
            }
        }
        let mut mask = cut.split();
        for (i, m) in mask.iter_mut().enumerate() {
            match sure[coarse_of(i % fine.width, i / fine.width)] {
                1 => {}
                s => *m = s == 2,
            }
        }
        let (number, areas) = parts(&mask, fine.width);
        let largest = (1..areas.len()).max_by_key(|&k| (areas[k], std::cmp::Reverse(k)))?;
        mask.iter_mut().zip(&number).for_each(|(m, &n)| *m = n as usize == largest);
        fill_holes(&mut mask, fine.width);
        let (w, h) = (window[2] - window[0], window[3] - window[1]);
        let full: Vec<bool> = (0..h)
            .flat_map(|y| (0..w).map(move |x| (x, y)))
            .map(|(x, y)| mask[y / step * fine.width + x / step])
            .collect();
        Blob::of(&full, window, ball)
    }

    /// The blob's box with a margin, map pixels.
    fn window(&self, image: &CorrectedImage) -> [usize; 4] {
        let (w, step) = (self.grid.width, self.grid.step);
        let (mut x0, mut x1, mut y0, mut y1) = (usize::MAX, 0, usize::MAX, 0);
        for (i, _) in self.inside.iter().enumerate().filter(|(_, m)| **m) {
            (x0, x1, y0, y1) = (x0.min(i % w), x1.max(i % w), y0.min(i / w), y1.max(i / w));
        }
        [
            x0.saturating_sub(2) * step,
            y0.saturating_sub(2) * step,
            ((x1 + 3) * step).min(image.width),
            ((y1 + 3) * step).min(image.height),
        ]
    }

    /// 0 outside for sure, 2 inside for sure, 1 to be decided: cells whose neighbours differ.
    fn sure(&self) -> Vec<u8> {
        let (w, h) = (self.grid.width, self.grid.height);
        (0..w * h)
            .map(|i| {
                let (x, y) = (i % w, i / w);
                let own = self.inside[i];
                let even = (y.saturating_sub(1)..(y + 2).min(h)).all(|yy| {
                    (x.saturating_sub(1)..(x + 2).min(w)).all(|xx| self.inside[yy * w + xx] == own)
                });
                if !even { 1 } else { u8::from(own) * 2 }
            })
            .collect()
    }
}

/// Costs of the cut are whole numbers: hundredths.
pub(super) fn units(cost: f64) -> i32 {
    (100.0 * cost) as i32
}

/// A polygon with its corners moved away from the middle.
pub(super) fn grown(polygon: &[[f64; 2]], by: f64) -> Vec<[f64; 2]> {
    let n = polygon.len().max(1) as f64;
    let middle = polygon.iter().fold([0.0; 2], |m, p| [m[0] + p[0] / n, m[1] + p[1] / n]);
    polygon
        .iter()
        .map(|p| {
            let (dx, dy) = (p[0] - middle[0], p[1] - middle[1]);
            let far = dx.hypot(dy).max(1e-9);
            let out = 1.0 + by * std::f64::consts::SQRT_2 / far;
            [middle[0] + dx * out, middle[1] + dy * out]
        })
        .collect()
}

/// How much more likely a look is for a thing than for ground.
pub(super) fn pull(ground: &Ground, things: &Things, cell: usize, tint: Tint) -> f64 {
    (things.log_density(tint) - ground.log_density(cell, tint)).clamp(-MOST, MOST)
}

/// Squared difference of two looks; tint counts double because light does not move it.
pub(super) fn difference(p: Tint, q: Tint) -> f64 {
    let d = [p.l - q.l, 2.0 * (p.a - q.a), 2.0 * (p.b - q.b)].map(f64::from);
    d.iter().map(|v| v * v).sum()
}

/// Mean squared difference of neighbours.
pub(super) fn mean_step(grid: &Grid) -> f64 {
    let (mut sum, mut n) = (0.0, 0.0);
    for y in 0..grid.height {
        for x in 1..grid.width {
            sum += difference(grid.tint[y * grid.width + x], grid.tint[y * grid.width + x - 1]);
            n += 1.0;
        }
    }
    (sum / f64::max(n, 1.0)).max(1.0)
}

/// What it costs to part a cell from its neighbours right, below, below right and below left.
pub(super) fn bonds(grid: &Grid, x: usize, y: usize, mean: f64) -> [i32; 4] {
    let own = grid.tint[y * grid.width + x];
    [(1isize, 0usize, 1.0), (0, 1, 1.0), (1, 1, 0.5f64.sqrt()), (-1, 1, 0.5f64.sqrt())].map(
        |(dx, dy, near)| {
            let (nx, ny) = (x as isize + dx, y + dy);
            if nx < 0 || nx >= grid.width as isize || ny >= grid.height {
                return 0;
            }
            let d2 = difference(own, grid.tint[ny * grid.width + nx as usize]);
            units(BOND * near * (0.05 + 0.95 * (-d2 / (2.0 * mean)).exp()))
        },
    )
}
