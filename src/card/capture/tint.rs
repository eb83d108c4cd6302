//! Whether the tint of the light changes across the card.

use crate::card::models::reference_light;
use crate::card::reading::PatchReading;
use nalgebra::{Matrix3, Vector3};

/// Fewest patches for a slope of tint.
const LEAST_TINTED: usize = 10;
/// How many standard errors a slope must stand out: with two slopes each of two ratios looked at, chance
/// reaches it about once in a thousand cards.
const STANDS_OUT: f64 = 4.0;

/// Change of the light's red to green, or blue to green, across the card: the slopes of what the correction
/// leaves, on a logarithmic scale, over the patches it used.
pub(super) fn tint_change(patches: &[PatchReading], places: &[[f64; 2]]) -> Option<f64> {
    let ratios = |other: usize| -> Vec<([f64; 2], f64, f64)> {
        let mut found = Vec::new();
        for (patch, place) in patches.iter().zip(places).filter(|(p, _)| p.used) {
            let (got, wanted) = (reference_light(patch.lab_corrected), reference_light(patch.lab_reference));
            if [other, 1].iter().any(|&c| got[c] < 0.02 || wanted[c] < 0.02) {
                continue;
            }
            let ratio = (got[other] / wanted[other]).ln() - (got[1] / wanted[1]).ln();
            // Strong colours miss by their spectra as well.
            let chroma = patch.lab_reference.a.hypot(patch.lab_reference.b);
            found.push((*place, ratio, 1.0 / (1.0 + chroma / 20.0)));
        }
        found
    };
    let change = |other: usize| slopes(&ratios(other)).map(|s| s[0].abs() + s[1].abs());
    [change(0), change(2)].into_iter().flatten().reduce(f64::max).map(|change| change.exp() - 1.0)
}

/// Slopes over the card of one ratio by weighted least squares, those that stand out from chance; `None` where
/// neither does.
fn slopes(points: &[([f64; 2], f64, f64)]) -> Option<[f64; 2]> {
    if points.len() < LEAST_TINTED {
        return None;
    }
    let mut weights: Vec<f64> = points.iter().map(|p| p.2).collect();
    let mut found = [0.0; 2];
    for round in 0..4 {
        let (mut left, mut right) = (Matrix3::zeros(), Vector3::zeros());
        for ((place, ratio, _), weight) in points.iter().zip(&weights) {
            let row = Vector3::new(1.0, place[0], place[1]);
            left += row * row.transpose() * *weight;
            right += row * (*weight * ratio);
        }
        let inverse = left.try_inverse()?;
        let fit = inverse * right;
        let residual = |p: &([f64; 2], f64, f64)| p.1 - fit[0] - fit[1] * p.0[0] - fit[2] * p.0[1];
        if round == 3 {
            let squares: f64 = points.iter().zip(&weights).map(|(p, w)| w * residual(p).powi(2)).sum();
            let variance = squares / (points.len() as f64 - 3.0);
            let error = [inverse[(1, 1)], inverse[(2, 2)]].map(|v| (v * variance).sqrt());
            found = [0, 1].map(|k| if fit[k + 1].abs() > STANDS_OUT * error[k] { fit[k + 1] } else { 0.0 });
            break;
        }
        // One patch that misses by far must not tilt the plane: Huber 1964, the bend at 1.5 robust deviations.
        let mut sizes: Vec<f64> = points.iter().map(|p| residual(p).abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let bend = 1.5 * 1.4826 * sizes[sizes.len() / 2].max(1e-4);
        for (point, weight) in points.iter().zip(&mut weights) {
            *weight = point.2 * (bend / residual(point).abs().max(1e-12)).min(1.0);
        }
    }
    (found != [0.0; 2]).then_some(found)
}
