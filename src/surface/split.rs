//! The coarse split of the picture into ground and things.
//!
//! A model of the ground and one of what stands on it are learned in turn, and the picture is split between them
//! along its edges, as Rother, Kolmogorov & Blake (2004), "GrabCut", ACM TOG 23(3), do; the ground model knows
//! light and shadow, and nothing needs to be marked by hand.

use super::cut::GridCut;
use super::grid::Grid;
use super::ground::Ground;
use super::mask::{fill_holes, parts, polygon_mask};
use super::neighbours::{narrowed, widened};
use super::outline::LEAST_SHARE;
use super::reach::effort;
use super::refine::{bonds, pull, units};
use super::steps::Steps;
use super::things::Things;
use imageproc::geometry::convex_hull;
use imageproc::point::Point;

/// Edge steps that fence a thing.
const FENCED: f32 = 2.0;
/// Gaps in the fence up to twice this many cells are closed.
const CLOSING: usize = 3;
/// What being fenced weighs.
const FENCE: f64 = 3.0;
/// Steps below this tie cells of the ground, in units of its own steps.
const STEADY: f64 = 3.0;
/// Things smaller than this share of it are specks.
const SPECK: f64 = 0.3;

/// The cells split, and the models that did it.
pub(super) struct Split {
    pub inside: Vec<bool>,
    pub ground: Ground,
    pub things: Things,
    pub steps: Steps,
}

/// Splits the cells of an area into ground and things; `None` where nothing stands out. The card is neither.
pub(super) fn split(grid: &Grid, card: &[bool], area: &[bool]) -> Option<Split> {
    let (w, h) = (grid.width, grid.height);
    let barred: Vec<bool> = area.iter().zip(card).map(|(area, card)| !area || *card).collect();
    let barred = &barred[..];
    let rim = rim(area, w);
    let mut weight: Vec<f32> = (0..w * h)
        .map(|i| match (barred[i], rim[i]) {
            (true, _) => 0.0,
            (false, true) => 1.0,
            (false, false) => 0.25,
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
    let steps = Steps::of(grid, &start);
    let start = main_ground(grid, &steps, start);
    let effort = effort(grid, &steps, &start, barred);
    // Fenced cells, and cells that look unlike the ground behind even a weak edge; gaps in the fence closed.
    let fenced: Vec<bool> = (0..w * h)
        .map(|i| {
            let unlike = ground.distance(grid.tint[i]) > 16.0 || ground.above(i, grid.tint[i]) > 3.5;
            !barred[i]
                && (effort[i] > if unlike { 0.5 } else { FENCED } || ground.is_other_tint(grid.tint[i]))
        })
        .collect();
    let mut inside = closed(&fenced, w);
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
    let bonded = bonded(grid, &steps, barred);
    let mut things = Things::of(grid, |i| inside[i]);
    for round in 0..3 {
        if !inside.iter().any(|&m| m) {
            return None;
        }
        let mut cut = bonded.clone();
        for i in 0..w * h {
            let pull = if barred[i] { -1000.0 } else { pull(&ground, &things, i, grid.tint[i]) + hint[i] };
            cut.set_pull(i % w, i / w, units(pull));
        }
        let before = std::mem::replace(&mut inside, cut.split());
        keep_large(&mut inside, w);
        fill_holes(&mut inside, w);
        inside.iter_mut().zip(barred).for_each(|(inside, barred)| *inside &= !barred);
        // The models were learned from this very split: another round would bring it again.
        if round > 0 && inside == before {
            break;
        }
        for i in 0..w * h {
            weight[i] = if inside[i] || barred[i] { 0.0 } else { 1.0 };
        }
        ground = Ground::of(grid, &weight);
        things = Things::of(grid, |i| inside[i]);
    }
    Some(Split { inside, ground, things, steps })
}

/// Ground cells that hang together with many others, without a step of light or tint between them: a piece that
/// the edge of the picture cuts is not taken for ground.
fn main_ground(grid: &Grid, steps: &Steps, mut start: Vec<bool>) -> Vec<bool> {
    let (w, n) = (grid.width, start.len());
    let mut number = vec![0usize; n];
    let mut areas = vec![0usize];
    let mut stack = Vec::new();
    for first in 0..n {
        if !start[first] || number[first] > 0 {
            continue;
        }
        let own = areas.len();
        areas.push(0);
        number[first] = own;
        stack.push(first);
        while let Some(i) = stack.pop() {
            areas[own] += 1;
            let x = i % w;
            let next = [
                (x > 0).then(|| i - 1),
                (x + 1 < w).then_some(i + 1),
                i.checked_sub(w),
                (i + w < n).then_some(i + w),
            ];
            for j in next.into_iter().flatten() {
                if start[j] && number[j] == 0 && steps.squared(grid.tint[i], grid.tint[j]) < STEADY * STEADY {
                    number[j] = own;
                    stack.push(j);
                }
            }
        }
    }
    let all: usize = areas.iter().sum();
    let largest = areas.iter().copied().max().unwrap_or(0);
    let least = (all / 10).min(largest);
    start.iter_mut().zip(&number).for_each(|(s, &k)| *s = *s && areas[k] >= least);
    start
}

/// The outer cells of an area: a fourteenth of its shorter side.
fn rim(area: &[bool], width: usize) -> Vec<bool> {
    let height = area.len() / width;
    let rows = (0..height).filter(|y| area[y * width..(y + 1) * width].contains(&true)).count();
    let columns = (0..width).filter(|x| (0..height).any(|y| area[y * width + x])).count();
    let deep = (rows.min(columns) / 14).max(2);
    let inner = narrowed(area, width, deep);
    (0..area.len())
        .map(|i| {
            let (x, y) = (i % width, i / width);
            let at_edge = x < deep || y < deep || x + deep >= width || y + deep >= height;
            area[i] && (at_edge || !inner[i])
        })
        .collect()
}

/// Closes the gaps in a fence and fills what it encloses. Things that lie close together are not made one: the widest
/// closing is taken that does not double what is fenced.
fn closed(fenced: &[bool], width: usize) -> Vec<bool> {
    let with = |radius: usize| {
        let mut inside = narrowed(&widened(fenced, width, radius), width, radius);
        fill_holes(&mut inside, width);
        let area = inside.iter().filter(|&&m| m).count();
        (inside, area)
    };
    let (plain, area) = with(0);
    (1..=CLOSING).rev().map(with).find(|(_, closed)| *closed <= 2 * area).map_or(plain, |(inside, _)| inside)
}

/// The bonds of all cells; the card says nothing of what touches it.
fn bonded(grid: &Grid, steps: &Steps, barred: &[bool]) -> GridCut {
    let (w, h) = (grid.width, grid.height);
    let mean = steps.mean(grid, |_, _| true);
    let mut cut = GridCut::new(w, h);
    for i in (0..w * h).filter(|&i| !barred[i]) {
        let (x, y) = (i % w, i / w);
        let mut b = bonds(grid, x, y, steps, mean);
        for (bond, (dx, dy)) in b.iter_mut().zip([(1isize, 0usize), (0, 1), (1, 1), (-1, 1)]) {
            let (nx, ny) = (x as isize + dx, y + dy);
            if nx >= 0 && (nx as usize) < w && ny < h && barred[ny * w + nx as usize] {
                *bond = 0;
            }
        }
        cut.set_bonds(x, y, b);
    }
    cut
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
    let least = (mask.len() as f64 * SPECK * LEAST_SHARE) as usize;
    for (m, n) in mask.iter_mut().zip(&number) {
        *m = *m && areas[*n as usize] > least;
    }
}
