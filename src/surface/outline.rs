//! Finding the piece: what is not ground, cut out along edges.
//!
//! A model of the ground and one of what stands on it are learned in turn, and the picture is split between them
//! along its edges, as Rother, Kolmogorov & Blake (2004), "GrabCut", ACM TOG 23(3), do; the ground model knows
//! light and shadow, and nothing needs to be marked by hand.

use super::cut::GridCut;
use super::grid::{Grid, Tint, extreme, fill_holes, parts, polygon_mask};
use super::ground::Ground;
use super::reach::effort;
use crate::card::CorrectedImage;
use imageproc::geometry::convex_hull;
use imageproc::point::Point;

/// Cells of the coarse search.
const CELLS: f64 = 70_000.0;
/// Strength of the bond between neighbours without an edge, in units of log likelihood.
const BOND: f64 = 14.0;
/// No single cell may weigh more than this.
const MOST: f64 = 12.0;
/// A piece takes at least this share of the search area.
const LEAST_SHARE: f64 = 0.004;

/// Edge steps that fence a thing.
const FENCED: f32 = 2.0;
/// Gaps in the fence up to twice this many cells are closed.
const CLOSING: usize = 3;
/// What being fenced weighs.
const FENCE: f64 = 3.0;

/// A second piece is at least this share of the largest.
const SECOND: f64 = 0.12;

/// A blob that stands out.
pub(super) struct Blob {
    /// Own pixels of the map, as a mask of the whole picture.
    pub mask: Vec<bool>,
    pub area: usize,
    pub ball: bool,
}

impl Blob {
    /// What a polygon in map pixels encloses; `None` where that is less than 100 pixels of the picture.
    pub fn of_polygon(corners: &[[f64; 2]], width: usize, height: usize) -> Option<Self> {
        let mask = polygon_mask(corners, width, height);
        let area = mask.iter().filter(|&&m| m).count();
        (area >= 100).then_some(Self { mask, area, ball: false })
    }
}

/// Where to look and what to leave out.
pub(super) struct Search<'a> {
    pub image: &'a CorrectedImage,
    /// The card with its frame, map pixels.
    pub card: Vec<[f64; 2]>,
    /// x0, y0, x1, y1 in map pixels.
    pub window: Option<[usize; 4]>,
}

