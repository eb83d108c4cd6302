//! Correction models: from decoded light to XYZ for D50.
//!
//! Each is `light -> tone taken off -> grey balance -> veil taken off -> terms -> 3 x T matrix -> XYZ`.
//! The terms are the channels themselves, or those of the root-polynomial of degree 2 (Finlayson,
//! Mackiewicz & Hurlbert 2015), which do not change a colour when only the exposure changes.
//! How they are fitted is in `fit.rs`.

use super::tone::Tone;
use crate::colour::{LabD50, XyzD50};
use nalgebra::{Matrix3, Vector3};

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
    Affine,
    RootPolynomial,
    CurveMatrix,
    CurveRootPolynomial,
}

impl Kind {
    pub const ALL: [Self; 6] = [
        Self::Balance,
        Self::Matrix,
        Self::Affine,
        Self::RootPolynomial,
        Self::CurveMatrix,
        Self::CurveRootPolynomial,
    ];
    pub fn name(self) -> &'static str {
        match self {
            Self::Balance => "grey balance",
            Self::Matrix => "3x3",
            Self::Affine => "veil, then 3x3",
            Self::RootPolynomial => "root-polynomial degree 2",
            Self::CurveMatrix => "tone curve and veil, then 3x3",
            Self::CurveRootPolynomial => "tone curve and veil, then root-polynomial degree 2",
        }
    }
    /// Whether a tone curve is fitted.
    pub fn has_curve(self) -> bool {
        matches!(self, Self::CurveMatrix | Self::CurveRootPolynomial)
    }
    /// Whether scattered light is taken off, channel by channel: with the matrix an affine map.
    pub fn has_veil(self) -> bool {
        self.has_curve() || self == Self::Affine
    }
    pub fn has_roots(self) -> bool {
        matches!(self, Self::RootPolynomial | Self::CurveRootPolynomial)
    }
    pub fn terms(self) -> usize {
        if self.has_roots() { 6 } else { 3 }
    }
    /// Numbers of patches with which the model is tried; each patch gives three values. The root terms are
    /// damped, so the last model holds the one before it as nearly a part: where there are patches for
    /// both, choosing between them by two dozen held-out patches is left to chance, and lost more than it
    /// gained (withheld patches of real cards).
    pub fn patches(self) -> std::ops::RangeInclusive<usize> {
        match self {
            Self::Balance => 4..=usize::MAX,
            Self::Matrix | Self::Affine => 8..=usize::MAX,
            Self::CurveMatrix => 10..=13,
            Self::RootPolynomial | Self::CurveRootPolynomial => 14..=usize::MAX,
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
    /// Light scattered over the picture, of the white's, taken off before the mixing.
    pub veil: [f64; 3],
    /// One row a term, columns linear R, G, B before [`SRGB_TO_XYZ_D50`].
    pub mix: [[f64; 3]; 6],
    /// Change of the logarithm of light from one side of the card to the other, along u and v.
    pub slope: [f64; 2],
    pub with_slope: bool,
    /// Logarithm of the light that colours are relative to, over the light at the card's middle.
    pub base: f64,
}

impl Model {
    /// Grey balance alone: the geometric mean over the patches of wanted over seen light.
    pub fn balance(samples: &[Sample]) -> Self {
        let mut gains = [1.0; 3];
        for (c, gain) in gains.iter_mut().enumerate() {
            // Weighted by lightness, so that crushed darks and colours outside the gamut do not rule.
            let (mut sum, mut weights) = (0.0, 0.0);
            for s in samples {
                let wanted = reference_light(s.lab)[c];
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
            tone: Tone::default(),
            gains,
            veil: [0.0; 3],
            mix,
            slope: [0.0; 2],
            with_slope: false,
            base: 0.0,
        }
    }

    /// Light after grey balance, before the veil is taken off.
    pub fn balanced(&self, light: [f64; 3]) -> [f64; 3] {
        std::array::from_fn(|c| self.gains[c] * self.tone.undo(light[c]))
    }

    /// Terms of one light, the first [`Kind::terms`] of them filled.
    pub fn terms(&self, light: [f64; 3]) -> [f64; 6] {
        let mut x = self.balanced(light);
        (0..3).for_each(|c| x[c] -= self.veil[c]);
        let root =
            |a: f64, b: f64| if self.kind.has_roots() { (a.max(0.0) * b.max(0.0)).sqrt() } else { 0.0 };
        [x[0], x[1], x[2], root(x[0], x[1]), root(x[1], x[2]), root(x[0], x[2])]
    }

    /// Linear sRGB after the correction.
    pub fn mixed(&self, terms: &[f64; 6]) -> Vector3<f64> {
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

    /// Share of the light at the card's middle that falls on a place of the card, inverse.
    pub fn levelled(&self, place: [f64; 2]) -> f64 {
        (-self.slope[0] * place[0] - self.slope[1] * place[1]).exp()
    }

    /// Colour of a patch, with the slope of light over the card taken off.
    pub fn patch(&self, light: [f64; 3], place: [f64; 2]) -> LabD50 {
        let XyzD50 { x, y, z } = self.apply(light);
        let share = self.base.exp() * self.levelled(place);
        XyzD50 { x: x * share, y: y * share, z: z * share }.to_lab()
    }
}

pub(crate) fn srgb_matrix() -> Matrix3<f64> {
    Matrix3::from_fn(|r, c| SRGB_TO_XYZ_D50[r][c])
}

/// Linear sRGB of a reference colour, unclamped.
pub(crate) fn reference_light(lab: LabD50) -> [f64; 3] {
    let XyzD50 { x, y, z } = lab.to_xyz();
    let inverse = srgb_matrix().try_inverse().unwrap_or_else(Matrix3::identity);
    (inverse * Vector3::new(x, y, z)).into()
}

#[cfg(test)]
#[path = "models_tests.rs"]
mod tests;
