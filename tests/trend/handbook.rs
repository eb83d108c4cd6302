//! Against the NIST/SEMATECH e-Handbook of Statistical Methods (doi 10.18434/M32189) and scipy 1.17.1's output.

use sherdlight::ledger::trend::*;

fn near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{got} for {wanted}");
}

/// Handbook 6.3.2.2: ten flow rates of batches; printed: mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159
/// (data and figures as several public test suites quote the page).
const FLOW: [f64; 10] = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];

#[test]
fn individuals_limits_are_the_handbooks() {
    let limits = individuals_limits(&FLOW).unwrap();
    near(limits.centre, 50.81, 1e-9);
    near(moving_range_sigma(&FLOW).unwrap() * 1.128, 1.8778, 5e-5);
    near(limits.upper, 55.8041, 5e-5);
    near(limits.lower, 45.8159, 5e-5);
    assert!(FLOW.iter().all(|value| !limits.leaves_out(*value)), "the handbook: in control");
    assert!(individuals_limits(&FLOW[..1]).is_none());
}

#[test]
fn the_moving_average_and_its_limits_are_the_handbooks() {
    // Handbook 6.3.2.4: EWMA0 = 50, s = 2.0539, weight 0.3; all values as printed, two decimals (as public test suites
    // quote the page).
    const VALUES: [f64; 20] = [
        52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6,
        52.4, 53.6, 52.1,
    ];
    const PRINTED: [f64; 20] = [
        50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
        49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
    ];
    let smooth = ewma(&VALUES, 50.0, EWMA_WEIGHT);
    let limits = ewma_limits(50.0, 2.0539, EWMA_WEIGHT, None);
    for (got, printed) in smooth.iter().zip(PRINTED) {
        near(*got, printed, 0.005 + 1e-9);
        assert!(!limits.leaves_out(*got), "the handbook: in control");
    }
    // Printed with the factor rounded to 0.4201.
    near(limits.upper, 52.5884, 2e-4);
    near(limits.lower, 47.4115, 2e-4);
    // The exact variance of the first value is weight squared times that of one value.
    near(ewma_limits(0.0, 1.0, 0.3, Some(1)).upper, 3.0 * 0.3, 1e-12);
    near(ewma_limits(0.0, 1.0, 0.3, Some(100)).upper, ewma_limits(0.0, 1.0, 0.3, None).upper, 1e-12);
}

#[test]
fn intervals_of_means_are_students() {
    // Handbook 1.3.5.2, ZARR13.DAT: n 195, mean 9.261460, sd 0.022789, t 1.9723, limits 9.258242 and 9.264679. A sample of
    // 195 values with just that mean and sd stands in for the file.
    let t = t_quantile(0.975, 194.0);
    near(t, 1.9723, 5e-5);
    let half = 0.022789 * (194.0f64 / 195.0).sqrt() * (195.0f64 / 194.0).sqrt();
    let sample: Vec<f64> = (0..195)
        .map(|i| match i {
            0 => 9.261460,
            i if i % 2 == 0 => 9.261460 + half,
            _ => 9.261460 - half,
        })
        .collect();
    near(standard_deviation(&sample).unwrap(), 0.022789, 1e-9);
    let (centre, u95) = (mean(&sample), mean_u95(&sample).unwrap());
    near(centre - u95, 9.258242, 1.5e-6);
    near(centre + u95, 9.264679, 1.5e-6);
    // scipy.stats.t.interval(.95, 9, mean, sem) of the flow rates.
    let (centre, u95) = (mean(&FLOW), mean_u95(&FLOW).unwrap());
    near(centre - u95, 49.35506964511066, 1e-6);
    near(centre + u95, 52.264930354889344, 1e-6);
    // scipy.stats.t.ppf(.975, [1, 2, 4, 9, 30]).
    for (freedom, wanted) in
        [(1.0, 12.70620474), (2.0, 4.30265273), (4.0, 2.77644511), (9.0, 2.26215716), (30.0, 2.04227246)]
    {
        near(t_quantile(0.975, freedom), wanted, 1e-6 * wanted);
    }
    assert_eq!(mean_u95(&[3.0]), None, "one value has no scatter");
}

#[test]
fn scores_turn_t_into_the_normal_value_as_seldom() {
    // scipy: ttest_ind(FLOW[5:], FLOW[:5]) has t 3.9591715984064324 with 8 degrees of freedom; norm.isf(t.sf(t, 8)).
    near(normal_score(3.9591715984064324, 8.0), 2.86410550690495, 1e-6);
    near(normal_score(-3.9591715984064324, 8.0), -2.86410550690495, 1e-6);
    near(normal_score(4.0, 50_000.0), 3.999660058, 1e-5);
    // scipy: t.isf(norm.sf(score), freedom).
    for (freedom, score, wanted) in [
        (8.0, 2.00, 2.366415784),
        (8.0, 2.68, 3.563579163),
        (8.0, 3.50, 5.679504682),
        (13.0, 2.00, 2.211797543),
        (13.0, 2.68, 3.171383957),
        (13.0, 3.50, 4.637118858),
        (18.0, 2.00, 2.148849388),
        (18.0, 2.68, 3.019744596),
        (18.0, 3.50, 4.265615900),
        (50.0, 2.00, 2.051248173),
        (50.0, 2.68, 2.793966592),
        (50.0, 3.50, 3.746364445),
        (1000.0, 2.00, 2.002503065),
        (1000.0, 2.68, 2.685492716),
        (1000.0, 3.50, 3.511628438),
    ] {
        near(t_of_score(score, freedom), wanted, 0.002 * wanted);
    }
    // scipy.stats.t.ppf(.975, [200, 1000, 99999]).
    for (freedom, wanted) in [(200.0, 1.971896224), (1000.0, 1.962339081), (99999.0, 1.959987708)] {
        near(t_quantile(0.975, freedom), wanted, 1e-6);
    }
}
