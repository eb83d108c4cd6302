//! How much neighbouring cells differ, measured by what the ground itself does.

use super::grid::{Grid, Tint};

/// Units of steps: 1 in lightness, or 0.5 in tint because light does not move it; more where the ground's own
/// steps are larger, such as the tint of a dark ground, which is mostly noise.
pub(super) struct Steps {
    /// One over the units of L*, a and b.
    per: [f64; 3],
}

/// Smallest units of L*, a and b.
const LEAST: [f64; 3] = [1.0, 0.5, 0.5];
/// Standard deviations over the median distance from 0 of a normal distribution.
const SPREAD: f64 = 1.4826;

impl Steps {
    /// By the steps between cells side by side that are ground.
    pub fn of(grid: &Grid, ground: &[bool]) -> Self {
        let pairs: Vec<usize> = (0..ground.len())
            .filter(|&i| i % grid.width + 1 < grid.width && ground[i] && ground[i + 1])
            .collect();
        if pairs.len() < 20 {
            return Self { per: LEAST.map(|unit| 1.0 / unit) };
        }
        let per = [0, 1, 2].map(|k| {
            let step = |&i: &usize| (grid.tint[i].array()[k] - grid.tint[i + 1].array()[k]).abs();
            let mut steps: Vec<f32> = pairs.iter().map(step).collect();
            let middle = steps.len() / 2;
            let median = *steps.select_nth_unstable_by(middle, f32::total_cmp).1;
            1.0 / (SPREAD * f64::from(median)).max(LEAST[k])
        });
        Self { per }
    }

    /// What steps of L* are usual on the ground, as a standard deviation; 1 or more.
    pub fn lightness(&self) -> f64 {
        1.0 / self.per[0]
    }

    /// Squared difference of two looks.
    #[inline]
    pub fn squared(&self, p: Tint, q: Tint) -> f64 {
        let d = [p.l - q.l, p.a - q.a, p.b - q.b];
        (0..3).map(|k| (f64::from(d[k]) * self.per[k]).powi(2)).sum()
    }

    /// Mean squared difference of cells side by side that are both wanted.
    pub fn mean(&self, grid: &Grid, wanted: impl Fn(usize, usize) -> bool) -> f64 {
        let (mut sum, mut n) = (0.0, 0usize);
        for (y, row) in grid.tint.chunks_exact(grid.width).enumerate() {
            for (x, pair) in row.windows(2).enumerate() {
                if wanted(x, y) && wanted(x + 1, y) {
                    sum += self.squared(pair[0], pair[1]);
                    n += 1;
                }
            }
        }
        (sum / n.max(1) as f64).max(1.0)
    }
}
