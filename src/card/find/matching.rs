//! Which cell of a grid is which patch: every place and turn of the card on the grid is tried, and
//! judged by its colours.

use super::blobs::Blob;
use super::lattice::Lattice;
use super::work::Work;
use crate::card::geometry::Homography;
use crate::card::models::reference_light;
use crate::card::{CardDefinition, Layout};

/// A card laid on a grid.
#[derive(Debug, Clone)]
pub(super) struct Placement {
    /// From patch numbers (column, row; patch centres at whole numbers) to pixels of the work picture.
    pub to_px: Homography,
    /// Share of the spread of the reference colours that is explained, of the best part of the patches:
    /// all, and colour without lightness.
    pub explained: f64,
    pub explained_chroma: f64,
    /// Share of all patches that agree.
    pub agree: f64,
    pub mirrored: bool,
    /// Colours seen, patch by patch in reading order, root-encoded, 0 to 1.
    pub seen: Vec<Option<[f64; 3]>>,
    /// Centres of the spots that patches were seen as, where they were, pixels of the work picture.
    pub spots: Vec<Option<[f64; 2]>>,
}

/// Part of the visible patches that the robust fit goes by; the rest may be covered.
const KEPT: f64 = 0.75;
/// A patch agrees when it is this near, in root-encoded units of the reference (0 to 1).
const AGREE: f64 = 0.17;

/// Reference colours in root-encoded linear light.
pub(super) fn reference(definition: &CardDefinition) -> Vec<[f64; 3]> {
    definition.patches.iter().map(|p| reference_light(p.lab).map(|v| v.max(0.0).sqrt())).collect()
}

/// All placements on a grid worth a thought, best first.
pub(super) fn placements(
    work: &Work,
    lattice: &Lattice,
    blobs: &[Blob],
    layout: &Layout,
    reference: &[[f64; 3]],
) -> Vec<Placement> {
    let (rows, columns) = (layout.rows, layout.columns);
    let mut out = Vec::new();
    let keys: Vec<(i32, i32)> = lattice.cells.keys().copied().collect();
    let (Some(r0), Some(r1)) = (keys.iter().map(|k| k.0).min(), keys.iter().map(|k| k.0).max()) else {
        return out;
    };
    let (Some(c0), Some(c1)) = (keys.iter().map(|k| k.1).min(), keys.iter().map(|k| k.1).max()) else {
        return out;
    };
    let colours = Colours::new(work, &lattice.to_px, (r0 - 6, c0 - 6), (r1 + 6, c1 + 6));
    for (high, wide) in [(rows as i32, columns as i32), (columns as i32, rows as i32)] {
        for top in r0 - high + 1..=r1 {
            for left in c0 - wide + 1..=c1 {
                let inside = keys
                    .iter()
                    .filter(|k| (top..top + high).contains(&k.0) && (left..left + wide).contains(&k.1))
                    .count();
                if inside < 6 || inside * 10 < 4 * keys.len().min(rows * columns) {
                    continue;
                }
                for turn in Turn::all(high, wide, rows as i32) {
                    let at = |index: usize| {
                        let (pr, pc) = ((index / columns) as i32, (index % columns) as i32);
                        turn.cell(pr, pc, top, left)
                    };
                    let seen: Vec<Option<[f64; 3]>> =
                        (0..rows * columns).map(|i| colours.get(at(i))).collect();
                    let Some(score) = score(&seen, reference) else { continue };
                    let origin = turn.cell(0, 0, top, left);
                    let (right, below) = (turn.cell(0, 1, top, left), turn.cell(1, 0, top, left));
                    let f = |v: i32| f64::from(v);
                    out.push(Placement {
                        to_px: lattice.to_px.after(
                            [f(origin.1), f(origin.0)],
                            [f(right.1 - origin.1), f(right.0 - origin.0)],
                            [f(below.1 - origin.1), f(below.0 - origin.0)],
                        ),
                        explained: score.0,
                        explained_chroma: score.1,
                        agree: score.2,
                        mirrored: turn.mirrored,
                        seen,
                        spots: (0..rows * columns)
                            .map(|i| lattice.cells.get(&at(i)).map(|&k| [blobs[k].x, blobs[k].y]))
                            .collect(),
                    });
                }
            }
        }
    }
    out.sort_by(|a, b| b.merit().total_cmp(&a.merit()));
    out
}