impl Search<'_> {
    /// All blobs that stand out, the largest first.
    pub fn blobs(&self) -> Vec<Blob> {
        let (w, h) = (self.image.width, self.image.height);
        let step = ((w * h) as f64 / CELLS).sqrt().ceil().max(1.0) as usize;
        let grid = Grid::of(self.image, [0, 0, w, h], step);
        let barred = self.barred(&grid);
        let Some((inside, ground, things)) = split(&grid, &barred) else { return Vec::new() };
        let fine = self.refine(&grid, &inside, &ground, &things);
        let mut blobs = self.pick(&fine);
        for b in &mut blobs {
            b.ball = is_ball(&grid, &b.mask, self.image.width);
        }
        let largest = blobs.iter().filter(|b| !b.ball).map(|b| b.area).max().unwrap_or(0);
        blobs.retain(|b| b.ball || b.area as f64 >= SECOND * largest as f64);
        blobs
    }

    /// Cells that cannot be the piece: the card with a small margin, and all outside the window.
    fn barred(&self, grid: &Grid) -> Vec<bool> {
        let step = grid.step as f64;
        let card = grown(&self.card, step * 1.2).iter().map(|p| p.map(|v| v / step)).collect::<Vec<_>>();
        let mut barred = polygon_mask(&card, grid.width, grid.height);
        if let Some([x0, y0, x1, y1]) = self.window {
            for (i, b) in barred.iter_mut().enumerate() {
                let (x, y) = (i % grid.width * grid.step, i / grid.width * grid.step);
                *b |= x < x0 || y < y0 || x >= x1 || y >= y1;
            }
        }
        barred
    }

    /// Draws the coarse split again at map size, inside a band about its edge.
    fn refine(&self, grid: &Grid, inside: &[bool], ground: &Ground, things: &Things) -> Vec<bool> {
        let (w, h) = (self.image.width, self.image.height);
        let step = (grid.step / 3).max(1);
        let fine = Grid::of(self.image, [0, 0, w, h], step);
        let coarse_of = |x: usize, y: usize| {
            let at = |v: usize, n: usize| ((v * step + step / 2) / grid.step).min(n - 1);
            at(y, grid.height) * grid.width + at(x, grid.width)
        };
        // 0 outside for sure, 2 inside for sure, 1 to be decided.
        let mut sure = vec![0u8; inside.len()];
        for y in 0..grid.height {
            for x in 0..grid.width {
                let own = inside[y * grid.width + x];
                let even = (y.saturating_sub(1)..(y + 2).min(grid.height)).all(|yy| {
                    (x.saturating_sub(1)..(x + 2).min(grid.width))
                        .all(|xx| inside[yy * grid.width + xx] == own)
                });
                sure[y * grid.width + x] = if !even { 1 } else { u8::from(own) * 2 };
            }
        }
        let card = grown(&self.card, 1.0).iter().map(|p| p.map(|v| v / step as f64)).collect::<Vec<_>>();
        let in_card = polygon_mask(&card, fine.width, fine.height);
        let mut cut = GridCut::new(fine.width, fine.height);
        let mean = mean_step(&fine);
        for y in 0..fine.height {
            for x in 0..fine.width {
                let cell = coarse_of(x, y);
                let own = sure[cell];
                let i = y * fine.width + x;
                let tint = fine.tint[i];
                let open = own == 1
                    || [(1, 0), (0, 1)].iter().any(|&(dx, dy)| {
                        x + dx < fine.width && y + dy < fine.height && sure[coarse_of(x + dx, y + dy)] != own
                    });
                if own != 1 {
                    if open {
                        cut.set_pull(x, y, if own == 2 { 1_000_000 } else { -1_000_000 });
                        cut.set_bonds(x, y, bonds(&fine, x, y, mean));
                    }
                    continue;
                }
                let pull = if in_card[i] { -MOST } else { pull(ground, things, cell, tint) };
                cut.set_pull(x, y, (pull * 100.0) as i32);
                cut.set_bonds(x, y, bonds(&fine, x, y, mean));
            }
        }
        let found = cut.split();
        let mut mask = vec![false; w * h];
        for y in 0..h {
            for x in 0..w {
                let (fx, fy) = ((x / step).min(fine.width - 1), (y / step).min(fine.height - 1));
                mask[y * w + x] = match sure[coarse_of(fx, fy)] {
                    1 => found[fy * fine.width + fx],
                    s => s == 2,
                };
            }
        }
        mask
    }

    /// Parts of the mask that may be pieces.
    fn pick(&self, mask: &[bool]) -> Vec<Blob> {
        let (w, h) = (self.image.width, self.image.height);
        let searched = self.window.map_or(w * h, |[x0, y0, x1, y1]| (x1 - x0) * (y1 - y0));
        let (number, areas) = parts(mask, w);
        let mut order: Vec<usize> = (1..areas.len()).collect();
        order.sort_by_key(|&k| (std::cmp::Reverse(areas[k]), k));
        order
            .into_iter()
            .filter(|&k| areas[k] as f64 >= LEAST_SHARE * searched as f64)
            .map(|k| {
                let mut own: Vec<bool> = number.iter().map(|&n| n as usize == k).collect();
                fill_holes(&mut own, w);
                let area = own.iter().filter(|&&m| m).count();
                Blob { mask: own, area, ball: false }
            })
            .collect()
    }
}

/// A polygon with its corners moved away from the middle.
fn grown(polygon: &[[f64; 2]], by: f64) -> Vec<[f64; 2]> {
    let n = polygon.len().max(1) as f64;
    let middle = polygon.iter().fold([0.0; 2], |m, p| [m[0] + p[0] / n, m[1] + p[1] / n]);
    polygon
        .iter()
        .map(|p| {
            let (dx, dy) = (p[0] - middle[0], p[1] - middle[1]);
            let far = dx.hypot(dy).max(1e-9);
            let out = 1.0 + by * std::f64::consts::SQRT_2 / far;
            [middle[0] + dx * out, middle[1] + dy * out]
        })
        .collect()
}

/// What stands on the ground: a few normal distributions of lightness and tint.
struct Things {
    /// Share, mean, variance.
    kinds: Vec<(f64, [f64; 3], [f64; 3])>,
}

/// Density of a look nobody expects: even over all lightnesses and common tints.
const STRANGE: f64 = 0.05 / (100.0 * 60.0 * 40.0);

