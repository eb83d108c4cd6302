//! The inner part of each surface: places away from every other label, where no colour of a
//! neighbour leaks in (2 px at full size, as the record's contract says).

use crate::surface::SurfaceMap;
use rayon::prelude::*;

/// Distance from other labels in full-size pixels.
const AWAY_PX: usize = 2;

/// True where all labels within [`AWAY_PX`] (a square, at least one map pixel) are the same.
pub(super) fn inner_part(map: &SurfaceMap, bounds: [usize; 4]) -> Vec<bool> {
    let reach = AWAY_PX.div_ceil(map.factor).max(1);
    let [x0, y0, x1, y1] = bounds;
    let (width, labels) = (map.width, &map.labels);
    // Two passes, as a square is the product of a row and a column.
    let even_row: Vec<bool> = (0..map.height)
        .into_par_iter()
        .flat_map_iter(|y| {
            (0..width).map(move |x| {
                let inside = (x0..x1).contains(&x) && (y0..y1).contains(&y);
                inside && {
                    let own = labels[y * width + x];
                    let row = &labels[y * width..(y + 1) * width];
                    x >= reach && x + reach < width && row[x - reach..=x + reach].iter().all(|&l| l == own)
                }
            })
        })
        .collect();
    (0..map.height)
        .into_par_iter()
        .flat_map_iter(|y| {
            let even_row = &even_row;
            (0..width).map(move |x| {
                let at = y * width + x;
                even_row[at]
                    && y >= reach
                    && y + reach < map.height
                    && (y - reach..=y + reach)
                        .all(|yy| even_row[yy * width + x] && labels[yy * width + x] == labels[at])
            })
        })
        .collect()
}
