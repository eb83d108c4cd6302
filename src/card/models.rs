//! Correction models: from decoded light to XYZ for D50, fitted to patches of known colour.
//!
//! Each is `light -> tone taken off -> grey balance -> terms -> 3 x T matrix -> XYZ`. The terms are the
//! channels themselves, or those of the root-polynomial of degree 2 (Finlayson, Mackiewicz & Hurlbert
//! 2015), which do not change a colour when only the exposure changes. The fit minimises CIEDE2000 made
//! linear at each reference colour, by Gauss-Newton steps, damped towards the plain sRGB matrix.

use super::metric::{lab_slope, lab_step, metric};
use super::tone::Tone;
use crate::colour::{LabD50, XyzD50};
use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

/// Linear sRGB to XYZ for D50: IEC 61966-2-1 primaries, adapted from D65 by linear Bradford
/// (ISO 15076-1 annex E).
pub(crate) const SRGB_TO_XYZ_D50: [[f64; 3]; 3] = [
    [0.436_065_7, 0.385_151_5, 0.143_078_4],
    [0.222_493_2, 0.716_887_0, 0.060_616_9],
    [0.013_923_9, 0.097_081_3, 0.714_099_4],
];

/// The models, simplest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Balance,
    Matrix,
    GammaMatrix,
    CurveMatrix,
    RootPolynomial,
    CurveRootPolynomial,
}

impl Kind {
    pub const ALL: [Self; 6] = [
        Self::Balance,
        Self::Matrix,
        Self::GammaMatrix,
        Self::CurveMatrix,
        Self::RootPolynomial,
        Self::CurveRootPolynomial,
    ];
    pub fn name(self) -> &'static str {
        match self {
            Self::Balance => "grey balance",
            Self::Matrix => "3x3",
            Self::GammaMatrix => "tone exponent, then 3x3",
            Self::CurveMatrix => "tone curve, then 3x3",
            Self::RootPolynomial => "root-polynomial degree 2",
            Self::CurveRootPolynomial => "tone curve, then root-polynomial degree 2",
        }
    }
    /// Unknowns ahead of the mixing: exponent, S, scattered light.
    fn tones(self) -> usize {
        match self {
            Self::GammaMatrix => 1,
            Self::CurveMatrix | Self::CurveRootPolynomial => 3,
            _ => 0,
        }
    }
    fn terms(self) -> usize {
        if matches!(self, Self::RootPolynomial | Self::CurveRootPolynomial) { 6 } else { 3 }
    }
    /// Patches below which the model is not tried; each gives three values.
    pub fn least_patches(self) -> usize {
        match self {
            Self::Balance => 4,
            Self::Matrix => 8,
            Self::GammaMatrix | Self::CurveMatrix => 10,
            Self::RootPolynomial | Self::CurveRootPolynomial => 14,
        }
    }
}

/// A patch to fit to.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sample {
    pub light: [f64; 3],
    pub lab: LabD50,
    /// Place on the card, -0.5 to 0.5 both ways.
    pub place: [f64; 2],
}

/// A fitted model.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Model {
    pub kind: Kind,
    pub tone: Tone,
    /// Grey balance and exposure before the matrix.
    pub gains: [f64; 3],
    /// One row a term, columns linear R, G, B before [`SRGB_TO_XYZ_D50`].
    pub mix: [[f64; 3]; 6],
    /// Change of the logarithm of light from one side of the card to the other, along u and v.
    pub slope: [f64; 2],
    pub with_slope: bool,
    /// Logarithm of the light that colours are relative to, over the light at the card's middle.
    pub base: f64,
    /// Light scattered over the picture, of the white's, taken off before the mixing.
    pub veil: f64,
}

impl Model {
    /// Grey balance alone: the geometric mean over the patches of wanted over seen light.
    pub fn balance(samples: &[Sample]) -> Self {
        let inverse = srgb_inverse();
        let mut gains = [1.0; 3];
        for (c, gain) in gains.iter_mut().enumerate() {
            // Weighted by lightness, so that crushed darks and colours outside the gamut do not rule.
            let (mut sum, mut weights) = (0.0, 0.0);
            for s in samples {
                let wanted = (inverse * vector(s.lab.to_xyz()))[c];
                let weight = wanted.max(0.0) / (1.0 + s.lab.a.hypot(s.lab.b) / 10.0);
                if wanted > 1e-3 && s.light[c] > 1e-5 {
                    sum += weight * (wanted / s.light[c]).ln();
                    weights += weight;
                }
            }
            if weights > 0.0 {
                *gain = (sum / weights).exp();
            }
        }
        let mut mix = [[0.0; 3]; 6];
        (0..3).for_each(|k| mix[k][k] = 1.0);
        Self {
            kind: Kind::Balance,
            tone: Tone::NONE,
            gains,
            mix,
            slope: [0.0; 2],
            with_slope: false,
            base: 0.0,
            veil: 0.0,
        }
    }