impl Placement {
    /// One number to rank placements by, 1 at most: two parts of what is explained, one of what agrees.
    pub fn merit(&self) -> f64 {
        (2.0 * self.explained.min(self.explained_chroma) + self.agree) / 3.0
    }

    /// The map through the spots of the card alone: the grid they were found on may hold others, of
    /// things beside it.
    pub fn own_map(&self, layout: &Layout) -> Homography {
        let seen = |i: usize| self.spots[i].map(|p| (place(i, layout), p));
        let mut pairs: Vec<_> = (0..self.spots.len()).filter_map(seen).collect();
        let mut best = self.to_px;
        // Twice: spots that lie off by more than others of a card do are not patches.
        for _ in 0..2 {
            let (from, to): (Vec<_>, Vec<_>) = pairs.iter().copied().unzip();
            if pairs.len() < LEAST_OWN {
                break;
            }
            let Some(map) = Homography::fit(&from, &to) else { break };
            best = map;
            pairs.retain(|(at, p)| {
                let [x, y] = map.apply(*at);
                (x - p[0]).hypot(y - p[1]) < 0.1 * map.area(*at).abs().sqrt()
            });
        }
        best
    }

    /// Outer corners of the patch grid in the card's reading order, in pixels `scale` times smaller.
    pub fn quad(&self, layout: &Layout, scale: f64) -> [[f64; 2]; 4] {
        let (right, low) = (layout.columns as f64 - 0.5, layout.rows as f64 - 0.5);
        [[-0.5, -0.5], [right, -0.5], [right, low], [-0.5, low]]
            .map(|p| self.to_px.apply(p).map(|v| v * scale))
    }
}

/// Spots that a map of their own needs: twice what fixes one.
const LEAST_OWN: usize = 8;

/// Column and row of a patch.
fn place(index: usize, layout: &Layout) -> [f64; 2] {
    [(index % layout.columns) as f64, (index / layout.columns) as f64]
}

/// How the card's rows and columns lie on those of the grid.
struct Turn {
    high: i32,
    wide: i32,
    swap: bool,
    flip_row: bool,
    flip_column: bool,
    mirrored: bool,
}

impl Turn {
    /// The turns that fit a window, mirrored ones too.
    fn all(high: i32, wide: i32, rows: i32) -> Vec<Self> {
        let swap = high != rows;
        let mut out = Vec::new();
        for (flip_row, flip_column) in [(false, false), (true, true), (true, false), (false, true)] {
            let mirrored = (flip_row != flip_column) != swap;
            out.push(Self { high, wide, swap, flip_row, flip_column, mirrored });
        }
        out
    }
    /// Cell of a patch.
    fn cell(&self, row: i32, column: i32, top: i32, left: i32) -> (i32, i32) {
        let (r, c) = if self.swap { (column, row) } else { (row, column) };
        let r = if self.flip_row { self.high - 1 - r } else { r };
        let c = if self.flip_column { self.wide - 1 - c } else { c };
        (top + r, left + c)
    }
}

/// Colours of the cells of a grid and around it.
struct Colours {
    from: (i32, i32),
    to: (i32, i32),
    values: Vec<Option<[f64; 3]>>,
}

impl Colours {
    fn new(work: &Work, to_px: &Homography, from: (i32, i32), to: (i32, i32)) -> Self {
        let cells = (from.0..=to.0).flat_map(|r| (from.1..=to.1).map(move |c| (r, c)));
        let values = cells.map(|(r, c)| colour(work, to_px, [f64::from(c), f64::from(r)])).collect();
        Self { from, to, values }
    }
    fn get(&self, (r, c): (i32, i32)) -> Option<[f64; 3]> {
        if r < self.from.0 || c < self.from.1 || r > self.to.0 || c > self.to.1 {
            return None;
        }
        let wide = self.to.1 - self.from.1 + 1;
        self.values[((r - self.from.0) * wide + c - self.from.1) as usize]
    }
}

