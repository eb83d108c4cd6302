//! The ground a piece lies on, as a model: one tint, with light and shadow on it.

use super::grid::{Grid, Tint};
use super::neighbours::blur;

/// What the ground looks like.
///
/// Chromaticity does not change with the light, so it is one normal distribution; lightness follows a smooth
/// field and may fall below it where a shadow lies.
pub(super) struct Ground {
    mean: [f64; 2],
    /// Variances and covariance of the tint, turned about: u² and v² by the first two, uv by the third.
    sharp: [f64; 3],
    /// Density at the mean tint.
    peak: f64,
    /// Standard deviation of lightness about the field: the ground's texture.
    texture: f64,
    /// Lightness of the ground at each cell.
    field: Vec<f32>,
}

/// Smallest believable standard deviation of a tint, L* 50 units: photographic noise.
const TINT_NOISE: f64 = 0.6;
/// The same for lightness.
const LIGHTNESS_NOISE: f64 = 1.5;
/// Share of ground cells that may lie in shadow.
const SHADOW_SHARE: f64 = 0.2;
/// Share of ground cells that may lie in brighter light than the field tells.
const SHINE_SHARE: f64 = 0.05;
/// Share of tints far off the rest: grit, knots, stains.
const STRAY_SHARE: f64 = 0.03;

impl Ground {
    /// Of one tint with these variances and covariance, in no light yet.
    fn plain(mean: [f64; 2], [xx, yy, xy]: [f64; 3]) -> Self {
        let size = xx * yy - xy * xy;
        let sharp = [yy / size, xx / size, -2.0 * xy / size];
        Self {
            mean,
            sharp,
            peak: 1.0 / (std::f64::consts::TAU * size.sqrt()),
            texture: 5.0,
            field: Vec::new(),
        }
    }

    /// From cells and how surely each is ground (0 to 1; the card and known pieces 0).
    pub fn of(grid: &Grid, weight: &[f32]) -> Self {
        let (mean, spread) = main_tint(grid, weight);
        let mut ground = Self::plain(mean, spread);
        let mut near: Vec<f32> = (0..weight.len())
            .map(|i| if ground.distance(grid.tint[i]) < 9.0 { weight[i] } else { 0.0 })
            .collect();
        let sigma = grid.width.max(grid.height) as f64 * 0.12;
        // Cells far from the field are dropped and the field drawn again: shine, grit, a piece of the same tint.
        for round in 0..4 {
            ground.field = smooth(grid, &near, sigma);
            let mut off: Vec<f32> = (0..near.len())
                .filter(|&i| near[i] > 0.0)
                .map(|i| (grid.tint[i].l - ground.field[i]).abs())
                .collect();
            if off.is_empty() {
                break;
            }
            let middle = off.len() / 2;
            let (_, median, _) = off.select_nth_unstable_by(middle, f32::total_cmp);
            ground.texture = (1.4826 * f64::from(*median)).max(LIGHTNESS_NOISE);
            if round == 3 {
                break;
            }
            for (i, w) in near.iter_mut().enumerate() {
                if ground.above(i, grid.tint[i]).abs() > 3.0 {
                    *w = 0.0;
                }
            }
        }
        ground
    }

    /// Squared distance of a tint from the ground's, in standard deviations.
    pub fn distance(&self, tint: Tint) -> f64 {
        let [uu, vv, uv] = self.sharp;
        let (u, v) = (f64::from(tint.a) - self.mean[0], f64::from(tint.b) - self.mean[1]);
        uu * u * u + vv * v * v + uv * u * v
    }

    /// Whether a tint is so far from the ground's that neither noise nor a reflection explains it.
    pub fn is_other_tint(&self, tint: Tint) -> bool {
        let far = (f64::from(tint.a) - self.mean[0]).hypot(f64::from(tint.b) - self.mean[1]);
        far > 8.0 && self.distance(tint) > 30.0
    }

    /// Lightness above the ground's field, in standard deviations.
    pub fn above(&self, cell: usize, tint: Tint) -> f64 {
        f64::from(tint.l - self.field[cell]) / self.texture
    }

    /// Log of the density of this look for ground at this cell, per unit of L*, a and b.
    pub fn log_density(&self, cell: usize, tint: Tint) -> f64 {
        let d2 = self.distance(tint);
        // The wide part has three times the standard deviation: its ninth power is the narrow one.
        let wide = (-0.5 * d2 / 9.0).exp();
        let colour = self.peak * ((1.0 - STRAY_SHARE) * wide.powi(9) + STRAY_SHARE / 9.0 * wide);
        let field = f64::from(self.field[cell]);
        let r = f64::from(tint.l) - field;
        let lit = (1.0 - SHADOW_SHARE - SHINE_SHARE) * (-0.5 * (r / self.texture).powi(2)).exp()
            / (self.texture * std::f64::consts::TAU.sqrt());
        let other =
            if r < 0.0 { SHADOW_SHARE / field.max(10.0) } else { SHINE_SHARE / (100.0 - field).max(10.0) };
        (colour * (lit + other)).max(1e-30).ln()
    }
}

