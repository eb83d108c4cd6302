//! One piece: its tints grouped, light and surfaces found on a reduced grid, then a label for each pixel.

use super::Label;
use super::classes::{Window, label};
use super::field::{Field, Scene, TintModel};
use super::grid::{Grid, Tint};
use super::refine::Blob;
use super::seeds::groups;
use crate::card::CorrectedImage;
use rayon::prelude::*;

/// Cells of the reduced piece on which light and surfaces are found together.
const CELLS: f64 = 36_000.0;
/// Pixels given to k-means.
const SAMPLES: usize = 6000;

/// Labels and light in the box of a blob.
pub(super) struct Surfaces {
    pub labels: Vec<Label>,
    /// Light as a share of that on the brightest part of the piece (95th percentile).
    pub light: Vec<f32>,
}

/// Maps the surfaces of one blob.
pub(super) fn map_piece(image: &CorrectedImage, blob: &Blob) -> Surfaces {
    let [x0, y0, x1, y1] = blob.bounds;
    let (w, h) = (x1 - x0, y1 - y0);
    let step = ((w * h) as f64 / CELLS).sqrt().ceil().max(1.0) as usize;
    let grid = Grid::of(image, blob.bounds, step);
    let inside: Vec<bool> = (0..grid.tint.len())
        .map(|i| {
            let x = (i % grid.width * step + step / 2).min(w - 1);
            let y = (i / grid.width * step + step / 2).min(h - 1);
            blob.mask[y * w + x]
        })
        .collect();
    let groups = groups(&samples(&grid, &inside));
    let tints = TintModel::of(&groups);
    let size = (blob.area as f64).sqrt() / step as f64;
    let scene = Scene { grid: &grid, inside: &inside, tints: &tints, size };
    let field = Field::of(&scene);
    let cells: Vec<f32> = field.white.iter().map(|v| v.exp()).collect();
    let mut white = vec![0f32; w * h];
    white.par_chunks_mut(w).enumerate().for_each(|(y, row)| grid.row_between(&cells, y, row));
    let window = Window { image, bounds: blob.bounds, inside: &blob.mask };
    let labels = label(&window, &tints, &white, &field);
    let mut tops: Vec<f32> = (0..w * h).filter(|&i| blob.mask[i]).step_by(7).map(|i| white[i]).collect();
    let at = tops.len() * 95 / 100;
    let top = *tops.select_nth_unstable_by(at, f32::total_cmp).1;
    white.iter_mut().for_each(|v| *v *= 1.0 / top);
    Surfaces { labels, light: white }
}

/// Tints of cells away from edges and from darkness, evenly spread.
fn samples(grid: &Grid, inside: &[bool]) -> Vec<Tint> {
    let (w, h) = (grid.width, grid.height);
    let calm = |i: usize, j: usize| {
        let (p, q) = (grid.tint[i], grid.tint[j]);
        inside[j] && (p.l - q.l).abs() < 6.0 && (p.a - q.a).abs() < 4.0 && (p.b - q.b).abs() < 4.0
    };
    let even: Vec<Tint> = (0..w * h)
        .filter(|&i| {
            let (x, y) = (i % w, i / w);
            inside[i]
                && grid.tint[i].l > 12.0
                && (x > 0 && x + 1 < w && y > 0 && y + 1 < h)
                && [i - 1, i + 1, i - w, i + w].iter().all(|&j| calm(i, j))
        })
        .map(|i| grid.tint[i])
        .collect();
    let step = even.len().div_ceil(SAMPLES).max(1);
    even.into_iter().step_by(step).collect()
}
