//! Finding the piece: what is not ground, cut out along edges.
//!
//! A model of the ground and one of what stands on it are learned in turn, and the picture is split between them
//! along its edges, as Rother, Kolmogorov & Blake (2004), "GrabCut", ACM TOG 23(3), do; the ground model knows
//! light and shadow, and nothing needs to be marked by hand.

use super::ball::is_ball;
use super::cut::GridCut;
use super::grid::{Grid, extreme, fill_holes, parts, polygon_mask};
use super::ground::Ground;
use super::hand::take_out_hands;
use super::reach::effort;
use super::refine::{Blob, Coarse, Parts, bonds, grown, pull, units};
use super::steps::Steps;
use super::things::Things;
use crate::card::CorrectedImage;
use imageproc::geometry::convex_hull;
use imageproc::point::Point;

/// Cells of the coarse search.
const CELLS: f64 = 18_000.0;
/// A piece takes at least this share of the search area: 55 pixels each way on a map of 2000 * 1500.
const LEAST_SHARE: f64 = 0.001;
/// Things smaller than this share of it are specks.
const SPECK: f64 = 0.3;

/// Edge steps that fence a thing.
const FENCED: f32 = 2.0;
/// Gaps in the fence up to twice this many cells are closed.
const CLOSING: usize = 3;
/// What being fenced weighs.
const FENCE: f64 = 3.0;

/// A card with so much of its surroundings on one thing lies on it.
const ALL_AROUND: f64 = 0.9;

/// What lies with this share of its cells within so many cells of the card or of the edge of the sheet is part of these.
const MARGINAL: f64 = 0.9;
const MARGIN: usize = 3;

/// Steps below this tie cells of the ground, in units of its own steps.
const STEADY: f64 = 3.0;

/// A second piece is at least this share of the largest.
const SECOND: f64 = 0.12;
/// What is smaller than this share of the largest is no piece that was left out, but a crumb.
const LEAST_ALIKE: f64 = 0.03;

/// Where to look and what to leave out.
pub(super) struct Search<'a> {
    pub image: &'a CorrectedImage,
    /// The card with its frame, map pixels.
    pub card: Vec<[f64; 2]>,
    /// x0, y0, x1, y1 in map pixels.
    pub window: Option<[usize; 4]>,
}

/// What stands out.
#[derive(Default)]
pub(super) struct Found {
    /// The largest first.
    pub pieces: Vec<Blob>,
    /// Pale balls beside them.
    pub balls: Vec<Blob>,
    /// How many things were left out as too small.
    pub small: usize,
    /// How many hands were taken out.
    pub hands: usize,
    /// Usual steps of L* on the ground from cell to cell.
    pub pattern: f64,
}

impl Search<'_> {
    /// Looks for pieces: all things that are large enough, and not much smaller than the largest.
    pub fn run(&self) -> Found {
        let (w, h) = (self.image.width, self.image.height);
        let step = ((w * h) as f64 / CELLS).sqrt().ceil().max(1.0) as usize;
        let grid = Grid::of(self.image, [0, 0, w, h], step);
        let card = self.card_cells(&grid);
        let mut area = self.area(&grid);
        let mut parted = split(&grid, &card, &area);
        if let Some(sheet) = parted.as_ref().and_then(|s| sheet(&s.inside, &card, grid.width)) {
            // What lies on the sheet is looked for; the sheet is its ground.
            parted = split(&grid, &card, &sheet);
            area = sheet;
        }
        let Some(Split { mut inside, ground, things, steps }) = parted else { return Found::default() };
        let hands = take_out_hands(&grid, &mut inside);
        drop_margins(&mut inside, &card, &area, w.div_ceil(step));
        drop_surroundings(&mut inside, grid.width);
        let parts = Parts::of(&inside, grid.width);
        let searched = area.iter().zip(&card).filter(|(area, card)| **area && !**card).count() as f64;
        let mut order: Vec<usize> = (1..parts.areas.len()).collect();
        order.sort_by_key(|&k| (std::cmp::Reverse(parts.areas[k]), k));
        let coarse = Coarse { grid: &grid, parts: &parts, ground: &ground, things: &things, steps: &steps };
        let mut found = Found { hands, pattern: steps.lightness(), ..Found::default() };
        for (rank, k) in order.iter().copied().enumerate() {
            let area = parts.areas[k] as f64;
            let largest = found.pieces.first().map_or(0.0, |b| b.area as f64 / (step * step) as f64);
            if area < LEAST_SHARE * searched || found.pieces.len() == usize::from(u8::MAX) {
                found.small +=
                    order[rank..].iter().filter(|&&k| parts.areas[k] as f64 >= LEAST_ALIKE * largest).count();
                break;
            }
            let Some(blob) = coarse.refine(k, self.image, &self.card) else { continue };
            if order.len() > 1 && is_ball(self.image, &blob) {
                found.balls.push(blob);
            } else if area >= SECOND * largest {
                found.pieces.push(blob);
            } else {
                found.small += usize::from(area >= LEAST_ALIKE * largest);
            }
        }
        if found.pieces.is_empty() {
            // A ball alone is the piece.
            found.pieces = found.balls.drain(..).take(1).collect();
        }
        found
    }

    /// Cells of the card, with a small margin.
    fn card_cells(&self, grid: &Grid) -> Vec<bool> {
        let step = grid.step as f64;
        let card = grown(&self.card, step * 1.2).iter().map(|p| p.map(|v| v / step)).collect::<Vec<_>>();
        polygon_mask(&card, grid.width, grid.height)
    }

    /// Cells to be searched: those of the window.
    fn area(&self, grid: &Grid) -> Vec<bool> {
        let [x0, y0, x1, y1] = self.window.unwrap_or([0, 0, usize::MAX, usize::MAX]);
        (0..grid.tint.len())
            .map(|i| (i % grid.width * grid.step, i / grid.width * grid.step))
            .map(|(x, y)| x >= x0 && y >= y0 && x < x1 && y < y1)
            .collect()
    }
}

