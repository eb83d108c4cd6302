//! The colour types. The space and the white point are in the name of the type.

use serde::{Deserialize, Serialize};

/// Linear light with the primaries of IEC 61966-2-1 (sRGB, white D65). 1.0 is the encoding's white.
/// Never clamped: wide-gamut photographs may give values below 0 or above 1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LinearRgb(pub [f32; 3]);

/// CIE XYZ adapted to D50, Y = 1.0 for the perfect reflecting diffuser.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct XyzD50 {
    /// X, 0.9642 for the diffuser.
    pub x: f64,
    /// Y, 1.0 for the diffuser.
    pub y: f64,
    /// Z, 0.8249 for the diffuser.
    pub z: f64,
}

/// CIELAB for D50 and the CIE 1931 2 degree observer.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(from = "[f64; 3]", into = "[f64; 3]")]
pub struct LabD50 {
    /// Lightness, 0..100.
    pub l: f64,
    /// Red (+) to green (-).
    pub a: f64,
    /// Yellow (+) to blue (-).
    pub b: f64,
}

/// The polar form of [`LabD50`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LchD50 {
    /// Lightness, 0..100.
    pub l: f64,
    /// Chroma C*ab.
    pub c: f64,
    /// Hue angle in degrees, 0..360.
    pub h: f64,
}

impl From<[f64; 3]> for LabD50 {
    fn from([l, a, b]: [f64; 3]) -> Self {
        Self { l, a, b }
    }
}

impl From<LabD50> for [f64; 3] {
    fn from(lab: LabD50) -> Self {
        [lab.l, lab.a, lab.b]
    }
}

/// The D50 white of ISO 15076-1 (profile connection space).
pub(crate) const WHITE_D50: [f64; 3] = [0.964_2, 1.0, 0.824_9];

impl XyzD50 {
    /// CIELAB, CIE 15:2018 eq. 8.3 to 8.11, with kappa and epsilon as exact fractions.
    pub fn to_lab(self) -> LabD50 {
        let f = |t: f64| if t > 216.0 / 24389.0 { t.cbrt() } else { (24389.0 / 27.0 * t + 16.0) / 116.0 };
        let [x, y, z] = [self.x / WHITE_D50[0], self.y / WHITE_D50[1], self.z / WHITE_D50[2]].map(f);
        LabD50 { l: 116.0 * y - 16.0, a: 500.0 * (x - y), b: 200.0 * (y - z) }
    }
}

impl LabD50 {
    /// Back to XYZ, the inverse of [`XyzD50::to_lab`].
    pub fn to_xyz(self) -> XyzD50 {
        let y = (self.l + 16.0) / 116.0;
        let g = |f: f64| if f > 6.0 / 29.0 { f * f * f } else { (116.0 * f - 16.0) * 27.0 / 24389.0 };
        XyzD50 {
            x: WHITE_D50[0] * g(y + self.a / 500.0),
            y: WHITE_D50[1] * g(y),
            z: WHITE_D50[2] * g(y - self.b / 200.0),
        }
    }

    /// The polar form.
    pub fn to_lch(self) -> LchD50 {
        let h = self.b.atan2(self.a).to_degrees();
        LchD50 { l: self.l, c: self.a.hypot(self.b), h: if h < 0.0 { h + 360.0 } else { h } }
    }
}