impl Things {
    fn of(grid: &Grid, weight: impl Fn(usize) -> bool) -> Self {
        let cells: Vec<[f64; 3]> = (0..grid.tint.len())
            .filter(|&i| weight(i))
            .map(|i| grid.tint[i].array().map(f64::from))
            .collect();
        let k = 7.min(cells.len());
        if k == 0 {
            return Self { kinds: Vec::new() };
        }
        // Seeds evenly along lightness; a few rounds of k-means with tint weighing double.
        let mut order: Vec<usize> = (0..cells.len()).collect();
        order.sort_by(|&i, &j| cells[i][0].total_cmp(&cells[j][0]).then(i.cmp(&j)));
        let mut means: Vec<[f64; 3]> =
            (0..k).map(|j| cells[order[(2 * j + 1) * cells.len() / (2 * k)]]).collect();
        let mut own = vec![0usize; cells.len()];
        for _ in 0..8 {
            let mut sums = vec![[0f64; 4]; k];
            for (c, o) in cells.iter().zip(&mut own) {
                let d = |m: &[f64; 3]| {
                    (c[0] - m[0]).powi(2) + 4.0 * ((c[1] - m[1]).powi(2) + (c[2] - m[2]).powi(2))
                };
                *o = (0..k).fold(0, |b, j| if d(&means[j]) < d(&means[b]) { j } else { b });
                (0..3).for_each(|t| sums[*o][t] += c[t]);
                sums[*o][3] += 1.0;
            }
            for (m, s) in means.iter_mut().zip(&sums) {
                if s[3] > 0.0 {
                    *m = [s[0] / s[3], s[1] / s[3], s[2] / s[3]];
                }
            }
        }
        let mut sums = vec![[0f64; 4]; k];
        for (c, &o) in cells.iter().zip(&own) {
            (0..3).for_each(|t| sums[o][t] += (c[t] - means[o][t]).powi(2));
            sums[o][3] += 1.0;
        }
        let kinds = (0..k)
            .filter(|&j| sums[j][3] > 0.0)
            .map(|j| {
                let s = sums[j];
                let floor = [4.0, 1.0, 1.0];
                (s[3] / cells.len() as f64, means[j], [0, 1, 2].map(|t| s[t] / s[3] + floor[t]))
            })
            .collect();
        Self { kinds }
    }

    fn log_density(&self, tint: Tint) -> f64 {
        let t = tint.array().map(f64::from);
        let mut sum = STRANGE;
        for (share, mean, variance) in &self.kinds {
            let d2: f64 = (0..3).map(|k| (t[k] - mean[k]).powi(2) / variance[k]).sum();
            let volume = (std::f64::consts::TAU.powi(3) * variance[0] * variance[1] * variance[2]).sqrt();
            sum += 0.95 * share * (-0.5 * d2).exp() / volume;
        }
        sum.ln()
    }
}

fn pull(ground: &Ground, things: &Things, cell: usize, tint: Tint) -> f64 {
    (things.log_density(tint) - ground.log_density(cell, tint)).clamp(-MOST, MOST)
}

/// Squared difference of two looks; tint counts double because light does not move it.
pub(super) fn difference(p: Tint, q: Tint) -> f64 {
    let d = [p.l - q.l, 2.0 * (p.a - q.a), 2.0 * (p.b - q.b)].map(f64::from);
    d.iter().map(|v| v * v).sum()
}

fn mean_step(grid: &Grid) -> f64 {
    let (mut sum, mut n) = (0.0, 0.0);
    for y in 0..grid.height {
        for x in 1..grid.width {
            sum += difference(grid.tint[y * grid.width + x], grid.tint[y * grid.width + x - 1]);
            n += 1.0;
        }
    }
    (sum / f64::max(n, 1.0)).max(1.0)
}

fn bonds(grid: &Grid, x: usize, y: usize, mean: f64) -> [i32; 4] {
    let own = grid.tint[y * grid.width + x];
    [(1isize, 0usize, 1.0), (0, 1, 1.0), (1, 1, 0.5f64.sqrt()), (-1, 1, 0.5f64.sqrt())].map(
        |(dx, dy, near)| {
            let (nx, ny) = (x as isize + dx, y + dy);
            if nx < 0 || nx >= grid.width as isize || ny >= grid.height {
                return 0;
            }
            let d2 = difference(own, grid.tint[ny * grid.width + nx as usize]);
            (100.0 * BOND * near * (0.05 + 0.95 * (-d2 / (2.0 * mean)).exp())) as i32
        },
    )
}