/// Mean of the middle of a cell, 0 to 1; `None` outside the picture.
fn colour(work: &Work, to_px: &Homography, at: [f64; 2]) -> Option<[f64; 3]> {
    let mut sum = [0.0; 3];
    for j in -1..=1 {
        for i in -1..=1 {
            let [x, y] = to_px.apply([at[0] + 0.2 * f64::from(i), at[1] + 0.2 * f64::from(j)]);
            if !work.contains(x, y) {
                return None;
            }
            let v = work.at(x, y);
            (0..3).for_each(|k| sum[k] += v[k] / 255.0 / 9.0);
        }
    }
    (to_px.area(at) > 1.0).then_some(sum)
}

/// Fits seen colours to the reference, channel by channel with a gain and an offset, on the better part
/// of the patches: (explained, explained without lightness, share that agrees).
fn score(seen: &[Option<[f64; 3]>], reference: &[[f64; 3]]) -> Option<(f64, f64, f64)> {
    let pairs: Vec<([f64; 3], [f64; 3])> =
        seen.iter().zip(reference).filter_map(|(s, r)| s.map(|s| (s, *r))).collect();
    if pairs.len() * 2 < reference.len() {
        return None;
    }
    let keep = ((reference.len() as f64 * KEPT).ceil() as usize).min(pairs.len());
    let mut used: Vec<usize> = (0..pairs.len()).collect();
    let mut lines = [(0.0, 0.0); 3];
    let mut errors: Vec<f64> = Vec::new();
    for _ in 0..3 {
        for (k, line) in lines.iter_mut().enumerate() {
            *line = straight(used.iter().map(|&i| (pairs[i].0[k], pairs[i].1[k])))?;
        }
        errors = pairs
            .iter()
            .map(|(s, r)| (0..3).map(|k| (lines[k].0 + lines[k].1 * s[k] - r[k]).powi(2)).sum::<f64>())
            .collect();
        used = (0..pairs.len()).collect();
        used.sort_by(|&a, &b| errors[a].total_cmp(&errors[b]));
        used.truncate(keep);
    }
    if lines.iter().any(|l| l.1 <= 0.1) {
        return None;
    }
    let chroma = |v: [f64; 3]| [v[0] - v[1], v[2] - 0.5 * (v[0] + v[1])];
    let n = used.len() as f64;
    let (mut mean, mut mean_c) = ([0.0; 3], [0.0; 2]);
    for &i in &used {
        (0..3).for_each(|k| mean[k] += pairs[i].1[k] / n);
        let c = chroma(pairs[i].1);
        (0..2).for_each(|k| mean_c[k] += c[k] / n);
    }
    let (mut left, mut all, mut left_c, mut all_c) = (0.0, 1e-9, 0.0, 1e-9);
    for &i in &used {
        let (s, r) = pairs[i];
        let fitted = std::array::from_fn(|k| lines[k].0 + lines[k].1 * s[k]);
        left += errors[i];
        all += (0..3).map(|k| (r[k] - mean[k]).powi(2)).sum::<f64>();
        let (f, c) = (chroma(fitted), chroma(r));
        left_c += (0..2).map(|k| (f[k] - c[k]).powi(2)).sum::<f64>();
        all_c += (0..2).map(|k| (c[k] - mean_c[k]).powi(2)).sum::<f64>();
    }
    let agree = errors.iter().filter(|e| **e < AGREE * AGREE * 3.0).count();
    Some((1.0 - left / all, 1.0 - left_c / all_c, agree as f64 / reference.len() as f64))
}

/// Straight line `y = a + b x` by least squares: (a, b).
fn straight(points: impl Iterator<Item = (f64, f64)> + Clone) -> Option<(f64, f64)> {
    let n = points.clone().count() as f64;
    let (mx, my) = points.clone().fold((0.0, 0.0), |s, p| (s.0 + p.0 / n, s.1 + p.1 / n));
    let (sxx, sxy) =
        points.fold((0.0, 0.0), |s, p| (s.0 + (p.0 - mx).powi(2), s.1 + (p.0 - mx) * (p.1 - my)));
    (sxx > 1e-6 * n).then(|| (my - sxy / sxx * mx, sxy / sxx))
}