    /// Terms of one light, the first [`Kind::terms`] of them filled.
    fn terms(&self, light: [f64; 3]) -> [f64; 6] {
        let x: [f64; 3] = std::array::from_fn(|c| self.gains[c] * self.tone.undo(light[c]) - self.veil);
        let root = |a: f64, b: f64| (a.max(0.0) * b.max(0.0)).sqrt();
        if self.kind.terms() == 3 {
            [x[0], x[1], x[2], 0.0, 0.0, 0.0]
        } else {
            [x[0], x[1], x[2], root(x[0], x[1]), root(x[1], x[2]), root(x[0], x[2])]
        }
    }

    /// Linear sRGB after the correction.
    fn mixed(&self, terms: &[f64; 6]) -> Vector3<f64> {
        let mut out = Vector3::zeros();
        for (term, row) in terms.iter().zip(&self.mix).take(self.kind.terms()) {
            (0..3).for_each(|c| out[c] += term * row[c]);
        }
        out
    }

    /// XYZ for D50, relative to the light at the card's middle, or to `base` times that.
    pub fn apply(&self, light: [f64; 3]) -> XyzD50 {
        let xyz = srgb_matrix() * self.mixed(&self.terms(light)) * (-self.base).exp();
        XyzD50 { x: xyz[0], y: xyz[1], z: xyz[2] }
    }

    /// Colour of a patch, with the slope of light over the card taken off.
    pub fn patch(&self, light: [f64; 3], place: [f64; 2]) -> LabD50 {
        let XyzD50 { x, y, z } = self.apply(light);
        let share = (self.base - self.slope[0] * place[0] - self.slope[1] * place[1]).exp();
        XyzD50 { x: x * share, y: y * share, z: z * share }.to_lab()
    }

    fn unknowns(&self) -> usize {
        let mixes = if self.kind == Kind::Balance { 3 } else { 3 * self.kind.terms() };
        self.kind.tones() + mixes + if self.with_slope { 2 } else { 0 }
    }

    /// Entry of `mix` behind an unknown: (term, channel).
    fn mix_place(&self, k: usize) -> (usize, usize) {
        if self.kind == Kind::Balance { (k, k) } else { (k / 3, k % 3) }
    }

    fn moved(&self, step: &DVector<f64>, share: f64) -> Self {
        let mut out = self.clone();
        let tones = self.kind.tones();
        if tones > 0 {
            out.tone.gamma += share * step[0];
        }
        if tones > 1 {
            out.tone.contrast += share * step[1];
            out.veil = (out.veil + share * step[2]).clamp(-0.03, 0.03);
        }
        out.tone = out.tone.limited();
        let slopes = if self.with_slope { 2 } else { 0 };
        for k in 0..self.unknowns() - tones - slopes {
            let (t, c) = self.mix_place(k);
            out.mix[t][c] += share * step[tones + k];
        }
        for k in 0..slopes {
            out.slope[k] = (out.slope[k] + share * step[self.unknowns() - 2 + k]).clamp(-1.5, 1.5);
        }
        out
    }

    /// Damping: how far each unknown stands from its prior, over the prior's spread, in units of
    /// about one CIEDE2000.
    fn prior(&self, k: usize) -> (f64, f64) {
        let tones = self.kind.tones();
        if k < tones {
            return match k {
                0 => (self.tone.gamma - 1.0, 0.3),
                1 => (self.tone.contrast, 0.3),
                _ => (self.veil, 0.005),
            };
        }
        let slopes_at = self.unknowns() - if self.with_slope { 2 } else { 0 };
        if k >= slopes_at {
            return (self.slope[k - slopes_at], 0.3);
        }
        let (t, c) = self.mix_place(k - tones);
        if t == c {
            (self.mix[t][c] - 1.0, 3.0)
        } else if t < 3 {
            (self.mix[t][c], 1.0)
        } else {
            (self.mix[t][c], 0.2)
        }
    }

