//! Fitting a correction model: damped Gauss-Newton on colour differences.
//!
//! Comes in: patches of known colour with weights. Goes out: the fitted [`Model`], and what it would say
//! of each patch if it had not seen it. The fit minimises CIEDE2000 made linear at each reference colour;
//! the damping rows hold the unknowns near the plain sRGB matrix and keep the tone curve smooth.

use super::metric::{lab_slope, lab_step, metric};
use super::models::{Kind, Model, Sample, srgb_matrix};
use super::tone::{COEFFICIENTS, Tone};
use crate::colour::{LabD50, XyzD50};
use nalgebra::{DMatrix, DVector, Matrix3, Matrix3xX, Vector3};

/// Spreads of the unknowns about the plain sRGB matrix, in units of about one CIEDE2000. Wide: they are
/// there so that a few patches cannot bend a model out of shape, not to steer it.
mod spread {
    /// Power on the encoded value, about 1.
    pub const POWER: f64 = 0.3;
    /// Logarithm of the tone curve's gain.
    pub const GAIN: f64 = 0.5;
    /// Second differences of its coefficients: a curve that bends by a fifth between neighbours.
    pub const BEND: f64 = 0.2;
    /// Scattered light, of the white's.
    pub const VEIL: f64 = 0.005;
    /// Grey balance after the first guess.
    pub const DIAGONAL: f64 = 3.0;
    /// Mixing of the channels.
    pub const MIX: f64 = 1.0;
    /// Root terms.
    pub const ROOT: f64 = 0.2;
    /// Change of the logarithm of light across the card.
    pub const SLOPE: f64 = 0.2;
}

/// One row of the damping: a sum of unknowns that is expected at a value, with a spread.
struct Expected {
    terms: Vec<(usize, f64)>,
    at: f64,
    spread: f64,
}

/// The unknowns of a model, in the order tone (power, then gain), veil, mix, slope.
#[derive(Clone, Copy)]
struct Unknowns {
    kind: Kind,
    with_slope: bool,
}

impl Unknowns {
    fn of(model: &Model) -> Self {
        Self { kind: model.kind, with_slope: model.with_slope }
    }
    fn tones(self) -> usize {
        if self.kind.has_curve() { COEFFICIENTS + 1 } else { 0 }
    }
    fn veils(self) -> usize {
        if self.kind.has_veil() { 3 } else { 0 }
    }
    fn mixes(self) -> usize {
        if self.kind == Kind::Balance { 3 } else { 3 * self.kind.terms() }
    }
    fn slopes(self) -> usize {
        if self.with_slope { 2 } else { 0 }
    }
    fn mix_at(self) -> usize {
        self.tones() + self.veils()
    }
    fn slope_at(self) -> usize {
        self.mix_at() + self.mixes()
    }
    fn count(self) -> usize {
        self.slope_at() + self.slopes()
    }
    /// Entry of `mix` behind an unknown: (term, channel).
    fn mix_place(self, k: usize) -> (usize, usize) {
        if self.kind == Kind::Balance { (k, k) } else { (k / 3, k % 3) }
    }

    fn values(self, model: &Model) -> DVector<f64> {
        let mut out = DVector::zeros(self.count());
        if self.tones() > 0 {
            out[0] = model.tone.power;
            (0..COEFFICIENTS).for_each(|k| out[1 + k] = model.tone.gain[k]);
        }
        (0..self.veils()).for_each(|c| out[self.tones() + c] = model.veil[c]);
        for k in 0..self.mixes() {
            let (t, c) = self.mix_place(k);
            out[self.mix_at() + k] = model.mix[t][c];
        }
        (0..self.slopes()).for_each(|k| out[self.slope_at() + k] = model.slope[k]);
        out
    }

    fn put(self, model: &Model, values: &DVector<f64>) -> Model {
        let mut out = model.clone();
        if self.tones() > 0 {
            out.tone = Tone { power: values[0], gain: std::array::from_fn(|k| values[1 + k]) }.limited();
        }
        (0..self.veils()).for_each(|c| out.veil[c] = values[self.tones() + c].clamp(-0.03, 0.03));
        for k in 0..self.mixes() {
            let (t, c) = self.mix_place(k);
            out.mix[t][c] = values[self.mix_at() + k];
        }
        (0..self.slopes()).for_each(|k| out.slope[k] = values[self.slope_at() + k].clamp(-1.5, 1.5));
        out
    }

