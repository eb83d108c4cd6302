//! Undoing a camera's own tone curve.
//!
//! A camera's JPEG has seldom the plain sRGB curve. Two shapes are allowed for, both monotone: a power
//! (contrast about black) and an S (contrast about middle grey), laid on the encoded value:
//! `encoded = s(e)`, `s(x) = (1 - c) x + c (3 x^2 - 2 x^3)`, and `e = encode(light)^gamma`.

/// The sRGB curve of IEC 61966-2-1, extended as an odd function.
pub(crate) fn encode(light: f64) -> f64 {
    let v = light.abs();
    (if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }).copysign(light)
}

/// Inverse of [`encode`].
pub(crate) fn decode(value: f64) -> f64 {
    let v = value.abs();
    (if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }).copysign(value)
}

/// A tone curve that was laid over the light; [`Tone::undo`] takes it off again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tone {
    /// Power on the encoded value; 1: none. 0.3 to 3.
    pub gamma: f64,
    /// Strength of the S; 0: none. -1.5 to 0.9.
    pub contrast: f64,
}

impl Tone {
    pub const NONE: Self = Self { gamma: 1.0, contrast: 0.0 };

    /// Keeps the curve monotone and its slopes finite.
    pub fn limited(self) -> Self {
        Self { gamma: self.gamma.clamp(0.3, 3.0), contrast: self.contrast.clamp(-1.5, 0.9) }
    }

    /// Scene light of one decoded value. Odd below zero; above the white it goes on with the slope it
    /// has there, so that it neither folds back nor runs away.
    pub fn undo(self, light: f64) -> f64 {
        if self == Self::NONE {
            return light;
        }
        let v = light.abs();
        let out = if v <= 1.0 {
            self.undo_inside(v)
        } else {
            let step = 1e-3;
            1.0 + (v - 1.0) * ((1.0 - self.undo_inside(1.0 - step)) / step).min(3.0)
        };
        out.copysign(light)
    }

    fn undo_inside(self, light: f64) -> f64 {
        decode(inverse_s(encode(light), self.contrast).powf(1.0 / self.gamma))
    }
}

/// Solves `(1 - c) x + c (3 x^2 - 2 x^3) = y` on 0..1 by Newton steps kept inside a shrinking bracket.
fn inverse_s(y: f64, c: f64) -> f64 {
    if c == 0.0 || y <= 0.0 {
        return y.max(0.0);
    }
    if y >= 1.0 {
        return 1.0;
    }
    let (mut low, mut high, mut x) = (0.0, 1.0, y);
    for _ in 0..40 {
        let f = (1.0 - c) * x + c * x * x * (3.0 - 2.0 * x) - y;
        if f.abs() < 1e-13 {
            break;
        }
        if f > 0.0 {
            high = x
        } else {
            low = x
        }
        let slope = (1.0 - c) + 6.0 * c * x * (1.0 - x);
        let next = x - f / slope;
        x = if next > low && next < high { next } else { 0.5 * (low + high) };
    }
    x
}