    /// Gauss-Newton steps from here. `weights` are of squared residuals.
    pub fn fitted(&self, samples: &[Sample], weights: &[f64], steps: usize) -> Self {
        let mut best = self.clone();
        let mut cost = best.cost(samples, weights);
        for _ in 0..steps {
            let Some(step) = best.step(samples, weights) else { break };
            let mut share = 1.0;
            let mut gained = 0.0;
            for _ in 0..5 {
                let next = best.moved(&step, share);
                let next_cost = next.cost(samples, weights);
                if next_cost < cost {
                    gained = cost - next_cost;
                    (best, cost) = (next, next_cost);
                    break;
                }
                share *= 0.4;
            }
            if gained <= 1e-7 * cost {
                break;
            }
        }
        best
    }

    fn cost(&self, samples: &[Sample], weights: &[f64]) -> f64 {
        let patches: f64 = samples
            .iter()
            .zip(weights)
            .map(|(s, w)| w * (metric(s.lab) * lab_step(self.patch(s.light, s.place), s.lab)).norm_squared())
            .sum();
        let prior: f64 = (0..self.unknowns()).map(|k| self.prior(k)).map(|(d, sd)| (d / sd).powi(2)).sum();
        let all = patches + prior;
        if all.is_finite() { all } else { f64::INFINITY }
    }

    /// One least-squares step by QR; the damping rows keep it well posed.
    fn step(&self, samples: &[Sample], weights: &[f64]) -> Option<DVector<f64>> {
        let (n, m) = (samples.len() * 3, self.unknowns());
        let tones = self.kind.tones();
        let mut jacobian = DMatrix::<f64>::zeros(n + m, m);
        let mut residual = DVector::<f64>::zeros(n + m);
        let to_xyz = srgb_matrix();
        let nudged: Vec<Self> = (0..tones)
            .map(|k| {
                let mut step = DVector::zeros(m);
                step[k] = 1e-4;
                self.moved(&step, 1.0)
            })
            .collect();
        for (i, (s, weight)) in samples.iter().zip(weights).enumerate() {
            let root = weight.sqrt();
            let scale = metric(s.lab) * root;
            let share = (-self.slope[0] * s.place[0] - self.slope[1] * s.place[1]).exp();
            let terms = self.terms(s.light);
            let xyz = to_xyz * self.mixed(&terms) * share;
            let now = XyzD50 { x: xyz[0], y: xyz[1], z: xyz[2] };
            let slope = scale * lab_slope(now);
            let by_mix = slope * to_xyz * share;
            let lab = now.to_lab();
            residual.fixed_rows_mut::<3>(3 * i).copy_from(&(scale * lab_step(lab, s.lab)));
            for (k, other) in nudged.iter().enumerate() {
                let change = scale * lab_step(other.patch(s.light, s.place), lab) / 1e-4;
                jacobian.fixed_view_mut::<3, 1>(3 * i, k).copy_from(&change);
            }
            let slopes = if self.with_slope { 2 } else { 0 };
            for k in 0..m - tones - slopes {
                let (t, c) = self.mix_place(k);
                let change = by_mix.column(c) * terms[t];
                jacobian.fixed_view_mut::<3, 1>(3 * i, tones + k).copy_from(&change);
            }
            for k in 0..slopes {
                let change = slope * xyz * -s.place[k];
                jacobian.fixed_view_mut::<3, 1>(3 * i, m - 2 + k).copy_from(&change);
            }
        }
        for k in 0..m {
            let (distance, spread) = self.prior(k);
            jacobian[(n + k, k)] = 1.0 / spread;
            residual[n + k] = distance / spread;
        }
        let qr = jacobian.qr();
        qr.q_tr_mul(&mut residual);
        let step = qr.r().solve_upper_triangular(&residual.rows(0, m))?;
        step.iter().all(|v| v.is_finite()).then(|| -step)
    }
}

fn srgb_matrix() -> Matrix3<f64> {
    Matrix3::from_fn(|r, c| SRGB_TO_XYZ_D50[r][c])
}

fn srgb_inverse() -> Matrix3<f64> {
    srgb_matrix().try_inverse().unwrap_or_else(Matrix3::identity)
}

fn vector(xyz: XyzD50) -> Vector3<f64> {
    Vector3::new(xyz.x, xyz.y, xyz.z)
}

/// Linear sRGB of a reference colour, unclamped.
pub(crate) fn reference_light(lab: LabD50) -> [f64; 3] {
    (srgb_inverse() * vector(lab.to_xyz())).into()
}

#[cfg(test)]
#[path = "models_tests.rs"]
mod tests;
