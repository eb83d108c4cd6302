//! What a split costs, and the coarse split drawn again at map size.

use super::cut::GridCut;
use super::grid::{Grid, Tint};
use super::ground::Ground;
use super::mask::{fill_holes, parts, polygon_mask};
use super::neighbours::widened;
use super::steps::Steps;
use super::things::Things;
use crate::card::CorrectedImage;

/// Strength of the bond between neighbours without an edge, in units of log likelihood.
const BOND: f64 = 14.0;
/// No single cell may weigh more than this.
const MOST: f64 = 12.0;
/// The edge is drawn again in cells so many times smaller.
const FINER: usize = 4;

/// A blob that stands out.
pub(super) struct Blob {
    /// Bounding box in map pixels: x0, y0, x1, y1 (past the end).
    pub bounds: [usize; 4],
    /// Its pixels inside the box.
    pub mask: Vec<bool>,
    /// Pixels.
    pub area: usize,
}

impl Blob {
    /// From a mask of a window of the map; `None` where it holds nothing.
    fn of(mask: &[bool], window: [usize; 4]) -> Option<Self> {
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
        Some(Self { bounds, mask: own, area })
    }

    /// Whether a map pixel is one of its own.
    pub fn holds(&self, x: usize, y: usize) -> bool {
        let [x0, y0, x1, y1] = self.bounds;
        (x0..x1).contains(&x) && (y0..y1).contains(&y) && self.mask[(y - y0) * (x1 - x0) + x - x0]
    }

    /// What a polygon in map pixels encloses of a picture.
    pub fn of_polygon(corners: &[[f64; 2]], width: usize, height: usize) -> Option<Self> {
        Self::of(&polygon_mask(corners, width, height), [0, 0, width, height])
    }

    /// What a circle in map pixels (middle x, y, radius) encloses of a picture.
    pub fn of_circle([x, y, radius]: [f64; 3], width: usize, height: usize) -> Option<Self> {
        let turns = (0..180).map(|k| std::f64::consts::TAU * f64::from(k) / 180.0);
        let rim: Vec<[f64; 2]> = turns.map(|t| [x + radius * t.cos(), y + radius * t.sin()]).collect();
        Self::of_polygon(&rim, width, height)
    }
}

/// The parts of a coarse split.
pub(super) struct Parts {
    /// Number of the part of each cell, 0 none.
    number: Vec<u32>,
    /// Cells of each part, by its number.
    pub areas: Vec<usize>,
    /// Box of each part, by its number: x0, y0, x1, y1 (past the end).
    boxes: Vec<[usize; 4]>,
}

impl Parts {
    pub fn of(inside: &[bool], width: usize) -> Self {
        let (number, areas) = parts(inside, width);
        let mut boxes = vec![[usize::MAX, usize::MAX, 0, 0]; areas.len()];
        for (i, &n) in number.iter().enumerate() {
            let (x, y, [x0, y0, x1, y1]) = (i % width, i / width, boxes[n as usize]);
            boxes[n as usize] = [x0.min(x), y0.min(y), x1.max(x + 1), y1.max(y + 1)];
        }
        Self { number, areas, boxes }
    }
}

/// The coarse split and the models that made it.
pub(super) struct Coarse<'a> {
    pub grid: &'a Grid,
    pub parts: &'a Parts,
    pub ground: &'a Ground,
    pub things: &'a Things,
    pub steps: &'a Steps,
}

