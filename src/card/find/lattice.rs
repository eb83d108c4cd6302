//! Spots that lie on a common grid seen in perspective.

use super::blobs::Blob;
use super::work::Work;
use crate::card::geometry::Homography;
use std::collections::BTreeMap;

/// Cells a grid must have to be looked at.
const LEAST_CELLS: usize = 6;
/// Cells either way of the seed that are followed.
const MOST_STEPS: i32 = 8;
/// Grids handed on, at most.
const MOST_GRIDS: usize = 60;
/// Least spread of colour over a grid, as a share of the encoding: what a card shows even in a pale,
/// dark or tinted picture, and a chequerboard does not.
const LEAST_COLOUR: f64 = 0.02;
/// Seeds tried, at most.
const MOST_SEEDS: usize = 6000;

/// A grid: cells by (row, column), and the map from (column, row) to pixels.
pub(super) struct Lattice {
    pub cells: BTreeMap<(i32, i32), usize>,
    pub to_px: Homography,
}

/// Spots by place, to look up those near a point.
struct Index {
    columns: usize,
    rows: usize,
    buckets: Vec<Vec<usize>>,
}

/// Side of a bucket in pixels.
const BUCKET: f64 = 16.0;

impl Index {
    fn new(blobs: &[Blob]) -> Self {
        let most = |v: &dyn Fn(&Blob) -> f64| blobs.iter().map(v).fold(0.0, f64::max);
        let (columns, rows) =
            ((most(&|b| b.x) / BUCKET) as usize + 1, (most(&|b| b.y) / BUCKET) as usize + 1);
        let mut buckets = vec![Vec::new(); columns * rows];
        for (i, b) in blobs.iter().enumerate() {
            buckets[(b.y / BUCKET) as usize * columns + (b.x / BUCKET) as usize].push(i);
        }
        Self { columns, rows, buckets }
    }

    /// The nearest spot within `reach` that passes, if any.
    fn nearest(
        &self,
        blobs: &[Blob],
        p: [f64; 2],
        reach: f64,
        passes: impl Fn(&Blob) -> bool,
    ) -> Option<usize> {
        let span = |v: f64, n: usize| {
            let low = ((v - reach) / BUCKET).max(0.0) as usize;
            let high = ((v + reach) / BUCKET).max(-1.0) + 1.0;
            low..(high as usize).min(n)
        };
        let mut best = (reach * reach, None);
        for y in span(p[1], self.rows) {
            for x in span(p[0], self.columns) {
                for &k in &self.buckets[y * self.columns + x] {
                    let d2 = (blobs[k].x - p[0]).powi(2) + (blobs[k].y - p[1]).powi(2);
                    if d2 < best.0 && passes(&blobs[k]) {
                        best = (d2, Some(k));
                    }
                }
            }
        }
        best.1
    }
}

/// Grids among the spots, those with most cells first.
pub(super) fn lattices(work: &Work, blobs: &[Blob]) -> Vec<Lattice> {
    let near = neighbours(blobs);
    let index = Index::new(blobs);
    let mut found: Vec<Lattice> = Vec::new();
    let mut taken = vec![0usize; blobs.len()];
    let mut seeds = 0;
    // Spots with many neighbours are the best starts.
    let mut order: Vec<usize> = (0..blobs.len()).filter(|&i| near[i].len() >= 2).collect();
    order.sort_by(|&a, &b| near[b].len().min(4).cmp(&near[a].len().min(4)).then(a.cmp(&b)));
    for i in order {
        if taken[i] >= 2 {
            continue;
        }
        for (a, b) in right_angles(blobs, i, &near[i]) {
            seeds += 1;
            if seeds > MOST_SEEDS {
                break;
            }
            if let Some(lattice) = grow(blobs, &index, &near, i, a, b) {
                lattice.cells.values().for_each(|&k| taken[k] += 1);
                if is_coloured(work, blobs, &lattice) && !found.iter().any(|l| same(l, &lattice)) {
                    found.push(lattice);
                }
                if taken[i] >= 2 {
                    break;
                }
            }
        }
    }
    // A card has 24 cells; more do not make a grid better.
    found.sort_by_key(|l| std::cmp::Reverse(l.cells.len().min(24)));
    found.truncate(MOST_GRIDS);
    found
}

