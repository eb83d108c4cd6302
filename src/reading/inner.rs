//! The inner part of each surface: places away from every other label, where no colour of a
//! neighbour leaks in (2 px at full size, as the record's contract says).

use crate::surface::SurfaceMap;
use rayon::prelude::*;

/// Distance from other labels in full-size pixels.
const AWAY_PX: usize = 2;

/// The same in map pixels, at least one.
pub(super) fn inner_reach(map: &SurfaceMap) -> usize {
    AWAY_PX.div_ceil(map.factor).max(1)
}

/// True where all labels within [`AWAY_PX`] (a square, at least one map pixel) are the same. Row by row
/// over the box `bounds` (x0, y0, x1, y1 past the end) alone.
pub(super) fn inner_part(map: &SurfaceMap, bounds: [usize; 4]) -> Vec<bool> {
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