impl Coarse<'_> {
    /// Draws one part again in finer cells, inside a band about its edge. The card, in map pixels, is never in it.
    pub fn refine(&self, part: usize, image: &CorrectedImage, card: &[[f64; 2]]) -> Option<Blob> {
        let grid = self.grid;
        // The part's box with a margin, in cells and in map pixels.
        let [x0, y0, x1, y1] = self.parts.boxes[part];
        let cells =
            [x0.saturating_sub(2), y0.saturating_sub(2), (x1 + 2).min(grid.width), (y1 + 2).min(grid.height)];
        let window = [
            cells[0] * grid.step,
            cells[1] * grid.step,
            (cells[2] * grid.step).min(image.width),
            (cells[3] * grid.step).min(image.height),
        ];
        let step = (grid.step / FINER).max(1);
        let sure = self.sure(part, cells);
        let wide = cells[2] - cells[0];
        // The cell of the coarse split that a fine cell lies in, and so what is known of it.
        let cell = |v: usize, n: usize| ((v * step + step / 2) / grid.step).min(n - 1);
        let across: Vec<usize> = (0..(window[2] - window[0]).div_ceil(step)).map(|x| cell(x, wide)).collect();
        let down: Vec<usize> =
            (0..(window[3] - window[1]).div_ceil(step)).map(|y| cell(y, cells[3] - cells[1])).collect();
        let state: Vec<u8> = down
            .iter()
            .flat_map(|&y| across.iter().map(move |&x| (x, y)))
            .map(|(x, y)| sure[y * wide + x])
            .collect();
        // Open cells and those beside them are looked at.
        let open: Vec<bool> = state.iter().map(|&s| s == OPEN).collect();
        let looked_at = widened(&open, across.len(), 1);
        let wanted = |x: usize, y: usize| looked_at[y * across.len() + x];
        let fine = Grid::of_some(image, window, step, wanted);
        let card: Vec<[f64; 2]> = grown(card, 1.0)
            .iter()
            .map(|p| [(p[0] - window[0] as f64) / step as f64, (p[1] - window[1] as f64) / step as f64])
            .collect();
        let in_card = polygon_mask(&card, fine.width, fine.height);
        let mut cut = GridCut::new(fine.width, fine.height);
        let mean = self.steps.mean(&fine, wanted);
        for i in (0..state.len()).filter(|&i| looked_at[i]) {
            let (x, y) = (i % fine.width, i / fine.width);
            let pull = match state[i] {
                OPEN if in_card[i] => -MOST,
                OPEN => {
                    let coarse = (cells[1] + down[y]) * grid.width + cells[0] + across[x];
                    pull(self.ground, self.things, coarse, fine.tint[i])
                }
                OUTSIDE => -1000.0,
                _ => 1000.0,
            };
            cut.set_pull(x, y, units(pull));
            cut.set_bonds(x, y, bonds(&fine, x, y, self.steps, mean));
        }
        let mut mask = cut.split();
        for (own, state) in mask.iter_mut().zip(&state).filter(|(_, state)| **state != OPEN) {
            *own = *state == INSIDE;
        }
        let (number, areas) = parts(&mask, fine.width);
        let largest = (1..areas.len()).max_by_key(|&k| (areas[k], std::cmp::Reverse(k)))?;
        mask.iter_mut().zip(&number).for_each(|(m, &n)| *m = n as usize == largest);
        fill_holes(&mut mask, fine.width);
        let (w, h) = (window[2] - window[0], window[3] - window[1]);
        let full = smooth_edge(&mask, fine.width, step, w, h);
        Blob::of(&full, window)
    }

    /// What is known of the cells in a box: open are those with a neighbour on the other side.
    fn sure(&self, part: usize, [x0, y0, x1, y1]: [usize; 4]) -> Vec<u8> {
        let (w, h) = (x1 - x0, y1 - y0);
        let number = |i: usize| self.parts.number[(y0 + i / w) * self.grid.width + x0 + i % w];
        let mut own: Vec<bool> = (0..w * h).map(|i| number(i) as usize == part).collect();
        fill_holes(&mut own, w);
        let even = |i: usize| {
            let (x, y) = (i % w, i / w);
            (y.saturating_sub(1)..(y + 2).min(h))
                .all(|yy| (x.saturating_sub(1)..(x + 2).min(w)).all(|xx| own[yy * w + xx] == own[i]))
        };
        let state = |i: usize| match (even(i), own[i]) {
            (false, _) => OPEN,
            (true, false) => OUTSIDE,
            (true, true) => INSIDE,
        };
        (0..w * h).map(state).collect()
    }
}