/// Whether the spots of a grid differ in more than lightness.
fn is_coloured(work: &Work, blobs: &[Blob], lattice: &Lattice) -> bool {
    let n = lattice.cells.len() as f64;
    let (mut sum, mut squares) = ([0.0; 2], [0.0; 2]);
    for &k in lattice.cells.values() {
        let [r, g, b] = work.at(blobs[k].x, blobs[k].y).map(|v| v / 255.0);
        for (i, v) in [r - g, b - 0.5 * (r + g)].into_iter().enumerate() {
            sum[i] += v;
            squares[i] += v * v;
        }
    }
    let spread = |i: usize| (squares[i] / n - (sum[i] / n).powi(2)).max(0.0);
    (spread(0) + spread(1)).sqrt() > LEAST_COLOUR
}

/// Whether most cells of the smaller grid are in the other.
fn same(one: &Lattice, other: &Lattice) -> bool {
    let common = one.cells.values().filter(|k| other.cells.values().any(|o| o == *k)).count();
    common * 10 >= 8 * one.cells.len().max(other.cells.len())
}

/// Offset from one spot to another in the frame in which the first is a square of side 1.
fn whitened(blob: &Blob, dx: f64, dy: f64) -> f64 {
    let [xx, xy, yy] = blob.moments;
    let det = xx * yy - xy * xy;
    ((yy * dx * dx - 2.0 * xy * dx * dy + xx * dy * dy) / (det * 12.0)).sqrt()
}

/// Spots of about the same size and shape one step off, by spot.
fn neighbours(blobs: &[Blob]) -> Vec<Vec<usize>> {
    let mut by_x: Vec<usize> = (0..blobs.len()).collect();
    by_x.sort_by(|&a, &b| blobs[a].x.total_cmp(&blobs[b].x));
    let mut near = vec![Vec::new(); blobs.len()];
    for (place, &i) in by_x.iter().enumerate() {
        let reach = 2.0 * (12.0 * blobs[i].moments[0]).sqrt() * 2.0;
        for &j in &by_x[place + 1..] {
            let (dx, dy) = (blobs[j].x - blobs[i].x, blobs[j].y - blobs[i].y);
            if dx > reach {
                break;
            }
            if alike(&blobs[i], &blobs[j]) {
                let mean = 0.5 * (whitened(&blobs[i], dx, dy) + whitened(&blobs[j], dx, dy));
                if mean > 0.95 && mean < 1.75 {
                    near[i].push(j);
                    near[j].push(i);
                }
            }
        }
    }
    near.iter_mut().for_each(|n| n.sort_unstable());
    near
}

/// Same size and shape, as far as perspective and ragged edges allow.
fn alike(one: &Blob, other: &Blob) -> bool {
    let ratio = one.area / other.area;
    let wide = one.moments[0] / other.moments[0];
    let tall = one.moments[2] / other.moments[2];
    let within = |r: f64| r > 0.5 && r < 2.0;
    within(ratio) && within(wide) && within(tall)
}

/// Pairs of neighbours that could be one step along each side of the grid.
fn right_angles(blobs: &[Blob], i: usize, near: &[usize]) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    let [xx, xy, yy] = blobs[i].moments;
    let det = xx * yy - xy * xy;
    for (n, &a) in near.iter().enumerate() {
        for &b in &near[n + 1..] {
            let (ax, ay) = (blobs[a].x - blobs[i].x, blobs[a].y - blobs[i].y);
            let (bx, by) = (blobs[b].x - blobs[i].x, blobs[b].y - blobs[i].y);
            let dot = (yy * ax * bx - xy * (ax * by + ay * bx) + xx * ay * by) / (det * 12.0);
            let (la, lb) = (whitened(&blobs[i], ax, ay), whitened(&blobs[i], bx, by));
            if (dot / (la * lb)).abs() < 0.35 && la / lb > 0.75 && la / lb < 1.33 {
                // Always turning the way of the picture's axes: x to the right, y down.
                out.push(if ax * by - ay * bx > 0.0 { (a, b) } else { (b, a) });
            }
        }
    }
    out
}

