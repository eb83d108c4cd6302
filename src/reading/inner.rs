//! The inner part of each surface: places away from every other label, where little colour of a
//! neighbour leaks in (2 px at full size, as the record's contract says), and its deep part, twice as far away, which
//! tells how much does.

use crate::surface::SurfaceMap;
use rayon::prelude::*;

/// Distance from other labels in full-size pixels.
const AWAY_PX: usize = 2;

/// The same in map pixels, at least one.
pub(super) fn inner_reach(map: &SurfaceMap) -> usize {
    AWAY_PX.div_ceil(map.factor).max(1)
}

/// How far a place lies from other labels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Depth {
    /// Nearer than the inner part begins.
    Edge,
    /// In the inner part.
    Inner,
    /// In the inner part with all places about it.
    Deep,
}

/// The inner part of a piece, over its box.
pub(super) struct Inner {
    part: Vec<bool>,
    deep: Vec<bool>,
    bounds: [usize; 4],
}

impl Inner {
    /// Of the box `bounds` (x0, y0, x1, y1 past the end).
    pub fn new(map: &SurfaceMap, bounds: [usize; 4]) -> Self {
        let part = inner_part(map, bounds);
        let deep = eroded(&part, bounds[2] - bounds[0], inner_reach(map));
        Self { part, deep, bounds }
    }

    fn at(&self, x: usize, y: usize) -> usize {
        let [x0, y0, x1, _] = self.bounds;
        (y - y0) * (x1 - x0) + x - x0
    }

    /// Whether a map pixel inside the box lies in it.
    pub fn holds(&self, x: usize, y: usize) -> bool {
        self.part[self.at(x, y)]
    }

    /// How deep a map pixel inside the box lies.
    pub fn depth(&self, x: usize, y: usize) -> Depth {
        let at = self.at(x, y);
        match (self.part[at], self.deep[at]) {
            (_, true) => Depth::Deep,
            (true, false) => Depth::Inner,
            (false, false) => Depth::Edge,
        }
    }
}

/// True where all labels within [`AWAY_PX`] (a square, at least one map pixel) are the same. Row by row
/// over the box `bounds` (x0, y0, x1, y1 past the end) alone.
fn inner_part(map: &SurfaceMap, bounds: [usize; 4]) -> Vec<bool> {
    let reach = inner_reach(map);
    let [x0, y0, x1, y1] = bounds;
    let (width, labels) = (map.width, &map.labels);
    let box_width = x1 - x0;
    // Two passes, as a square is the product of a row and a column.
    let mut even_row = vec![false; box_width * (y1 - y0)];
    even_row.par_chunks_mut(box_width.max(1)).enumerate().for_each(|(line, even)| {
        let row = &labels[(y0 + line) * width..(y0 + line + 1) * width];
        for x in x0.max(reach)..x1.min(width.saturating_sub(reach)) {
            even[x - x0] = row[x - reach..=x + reach].iter().all(|&l| l == row[x]);
        }
    });
    let mut inner = vec![false; even_row.len()];
    inner.par_chunks_mut(box_width.max(1)).enumerate().for_each(|(line, inner)| {
        if line < reach || line + reach >= y1 - y0 {
            return;
        }
        for x in x0..x1 {
            let label = |line: usize| labels[(y0 + line) * width + x];
            inner[x - x0] = (line - reach..=line + reach)
                .all(|near| even_row[near * box_width + x - x0] && label(near) == label(line));
        }
    });
    inner
}

/// Places of a mask whose whole square of `reach` each way lies in it.
fn eroded(mask: &[bool], width: usize, reach: usize) -> Vec<bool> {
    let height = mask.len().checked_div(width).unwrap_or(0);
    let side = width.max(1);
    let mut even_row = vec![false; mask.len()];
    even_row.par_chunks_mut(side).zip(mask.par_chunks(side)).for_each(|(even, row)| {
        for x in reach..width.saturating_sub(reach) {
            even[x] = row[x - reach..=x + reach].iter().all(|&is_in| is_in);
        }
    });
    let mut out = vec![false; mask.len()];
    out.par_chunks_mut(side).enumerate().for_each(|(y, out)| {
        if y < reach || y + reach >= height {
            return;
        }
        for (x, out) in out.iter_mut().enumerate() {
            *out = (y - reach..=y + reach).all(|near| even_row[near * width + x]);
        }
    });
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The square asked for at each place.
    fn slow(mask: &[bool], width: usize, reach: usize) -> Vec<bool> {
        let height = mask.len() / width;
        let holds = |x: usize, y: usize| {
            let fits = x >= reach && y >= reach && x + reach < width && y + reach < height;
            fits && (y - reach..=y + reach).all(|v| (x - reach..=x + reach).all(|u| mask[v * width + u]))
        };
        (0..mask.len()).map(|i| holds(i % width, i / width)).collect()
    }

    #[test]
    fn two_passes_take_off_the_same_as_the_square() {
        let mut seed = 3u32;
        for (width, height, reach) in [(40, 30, 1), (41, 9, 2), (3, 50, 2), (1, 1, 1)] {
            let mask: Vec<bool> = (0..width * height)
                .map(|_| {
                    // Numerical Recipes' quick generator, 1992.
                    seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    seed >> 28 != 0
                })
                .collect();
            assert_eq!(eroded(&mask, width, reach), slow(&mask, width, reach), "{width} {height} {reach}");
        }
        assert!(eroded(&[], 0, 1).is_empty());
    }
}
