//! The ground a piece lies on, as a model: one tint, with light and shadow on it.

use super::grid::{Grid, Tint, blur};

/// What the ground looks like.
///
/// Chromaticity does not change with the light, so it is one normal distribution; lightness follows a smooth
/// field and may fall below it where a shadow lies.
pub(super) struct Ground {
    mean: [f64; 2],
    /// Variances and covariance of the tint.
    spread: [f64; 3],
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
/// Share of tints far off the rest: grit, knots, stains.
const STRAY_SHARE: f64 = 0.03;

impl Ground {
    /// From cells and how surely each is ground (0 to 1; the card and known pieces 0).
    pub fn of(grid: &Grid, weight: &[f32]) -> Self {
        let (mean, spread) = main_tint(grid, weight);
        let mut ground = Self { mean, spread, texture: 5.0, field: Vec::new() };
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
        let [xx, yy, xy] = self.spread;
        let (u, v) = (f64::from(tint.a) - self.mean[0], f64::from(tint.b) - self.mean[1]);
        (yy * u * u - 2.0 * xy * u * v + xx * v * v) / (xx * yy - xy * xy)
    }

    /// Lightness above the ground's field, in standard deviations.
    pub fn above(&self, cell: usize, tint: Tint) -> f64 {
        f64::from(tint.l - self.field[cell]) / self.texture
    }

    /// Log of the density of this look for ground at this cell, per unit of L*, a and b.
    pub fn log_density(&self, cell: usize, tint: Tint) -> f64 {
        let [xx, yy, xy] = self.spread;
        let d2 = self.distance(tint);
        let peak = 1.0 / (std::f64::consts::TAU * (xx * yy - xy * xy).sqrt());
        let colour = (1.0 - STRAY_SHARE) * peak * (-0.5 * d2).exp()
            + STRAY_SHARE * peak / 9.0 * (-0.5 * d2 / 9.0).exp();
        let field = f64::from(self.field[cell]);
        let r = f64::from(tint.l) - field;
        let lit = (1.0 - SHADOW_SHARE) * (-0.5 * (r / self.texture).powi(2)).exp()
            / (self.texture * std::f64::consts::TAU.sqrt());
        let shadow = if r < 0.0 { SHADOW_SHARE / field.max(10.0) } else { 0.0 };
        (colour * (lit + shadow)).max(1e-30).ln()
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
        let model = Ground { mean, spread, texture: 1.0, field: Vec::new() };
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

/// Weighted smooth lightness; far from any weight a wider look is taken.
fn smooth(grid: &Grid, weight: &[f32], sigma: f64) -> Vec<f32> {
    let total: f64 = weight.iter().map(|&w| f64::from(w)).sum();
    let mean = weight.iter().zip(&grid.tint).map(|(&w, t)| f64::from(w) * f64::from(t.l)).sum::<f64>()
        / total.max(1e-9);
    let mut field = vec![mean as f32; weight.len()];
    for sigma in [sigma * 3.0, sigma] {
        let mut above: Vec<f32> =
            weight.iter().zip(&grid.tint).zip(&field).map(|((w, t), f)| w * (t.l - f)).collect();
        let mut under = weight.to_vec();
        blur(&mut above, grid.width, grid.height, sigma);
        blur(&mut under, grid.width, grid.height, sigma);
        for i in 0..field.len() {
            field[i] += above[i] / (under[i] + 0.01);
        }
    }
    field
}
