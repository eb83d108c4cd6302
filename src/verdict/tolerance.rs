//! Factors of normal tolerance intervals, exact, by numerical integration.
//!
//! From a sample of `n` values with mean m and standard deviation s (n - 1 in the divisor) the interval m ± k s, or
//! the half-line that ends at m + k s, holds at least the share `coverage` of the population with the probability
//! `confidence`, where the population is normal. Definitions: ISO 16269-6:2014; Eisenhart, Hastay & Wallis 1947,
//! Techniques of Statistical Analysis, ch. 2. One-sided: the non-central t distribution (Owen 1968, Technometrics
//! 10(3) 445-478), here as an integral over the sample's standard deviation. Two-sided: the integral over the
//! sample's mean of Odeh & Owen 1980, Tables for Normal Tolerance Limits.

use statrs::distribution::{ChiSquared, Continuous, ContinuousCDF, Normal};

/// Steps of an integral; both ends lie where the integrand has died away.
const STEPS: usize = 400;
/// How far out a normal variable is followed; beyond it lies less than 1e-14.
const FAR: f64 = 8.0;
/// No factor is larger: that of n = 2 at 99.9 % coverage and confidence is about 3300.
const LARGEST: f64 = 1e5;

/// Factor k of a one-sided interval; `None` for fewer than two values or shares outside 0.5..1 (coverage) and
/// 0..1 (confidence), ends not counted (coverage may be 0.5).
pub(super) fn one_sided(n: usize, coverage: f64, confidence: f64) -> Option<f64> {
    let sample = Sample::new(n, coverage, confidence)?;
    let z = sample.normal.inverse_cdf(coverage);
    // The interval holds the share where z_mean + z_coverage sqrt(n) <= k sqrt(n) S, S the sample's standard
    // deviation over the true one.
    let root = (n as f64).sqrt();
    let probability = |k: f64| sample.over_deviation(|s| sample.normal.cdf(root * (k * s - z)));
    solve(probability, confidence)
}

/// Factor k of a two-sided interval; `None` as for [`one_sided`].
pub(super) fn two_sided(n: usize, coverage: f64, confidence: f64) -> Option<f64> {
    let sample = Sample::new(n, coverage, confidence)?;
    let root = (n as f64).sqrt();
    // For a mean that is off by x / sqrt(n), half the length of the interval that holds the share; the sample's
    // deviation must reach it. Even in x: half the integral is enough.
    let step = FAR / STEPS as f64;
    let lengths: Vec<(f64, f64)> = (0..=STEPS)
        .map(|i| {
            let x = i as f64 * step;
            (2.0 * simpson(i) * step * sample.normal.pdf(x), sample.half_length(x / root))
        })
        .collect();
    let freedom = sample.freedom;
    let probability = |k: f64| -> f64 {
        lengths.iter().map(|&(weight, r)| weight * sample.chi.sf(freedom * (r / k).powi(2))).sum()
    };
    solve(probability, confidence)
}

/// What both factors need.
struct Sample {
    freedom: f64,
    coverage: f64,
    normal: Normal,
    chi: ChiSquared,
}

impl Sample {
    fn new(n: usize, coverage: f64, confidence: f64) -> Option<Self> {
        let sound = n >= 2 && (0.5..1.0).contains(&coverage) && confidence > 0.0 && confidence < 1.0;
        let freedom = (n.max(2) - 1) as f64;
        let (normal, chi) = (Normal::new(0.0, 1.0).ok()?, ChiSquared::new(freedom).ok()?);
        sound.then_some(Self { freedom, coverage, normal, chi })
    }

    /// Mean of a function of the sample's standard deviation over the true one.
    fn over_deviation(&self, function: impl Fn(f64) -> f64) -> f64 {
        // In s the density of chi: 2 v s f(v s^2); the root of chi-square is nearly normal, spread 1 / sqrt(2 v).
        let spread = (2.0 * self.freedom).sqrt().recip();
        let (from, to) = ((1.0 - FAR * spread).max(0.0), 1.0 + FAR * spread);
        let step = (to - from) / STEPS as f64;
        (0..=STEPS)
            .map(|i| {
                let s = from + i as f64 * step;
                // With one degree of freedom the product has a limit at 0, the density alone has none.
                let at = s.max(1e-12);
                let density = 2.0 * self.freedom * at * self.chi.pdf(self.freedom * at * at);
                simpson(i) * step * density * function(s)
            })
            .sum()
    }

