//! Finding the piece: what is not ground, cut out along edges.
//!
//! A model of the ground and one of what stands on it are learned in turn, and the picture is split between them
//! along its edges, as Rother, Kolmogorov & Blake (2004), "GrabCut", ACM TOG 23(3), do; the ground model knows
//! light and shadow, and nothing needs to be marked by hand.

use super::cut::GridCut;
use super::grid::{Grid, Tint, extreme, fill_holes, parts, polygon_mask};
use super::ground::Ground;
use super::reach::effort;
use super::refine::{Blob, Coarse, bonds, grown, mean_step, pull, units};
use super::things::Things;
use crate::card::CorrectedImage;
use imageproc::geometry::convex_hull;
use imageproc::point::Point;

/// Cells of the coarse search.
const CELLS: f64 = 70_000.0;
/// A piece takes at least this share of the search area.
const LEAST_SHARE: f64 = 0.004;

/// Edge steps that fence a thing.
const FENCED: f32 = 2.0;
/// Gaps in the fence up to twice this many cells are closed.
const CLOSING: usize = 3;
/// What being fenced weighs.
const FENCE: f64 = 3.0;

/// A second piece is at least this share of the largest.
const SECOND: f64 = 0.12;

/// Where to look and what to leave out.
pub(super) struct Search<'a> {
    pub image: &'a CorrectedImage,
    /// The card with its frame, map pixels.
    pub card: Vec<[f64; 2]>,
    /// x0, y0, x1, y1 in map pixels.
    pub window: Option<[usize; 4]>,
}

impl Search<'_> {
    /// All blobs that stand out, the largest first.
    pub fn blobs(&self) -> Vec<Blob> {
        let (w, h) = (self.image.width, self.image.height);
        let step = ((w * h) as f64 / CELLS).sqrt().ceil().max(1.0) as usize;
        let grid = Grid::of(self.image, [0, 0, w, h], step);
        let barred = self.barred(&grid);
        let Some((inside, ground, things)) = split(&grid, &barred) else { return Vec::new() };
        let (number, areas) = parts(&inside, grid.width);
        let searched = barred.iter().filter(|&&b| !b).count() as f64;
        let mut order: Vec<usize> =
            (1..areas.len()).filter(|&k| areas[k] as f64 >= LEAST_SHARE * searched).collect();
        order.sort_by_key(|&k| (std::cmp::Reverse(areas[k]), k));
        let mut largest = 0;
        let mut blobs = Vec::new();
        for k in order {
            let mut own: Vec<bool> = number.iter().map(|&n| n as usize == k).collect();
            fill_holes(&mut own, grid.width);
            let ball = is_ball(&grid, &own);
            if !ball {
                largest = largest.max(areas[k]);
                if (areas[k] as f64) < SECOND * largest as f64 {
                    continue;
                }
            }
            let coarse = Coarse { grid: &grid, inside: &own, ground: &ground, things: &things };
            blobs.extend(coarse.refine(self.image, &self.card, ball));
        }
        blobs
    }

    /// Cells that cannot be the piece: the card with a small margin, and all outside the window.
    fn barred(&self, grid: &Grid) -> Vec<bool> {
        let step = grid.step as f64;
        let card = grown(&self.card, step * 1.2).iter().map(|p| p.map(|v| v / step)).collect::<Vec<_>>();
        let mut barred = polygon_mask(&card, grid.width, grid.height);
        if let Some([x0, y0, x1, y1]) = self.window {
            for (i, b) in barred.iter_mut().enumerate() {
                let (x, y) = (i % grid.width * grid.step, i / grid.width * grid.step);
                *b |= x < x0 || y < y0 || x >= x1 || y >= y1;
            }
        }
        barred
    }
}

