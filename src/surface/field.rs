//! The light on each place of a piece, found together with its surfaces.
//!
//! The idea of Wells, Grimson, Kikinis & Jolesz (1996), "Adaptive segmentation of MRI data", IEEE Trans. Med.
//! Imaging 15(4): on a log scale light and reflectance add; classes given, the light is the smoothed difference
//! between what is seen and what the classes reflect; light given, the classes follow; repeat. Chromaticity,
//! which light does not change, tells red and clay from white and black all along.

use super::grid::{Grid, Tint};
use super::neighbours::{blur, extreme};
use super::priors::priors;
use super::reach::effort_by;
use super::seeds::{Group, Kind};

/// Surfaces by their place in arrays here; white is 0.
pub(super) const RED: usize = 1;
pub(super) const BLACK: usize = 2;
pub(super) const BODY: usize = 3;

/// What is known of one reduced piece.
pub(super) struct Scene<'a> {
    pub grid: &'a Grid,
    pub inside: &'a [bool],
    pub tints: &'a TintModel,
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

/// How far each surface is believed about the light: white rules where there is any.
const TRUST: [f64; 4] = [1.0, 0.1, 0.3, 0.1];
/// Sum of lightness steps that still counts as one surface.
const TIED: f32 = 2.0;
/// Lightness steps from cell to cell that shading and slip texture may make.
const SOFT: f64 = 2.5;
/// White in shade is not believed darker than this against the field so far, log scale.
const TIED_ABOVE: f64 = -1.0;

/// The tints of each kind as mixtures of normal distributions, with noise that grows in the dark.
pub(super) struct TintModel {
    /// For each step of lightness the groups of each kind.
    steps: Vec<[Vec<Part>; 3]>,
    /// Log density of a tint that no group of the kind explains; far below any for a kind that is absent.
    stray: [f32; 3],
}

struct Part {
    mean: [f32; 2],
    /// Half of one over the variances.
    sharp: [f32; 2],
    log_height: f32,
}

/// Steps of L* between which noise is taken as constant.
const NOISE_STEP: f32 = 2.0;
/// Density of a tint nobody expects.
const STRAY: f32 = 1e-7;

impl TintModel {
    pub fn of(groups: &[Group]) -> Self {
        let mut shares = [0f64; 3];
        groups.iter().for_each(|g| shares[g.kind as usize] += g.share);
        let part = |g: &Group, noise: f64| {
            let variance = g.variance.map(|v| v.max(0.5) + noise);
            let kind = g.kind as usize;
            Part {
                mean: g.mean.map(|v| v as f32),
                sharp: variance.map(|v| (0.5 / v) as f32),
                // A common kind is favoured, but less than by its whole share: a thin line is as real as a wall.
                log_height: (g.share / shares[kind].sqrt() / (variance[0] * variance[1]).sqrt()).ln() as f32,
            }
        };
        let steps = (0..=(100.0 / NOISE_STEP) as usize)
            .map(|k| {
                let noise = tint_noise((k as f64 + 0.5) * f64::from(NOISE_STEP));
                [Kind::Neutral, Kind::Red, Kind::Body]
                    .map(|kind| groups.iter().filter(|g| g.kind == kind).map(|g| part(g, noise)).collect())
            })
            .collect();
        Self { steps, stray: shares.map(|s| if s > 1e-6 { (STRAY / s.sqrt() as f32).ln() } else { -60.0 }) }
    }

    /// Log density of a tint for each kind: neutral, red, body. That of the group which explains it best stands for
    /// the sum of all: they overlap little, and the largest differs from the sum by a fraction of one.
    #[inline]
    pub fn log_density(&self, tint: Tint) -> [f32; 3] {
        let step = ((tint.l.max(0.0) / NOISE_STEP) as usize).min(self.steps.len() - 1);
        let mut best = self.stray;
        for (best, groups) in best.iter_mut().zip(&self.steps[step]) {
            for g in groups {
                let (da, db) = (tint.a - g.mean[0], tint.b - g.mean[1]);
                let log = g.log_height - da * da * g.sharp[0] - db * db * g.sharp[1];
                *best = if log > *best { log } else { *best };
            }
        }
        best
    }

    /// Whether densities are those of a tint that no group explains.
    #[inline]
    pub fn is_strange(&self, densities: &[f32; 3]) -> bool {
        *densities == self.stray
    }
}

/// Variance of a tint by photographic noise alone at this lightness: about even in luminance, so large in the dark.
fn tint_noise(l: f64) -> f64 {
    let y = ((l + 16.0) / 116.0).powi(3);
    1.0 + (0.15 / (y + 0.01)).powi(2) * 0.1
}