/// The commonest tint and its spread: the top of a histogram, then normal statistics trimmed at 2.5 standard
/// deviations, repeated.
fn main_tint(grid: &Grid, weight: &[f32]) -> ([f64; 2], [f64; 3]) {
    const SIDE: usize = 100;
    let bin = |v: f32| (v + 40.0).clamp(0.0, SIDE as f32 - 1.0) as usize;
    let mut counts = vec![0f32; SIDE * SIDE];
    for (t, w) in grid.tint.iter().zip(weight) {
        counts[bin(t.b) * SIDE + bin(t.a)] += w;
    }
    blur(&mut counts, SIDE, SIDE, 1.0);
    let top = (0..counts.len()).fold(0, |best, i| if counts[i] > counts[best] { i } else { best });
    let mut mean = [(top % SIDE) as f64 - 39.5, (top / SIDE) as f64 - 39.5];
    let mut spread = [4.0, 4.0, 0.0];
    for _ in 0..6 {
        let model = Ground::plain(mean, spread);
        let mut sum = [0f64; 6];
        for (t, &w) in grid.tint.iter().zip(weight) {
            if w > 0.0 && model.distance(*t) < 6.25 {
                let (w, a, b) = (f64::from(w), f64::from(t.a), f64::from(t.b));
                let add = [w, w * a, w * b, w * a * a, w * b * b, w * a * b];
                (0..6).for_each(|k| sum[k] += add[k]);
            }
        }
        if sum[0] <= 0.0 {
            break;
        }
        mean = [sum[1] / sum[0], sum[2] / sum[0]];
        let noise = TINT_NOISE * TINT_NOISE;
        // Trimming a normal distribution at 2.5 standard deviations in the plane leaves 0.86 of its variance.
        spread = [
            (sum[3] / sum[0] - mean[0] * mean[0]) / 0.86 + noise,
            (sum[4] / sum[0] - mean[1] * mean[1]) / 0.86 + noise,
            (sum[5] / sum[0] - mean[0] * mean[1]) / 0.86,
        ];
    }
    (mean, spread)
}

/// Cells of the ground that make one cell of its field, both ways: the field is drawn on fewer cells.
const FIELD_STEP: usize = 4;

/// Weighted smooth lightness; far from any weight a wider look is taken.
fn smooth(grid: &Grid, weight: &[f32], sigma: f64) -> Vec<f32> {
    let (w, h) = (grid.width.div_ceil(FIELD_STEP), grid.height.div_ceil(FIELD_STEP));
    // Sums of weight and of weighted lightness.
    let (mut under, mut sums) = (vec![0f32; w * h], vec![0f32; w * h]);
    for (y, (weights, tints)) in
        weight.chunks_exact(grid.width).zip(grid.tint.chunks_exact(grid.width)).enumerate()
    {
        for (x, (own, tint)) in weights.iter().zip(tints).enumerate() {
            let i = y / FIELD_STEP * w + x / FIELD_STEP;
            under[i] += own;
            sums[i] += own * tint.l;
        }
    }
    let total = |v: &[f32]| v.iter().map(|&v| f64::from(v)).sum::<f64>();
    let mean = total(&sums) / total(&under).max(1e-9);
    let share = 1.0 / (FIELD_STEP * FIELD_STEP) as f32;
    let mut field = vec![mean as f32; w * h];
    for sigma in [sigma * 3.0, sigma] {
        let mut above: Vec<f32> =
            sums.iter().zip(&under).zip(&field).map(|((s, u), f)| (s - u * f) * share).collect();
        let mut near: Vec<f32> = under.iter().map(|u| u * share).collect();
        blur(&mut above, w, h, sigma / FIELD_STEP as f64);
        blur(&mut near, w, h, sigma / FIELD_STEP as f64);
        field.iter_mut().zip(above.iter().zip(&near)).for_each(|(f, (a, n))| *f += a / (n + 0.01));
    }
    let small = Grid { width: w, height: h, step: FIELD_STEP, tint: Vec::new() };
    let mut wide = vec![0f32; grid.tint.len()];
    wide.chunks_exact_mut(grid.width).enumerate().for_each(|(y, row)| small.row_between(&field, y, row));
    wide
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The field on fewer cells against the same sums over every cell, with Gaussian weights written out.
    #[test]
    fn the_reduced_field_agrees_with_plain_sums() {
        // Three means of five cells of four make a standard deviation of 4 * 6^0.5.
        let (w, h, sigma) = (60usize, 44usize, 4.0 * 6f64.sqrt());
        let l = |x: usize, y: usize| 50.0 + 5.0 * (x as f32 / 25.0).sin() - 0.1 * y as f32;
        let tint = (0..w * h).map(|i| Tint { l: l(i % w, i / w), a: 0.0, b: 0.0 }).collect();
        let weight: Vec<f32> =
            (0..w * h).map(|i| if (20..35).contains(&(i % w)) { 0.0 } else { 1.0 }).collect();
        let grid = Grid { width: w, height: h, step: 1, tint };
        let fast = smooth(&grid, &weight, sigma);
        let total: f64 = weight.iter().map(|&v| f64::from(v)).sum();
        let mean = (0..w * h).map(|i| f64::from(weight[i] * grid.tint[i].l)).sum::<f64>() / total;
        let mut slow = vec![mean; w * h];
        for sigma in [3.0 * sigma, sigma] {
            let near = |p: usize, q: usize| (-0.5 * ((p as f64 - q as f64) / sigma).powi(2)).exp();
            let share = 1.0 / (std::f64::consts::TAU * sigma * sigma);
            let before = slow.clone();
            for (i, field) in slow.iter_mut().enumerate() {
                let (mut above, mut under) = (0.0, 0.0);
                for j in (0..w * h).filter(|&j| weight[j] > 0.0) {
                    let v = near(i % w, j % w) * near(i / w, j / w) * share;
                    (above, under) = (above + v * (f64::from(grid.tint[j].l) - before[j]), under + v);
                }
                *field += above / (under + 0.01);
            }
        }
        // Means stand in for the Gaussian and cells of four for one: a lightness step of the ground's noise is 1.5.
        let worst = fast.iter().zip(&slow).map(|(f, s)| (f64::from(*f) - s).abs()).fold(0.0, f64::max);
        assert!(worst < 1.0, "{worst:.2}");
    }
}
