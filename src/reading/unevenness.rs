//! How unevenly a surface reflects: the spottiness of paint, the evenness of white slip.
//!
//! Comes in: reflectance (Y over the light on each place) and which places count. Goes out: the relative standard
//! deviation of block means about their neighbourhood, free of noise. Blocks of 4 x 4 map pixels set the small end of
//! the scale: noise of single pixels is averaged, and what is left of it, as told by the scatter within the blocks,
//! is taken off (one-way analysis of variance). Windows of an eighth of the piece set the large end: what changes
//! more slowly cannot be told from the light, which is fitted to the same places.

use crate::card::CorrectedImage;
use crate::surface::{Piece, SurfaceMap};
use rayon::prelude::*;

/// Side of a block, map pixels.
const BLOCK: usize = 4;
/// Pixels of a block that must count.
const LEAST_PIXELS: f64 = 8.0;
/// Side of the neighbourhood, as a share of the root of the piece's area.
const NEIGHBOURHOOD: f64 = 0.125;
/// Blocks of a neighbourhood that must count.
const LEAST_NEAR: f64 = 9.0;
/// Fewest blocks that give a figure.
const LEAST_BLOCKS: usize = 40;

/// Unevenness of one surface.
#[derive(Debug, Clone, Copy)]
pub(super) struct Unevenness {
    /// Standard deviation of block means over the mean of the surface.
    pub relative_sd: f64,
    /// Map pixels that bear it.
    pub pixels: usize,
}

/// A block: mean, variance of one pixel, pixels.
#[derive(Clone, Copy, Default)]
struct Block {
    mean: f64,
    variance: f64,
    count: f64,
}

/// Of the places of a piece (its number as in `piece_of`) for which `counts` holds (column, row); `None` with
/// too few blocks.
pub(super) fn unevenness(
    image: &CorrectedImage,
    map: &SurfaceMap,
    (piece, number): (&Piece, u8),
    counts: impl Fn(usize, usize) -> bool + Sync,
) -> Option<Unevenness> {
    let [x0, y0, x1, y1] = piece.bounds;
    let columns = (x1 - x0).div_ceil(BLOCK);
    let tops: Vec<usize> = (y0..y1).step_by(BLOCK).collect();
    let rows: Vec<Vec<Block>> = tops
        .par_iter()
        .map(|&top| {
            let block = |left: usize| {
                let (mut n, mut sum, mut square) = (0.0, 0.0, 0.0);
                for y in top..(top + BLOCK).min(y1) {
                    for x in left..(left + BLOCK).min(x1) {
                        let at = y * map.width + x;
                        if counts(x, y) && map.piece_of[at] == number {
                            let reflectance = f64::from(image.xyz[at][1] / map.light[at].max(0.02));
                            n += 1.0;
                            sum += reflectance;
                            square += reflectance * reflectance;
                        }
                    }
                }
                if n < LEAST_PIXELS {
                    return Block::default();
                }
                let mean = sum / n;
                Block { mean, variance: ((square - sum * mean) / (n - 1.0)).max(0.0), count: n }
            };
            (x0..x1).step_by(BLOCK).map(block).collect()
        })
        .collect();
    let blocks = rows.concat();
    let seen = blocks.iter().filter(|b| b.count > 0.0).count();
    if seen < LEAST_BLOCKS {
        return None;
    }
    let reach = ((NEIGHBOURHOOD * (piece.area as f64).sqrt() / BLOCK as f64 / 2.0) as usize).max(2);
    let near = Sums::of(&blocks, columns);
    let (mut total, mut between, mut noise, mut n, mut pixels) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (i, block) in blocks.iter().enumerate().filter(|(_, block)| block.count > 0.0) {
        let [count, sum] = near.about(i % columns, i / columns, reach);
        if count >= LEAST_NEAR {
            // A block is one of its own neighbours: that makes the distance smaller by 1 - 1/count.
            between += (block.mean - sum / count).powi(2) * count / (count - 1.0);
            noise += block.variance / block.count;
            total += block.mean;
            pixels += block.count;
            n += 1.0;
        }
    }
    if n < LEAST_BLOCKS as f64 || total <= 0.0 {
        return None;
    }
    let variance = ((between - noise) / n).max(0.0);
    Some(Unevenness { relative_sd: variance.sqrt() / (total / n), pixels: pixels as usize })
}

/// Sums over windows of blocks: how many count, and their means (a summed area table: Crow 1984).
struct Sums {
    table: Vec<[f64; 2]>,
    columns: usize,
    rows: usize,
}

impl Sums {
    fn of(blocks: &[Block], columns: usize) -> Self {
        let rows = blocks.len() / columns;
        let mut table = vec![[0.0; 2]; (columns + 1) * (rows + 1)];
        for y in 0..rows {
            let mut row = [0.0; 2];
            for x in 0..columns {
                let block = &blocks[y * columns + x];
                row = [row[0] + f64::from(u8::from(block.count > 0.0)), row[1] + block.mean];
                let above = table[y * (columns + 1) + x + 1];
                table[(y + 1) * (columns + 1) + x + 1] = [above[0] + row[0], above[1] + row[1]];
            }
        }
        Self { table, columns, rows }
    }

    fn about(&self, x: usize, y: usize, reach: usize) -> [f64; 2] {
        let (left, right) = (x.saturating_sub(reach), (x + reach + 1).min(self.columns));
        let (top, bottom) = (y.saturating_sub(reach), (y + reach + 1).min(self.rows));
        let at = |x: usize, y: usize| self.table[y * (self.columns + 1) + x];
        [0, 1].map(|k| at(right, bottom)[k] - at(left, bottom)[k] - at(right, top)[k] + at(left, top)[k])
    }
}