    fn expected(self) -> Vec<Expected> {
        let one = |k, at, spread| Expected { terms: vec![(k, 1.0)], at, spread };
        let mut out: Vec<Expected> = (0..self.tones())
            .map(|k| one(k, 0.0, if k == 0 { spread::POWER } else { spread::GAIN }))
            .collect();
        out.extend((3..self.tones()).map(|k| Expected {
            terms: vec![(k - 2, 1.0), (k - 1, -2.0), (k, 1.0)],
            at: 0.0,
            spread: spread::BEND,
        }));
        out.extend((0..self.veils()).map(|c| one(self.tones() + c, 0.0, spread::VEIL)));
        out.extend((0..self.mixes()).map(|k| match self.mix_place(k) {
            (t, c) if t == c => one(self.mix_at() + k, 1.0, spread::DIAGONAL),
            (t, _) if t < 3 => one(self.mix_at() + k, 0.0, spread::MIX),
            _ => one(self.mix_at() + k, 0.0, spread::ROOT),
        }));
        out.extend((0..self.slopes()).map(|k| one(self.slope_at() + k, 0.0, spread::SLOPE)));
        out
    }
}

/// What is made small.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Goal {
    /// CIEDE2000 made linear, with damping.
    Colour,
    /// Plain least squares in XYZ, no damping: how the published fits are made. For tests.
    #[cfg(test)]
    PlainXyz,
}

impl Goal {
    fn damping(self, unknowns: Unknowns) -> Vec<Expected> {
        match self {
            Goal::Colour => unknowns.expected(),
            #[cfg(test)]
            Goal::PlainXyz => Vec::new(),
        }
    }
    /// Residual of one patch, and its derivative by XYZ.
    fn residual(self, xyz: XyzD50, wanted: LabD50) -> (Vector3<f64>, Matrix3<f64>) {
        match self {
            Goal::Colour => {
                let scale = metric(wanted);
                (scale * lab_step(xyz.to_lab(), wanted), scale * lab_slope(xyz))
            }
            #[cfg(test)]
            Goal::PlainXyz => {
                let XyzD50 { x, y, z } = wanted.to_xyz();
                (Vector3::new(xyz.x - x, xyz.y - y, xyz.z - z), Matrix3::identity())
            }
        }
    }
}

/// Straightened problem at a model: one block of three rows a patch, unweighted.
struct Linear {
    residuals: Vec<Vector3<f64>>,
    rows: Vec<Matrix3xX<f64>>,
    /// Triangle of the QR decomposition of all weighted rows and the damping.
    r: DMatrix<f64>,
    step: DVector<f64>,
}

impl Model {
    /// Gauss-Newton steps from here. `weights` are of squared residuals.
    pub fn fitted(&self, samples: &[Sample], weights: &[f64], steps: usize) -> Self {
        self.fitted_to(Goal::Colour, samples, weights, steps)
    }