    /// Half-length of the interval about `off` that holds the share of a standard normal population.
    fn half_length(&self, off: f64) -> f64 {
        let held = |r: f64| self.normal.cdf(off + r) - self.normal.cdf(off - r);
        let (mut low, mut high) = (0.0, off + FAR);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if held(middle) < self.coverage { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }
}

/// Weight of node `i` of Simpson's rule, of the step.
fn simpson(i: usize) -> f64 {
    match i {
        0 | STEPS => 1.0 / 3.0,
        odd if odd % 2 == 1 => 4.0 / 3.0,
        _ => 2.0 / 3.0,
    }
}

/// Where a rising function reaches `wanted`.
fn solve(function: impl Fn(f64) -> f64, wanted: f64) -> Option<f64> {
    let (mut low, mut high) = (0.0, 1.0);
    while function(high) < wanted {
        (low, high) = (high, 2.0 * high);
        if high > LARGEST {
            return None;
        }
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if function(middle) < wanted { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A printed value and how many decimals it has; half a unit of the last one is allowed.
    fn printed(found: Option<f64>, value: f64, decimals: i32, what: &str) {
        let found = found.unwrap();
        assert!((found - value).abs() <= 0.5001 * 10f64.powi(-decimals), "{what}: {found}, printed {value}");
    }

    /// ISO 16269-6:2014, annex F, one sample (m = 1), tables F.1 to F.9: n, coverage, confidence, k rounded up to four
    /// decimals; read in the public tests of the Python library `toleranceinterval`.
    const ISO: [(usize, f64, f64, f64); 27] = [
        (2, 0.90, 0.90, 15.5124),
        (8, 0.90, 0.90, 2.7542),
        (35, 0.90, 0.90, 1.9906),
        (3, 0.95, 0.90, 6.8233),
        (9, 0.95, 0.90, 3.1323),
        (30, 0.95, 0.90, 2.4166),
        (4, 0.99, 0.90, 6.3722),
        (17, 0.99, 0.90, 3.4741),
        (100, 0.99, 0.90, 2.8548),
        (2, 0.90, 0.95, 31.0923),
        (16, 0.90, 0.95, 2.4486),
        (150, 0.90, 0.95, 1.8260),
        (5, 0.95, 0.95, 5.0769),
        (10, 0.95, 0.95, 3.3935),
        (200, 0.95, 0.95, 2.1430),
        (3, 0.99, 0.95, 12.6472),
        (9, 0.99, 0.95, 4.6329),
        (500, 0.99, 0.95, 2.7208),
        (4, 0.90, 0.99, 9.4162),
        (22, 0.90, 0.99, 2.5979),
        (80, 0.90, 0.99, 2.0282),
        (2, 0.95, 0.99, 182.7201),
        (17, 0.95, 0.99, 3.3641),
        (150, 0.95, 0.99, 2.2712),
        (3, 0.99, 0.99, 28.5857),
        (28, 0.99, 0.99, 3.8042),
        (1000, 0.99, 0.99, 2.7184),
    ];

    #[test]
    fn two_sided_factors_are_those_of_the_standard() {
        for (n, coverage, confidence, k) in ISO {
            let up = (two_sided(n, coverage, confidence).unwrap() * 1e4).ceil() / 1e4;
            assert!((up - k).abs() < 1e-9, "n {n}, {coverage}, {confidence}: {up}, printed {k}");
        }
    }

    /// Meeker, Hahn & Escobar 2017, Statistical Intervals, table J.5a: the lower coverages; read in the same place.
    #[test]
    fn two_sided_factors_of_low_coverage() {
        for (n, coverage, confidence, k) in [
            (3, 0.5, 0.9, 2.492),
            (3, 0.7, 0.9, 3.747),
            (5, 0.7, 0.95, 2.750),
            (10, 0.5, 0.5, 0.735),
            (10, 0.8, 0.9, 1.990),
            (30, 0.8, 0.99, 1.866),
        ] {
            printed(two_sided(n, coverage, confidence), k, 3, &format!("n {n}, {coverage}, {confidence}"));
        }
    }

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3, by the non-central t distribution: 43 wafers, and
    /// the same for 6. The 95/95 factors: Odeh & Owen 1980, from memory; that of 50 read on a public page.
    #[test]
    fn one_sided_factors_are_the_published_ones() {
        printed(one_sided(43, 0.90, 0.99), 1.8740, 4, "43 wafers");
        printed(one_sided(6, 0.90, 0.99), 4.4111, 4, "6 wafers");
        for (n, k) in [(3, 7.656), (5, 4.203), (10, 2.911), (20, 2.396), (50, 2.065)] {
            printed(one_sided(n, 0.95, 0.95), k, 3, &format!("n {n}"));
        }
    }

    /// The handbook's two-sided example, 2.217, is Howe's approximation, built here from the same two quantiles; the
    /// exact factor must lie near. The classical tables (Eisenhart, Hastay & Wallis 1947, from memory: 9.916, 5.079,
    /// 3.379, 2.752, 2.379) rest on the approximation of Wald & Wolfowitz 1946: up to 1.5 % off.
    #[test]
    fn approximations_lie_near() {
        let chi = ChiSquared::new(42.0).unwrap().inverse_cdf(0.01);
        let z = Normal::new(0.0, 1.0).unwrap().inverse_cdf(0.95);
        let howe = z * (42.0 * (1.0 + 1.0 / 43.0) / chi).sqrt();
        printed(Some(howe), 2.217, 3, "Howe");
        assert!((two_sided(43, 0.90, 0.99).unwrap() / howe - 1.0).abs() < 0.004);
        for (n, k) in [(3, 9.916), (5, 5.079), (10, 3.379), (20, 2.752), (50, 2.379)] {
            assert!((two_sided(n, 0.95, 0.95).unwrap() / k - 1.0).abs() < 0.015, "n {n}");
        }
    }

    #[test]
    fn nonsense_has_no_factor() {
        for (n, coverage, confidence) in
            [(1, 0.9, 0.9), (0, 0.9, 0.9), (5, 1.0, 0.9), (5, 0.4, 0.9), (5, 0.9, 1.0), (5, f64::NAN, 0.9)]
        {
            assert_eq!(two_sided(n, coverage, confidence), None);
            assert_eq!(one_sided(n, coverage, confidence), None);
        }
    }
}