impl Field {
    pub fn of(scene: &Scene) -> Self {
        let n = scene.grid.tint.len();
        let seen: Vec<f32> = scene.grid.tint.iter().map(|t| t.luminance().ln()).collect();
        let kinds: Vec<[f64; 3]> = (0..n)
            .map(|i| {
                if scene.inside[i] {
                    scene.tints.log_density(scene.grid.tint[i]).map(f64::from)
                } else {
                    [0.0; 3]
                }
            })
            .collect();
        let start = priors().array().map(|p| p.log_ratio);
        let spread = priors().array().map(|p| p.log_ratio_sd);
        let mut ratios = Ratios { mean: start, spread, log_spread: spread.map(f64::ln) };
        let mut white = envelope(scene, &seen, &kinds, &ratios.mean);
        for (share, rounds) in [(0.10, 2), (0.06, 2), (0.045, 2)] {
            let tied = if share < 0.1 {
                tied_to_white(scene, &seen, &white, &kinds, &ratios)
            } else {
                vec![false; n]
            };
            for _ in 0..rounds {
                let mut above = vec![0f32; n];
                let mut under = vec![0f32; n];
                let mut sums = [[0f64; 2]; 4];
                for i in (0..n).filter(|&i| scene.inside[i]) {
                    let below = f64::from(seen[i] - white[i]);
                    let p = if tied[i] { [1.0, 0.0, 0.0, 0.0] } else { ratios.posterior(&kinds[i], below) };
                    for k in (0..4).filter(|&k| p[k] > 0.0) {
                        let w = p[k] * TRUST[k] / (spread[k] * spread[k]);
                        above[i] += (w * (below - ratios.mean[k])) as f32;
                        under[i] += w as f32;
                        sums[k][0] += p[k];
                        sums[k][1] += p[k] * below;
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
                    ratios.mean[k] = (sums[k][1] + prior * start[k]) / (sums[k][0] + prior);
                }
            }
        }
        Self { white, log_ratio: ratios.mean }
    }
}

/// Log reflectances of the four surfaces relative to white, and how far each strays.
struct Ratios {
    mean: [f64; 4],
    spread: [f64; 4],
    log_spread: [f64; 4],
}

/// Log of a share that counts as nothing beside the likeliest surface.
const NOTHING: f64 = -20.0;

impl Ratios {
    /// Share of each surface at a place, light given.
    fn posterior(&self, kinds: &[f64; 3], below_white: f64) -> [f64; 4] {
        let mut p = [0f64; 4];
        let of = [Kind::Neutral, Kind::Red, Kind::Neutral, Kind::Body];
        for k in 0..4 {
            let r = (below_white - self.mean[k]) / self.spread[k];
            p[k] = kinds[of[k] as usize] - 0.5 * r * r - self.log_spread[k];
        }
        let top = p.iter().copied().fold(f64::MIN, f64::max);
        p.iter_mut().for_each(|v| *v = if *v - top > NOTHING { (*v - top).exp() } else { 0.0 });
        let sum: f64 = p.iter().sum();
        p.map(|v| v / sum)
    }
}

/// Neutral cells that run into sure white without an edge: white in other light, however dark.
fn tied_to_white(
    scene: &Scene,
    seen: &[f32],
    white: &[f32],
    kinds: &[[f64; 3]],
    ratios: &Ratios,
) -> Vec<bool> {
    let below = |i: usize| f64::from(seen[i] - white[i]);
    let barred: Vec<bool> = (0..seen.len())
        .map(|i| {
            let k = kinds[i];
            !scene.inside[i] || k[0] < k[1].max(k[2]) || below(i) < TIED_ABOVE
        })
        .collect();
    let sure: Vec<bool> = (0..seen.len())
        .map(|i| !barred[i] && below(i).abs() < 0.25 && ratios.posterior(&kinds[i], below(i))[0] > 0.8)
        .collect();
    let effort = effort_by(scene.grid, &sure, &barred, |p, q| f64::from((p.l - q.l).abs()) - SOFT);
    (0..seen.len()).map(|i| !barred[i] && effort[i] <= TIED).collect()
}

/// A tint is sure to be red's or clay's where its density is so far above that of neutral places, log.
const UNSURE: f64 = 3.0;

/// A first field: the brightest neutral places nearby, and red and clay brought up by their ratio. A bright place of slip
/// taken for clay would be brought above all slip about it, so only those count as clay whose tint is sure.
fn envelope(scene: &Scene, seen: &[f32], kinds: &[[f64; 3]], log_ratio: &[f64; 4]) -> Vec<f32> {
    let low = -20.0;
    let lifted: Vec<f32> = (0..seen.len())
        .map(|i| {
            if !scene.inside[i] {
                return low;
            }
            let k = kinds[i];
            let top = k[0].max(k[1]).max(k[2]);
            if k[0] > top - UNSURE {
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