    pub(super) fn fitted_to(&self, goal: Goal, samples: &[Sample], weights: &[f64], steps: usize) -> Self {
        let unknowns = Unknowns::of(self);
        let mut best = self.clone();
        let mut cost = best.cost(goal, samples, weights);
        for _ in 0..steps {
            let Some(linear) = best.linear(goal, samples, weights) else { break };
            let from = unknowns.values(&best);
            let mut share = 1.0;
            let mut gained = 0.0;
            for _ in 0..5 {
                let next = unknowns.put(&best, &(&from + &linear.step * share));
                let next_cost = next.cost(goal, samples, weights);
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

    fn cost(&self, goal: Goal, samples: &[Sample], weights: &[f64]) -> f64 {
        let unknowns = Unknowns::of(self);
        let one = |s: &Sample| goal.residual(self.levelled_xyz(s), s.lab).0.norm_squared();
        let patches: f64 = samples.iter().zip(weights).map(|(s, w)| w * one(s)).sum();
        let values = unknowns.values(self);
        let damping: f64 = goal.damping(unknowns).iter().map(|e| e.distance(&values).powi(2)).sum();
        let all = patches + damping;
        if all.is_finite() { all } else { f64::INFINITY }
    }

    /// XYZ of a patch in the light at the card's middle.
    fn levelled_xyz(&self, s: &Sample) -> XyzD50 {
        let xyz = srgb_matrix() * self.mixed(&self.terms(s.light)) * self.levelled(s.place);
        XyzD50 { x: xyz[0], y: xyz[1], z: xyz[2] }
    }

    fn linear(&self, goal: Goal, samples: &[Sample], weights: &[f64]) -> Option<Linear> {
        let unknowns = Unknowns::of(self);
        let damping = goal.damping(unknowns);
        let (n, m) = (samples.len() * 3, unknowns.count());
        let mut matrix = DMatrix::<f64>::zeros((n + damping.len()).max(m), m);
        let mut wanted = DVector::<f64>::zeros(matrix.nrows());
        let (mut residuals, mut rows) = (Vec::new(), Vec::new());
        for (i, (s, weight)) in samples.iter().zip(weights).enumerate() {
            let (residual, slope) = goal.residual(self.levelled_xyz(s), s.lab);
            let row = self.patch_rows(unknowns, s, &slope);
            let root = weight.sqrt();
            matrix.fixed_rows_mut::<3>(3 * i).copy_from(&(&row * root));
            wanted.fixed_rows_mut::<3>(3 * i).copy_from(&(residual * root));
            residuals.push(residual);
            rows.push(row);
        }
        let values = unknowns.values(self);
        for (k, expected) in damping.iter().enumerate() {
            expected.terms.iter().for_each(|(at, w)| matrix[(n + k, *at)] = w / expected.spread);
            wanted[n + k] = expected.distance(&values);
        }
        let qr = matrix.qr();
        qr.q_tr_mul(&mut wanted);
        let r = qr.r();
        let step = -r.solve_upper_triangular(&wanted.rows(0, m))?;
        step.iter().all(|v| v.is_finite()).then_some(Linear { residuals, rows, r, step })
    }

    /// Derivative of one patch's residual by the unknowns; `slope` is that by XYZ.
    fn patch_rows(&self, unknowns: Unknowns, s: &Sample, slope: &Matrix3<f64>) -> Matrix3xX<f64> {
        let mut out = Matrix3xX::zeros(unknowns.count());
        let share = self.levelled(s.place);
        let by_rgb = slope * srgb_matrix() * share;
        let terms = self.terms(s.light);
        let by_balanced = by_rgb * self.mix_slope(&terms);
        if unknowns.tones() > 0 {
            let balanced = self.balanced(s.light);
            for (c, &balanced) in balanced.iter().enumerate() {
                let (first, shares) = Tone::basis(s.light[c]);
                let mut column = out.column_mut(0);
                column += by_balanced.column(c) * (balanced * Tone::power_basis(s.light[c]));
                for (k, share) in shares.iter().enumerate() {
                    let change = by_balanced.column(c) * (balanced * share);
                    let mut column = out.column_mut(1 + first + k);
                    column += change;
                }
            }
        }
        for c in 0..unknowns.veils() {
            out.column_mut(unknowns.tones() + c).copy_from(&-by_balanced.column(c));
        }
        for k in 0..unknowns.mixes() {
            let (t, c) = unknowns.mix_place(k);
            out.column_mut(unknowns.mix_at() + k).copy_from(&(by_rgb.column(c) * terms[t]));
        }
        if unknowns.slopes() > 0 {
            let light = by_rgb * self.mixed(&terms);
            for k in 0..2 {
                out.column_mut(unknowns.slope_at() + k).copy_from(&(light * -s.place[k]));
            }
        }
        out
    }

    /// Derivative of the mixed light by the balanced channels.
    fn mix_slope(&self, terms: &[f64; 6]) -> Matrix3<f64> {
        let mut out = Matrix3::from_fn(|r, c| self.mix[c][r]);
        if self.kind.has_roots() {
            // d sqrt(x y) / dx = sqrt(x y) / 2 x; none at a channel that has no light.
            for (t, [a, b]) in [[0, 1], [1, 2], [0, 2]].into_iter().enumerate() {
                for c in [a, b] {
                    let by = if terms[c] > 1e-9 { 0.5 * terms[3 + t] / terms[c] } else { 0.0 };
                    (0..3).for_each(|r| out[(r, c)] += self.mix[3 + t][r] * by);
                }
            }
        }
        out
    }

    /// What the model would say of each patch had it not seen it, to first order: the patch's own pull
    /// on the fit is taken back (Cook & Weisberg 1982, section 2.2, for three rows at once). `None`
    /// where the problem is not well posed.
    pub fn held_out(&self, samples: &[Sample], weights: &[f64]) -> Option<Vec<LabD50>> {
        let linear = self.linear(Goal::Colour, samples, weights)?;
        let r_t = linear.r.transpose();
        let parts = samples.iter().zip(weights).zip(linear.rows.iter().zip(&linear.residuals));
        parts
            .map(|((s, weight), (rows, residual))| {
                let q = r_t.solve_lower_triangular(&rows.transpose())?;
                let own = q.tr_mul(&q);
                let own = Matrix3::from_fn(|r, c| own[(r, c)]) * *weight;
                let without = (Matrix3::identity() - own).try_inverse()? * residual;
                let lab = metric(s.lab).try_inverse()? * without;
                Some(LabD50 { l: s.lab.l + lab[0], a: s.lab.a + lab[1], b: s.lab.b + lab[2] })
            })
            .collect()
    }
}

impl Expected {
    /// How far the unknowns stand from it, over its spread.
    fn distance(&self, values: &DVector<f64>) -> f64 {
        (self.terms.iter().map(|(k, w)| w * values[*k]).sum::<f64>() - self.at) / self.spread
    }
}