/// The part that a card lies on, if nearly all around the card belongs to one: a sheet or a board.
fn sheet(inside: &[bool], card: &[bool], width: usize) -> Option<Vec<bool>> {
    let (number, areas) = parts(inside, width);
    let height = card.len() / width;
    let wide =
        extreme(&card.iter().map(|&c| f32::from(u8::from(c))).collect::<Vec<_>>(), width, height, 2, true);
    let ring: Vec<usize> = (0..card.len()).filter(|&i| wide[i] > 0.5 && !card[i]).collect();
    let share =
        |k: usize| ring.iter().filter(|&&i| number[i] as usize == k).count() as f64 / ring.len() as f64;
    let under = (1..areas.len()).find(|&k| share(k) > ALL_AROUND)?;
    let mut sheet: Vec<bool> = number.iter().map(|&n| n as usize == under).collect();
    fill_holes(&mut sheet, width);
    sheet.iter_mut().zip(card).for_each(|(s, c)| *s |= c);
    Some(sheet)
}

/// Drops parts that lie along the card or the edge of a sheet: a mount, a shadow, a fold.
fn drop_margins(inside: &mut [bool], card: &[bool], area: &[bool], width: usize) {
    let height = card.len() / width;
    let barred: Vec<f32> =
        card.iter().zip(area).map(|(card, area)| f32::from(u8::from(*card || !area))).collect();
    let near = extreme(&barred, width, height, MARGIN, true);
    let (number, areas) = parts(inside, width);
    let mut beside = vec![0usize; areas.len()];
    number.iter().zip(&near).filter(|(_, near)| **near > 0.5).for_each(|(&n, _)| beside[n as usize] += 1);
    for (own, &n) in inside.iter_mut().zip(&number) {
        *own = *own && beside[n as usize] as f64 <= MARGINAL * areas[n as usize] as f64;
    }
}

/// Drops parts in which two corners of the picture or more lie, where others are left: a floor or a wall behind the
/// ground.
fn drop_surroundings(inside: &mut [bool], width: usize) {
    let (number, areas) = parts(inside, width);
    let n = inside.len();
    let corners = [0, width - 1, n - width, n - 1].map(|i| number[i] as usize);
    let around = |k: usize| k > 0 && corners.iter().filter(|&&c| c == k).count() > 1;
    if (1..areas.len()).any(|k| !around(k)) {
        inside.iter_mut().zip(&number).for_each(|(own, &k)| *own = *own && !around(k as usize));
    }
}

/// The cells split, and the models that did it.
struct Split {
    inside: Vec<bool>,
    ground: Ground,
    things: Things,
    steps: Steps,
}

/// Splits the cells of an area into ground and things; `None` where nothing stands out. The card is neither.
fn split(grid: &Grid, card: &[bool], area: &[bool]) -> Option<Split> {
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
    let fenced: Vec<f32> = (0..w * h)
        .map(|i| {
            let unlike = ground.distance(grid.tint[i]) > 16.0 || ground.above(i, grid.tint[i]) > 3.5;
            let own = !barred[i]
                && (effort[i] > if unlike { 0.5 } else { FENCED } || ground.is_other_tint(grid.tint[i]));
            f32::from(u8::from(own))
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
    for _ in 0..3 {
        if !inside.iter().any(|&m| m) {
            return None;
        }
        let mut cut = bonded.clone();
        for i in 0..w * h {
            let pull = if barred[i] { -1000.0 } else { pull(&ground, &things, i, grid.tint[i]) + hint[i] };
            cut.set_pull(i % w, i / w, units(pull));
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
    let cells: Vec<f32> = area.iter().map(|&a| f32::from(u8::from(a))).collect();
    let inner = extreme(&cells, width, height, deep, false);
    (0..area.len())
        .map(|i| {
            let (x, y) = (i % width, i / width);
            let at_edge = x < deep || y < deep || x + deep >= width || y + deep >= height;
            area[i] && (at_edge || inner[i] < 0.5)
        })
        .collect()
}

/// Closes the gaps in a fence and fills what it encloses. Things that lie close together are not made one: the widest
/// closing is taken that does not double what is fenced.
fn closed(fenced: &[f32], width: usize) -> Vec<bool> {
    let height = fenced.len() / width;
    let with = |radius: usize| {
        let wide = extreme(fenced, width, height, radius, true);
        let mut inside: Vec<bool> =
            extreme(&wide, width, height, radius, false).iter().map(|&v| v > 0.5).collect();
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
