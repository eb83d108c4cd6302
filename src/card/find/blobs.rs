//! Even spots that could be patches: regions that hang together through small steps of colour, at
//! several sizes of step, kept where they fill a parallelogram.

use super::work::Work;

/// Largest difference of a channel between neighbours of one region, level by level.
const LEVELS: [u8; 9] = [1, 2, 4, 6, 9, 13, 18, 26, 36];
/// Smallest area in pixels.
const LEAST_AREA: f64 = 9.0;
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

/// Sums over the pixels of a region.
#[derive(Clone, Copy)]
struct Sums {
    area: u32,
    x: u32,
    y: u32,
    xx: u64,
    xy: u64,
    yy: u64,
}

/// All candidate spots, in a fixed order.
pub(super) fn blobs(work: &Work) -> Vec<Blob> {
    let (w, h) = (work.width, work.height);
    let edges = sorted_edges(work);
    let mut regions = Regions::new(w, h);
    let most = MOST_SHARE * (w * h) as f64;
    let mut found: Vec<Blob> = Vec::new();
    let mut from = 0;
    for level in LEVELS {
        let to = edges.starts[level as usize + 1];
        for &edge in &edges.list[from..to] {
            let pixel = (edge >> 1) as usize;
            let other = if edge & 1 == 0 { pixel + 1 } else { pixel + w };
            regions.join(pixel, other);
        }
        from = to;
        for pixel in 0..w * h {
            if regions.parent[pixel] as usize == pixel {
                let sums = &regions.sums[pixel];
                if f64::from(sums.area) >= LEAST_AREA && f64::from(sums.area) <= most {
                    found.extend(blob(sums));
                }
            }
        }
    }
    distinct(found)
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
    let half_trace = 0.5 * (xx + yy);
    let root = (half_trace * half_trace - det).max(0.0).sqrt();
    let (long, short) = (half_trace + root, half_trace - root);
    // For a filled parallelogram area^2 = 144 det; ragged, hollow or bent regions have less.
    let filled = area * area / (144.0 * det);
    let good = short > 0.0 && (long / short).sqrt() < 3.5 && filled > 0.8 && filled < 1.15;
    good.then_some(Blob { x: x + 0.5, y: y + 0.5, area, moments: [xx, xy, yy], levels: 1 })
}

/// The same spot is seen at several levels: the largest is kept, with the count.
fn distinct(mut found: Vec<Blob>) -> Vec<Blob> {
    found.sort_by(|a, b| b.area.total_cmp(&a.area).then(a.y.total_cmp(&b.y)).then(a.x.total_cmp(&b.x)));
    // Buckets of the picture, so that only near spots are compared.
    let cell = 16.0;
    let mut buckets: std::collections::BTreeMap<(i32, i32), Vec<usize>> = Default::default();
    let mut kept: Vec<Blob> = Vec::new();
    for b in found {
        let reach = 0.3 * b.area.sqrt() + 0.5;
        let (x0, x1) = (((b.x - reach) / cell) as i32, ((b.x + reach) / cell) as i32);
        let (y0, y1) = (((b.y - reach) / cell) as i32, ((b.y + reach) / cell) as i32);
        let mut same = None;
        for key in (y0..=y1).flat_map(|y| (x0..=x1).map(move |x| (y, x))) {
            for &i in buckets.get(&key).map_or(&[][..], Vec::as_slice) {
                let k: &Blob = &kept[i];
                if (k.x - b.x).hypot(k.y - b.y) < reach && k.area < 2.0 * b.area {
                    same = Some(same.map_or(i, |s: usize| s.min(i)));
                }
            }
        }
        match same {
            Some(i) => kept[i].levels += 1,
            None => {
                buckets.entry(((b.y / cell) as i32, (b.x / cell) as i32)).or_default().push(kept.len());
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

/// Neighbour pairs by colour step: `pixel * 2`, plus 1 for the neighbour below.
struct Edges {
    list: Vec<u32>,
    /// Where each step size starts in the list.
    starts: Vec<usize>,
}

/// Counting sort of all pairs with steps up to the last level.
fn sorted_edges(work: &Work) -> Edges {
    let (w, h) = (work.width, work.height);
    let last = LEVELS[LEVELS.len() - 1];
    let step = |a: [u8; 3], b: [u8; 3]| a[0].abs_diff(b[0]).max(a[1].abs_diff(b[1])).max(a[2].abs_diff(b[2]));
    let mut right = vec![u8::MAX; w * h];
    let mut below = vec![u8::MAX; w * h];
    let mut counts = vec![0usize; 257];
    for y in 0..h {
        let row = &work.pixels[y * w..(y + 1) * w];
        for x in 0..w - 1 {
            right[y * w + x] = step(row[x], row[x + 1]);
        }
        if y + 1 < h {
            let next = &work.pixels[(y + 1) * w..(y + 2) * w];
            for x in 0..w {
                below[y * w + x] = step(row[x], next[x]);
            }
        }
    }
    for &d in right.iter().chain(&below) {
        counts[d as usize + 1] += 1;
    }
    for d in 0..256 {
        counts[d + 1] += counts[d];
    }
    let starts = counts.clone();
    let total = starts[last as usize + 1];
    let mut list = vec![0u32; total];
    for pixel in 0..w * h {
        for (d, side) in [(right[pixel], 0), (below[pixel], 1)] {
            if d <= last {
                list[counts[d as usize]] = pixel as u32 * 2 + side;
                counts[d as usize] += 1;
            }
        }
    }
    Edges { list, starts }
}

/// Disjoint sets of pixels with their sums (Tarjan 1975; path halving, union by size).
struct Regions {
    parent: Vec<u32>,
    sums: Vec<Sums>,
}

impl Regions {
    fn new(w: usize, h: usize) -> Self {
        let sums = (0..h as u64)
            .flat_map(|y| {
                (0..w as u64).map(move |x| Sums {
                    area: 1,
                    x: x as u32,
                    y: y as u32,
                    xx: x * x,
                    xy: x * y,
                    yy: y * y,
                })
            })
            .collect();
        Self { parent: (0..(w * h) as u32).collect(), sums }
    }

    fn root(&mut self, pixel: usize) -> usize {
        let mut p = pixel;
        while self.parent[p] as usize != p {
            self.parent[p] = self.parent[self.parent[p] as usize];
            p = self.parent[p] as usize;
        }
        p
    }

    fn join(&mut self, one: usize, other: usize) {
        let (mut a, mut b) = (self.root(one), self.root(other));
        if a == b {
            return;
        }
        if self.sums[a].area < self.sums[b].area {
            std::mem::swap(&mut a, &mut b);
        }
        self.parent[b] = a as u32;
        let s = self.sums[b];
        let t = &mut self.sums[a];
        t.area += s.area;
        // Sums of large regions may wrap; those are far above the largest patch and never read.
        t.x = t.x.wrapping_add(s.x);
        t.y = t.y.wrapping_add(s.y);
        t.xx = t.xx.wrapping_add(s.xx);
        t.xy = t.xy.wrapping_add(s.xy);
        t.yy = t.yy.wrapping_add(s.yy);
    }
}
