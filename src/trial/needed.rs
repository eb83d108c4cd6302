//! How many swatches it takes to tell two levels apart.
//!
//! Source: NIST/SEMATECH e-Handbook (doi 10.18434/M32189), 7.2.2.2, sample sizes required: N = (t(1 - alpha/2) +
//! t(1 - beta))^2 (sigma/delta)^2, first with normal quantiles, then with Student's t until it stands still; twice that in
//! each of two samples, whose difference has twice the variance.

use crate::ledger::trend::t_quantile;

/// Most swatches that are counted.
const MOST: f64 = 1000.0;
/// Two-sided 95 %.
const SURE: f64 = 0.975;
/// Chance that a difference of this size is seen.
const POWER: f64 = 0.8;

/// Swatches of each of two levels that tell a `difference` apart at 95 % in 80 of 100 trials, where readings scatter by
/// `sigma` (standard deviation, the unit of the difference). `None` for more than 1000. 2 at least.
pub fn swatches_needed(difference: f64, sigma: f64) -> Option<usize> {
    let ratio = (sigma / difference).powi(2);
    let of = |freedom: f64| 2.0 * (t_quantile(SURE, freedom) + t_quantile(POWER, freedom)).powi(2) * ratio;
    // From the normal answer upwards: the least number that is enough for its own degrees of freedom.
    let mut count = of(1e9).ceil().max(2.0);
    while count <= MOST && of(2.0 * (count - 1.0)) > count {
        count += 1.0;
    }
    (count <= MOST).then_some(count as usize)
}

/// The smallest true difference that is told apart at 95 % in about 80 of 100 such trials, from the `standard_error` of
/// the difference and its degrees of `freedom` (at least 1).
pub fn detectable(standard_error: f64, freedom: usize) -> f64 {
    (t_quantile(SURE, freedom as f64) + t_quantile(POWER, freedom as f64)) * standard_error
}