/// Grows a grid from three spots, cell by cell, then with a common map.
fn grow(
    blobs: &[Blob],
    index: &Index,
    near: &[Vec<usize>],
    start: usize,
    along: usize,
    down: usize,
) -> Option<Lattice> {
    let point = |i: usize| [blobs[i].x, blobs[i].y];
    let mut cells: BTreeMap<(i32, i32), usize> =
        [((0, 0), start), ((0, 1), along), ((1, 0), down)].into_iter().collect();
    let minus = |p: [f64; 2], q: [f64; 2]| [p[0] - q[0], p[1] - q[1]];
    let steps = [minus(point(along), point(start)), minus(point(down), point(start))];
    let mut queue: Vec<(i32, i32)> = cells.keys().copied().collect();
    let mut next = 0;
    while next < queue.len() {
        let (r, c) = queue[next];
        next += 1;
        let here = cells[&(r, c)];
        for (dr, dc) in [(0, 1), (1, 0), (0, -1), (-1, 0)] {
            let to = (r + dr, c + dc);
            if cells.contains_key(&to) || to.0.abs() > MOST_STEPS || to.1.abs() > MOST_STEPS {
                continue;
            }
            // The step back from here tells the step on; else that of the seed.
            let step = match cells.get(&(r - dr, c - dc)) {
                Some(&back) => minus(point(here), point(back)),
                None => {
                    let s = steps[usize::from(dr != 0)];
                    let sign = f64::from(dr + dc);
                    [s[0] * sign, s[1] * sign]
                }
            };
            let wanted = [point(here)[0] + step[0], point(here)[1] + step[1]];
            let reach = 0.22 * step[0].hypot(step[1]);
            let hit = near[here]
                .iter()
                .map(|&k| (k, (blobs[k].x - wanted[0]).hypot(blobs[k].y - wanted[1])))
                .filter(|&(_, d)| d < reach)
                .min_by(|a, b| a.1.total_cmp(&b.1));
            if let Some((k, _)) = hit
                && !cells.values().any(|&v| v == k)
            {
                cells.insert(to, k);
                queue.push(to);
            }
        }
    }
    if cells.len() < 5 {
        return None;
    }
    settle(blobs, index, cells)
}

/// Common map of the cells; cells that do not obey it go, spots that obey it come.
fn settle(blobs: &[Blob], index: &Index, mut cells: BTreeMap<(i32, i32), usize>) -> Option<Lattice> {
    let mut map = fit(blobs, &cells)?;
    for _ in 0..3 {
        let rows = cells.keys().map(|k| k.0);
        let (r0, r1) = (rows.clone().min()? - 2, rows.max()? + 2);
        let columns = cells.keys().map(|k| k.1);
        let (c0, c1) = (columns.clone().min()? - 2, columns.max()? + 2);
        let size = blobs[*cells.values().next()?].area / map.area([0.0, 0.0]).abs();
        let mut settled = BTreeMap::new();
        for r in r0.max(-12)..=r1.min(12) {
            for c in c0.max(-12)..=c1.min(12) {
                let at = [f64::from(c), f64::from(r)];
                let p = map.apply(at);
                let area = map.area(at);
                if !(p[0].is_finite() && area > 1.0) {
                    continue;
                }
                let reach = 0.18 * area.sqrt();
                let fits = |b: &Blob| (0.4..2.5).contains(&(b.area / area / size));
                if let Some(k) = index.nearest(blobs, p, reach, fits) {
                    settled.insert((r, c), k);
                }
            }
        }
        if settled.len() < LEAST_CELLS {
            return None;
        }
        map = fit(blobs, &settled)?;
        let done = settled == cells;
        cells = settled;
        if done {
            break;
        }
    }
    Some(Lattice { cells, to_px: map })
}

fn fit(blobs: &[Blob], cells: &BTreeMap<(i32, i32), usize>) -> Option<Homography> {
    let from: Vec<[f64; 2]> = cells.keys().map(|&(r, c)| [f64::from(c), f64::from(r)]).collect();
    let to: Vec<[f64; 2]> = cells.values().map(|&k| [blobs[k].x, blobs[k].y]).collect();
    let spread = |k: usize| {
        let v = from.iter().map(|p| p[k] as i32);
        v.clone().max().unwrap_or(0) - v.min().unwrap_or(0)
    };
    if spread(0) < 1 || spread(1) < 1 {
        return None;
    }
    Homography::fit(&from, &to)
}
