//! Finding the piece: what stands out from the ground, less what is no piece: a sheet under all, hands, a ball, walls and
//! floors behind the ground, margins of the card, crumbs.

use super::ball::is_ball;
use super::circles::find_ball;
use super::grid::Grid;
use super::hand::take_out_hands;
use super::mask::{fill_holes, parts, polygon_mask};
use super::neighbours::widened;
use super::refine::{Blob, Coarse, Parts, grown};
use super::split::{Split, split};
use crate::card::CorrectedImage;

/// Cells of the coarse search.
const CELLS: f64 = 18_000.0;
/// A piece takes at least this share of the search area: 55 pixels each way on a map of 2000 * 1500.
pub(super) const LEAST_SHARE: f64 = 0.001;

/// A card with so much of its surroundings on one thing lies on it.
const ALL_AROUND: f64 = 0.9;

/// What lies with this share of its cells within so many cells of the card or of the edge of the sheet is part of these.
const MARGINAL: f64 = 0.9;
const MARGIN: usize = 3;

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
        if found.balls.is_empty() && !found.pieces.is_empty() {
            let on_piece = |x: usize, y: usize| found.pieces.iter().any(|blob| blob.holds(x, y));
            let free = |cell: usize| {
                let [x, y] = [cell % grid.width, cell / grid.width].map(|v| v * step + step / 2);
                !card[cell] && !on_piece(x, y)
            };
            let ball = find_ball(self.image, &grid, free);
            found.balls.extend(ball);
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
    let wide = widened(card, width, 2);
    let ring: Vec<usize> = (0..card.len()).filter(|&i| wide[i] && !card[i]).collect();
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
    let barred: Vec<bool> = card.iter().zip(area).map(|(card, area)| *card || !area).collect();
    let near = widened(&barred, width, MARGIN);
    let (number, areas) = parts(inside, width);
    let mut beside = vec![0usize; areas.len()];
    number.iter().zip(&near).filter(|(_, near)| **near).for_each(|(&n, _)| beside[n as usize] += 1);
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
