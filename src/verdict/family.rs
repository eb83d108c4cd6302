//! Which differences are real, over all that is compared at once.
//!
//! Twenty comparisons at 5 % call one by chance. Holm's step-down procedure (Holm 1979, Scand. J. Statist. 6:65-70) holds
//! the chance of any false call at 5 %, however the comparisons hang together, and calls all that Bonferroni's would. The
//! same paper lets comparisons weigh by their importance: shares of surfaces, which sum to one and hold for like views
//! only, weigh together as one comparison.

use statrs::function::erf::erfc;

/// The chance of any false call over the whole family.
pub(super) const LEVEL: f64 = 0.05;

/// Adjusted p-values in the order of the comparisons, each a p-value and its weight (above 0), and at most 1: a difference
/// is real where its adjusted value is at most the level. A p-value that is no number counts as 1.
pub(super) fn holm(comparisons: &[(f64, f64)]) -> Vec<f64> {
    let p = |i: usize| if comparisons[i].0.is_finite() { comparisons[i].0.clamp(0.0, 1.0) } else { 1.0 };
    let weighed = |i: usize| p(i) / comparisons[i].1;
    let mut order: Vec<usize> = (0..comparisons.len()).collect();
    order.sort_by(|&i, &j| weighed(i).total_cmp(&weighed(j)));
    let mut left: f64 = comparisons.iter().map(|(_, weight)| weight).sum();
    let (mut adjusted, mut least) = (vec![1.0; comparisons.len()], 0.0f64);
    for i in order {
        // Once one is not called, none that is less sure is.
        least = least.max((left * weighed(i)).min(1.0));
        adjusted[i] = least;
        left -= comparisons[i].1;
    }
    adjusted
}

/// Probability that a chi-square variable of `freedom` 1 or 3 exceeds `x`.
///
/// Closed forms (Abramowitz & Stegun 1964, 26.4.4): erfc(sqrt(x/2)) for 1, and for 3 that plus
/// sqrt(2x/pi) exp(-x/2).
pub(super) fn chi_square_exceeds(x: f64, freedom: usize) -> f64 {
    if x.is_nan() {
        return 1.0;
    }
    let x = x.max(0.0);
    let one = erfc((x / 2.0).sqrt());
    match freedom {
        1 => one,
        _ if x > 1400.0 => 0.0,
        _ => one + (2.0 * x / std::f64::consts::PI).sqrt() * (-x / 2.0).exp(),
    }
}

/// Square of the radius of the 95 % coverage region of three Gaussian quantities, in standard deviations: chi-square of 3
/// degrees of freedom (the hyper-ellipsoidal region of JCGM 102:2011, 6.5, whose factor is its root, 2.80).
pub(super) const REGION_95: f64 = 7.814_73;

/// Two-sided p-value of a Gaussian value against 0.
pub(super) fn against_zero(value: f64, sd: f64) -> f64 {
    if value == 0.0 {
        return 1.0;
    }
    chi_square_exceeds((value / sd).powi(2), 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holm_gives_the_published_example() {
        // Documentation of the library @stdlib/stats/padjust, method 'holm'.
        let adjusted = holm(&[0.319, 0.201, 0.4, 0.374, 0.113].map(|p| (p, 1.0)));
        for (got, wanted) in adjusted.iter().zip([0.957, 0.804, 0.957, 0.957, 0.565]) {
            assert!((got - wanted).abs() < 5e-4, "{adjusted:?}");
        }
        assert_eq!(holm(&[]), Vec::<f64>::new());
        assert_eq!(holm(&[(f64::NAN, 1.0), (0.01, 1.0)]), [1.0, 0.02]);
    }

    #[test]
    fn what_weighs_less_must_be_surer() {
        // By hand: weights 1, 1/2, 1/2 sum to 2: 0.02 * 2; then 0.02 / (1/2) over what is left, 1; then 0.03 / (1/2) / 2.
        let adjusted = holm(&[(0.02, 1.0), (0.02, 0.5), (0.03, 0.5)]);
        for (got, wanted) in adjusted.iter().zip([0.04, 0.04, 0.04]) {
            assert!((got - wanted).abs() < 1e-12, "{adjusted:?}");
        }
    }

    #[test]
    fn chi_square_is_that_of_the_table() {
        // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, upper critical values.
        let three = [(6.251, 0.10), (7.815, 0.05), (9.348, 0.025), (11.345, 0.01), (16.266, 0.001)];
        let one = [(2.706, 0.10), (3.841, 0.05), (5.024, 0.025), (6.635, 0.01), (10.828, 0.001)];
        for (freedom, table) in [(3, three), (1, one)] {
            for (x, p) in table {
                let got = chi_square_exceeds(x, freedom);
                assert!((got / p - 1.0).abs() < 1e-3, "{freedom} {x}: {got}");
            }
        }
        assert!((chi_square_exceeds(REGION_95, 3) - 0.05).abs() < 1e-6);
        // JCGM 102:2011, 6.5: k = 2.80 for three quantities (from memory).
        assert!((REGION_95.sqrt() - 2.80).abs() < 0.005);
        assert_eq!(chi_square_exceeds(0.0, 3), 1.0);
        assert_eq!(chi_square_exceeds(1e9, 3), 0.0);
    }
}