/// Splits the cells into ground and things; `None` where nothing stands out.
fn split(grid: &Grid, barred: &[bool]) -> Option<(Vec<bool>, Ground, Things)> {
    let (w, h) = (grid.width, grid.height);
    let rim = (w.min(h) / 14).max(2);
    let mut weight: Vec<f32> = (0..w * h)
        .map(|i| {
            let (x, y) = (i % w, i / w);
            let at_rim = x < rim || y < rim || x + rim >= w || y + rim >= h;
            if barred[i] {
                0.0
            } else if at_rim {
                1.0
            } else {
                0.25
            }
        })
        .collect();
    let mut ground = Ground::of(grid, &weight);
    let start: Vec<bool> = (0..w * h)
        .map(|i| weight[i] >= 1.0 && ground.distance(grid.tint[i]) < 9.0 && ground.above(i, grid.tint[i]).abs() < 4.0)
        .collect();
    let effort = effort(grid, &start, barred);
    // Fenced cells, and cells that look unlike the ground behind even a weak edge; gaps in the fence closed.
    let fenced: Vec<f32> = (0..w * h)
        .map(|i| {
            let unlike = ground.distance(grid.tint[i]) > 16.0 || ground.above(i, grid.tint[i]) > 3.5;
            let own = !barred[i] && effort[i] > if unlike { 0.5 } else { FENCED };
            f32::from(u8::from(own))
        })
        .collect();
    let wide = extreme(&fenced, w, h, CLOSING, true);
    let mut inside: Vec<bool> = extreme(&wide, w, h, CLOSING, false).iter().map(|&v| v > 0.5).collect();
    fill_holes(&mut inside, w);
    keep_large(&mut inside, w);
    if let Ok(p) = std::env::var("DBG") {
        let im = image::GrayImage::from_fn(w as u32, h as u32, |x, y| image::Luma([if inside[(y * w as u32 + x) as usize] { 255 } else { 0 }]));
        im.save(p).unwrap();
    }
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
        weight[i] = if inside[i] || barred[i] { 0.0 } else if hull[i] { 0.25 } else { 1.0 };
    }
    ground = Ground::of(grid, &weight);
    let mean = mean_step(grid);
    let mut things = Things::of(grid, |i| inside[i]);
    for _ in 0..3 {
        if !inside.iter().any(|&m| m) {
            return None;
        }
        let mut cut = GridCut::new(w, h);
        for y in 0..h {
            for x in 0..w {
                let i = y * w + x;
                if barred[i] {
                    cut.set_pull(x, y, -100_000);
                    continue;
                }
                cut.set_pull(x, y, (100.0 * (pull(&ground, &things, i, grid.tint[i]) + hint[i])) as i32);
                let mut b = bonds(grid, x, y, mean);
                // The card says nothing of what touches it.
                for (k, (dx, dy)) in [(1isize, 0usize), (0, 1), (1, 1), (-1, 1)].into_iter().enumerate() {
                    let (nx, ny) = (x as isize + dx, y + dy);
                    if nx >= 0 && (nx as usize) < w && ny < h && barred[ny * w + nx as usize] {
                        b[k] = 0;
                    }
                }
                cut.set_bonds(x, y, b);
            }
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
    Some((inside, ground, things))
}

/// Whether a blob is a plain pale ball: round, of one tint, without marks.
fn is_ball(grid: &Grid, mask: &[bool], map_width: usize) -> bool {
    let (w, step) = (grid.width, grid.step);
    let map_height = mask.len() / map_width;
    let own = |i: usize| {
        let (x, y) = (i % w * step + step / 2, i / w * step + step / 2);
        x < map_width && y < map_height && mask[y * map_width + x]
    };
    let cells: Vec<usize> = (0..grid.tint.len()).filter(|&i| own(i)).collect();
    let n = cells.len() as f64;
    if n < 20.0 {
        return false;
    }
    let middle = cells.iter().fold([0.0; 2], |m, &i| [m[0] + (i % w) as f64 / n, m[1] + (i / w) as f64 / n]);
    let far = |i: usize| ((i % w) as f64 - middle[0]).hypot((i / w) as f64 - middle[1]);
    let radius = (n / std::f64::consts::PI).sqrt();
    let outside = cells.iter().filter(|&&i| far(i) > radius + 1.0).count() as f64;
    // The outer tenth is mixed with the ground.
    let core: Vec<usize> = cells.into_iter().filter(|&i| far(i) < 0.85 * radius).collect();
    let m = core.len().max(1) as f64;
    let mean = |v: fn(&Tint) -> f32| core.iter().map(|&i| f64::from(v(&grid.tint[i]))).sum::<f64>() / m;
    let (a, b) = (mean(|t| t.a), mean(|t| t.b));
    let off = core.iter().filter(|&&i| (f64::from(grid.tint[i].a) - a).hypot(f64::from(grid.tint[i].b) - b) > 4.0).count();
    let marks = core.iter().filter(|&&i| (grid.tint[i].l - grid.tint[i + 1].l).abs() > 6.0).count();
    outside < 0.04 * n && a.hypot(b) < 12.0 && (off as f64) < 0.05 * m && (marks as f64) < 0.02 * m
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
        let hull: Vec<[f64; 2]> = convex_hull(corners).iter().map(|p| [f64::from(p.x), f64::from(p.y)]).collect();
        for (h, own) in hulls.iter_mut().zip(polygon_mask(&hull, width, height)) {
            *h |= own;
        }
    }
    hulls
}

/// Drops specks.
fn keep_large(mask: &mut [bool], width: usize) {
    let (number, areas) = parts(mask, width);
    let least = (mask.len() as f64 * LEAST_SHARE / 2.0) as usize;
    for (m, n) in mask.iter_mut().zip(&number) {
        *m = *m && areas[*n as usize] > least;
    }
}