/// Splits the cells into ground and things; `None` where nothing stands out.
fn split(grid: &Grid, barred: &[bool]) -> Option<(Vec<bool>, Ground, Things)> {
    let (w, h) = (grid.width, grid.height);
    let rim = (w.min(h) / 14).max(2);
    let mut weight: Vec<f32> = (0..w * h)
        .map(|i| {
            let (x, y) = (i % w, i / w);
            let at_rim = x < rim || y < rim || x + rim >= w || y + rim >= h;
            if barred[i] {
                0.0
            } else if at_rim {
                1.0
            } else {
                0.25
            }
        })
        .collect();
    let mut ground = Ground::of(grid, &weight);
    let start: Vec<bool> = (0..w * h)
        .map(|i| {
            weight[i] >= 1.0
                && ground.distance(grid.tint[i]) < 9.0
                && ground.above(i, grid.tint[i]).abs() < 4.0
        })
        .collect();
    let effort = effort(grid, &start, barred);
    // Fenced cells, and cells that look unlike the ground behind even a weak edge; gaps in the fence closed.
    let fenced: Vec<f32> = (0..w * h)
        .map(|i| {
            let unlike = ground.distance(grid.tint[i]) > 16.0 || ground.above(i, grid.tint[i]) > 3.5;
            let own = !barred[i] && effort[i] > if unlike { 0.5 } else { FENCED };
            f32::from(u8::from(own))
        })
        .collect();
    let wide = extreme(&fenced, w, h, CLOSING, true);
    let mut inside: Vec<bool> = extreme(&wide, w, h, CLOSING, false).iter().map(|&v| v > 0.5).collect();
    fill_holes(&mut inside, w);
    keep_large(&mut inside, w);
    let hull = hulls(&inside, w);
    let hint: Vec<f64> = (0..w * h)
        .map(|i| {
            if inside[i] {
                FENCE
            } else if hull[i] {
                0.0
            } else if effort[i] < 0.5 {
                -2.0 * FENCE
            } else {
                -FENCE
            }
        })
        .collect();
    for i in 0..w * h {
        weight[i] = if inside[i] || barred[i] {
            0.0
        } else if hull[i] {
            0.25
        } else {
            1.0
        };
    }
    ground = Ground::of(grid, &weight);
    let mean = mean_step(grid);
    let mut things = Things::of(grid, |i| inside[i]);
    for _ in 0..3 {
        if !inside.iter().any(|&m| m) {
            return None;
        }
        let mut cut = GridCut::new(w, h);
        for y in 0..h {
            for x in 0..w {
                let i = y * w + x;
                if barred[i] {
                    cut.set_pull(x, y, -100_000);
                    continue;
                }
                cut.set_pull(x, y, units(pull(&ground, &things, i, grid.tint[i]) + hint[i]));
                let mut b = bonds(grid, x, y, mean);
                // The card says nothing of what touches it.
                for (k, (dx, dy)) in [(1isize, 0usize), (0, 1), (1, 1), (-1, 1)].into_iter().enumerate() {
                    let (nx, ny) = (x as isize + dx, y + dy);
                    if nx >= 0 && (nx as usize) < w && ny < h && barred[ny * w + nx as usize] {
                        b[k] = 0;
                    }
                }
                cut.set_bonds(x, y, b);
            }
        }
        inside = cut.split();
        keep_large(&mut inside, w);
        fill_holes(&mut inside, w);
        for i in 0..w * h {
            if barred[i] {
                inside[i] = false;
            }
            weight[i] = if inside[i] || barred[i] { 0.0 } else { 1.0 };
        }
        ground = Ground::of(grid, &weight);
        things = Things::of(grid, |i| inside[i]);
    }
    Some((inside, ground, things))
}

/// Whether a blob is a plain pale ball: round, of one tint, without marks.
fn is_ball(grid: &Grid, mask: &[bool]) -> bool {
    let w = grid.width;
    let cells: Vec<usize> = (0..mask.len()).filter(|&i| mask[i]).collect();
    let n = cells.len() as f64;
    if n < 20.0 {
        return false;
    }
    let middle = cells.iter().fold([0.0; 2], |m, &i| [m[0] + (i % w) as f64 / n, m[1] + (i / w) as f64 / n]);
    let far = |i: usize| ((i % w) as f64 - middle[0]).hypot((i / w) as f64 - middle[1]);
    let radius = (n / std::f64::consts::PI).sqrt();
    let outside = cells.iter().filter(|&&i| far(i) > radius + 1.0).count() as f64;
    // The outer tenth is mixed with the ground.
    let core: Vec<usize> = cells.into_iter().filter(|&i| far(i) < 0.85 * radius).collect();
    let m = core.len().max(1) as f64;
    let mean = |v: fn(&Tint) -> f32| core.iter().map(|&i| f64::from(v(&grid.tint[i]))).sum::<f64>() / m;
    let (a, b) = (mean(|t| t.a), mean(|t| t.b));
    let off = core
        .iter()
        .filter(|&&i| (f64::from(grid.tint[i].a) - a).hypot(f64::from(grid.tint[i].b) - b) > 4.0)
        .count();
    let marks = core.iter().filter(|&&i| (grid.tint[i].l - grid.tint[i + 1].l).abs() > 6.0).count();
    outside < 0.04 * n && a.hypot(b) < 12.0 && (off as f64) < 0.05 * m && (marks as f64) < 0.02 * m
}

/// The convex hulls of the parts of a mask.
fn hulls(mask: &[bool], width: usize) -> Vec<bool> {
    let height = mask.len() / width;
    let (number, areas) = parts(mask, width);
    let mut hulls = vec![false; mask.len()];
    for k in 1..areas.len() {
        let mut corners: Vec<Point<i32>> = Vec::new();
        for y in 0..height {
            let row = &number[y * width..(y + 1) * width];
            let own = |n: &u32| *n as usize == k;
            if let (Some(x0), Some(x1)) = (row.iter().position(own), row.iter().rposition(own)) {
                for (x, y) in [(x0, y), (x1 + 1, y), (x0, y + 1), (x1 + 1, y + 1)] {
                    corners.push(Point::new(x as i32, y as i32));
                }
            }
        }
        let hull: Vec<[f64; 2]> =
            convex_hull(corners).iter().map(|p| [f64::from(p.x), f64::from(p.y)]).collect();
        for (h, own) in hulls.iter_mut().zip(polygon_mask(&hull, width, height)) {
            *h |= own;
        }
    }
    hulls
}

/// Drops specks.
fn keep_large(mask: &mut [bool], width: usize) {
    let (number, areas) = parts(mask, width);
    let least = (mask.len() as f64 * LEAST_SHARE / 2.0) as usize;
    for (m, n) in mask.iter_mut().zip(&number) {
        *m = *m && areas[*n as usize] > least;
    }
}
