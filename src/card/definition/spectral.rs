//! From spectral reflectance to colour.

use crate::colour::LabD50;
use crate::colour::cielab;
use std::sync::OnceLock;

/// Observer and illuminant at 1 nm; its own header names the sources.
const TABLE: &str = include_str!("../../../calibration/spectra/observer-1931-d50.csv");

/// First wavelength of the table in nm.
const FIRST: usize = 360;

/// Weights for X, Y, Z at 1 nm from 360 to 780 nm, summing to 1 for Y of the perfect diffuser.
fn weights() -> &'static [[f64; 3]] {
    static WEIGHTS: OnceLock<Vec<[f64; 3]>> = OnceLock::new();
    WEIGHTS.get_or_init(|| {
        let rows: Vec<[f64; 4]> = TABLE
            .lines()
            .filter_map(|line| {
                let mut values = line.split(',').skip(1).map_while(|v| v.parse().ok());
                Some([values.next()?, values.next()?, values.next()?, values.next()?])
            })
            .collect();
        let total: f64 = rows.iter().map(|[_, y, _, light]| y * light).sum();
        rows.iter().map(|&[x, y, z, light]| [x, y, z].map(|v| v * light / total)).collect()
    })
}

/// XYZ of the perfect diffuser by the same sum, Y = 1.
pub(super) fn white() -> [f64; 3] {
    sum(|_| 1.0)
}

/// CIELAB for D50 and the CIE 1931 2 degree observer of a reflectance (1 = the perfect diffuser) at
/// wavelengths `first`, `first + step`, ... in nm; three values at least.
///
/// The sum of CIE 15:2018 eq. 7.1 at 1 nm. Between the given wavelengths the reflectance is taken by
/// Lagrange's interpolation, of degree 3, and 2 in the first and last interval, which gives the weights of
/// ASTM E2022; beyond them it keeps its last value, as ASTM E308 adds the weights left over.
pub(super) fn lab(reflectance: &[f64], first: f64, step: f64) -> LabD50 {
    let xyz = sum(|nm| between(reflectance, (nm - first) / step));
    cielab(xyz, white()).into()
}

fn sum(reflectance: impl Fn(f64) -> f64) -> [f64; 3] {
    let mut xyz = [0.0; 3];
    for (i, weight) in weights().iter().enumerate() {
        let value = reflectance((FIRST + i) as f64);
        (0..3).for_each(|k| xyz[k] += weight[k] * value);
    }
    xyz
}

/// The value at a place counted in steps.
fn between(values: &[f64], at: f64) -> f64 {
    let last = values.len() - 1;
    if at <= 0.0 {
        return values[0];
    }
    if at >= last as f64 {
        return values[last];
    }
    let interval = at as usize;
    let from = interval.saturating_sub(1);
    let to = (interval + 2).min(last);
    (from..=to)
        .map(|i| {
            let others = (from..=to).filter(|&j| j != i);
            values[i] * others.map(|j| (at - j as f64) / (i as f64 - j as f64)).product::<f64>()
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::super::conditions::white_of;
    use super::*;

    /// Whites of CIE 15:2018 and ASTM E308 as held by colour-science 0.4.7.
    const WHITES: &str = include_str!("../../../tests/data/cards/illuminants.csv");

    fn row(illuminant: &str) -> Vec<f64> {
        let start = format!("{illuminant},2,");
        let line = WHITES.lines().find(|l| l.starts_with(&start)).expect(illuminant);
        line[start.len()..].split(',').map(|v| v.parse().expect("a number")).collect()
    }

    #[test]
    fn the_sum_over_the_diffuser_is_the_published_white() {
        let d50 = row("D50");
        for (k, got) in white().into_iter().enumerate() {
            // The direct sum at 1 nm, printed to 0.001, and the white of ASTM E308.
            assert!((got * 100.0 - d50[8 + k]).abs() < 0.0015, "{k}: {got}");
            assert!((got * 100.0 - d50[5 + k]).abs() < 0.01, "{k}: {got}");
        }
        let lab = lab(&[1.0; 36], 380.0, 10.0);
        assert!((lab.l - 100.0).abs() < 1e-9 && lab.a.abs() < 1e-9 && lab.b.abs() < 1e-9);
    }

    #[test]
    fn known_illuminants_have_their_published_whites() {
        for illuminant in ["A", "C", "D50", "D55", "D65"] {
            let white = white_of(illuminant).expect(illuminant);
            // Half a unit in the fourth figure of y moves Z by (1 - x) / y^2 * 0.00005 = 0.032 %.
            for (k, got) in white.into_iter().enumerate() {
                assert!((got * 100.0 - row(illuminant)[2 + k]).abs() < 0.035, "{illuminant} {k}: {got}");
            }
        }
        assert_eq!(white_of("F11"), None);
    }

    /// A parabola is kept by interpolation of degree 2 and 3, whatever the step.
    #[test]
    fn interpolation_keeps_a_parabola() {
        let parabola = |nm: f64| 0.2 + 1e-3 * (nm - 400.0) - 2e-6 * (nm - 400.0).powi(2);
        for step in [5.0, 10.0, 20.0] {
            let values: Vec<f64> =
                (0..=(400.0 / step) as usize).map(|i| parabola(360.0 + i as f64 * step)).collect();
            for nm in (360..=760).map(f64::from) {
                assert!((between(&values, (nm - 360.0) / step) - parabola(nm)).abs() < 1e-12, "{step} {nm}");
            }
        }
    }
}
