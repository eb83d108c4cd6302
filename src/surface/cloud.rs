//! Fire clouds: soft-edged dark blotches across slip and paint alike.
//!
//! A cloud darkens the white as shade does, but within a wall's own light: the light on a piece follows its form and is
//! close to a low polynomial of the place, a cloud is a dent in it that stays away from the outline.

use super::field::{Field, Scene, log_luminance};
use super::grid::parts;
use nalgebra::{SMatrix, SVector};

/// Terms of the polynomial: third degree.
const TERMS: usize = 10;
/// Dent in the light that soot covering a third of a white makes: ln(1 - 0.35 * (1 - 0.1)).
const DENT: f64 = -0.38;
/// Smallest believable cloud, share of the piece.
const LEAST_SHARE: f64 = 0.01;
/// Least share of it that must be neutral: on red and clay the light is less sure.
const LEAST_NEUTRAL: f64 = 0.6;
/// Least share of the neutral places that must be white running softly into the dent, rather than paint beside which
/// the light was misjudged; and how near to the light counts as that, log scale.
const LEAST_WHITE: f64 = 0.35;
const SOFT: f32 = 0.2;
/// Most of its rim that may lie on the outline.
const MOST_ON_OUTLINE: f64 = 0.25;

/// Cells under a cloud.
pub(super) fn clouds(scene: &Scene, field: &Field) -> Vec<bool> {
    let (w, h) = (scene.grid.width, scene.grid.height);
    let terms = |i: usize| {
        let (x, y) = (2.0 * (i % w) as f64 / w as f64 - 1.0, 2.0 * (i / w) as f64 / h as f64 - 1.0);
        SVector::<f64, TERMS>::from([
            1.0,
            x,
            y,
            x * x,
            x * y,
            y * y,
            x * x * x,
            x * x * y,
            x * y * y,
            y * y * y,
        ])
    };
    let own: Vec<usize> = (0..w * h).filter(|&i| scene.inside[i]).collect();
    let mut fit = SVector::<f64, TERMS>::zeros();
    for round in 0..12 {
        let mut normal = SMatrix::<f64, TERMS, TERMS>::identity() * 1e-6;
        let mut right = SVector::<f64, TERMS>::zeros();
        for &i in own.iter().filter(|&&i| field.neutral[i]).step_by(2) {
            let t = terms(i);
            let v = f64::from(field.white[i]);
            let r = v - fit.dot(&t);
            // Dents are left out bit by bit; what stands above is not.
            let weight = if round > 0 && r < 0.0 { 1.0 / (1.0 + (r / 0.12).powi(2)) } else { 1.0 };
            normal += weight * t * t.transpose();
            right += weight * v * t;
        }
        match normal.cholesky() {
            Some(c) => fit = c.solve(&right),
            None => return vec![false; w * h],
        }
    }
    let mut mask = vec![false; w * h];
    for &i in &own {
        mask[i] = f64::from(field.white[i]) - fit.dot(&terms(i)) < DENT;
    }
    let (number, areas) = parts(&mask, w);
    let mut rim = vec![[0usize; 2]; areas.len()];
    let mut neutral = vec![0usize; areas.len()];
    let mut white = vec![0usize; areas.len()];
    for &i in own.iter().filter(|&&i| field.neutral[i]) {
        neutral[number[i] as usize] += 1;
        let below = log_luminance(scene.grid.tint[i].l) - field.white[i];
        white[number[i] as usize] += usize::from(below.abs() < SOFT);
    }
    for &i in &own {
        let (x, y) = (i % w, i / w);
        let inner = x > 0 && x + 1 < w && y > 0 && y + 1 < h;
        let near = |j: usize| !mask[j];
        if mask[i] && (!inner || [i - 1, i + 1, i - w, i + w].into_iter().any(near)) {
            let outer = !inner || [i - 1, i + 1, i - w, i + w].into_iter().any(|j| !scene.inside[j]);
            rim[number[i] as usize][usize::from(outer)] += 1;
        }
    }
    for (m, &n) in mask.iter_mut().zip(&number) {
        let [free, outer] = rim[n as usize];
        let large = areas[n as usize] as f64 > LEAST_SHARE * own.len() as f64;
        let soft = white[n as usize] as f64 > LEAST_WHITE * neutral[n as usize] as f64;
        let told = neutral[n as usize] as f64 > LEAST_NEUTRAL * areas[n as usize] as f64;
        *m = *m && large && told && soft && (outer as f64) < MOST_ON_OUTLINE * (free + outer) as f64;
    }
    mask
}
