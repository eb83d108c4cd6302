//! Means, Student's t and the two charts of the handbook.
//!
//! Sources: NIST/SEMATECH e-Handbook of Statistical Methods (doi 10.18434/M32189), 1.3.5.2 confidence limits for the
//! mean, 6.3.2.2 individuals control charts, 6.3.2.4 EWMA control charts.

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};
use std::sync::LazyLock;

/// Weight of the newest value in the exponentially weighted moving average (the handbook's example).
pub const EWMA_WEIGHT: f64 = 0.3;
/// Half-width of control limits in standard deviations.
pub const LIMIT_SIGMAS: f64 = 3.0;
/// Mean range of two normal values over their standard deviation, d2 for n = 2 (handbook, 6.3.2.2).
const MEAN_RANGE_OF_TWO: f64 = 1.128;

/// Control limits of a chart, in the unit of the value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ControlLimits {
    /// Lower limit.
    pub lower: f64,
    /// Centre line: the mean.
    pub centre: f64,
    /// Upper limit.
    pub upper: f64,
}

impl ControlLimits {
    /// Whether a value lies outside.
    pub fn leaves_out(&self, value: f64) -> bool {
        value < self.lower || value > self.upper
    }
}

/// Arithmetic mean; NaN of nothing. Summed about the first value, so that a constant added changes no digit of the scatter.
pub fn mean(values: &[f64]) -> f64 {
    let Some(&first) = values.first() else { return f64::NAN };
    first + values.iter().map(|v| v - first).sum::<f64>() / values.len() as f64
}

/// Standard deviation with n - 1 in the divisor; `None` for fewer than two values.
pub fn standard_deviation(values: &[f64]) -> Option<f64> {
    let centre = mean(values);
    let squares: f64 = values.iter().map(|v| (v - centre).powi(2)).sum();
    (values.len() > 1).then(|| (squares / (values.len() - 1) as f64).sqrt())
}

/// Standard deviation from step to step: mean moving range over 1.128; `None` for fewer than two values.
pub fn moving_range_sigma(values: &[f64]) -> Option<f64> {
    let steps = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).sum::<f64>();
    (values.len() > 1).then(|| steps / (values.len() - 1) as f64 / MEAN_RANGE_OF_TWO)
}

/// Limits of the individuals chart: mean +- 3 * mean moving range / 1.128 (handbook, 6.3.2.2); `None` for fewer than
/// two values.
pub fn individuals_limits(values: &[f64]) -> Option<ControlLimits> {
    Some(limits_about(mean(values), LIMIT_SIGMAS * moving_range_sigma(values)?))
}

/// Exponentially weighted moving average, from `start` on: E(t) = w x(t) + (1 - w) E(t - 1) (handbook, 6.3.2.4).
pub fn ewma(values: &[f64], start: f64, weight: f64) -> Vec<f64> {
    let mut level = start;
    values
        .iter()
        .map(|value| {
            level += weight * (value - level);
            level
        })
        .collect()
}

/// Limits of the EWMA chart: centre +- 3 sigma sqrt(w / (2 - w)); with `count` values so far times
/// sqrt(1 - (1 - w)^(2 count)), the exact variance; without it those of a long series (handbook, 6.3.2.4).
pub fn ewma_limits(centre: f64, sigma: f64, weight: f64, count: Option<usize>) -> ControlLimits {
    let long = weight / (2.0 - weight);
    let share = count.map_or(1.0, |count| 1.0 - (1.0 - weight).powf(2.0 * count as f64));
    limits_about(centre, LIMIT_SIGMAS * sigma * (long * share).sqrt())
}

fn limits_about(centre: f64, half: f64) -> ControlLimits {
    ControlLimits { lower: centre - half, centre, upper: centre + half }
}

/// Half-width of the 95 % interval of a mean by Student's t; `None` for fewer than two values, which have no scatter
/// (handbook, 1.3.5.2).
pub fn mean_u95(values: &[f64]) -> Option<f64> {
    let count = values.len();
    let scatter = standard_deviation(values)?;
    Some(t_95(count - 1) * scatter / (count as f64).sqrt())
}

/// Two-sided 95 % quantile of Student's t; kept for up to 60 degrees of freedom, since there are many small firings.
fn t_95(freedom: usize) -> f64 {
    static KEPT: LazyLock<Vec<f64>> =
        LazyLock::new(|| (0..=60).map(|freedom| t_quantile(0.975, f64::from(freedom))).collect());
    KEPT.get(freedom).copied().unwrap_or_else(|| t_quantile(0.975, freedom as f64))
}

/// From this many degrees of freedom on Student's t is taken from the normal distribution by a series: exact to eight
/// digits there, where the incomplete beta function is slow.
const MANY: f64 = 200.0;

/// Quantile of Student's t; `freedom` at least 1, `share` between 0 and 1.
pub fn t_quantile(share: f64, freedom: f64) -> f64 {
    if freedom >= MANY {
        return t_of_score(Normal::standard().inverse_cdf(share), freedom);
    }
    StudentsT::new(0.0, 1.0, freedom.max(1.0)).map_or(f64::NAN, |t| t.inverse_cdf(share))
}

/// The normal score that is exceeded as seldom as `t` is in Student's distribution; keeps the sign.
pub fn normal_score(t: f64, freedom: f64) -> f64 {
    if freedom >= 100.0 * MANY {
        // The first term of the series, turned round.
        return t - (t.powi(3) + t) / (4.0 * freedom);
    }
    let Ok(student) = StudentsT::new(0.0, 1.0, freedom.max(1.0)) else { return f64::NAN };
    // The lower tail keeps its digits where the upper one is 1 less next to nothing.
    let tail = student.cdf(-t.abs()).max(f64::MIN_POSITIVE);
    -Normal::standard().inverse_cdf(tail) * t.signum()
}

/// The t that is exceeded as seldom as `score` is in the normal distribution, for 8 degrees of freedom and more: series
/// in 1 / freedom (Abramowitz & Stegun 1964, 26.7.5), within 0.2 % there for scores up to 3.5.
pub fn t_of_score(score: f64, freedom: f64) -> f64 {
    let z = score;
    let terms = [
        (z.powi(3) + z) / 4.0,
        (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / 96.0,
        (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z) / 384.0,
        (79.0 * z.powi(9) + 776.0 * z.powi(7) + 1482.0 * z.powi(5) - 1920.0 * z.powi(3) - 945.0 * z)
            / 92160.0,
    ];
    terms.iter().rev().fold(0.0, |sum, term| (sum + term) / freedom) + z
}
