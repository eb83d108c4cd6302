//! What stands on the ground, as a model.

use super::grid::{Grid, Tint};

/// What stands on the ground: a few normal distributions of lightness and tint.
pub(super) struct Things {
    kinds: Vec<Kind>,
}

struct Kind {
    mean: [f64; 3],
    /// One over the variances.
    sharp: [f64; 3],
    /// Density at the mean.
    height: f64,
}

/// Density of a look nobody expects: even over all lightnesses and common tints.
const STRANGE: f64 = 0.05 / (100.0 * 60.0 * 40.0);

/// Smallest believed variances: noise and texture.
const LEAST_VARIANCE: [f64; 3] = [4.0, 1.0, 1.0];
/// Cells that are looked at, evenly spread: enough for the means of seven kinds.
const SAMPLES: usize = 2000;

impl Things {
    /// From the cells that are things.
    pub fn of(grid: &Grid, weight: impl Fn(usize) -> bool) -> Self {
        let own: Vec<usize> = (0..grid.tint.len()).filter(|&i| weight(i)).collect();
        let cells: Vec<[f64; 3]> = own
            .iter()
            .step_by(own.len().div_ceil(SAMPLES).max(1))
            .map(|&i| grid.tint[i].array().map(f64::from))
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
        let kinds = (0..k).filter(|&j| sums[j][3] > 0.0).map(|j| {
            let s = sums[j];
            let variance = [0, 1, 2].map(|t| s[t] / s[3] + LEAST_VARIANCE[t]);
            let volume = (std::f64::consts::TAU.powi(3) * variance.iter().product::<f64>()).sqrt();
            let height = 0.95 * s[3] / cells.len() as f64 / volume;
            Kind { mean: means[j], sharp: variance.map(|v| 1.0 / v), height }
        });
        Self { kinds: kinds.collect() }
    }

    /// Log of the density of a look for a thing, per unit of L*, a and b.
    pub fn log_density(&self, tint: Tint) -> f64 {
        let t = tint.array().map(f64::from);
        let mut sum = STRANGE;
        for kind in &self.kinds {
            let d2: f64 = (0..3).map(|k| (t[k] - kind.mean[k]).powi(2) * kind.sharp[k]).sum();
            if d2 < 40.0 {
                sum += kind.height * (-0.5 * d2).exp();
            }
        }
        sum.ln()
    }
}