/// States of a cell before the edge is drawn again.
const OUTSIDE: u8 = 0;
const OPEN: u8 = 1;
const INSIDE: u8 = 2;

/// A mask of cells in pixels, its edge drawn without the steps of the cells: between the cells' middles, each with
/// its neighbours' share (1, 2, 1 both ways), the edge runs where half is inside.
fn smooth_edge(mask: &[bool], width: usize, step: usize, w: usize, h: usize) -> Vec<bool> {
    let height = mask.len() / width;
    let at = |x: usize, y: usize| f32::from(u8::from(mask[y * width + x]));
    let share = |x: usize, y: usize| {
        let column = |x: usize| at(x, y.saturating_sub(1)) + 2.0 * at(x, y) + at(x, (y + 1).min(height - 1));
        (column(x.saturating_sub(1)) + 2.0 * column(x) + column((x + 1).min(width - 1))) / 16.0
    };
    let shares: Vec<f32> = (0..mask.len()).map(|i| share(i % width, i / width)).collect();
    let between = |v: usize, n: usize| {
        let p = ((v as f32 + 0.5) / step as f32 - 0.5).clamp(0.0, n as f32 - 1.0);
        let i = (p as usize).min(n.saturating_sub(2));
        (i, (i + 1).min(n - 1), p - i as f32)
    };
    let across: Vec<(usize, usize, f32)> = (0..w).map(|x| between(x, width)).collect();
    let mut full = vec![false; w * h];
    for (y, row) in full.chunks_exact_mut(w).enumerate() {
        let (j0, j1, v) = between(y, height);
        let mixed: Vec<f32> =
            (0..width).map(|x| shares[j0 * width + x] * (1.0 - v) + shares[j1 * width + x] * v).collect();
        for (own, &(i0, i1, u)) in row.iter_mut().zip(&across) {
            *own = mixed[i0] * (1.0 - u) + mixed[i1] * u > 0.5;
        }
    }
    full
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

/// What it costs to part a cell from its neighbours right, below, below right and below left.
pub(super) fn bonds(grid: &Grid, x: usize, y: usize, steps: &Steps, mean: f64) -> [i32; 4] {
    let own = grid.tint[y * grid.width + x];
    [(1isize, 0usize, 1.0), (0, 1, 1.0), (1, 1, 0.5f64.sqrt()), (-1, 1, 0.5f64.sqrt())].map(
        |(dx, dy, near)| {
            let (nx, ny) = (x as isize + dx, y + dy);
            if nx < 0 || nx >= grid.width as isize || ny >= grid.height {
                return 0;
            }
            let d2 = steps.squared(own, grid.tint[ny * grid.width + nx as usize]);
            units(BOND * near * (0.05 + 0.95 * (-d2 / (2.0 * mean)).exp()))
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A disc drawn in cells of 4 pixels: its edge redrawn in pixels lies nearer to the circle than the cells do.
    #[test]
    fn a_smoothed_edge_is_nearer_to_the_circle_than_its_cells() {
        let (cells, step, radius) = (40usize, 4usize, 61.0);
        let on = |x: f64, y: f64| (x - 80.0).hypot(y - 80.0) < radius;
        let middle = |v: usize| (v * step) as f64 + step as f64 / 2.0;
        let mask: Vec<bool> = (0..cells * cells).map(|i| on(middle(i % cells), middle(i / cells))).collect();
        let side = cells * step;
        let full = smooth_edge(&mask, cells, step, side, side);
        let wrong = |of: &dyn Fn(usize, usize) -> bool| {
            (0..side * side)
                .map(|i| (i % side, i / side))
                .filter(|&(x, y)| of(x, y) != on(x as f64 + 0.5, y as f64 + 0.5))
                .count()
        };
        let blocks = wrong(&|x, y| mask[y / step * cells + x / step]);
        let smoothed = wrong(&|x, y| full[y * side + x]);
        assert!(2 * smoothed < blocks, "{smoothed} pixels wrong, {blocks} without smoothing");
    }
}
