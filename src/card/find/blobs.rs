//! Even spots that could be patches: regions that hang together through small steps of colour, at
//! several sizes of step, kept where they fill a parallelogram.

use super::regions::{Regions, Sums};
use super::work::Work;

/// Largest difference of a channel between neighbours of one region, level by level.
pub(super) const LEVELS: [u8; 9] = [1, 2, 4, 6, 9, 13, 18, 26, 36];
/// Smallest area in pixels.
const LEAST_AREA: u32 = 9;
/// Largest area as a share of the picture.
const MOST_SHARE: f64 = 0.06;
/// Spots kept, at most: those seen at most levels go first.
const MOST_BLOBS: usize = 1500;

/// A spot.
#[derive(Debug, Clone, Copy)]
pub(super) struct Blob {
    pub x: f64,
    pub y: f64,
    pub area: f64,
    /// Second moments about the centre, per area: xx, xy, yy.
    pub moments: [f64; 3],
    /// Levels at which about the same spot was seen.
    pub levels: u32,
}

/// All candidate spots, in a fixed order.
pub(super) fn blobs(work: &Work) -> Vec<Blob> {
    let (mut regions, edges) = Regions::new(work);
    let most = (MOST_SHARE * (work.width * work.height) as f64) as u32;
    let mut found: Vec<Blob> = Vec::new();
    // Regions large enough to be a spot: the root, its area when last looked at, and the spot it was then.
    let mut large: Vec<(u32, u32, Option<usize>)> = regions.of_area(LEAST_AREA);
    for level in edges {
        for (one, other) in level {
            if let Some(root) = regions.join(one, other, LEAST_AREA) {
                large.push((root, 0, None));
            }
        }
        large.retain_mut(|(root, area, spot)| {
            let Some(sums) = regions.of_root(*root).filter(|s| s.area <= most) else { return false };
            if sums.area != *area {
                *area = sums.area;
                *spot = blob(sums).map(|b| {
                    found.push(b);
                    found.len() - 1
                });
            } else if let Some(spot) = *spot {
                found[spot].levels += 1;
            }
            true
        });
    }
    distinct(found, work.width, work.height)
}

/// A blob of a region, if it fills a parallelogram.
fn blob(sums: &Sums) -> Option<Blob> {
    let area = f64::from(sums.area);
    let (x, y) = (f64::from(sums.x) / area, f64::from(sums.y) / area);
    // A pixel is a square, not a point: it adds 1/12 each way.
    let xx = sums.xx as f64 / area - x * x + 1.0 / 12.0;
    let yy = sums.yy as f64 / area - y * y + 1.0 / 12.0;
    let xy = sums.xy as f64 / area - x * y;
    let det = xx * yy - xy * xy;
    // For a filled parallelogram area^2 = 144 det; ragged, hollow or bent regions have less.
    let filled = area * area / (144.0 * det);
    if !(filled > 0.8 && filled < 1.15) {
        return None;
    }
    let half_trace = 0.5 * (xx + yy);
    let root = (half_trace * half_trace - det).max(0.0).sqrt();
    let (long, short) = (half_trace + root, half_trace - root);
    let good = short > 0.0 && (long / short).sqrt() < LONGEST;
    good.then_some(Blob { x: x + 0.5, y: y + 0.5, area, moments: [xx, xy, yy], levels: 1 })
}

/// Longest side over shortest that a patch may seem to have.
const LONGEST: f64 = 3.5;

/// The same spot is seen at several levels: the largest is kept, with the count.
fn distinct(mut found: Vec<Blob>, width: usize, height: usize) -> Vec<Blob> {
    found.sort_by(|a, b| b.area.total_cmp(&a.area).then(a.y.total_cmp(&b.y)).then(a.x.total_cmp(&b.x)));
    // Buckets of the picture, so that only near spots are compared.
    let cell = 16.0;
    let (columns, rows) = (width / 16 + 1, height / 16 + 1);
    let mut buckets: Vec<Vec<u32>> = vec![Vec::new(); columns * rows];
    let mut kept: Vec<Blob> = Vec::new();
    let place = |v: f64, n: usize| ((v.max(0.0) / cell) as usize).min(n - 1);
    for b in found {
        let reach = 0.3 * b.area.sqrt() + 0.5;
        let mut same: Option<usize> = None;
        for y in place(b.y - reach, rows)..=place(b.y + reach, rows) {
            for x in place(b.x - reach, columns)..=place(b.x + reach, columns) {
                for &i in &buckets[y * columns + x] {
                    let k: &Blob = &kept[i as usize];
                    let near = (k.x - b.x).powi(2) + (k.y - b.y).powi(2) < reach * reach;
                    if near && k.area < 2.0 * b.area {
                        same = Some(same.map_or(i as usize, |s| s.min(i as usize)));
                    }
                }
            }
        }
        match same {
            Some(i) => kept[i].levels += b.levels,
            None => {
                buckets[place(b.y, rows) * columns + place(b.x, columns)].push(kept.len() as u32);
                kept.push(b);
            }
        }
    }
    if kept.len() > MOST_BLOBS {
        kept.sort_by(|a, b| b.levels.cmp(&a.levels).then(b.area.total_cmp(&a.area)));
        kept.truncate(MOST_BLOBS);
    }
    kept
}
