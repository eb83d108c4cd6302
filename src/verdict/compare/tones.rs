//! Surfaces against each other within one light, where a reference shot has no card.
//!
//! Ratios of neighbours need no card, but they hang on the curve that the camera gave its file: it stretches or presses
//! the logarithms of all surfaces together, which the surfaces that do not differ tell as they tell the light.

use super::gaussian::Differences;
use crate::reading::Reading;
use nalgebra::{DMatrix, DVector};

/// Standard deviation of the factor by which a file's own curve changes the logarithm of a ratio. On photographs with a
/// card the grey scale gave 0.05 to 0.25, by the camera.
const CURVE: f64 = 0.15;
/// Standard deviation of the logarithm of Y by the camera's own colours, a surface.
const COLOURS: f64 = 0.06;
/// Nothing is known of the light: standard deviation of its logarithm.
const ANY: f64 = 3.0;
const COVERAGE: f64 = 1.96;

/// Surfaces that meet another one on the piece, in the order of the labels.
pub(super) fn told(reading: &Reading) -> Vec<&str> {
    let ratios = &reading.one_light.ratios;
    ["white", "red", "black", "body", "smudged"]
        .into_iter()
        .filter(|name| ratios.iter().any(|r| r.of == *name || r.to == *name))
        .collect()
}

/// Logarithms of Y of the replica's surfaces less those of the reference's, one common light unknown.
pub(super) fn tones(replica: &Reading, references: &[&Reading], names: &[&str]) -> Differences {
    let (mut values, mut covariance) = levels(replica, names);
    let n = references.len() as f64;
    for reference in references {
        let (theirs, doubt) = levels(reference, names);
        let middle = theirs.mean();
        let from_middle = theirs.map(|v| v - middle);
        let curve = &from_middle * from_middle.transpose() * (CURVE * CURVE);
        let colours = DMatrix::from_diagonal_element(names.len(), names.len(), COLOURS * COLOURS);
        values -= theirs / n;
        // Doubt is averaged, as for several shots with a card.
        covariance += (doubt + curve + colours) / n;
    }
    Differences { size: 1, values, covariance }
}

/// Logarithms of Y by the ratios of neighbours (Gaussian observations, one after the other: Kalman 1960).
fn levels(reading: &Reading, names: &[&str]) -> (DVector<f64>, DMatrix<f64>) {
    let n = names.len();
    let mut values: DVector<f64> = DVector::zeros(n);
    let mut covariance = DMatrix::from_diagonal_element(n, n, ANY * ANY);
    for ratio in &reading.one_light.ratios {
        let place = |name: &str| names.iter().position(|known| *known == name);
        let (Some(of), Some(to)) = (place(&ratio.of), place(&ratio.to)) else { continue };
        let across = covariance.column(of) - covariance.column(to);
        let variance = across[of] - across[to] + (ratio.u95[1] / COVERAGE).powi(2);
        let seen = ratio.log_xyz[1] - (values[of] - values[to]);
        values += &across * (seen / variance);
        covariance -= &across * across.transpose() / variance;
    }
    (values, covariance)
}
