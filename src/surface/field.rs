//! The light on each place of a piece, found together with its surfaces.
//!
//! The idea of Wells, Grimson, Kikinis & Jolesz (1996), "Adaptive segmentation of MRI data", IEEE Trans. Med.
//! Imaging 15(4): on a log scale light and reflectance add; classes given, the light is the smoothed difference
//! between what is seen and what the classes reflect; light given, the classes follow; repeat. Chromaticity,
//! which light does not change, tells red and clay from white and black all along.

use super::grid::{Grid, Tint, blur, extreme};
use super::seeds::{Group, Kind};

/// Surfaces by their place in arrays here.

pub(super) const RED: usize = 1;
pub(super) const BLACK: usize = 2;
pub(super) const BODY: usize = 3;

/// What is known of one reduced piece.
pub(super) struct Scene<'a> {
    pub grid: &'a Grid,
    pub inside: &'a [bool],
    pub groups: &'a [Group],
    /// Side of a square as large as the piece, in cells.
    pub size: f64,
}

/// What came of it.
pub(super) struct Field {
    /// Natural log of the luminance that white slip would have at each cell.
    pub white: Vec<f32>,
    /// Log reflectance of white, red, black, body relative to white.
    pub log_ratio: [f64; 4],
}

/// Log reflectance relative to white to begin with, and what is thought of as one standard deviation:
/// white L* 80 beside red 40, paint 32, clay 53.
const START: [f64; 4] = [0.0, -1.6, -2.0, -0.9];
const SPREAD: [f64; 4] = [0.12, 0.3, 0.45, 0.25];

/// Natural log of the luminance of a lightness.
pub(super) fn log_luminance(l: f32) -> f32 {
    3.0 * ((l.max(1.0) + 16.0) / 116.0).ln()
}

/// Log density of a tint for each kind: neutral, red, body. Noise grows in the dark.
pub(super) fn tint_log_density(groups: &[Group], tint: Tint) -> [f64; 3] {
    let noise = tint_noise(tint.l);
    let mut sums = [1e-7f32; 3];
    let mut shares = [1e-9f64; 3];
    for g in groups {
        let (va, vb) = (g.variance[0].max(0.5) as f32 + noise, g.variance[1].max(0.5) as f32 + noise);
        let (da, db) = (tint.a - g.mean[0] as f32, tint.b - g.mean[1] as f32);
        let d2 = da * da / va + db * db / vb;
        shares[g.kind as usize] += g.share;
        if d2 < 40.0 {
            sums[g.kind as usize] += g.share as f32 * (-0.5 * d2).exp() / (va * vb).sqrt();
        }
    }
    [0, 1, 2]
        .map(|k| if shares[k] < 1e-6 { -60.0 } else { f64::from(sums[k] / shares[k].sqrt() as f32).ln() })
}

/// Variance of a tint by noise alone at this lightness.
fn tint_noise(l: f32) -> f32 {
    let y = ((l.max(0.0) + 16.0) / 116.0).powi(3);
    1.0 + (0.15 / (y + 0.01)).powi(2) * 0.1
}

impl Field {
    pub fn of(scene: &Scene) -> Self {
        let n = scene.grid.tint.len();
        let seen: Vec<f32> = scene.grid.tint.iter().map(|t| log_luminance(t.l)).collect();
        let kinds: Vec<[f64; 3]> =
            (0..n)
                .map(|i| {
                    if scene.inside[i] {
                        tint_log_density(scene.groups, scene.grid.tint[i])
                    } else {
                        [0.0; 3]
                    }
                })
                .collect();
        let mut log_ratio = START;
        let mut white = envelope(scene, &seen, &kinds, &log_ratio);
        for (share, rounds) in [(0.10, 3), (0.06, 3), (0.045, 3)] {
            for _ in 0..rounds {
                let mut above = vec![0f32; n];
                let mut under = vec![0f32; n];
                let mut sums = [[0f64; 2]; 4];
                for i in (0..n).filter(|&i| scene.inside[i]) {
                    let p = posterior(&kinds[i], f64::from(seen[i] - white[i]), &log_ratio);
                    for k in 0..4 {
                        let w = p[k] / (SPREAD[k] * SPREAD[k]);
                        above[i] += (w * (f64::from(seen[i] - white[i]) - log_ratio[k])) as f32;
                        under[i] += w as f32;
                        sums[k][0] += p[k];
                        sums[k][1] += p[k] * f64::from(seen[i] - white[i]);
                    }
                }
                let sigma = share * scene.size;
                blur(&mut above, scene.grid.width, scene.grid.height, sigma);
                blur(&mut under, scene.grid.width, scene.grid.height, sigma);
                for i in 0..n {
                    white[i] += above[i] / (under[i] + 0.02);
                }
                for k in 1..4 {
                    // A surface little seen keeps near where it began.
                    let prior = 0.01 * n as f64;
                    log_ratio[k] = (sums[k][1] + prior * START[k]) / (sums[k][0] + prior);
                }
            }
        }
        Self { white, log_ratio }
    }
}

/// Share of each surface at a place, light given.
pub(super) fn posterior(kinds: &[f64; 3], below_white: f64, log_ratio: &[f64; 4]) -> [f64; 4] {
    let mut p = [0f64; 4];
    let of = [Kind::Neutral, Kind::Red, Kind::Neutral, Kind::Body];
    for k in 0..4 {
        let r = (below_white - log_ratio[k]) / SPREAD[k];
        p[k] = kinds[of[k] as usize] - 0.5 * r * r - SPREAD[k].ln();
    }
    let top = p.iter().copied().fold(f64::MIN, f64::max);
    p.iter_mut().for_each(|v| *v = (*v - top).exp());
    let sum: f64 = p.iter().sum();
    p.map(|v| v / sum)
}

/// A first field: the brightest neutral places nearby, and red and clay brought up by their ratio.
fn envelope(scene: &Scene, seen: &[f32], kinds: &[[f64; 3]], log_ratio: &[f64; 4]) -> Vec<f32> {
    let low = -20.0;
    let lifted: Vec<f32> = (0..seen.len())
        .map(|i| {
            if !scene.inside[i] {
                return low;
            }
            let k = kinds[i];
            let top = k[0].max(k[1]).max(k[2]);
            if k[0] == top {
                seen[i]
            } else if k[1] == top {
                seen[i] - log_ratio[RED] as f32
            } else {
                seen[i] - log_ratio[BODY] as f32
            }
        })
        .collect();
    let radius = (0.05 * scene.size).round().max(1.0) as usize;
    let top = extreme(&lifted, scene.grid.width, scene.grid.height, radius, true);
    let mut above: Vec<f32> = top.iter().zip(scene.inside).map(|(&t, &m)| if m { t } else { 0.0 }).collect();
    let mut under: Vec<f32> = scene.inside.iter().map(|&m| f32::from(u8::from(m))).collect();
    blur(&mut above, scene.grid.width, scene.grid.height, 0.06 * scene.size);
    blur(&mut under, scene.grid.width, scene.grid.height, 0.06 * scene.size);
    above.iter().zip(&under).map(|(a, u)| a / (u + 1e-4)).collect()
}
