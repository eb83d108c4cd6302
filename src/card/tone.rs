//! Undoing a camera's own tone curve.
//!
//! A camera's JPEG has seldom the plain sRGB curve: darks are pressed down, lights are drawn together
//! below the white. What the camera did is not known, only that it is smooth and keeps the order of
//! lights. So the scene's light is the decoded light times a gain. Its logarithm is a power of the encoded
//! value, for the darks, plus a smooth curve over it, for the rest: a uniform cubic B-spline (de Boor
//! 1978) whose roughness is held down in the fit (P-splines: Eilers & Marx 1996).

/// Coefficients of the spline: three more than its pieces over the encoded values 0 to 1.
pub(crate) const COEFFICIENTS: usize = 8;
const PIECES: f64 = (COEFFICIENTS - 3) as f64;

/// The sRGB curve of IEC 61966-2-1, extended as an odd function.
pub(crate) fn encode(light: f64) -> f64 {
    let v = light.abs();
    (if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }).copysign(light)
}

/// Logarithm of the gain, in parts; all 0: the plain curve.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Tone {
    /// Exponent on the encoded value, less 1. -0.5 to 1.5.
    pub power: f64,
    /// Coefficients of the spline over the encoded value.
    pub gain: [f64; COEFFICIENTS],
}

impl Tone {
    /// Scene light of one decoded value. Odd below zero; above the white the gain stays that of the white.
    pub fn undo(self, light: f64) -> f64 {
        if self == Self::default() { light } else { light * self.log_gain(light).exp() }
    }

    fn log_gain(self, light: f64) -> f64 {
        let (first, basis) = Self::basis(light);
        Self::power_basis(light) * self.power
            + basis.iter().enumerate().map(|(k, b)| b * self.gain[first + k]).sum::<f64>()
    }

    /// What [`Tone::power`] multiplies: the logarithm of the sRGB curve's power part. Finite at black.
    pub fn power_basis(light: f64) -> f64 {
        2.4 * ((encode(light).abs().min(1.0) + 0.055) / 1.055).ln()
    }

    /// The four coefficients that bear on a decoded value: index of the first, and their shares.
    pub fn basis(light: f64) -> (usize, [f64; 4]) {
        let t = encode(light).abs().min(1.0) * PIECES;
        let first = (t as usize).min(COEFFICIENTS - 4);
        let u = t - first as f64;
        let v = 1.0 - u;
        let shares = [v * v * v, u * u * (3.0 * u - 6.0) + 4.0, v * v * (3.0 * v - 6.0) + 4.0, u * u * u];
        (first, shares.map(|s| s / 6.0))
    }

    /// Holds the curve monotone. The slope of the logarithm of the sRGB curve, with the power, is at
    /// least `(1 + min(power, 0)) 2.4 / (e + 0.055)` at an encoded value `e`; the spline may take away
    /// most of that, not all. Its own slope is a mean of the differences of its coefficients times the
    /// number of pieces.
    pub fn limited(self) -> Self {
        let mut out = self;
        out.power = self.power.clamp(-0.5, 1.5);
        for k in 1..COEFFICIENTS {
            let reaches = (k as f64 / PIECES).min(1.0);
            let steepest = MOST_TAKEN * (1.0 + out.power).min(1.0) * 2.4 / (reaches + 0.055) / PIECES;
            let step = (self.gain[k] - self.gain[k - 1]).clamp(-steepest, steepest);
            out.gain[k] = out.gain[k - 1] + step;
        }
        out
    }
}

/// Share of the sRGB curve's slope that the spline may take away.
const MOST_TAKEN: f64 = 0.8;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_basis_is_that_of_a_uniform_cubic_b_spline() {
        // Values at a knot and half way, de Boor 1978: 1/6, 4/6, 1/6 and 1/48, 23/48, 23/48, 1/48.
        let near = |light: f64, wanted: [f64; 4]| {
            let (_, got) = Tone::basis(light);
            assert!(got.iter().zip(wanted).all(|(g, w)| (g - w).abs() < 1e-9), "{got:?}");
        };
        near(0.0, [1.0 / 6.0, 4.0 / 6.0, 1.0 / 6.0, 0.0]);
        // The decoded value of 0.5 of the encoding: half way between two of five pieces.
        near(((0.5f64 + 0.055) / 1.055).powf(2.4), [1.0 / 48.0, 23.0 / 48.0, 23.0 / 48.0, 1.0 / 48.0]);
        for i in 0..=130 {
            let (first, shares) = Tone::basis(f64::from(i) / 100.0);
            assert!(first + 4 <= COEFFICIENTS && (shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn the_curve_is_monotone_whatever_the_fit_asks_for() {
        let mut state = 0x1234_5678_9abc_def1u64;
        for _ in 0..300 {
            let mut unit = || {
                // xorshift64 (Marsaglia 2003).
                state ^= state << 13;
                state ^= state >> 7;
                state ^= state << 17;
                (state >> 11) as f64 / (1u64 << 53) as f64
            };
            let tone = Tone { power: unit() * 3.0 - 1.0, gain: std::array::from_fn(|_| unit() * 8.0 - 4.0) };
            let tone = tone.limited();
            let values: Vec<f64> = (-300..=2000).map(|i| tone.undo(f64::from(i) / 1000.0)).collect();
            assert!(values.windows(2).all(|w| w[1] > w[0]), "{tone:?}");
        }
    }
}
