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
