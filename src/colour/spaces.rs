//! The colour types. The space and the white point are in the name of the type.

use super::adaptation::{bradford, cielab, cielab_to_xyz};
use super::constants::{SRGB_TO_XYZ_D65, WHITE_D50, WHITE_SRGB};
use super::matrix::{Matrix3, apply, inverse, product};
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
    /// Hue angle in degrees, 0 up to but not including 360; 0 where chroma is 0.
    pub h: f64,
}

/// Linear sRGB straight to XYZ for D50: the printed matrix, then linear Bradford.
const RGB_TO_XYZ_D50: Matrix3 = product(&bradford(WHITE_SRGB, WHITE_D50), &SRGB_TO_XYZ_D65);
const XYZ_D50_TO_RGB: Matrix3 = inverse(&RGB_TO_XYZ_D50);

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

impl From<[f64; 3]> for XyzD50 {
    fn from([x, y, z]: [f64; 3]) -> Self {
        Self { x, y, z }
    }
}

impl From<XyzD50> for [f64; 3] {
    fn from(xyz: XyzD50) -> Self {
        [xyz.x, xyz.y, xyz.z]
    }
}

impl LinearRgb {
    /// XYZ for D50: the matrix of IEC 61966-2-1:1999, then linear Bradford (ISO 15076-1 annex E).
    /// 1, 1, 1 becomes the D50 white. Nothing is clamped.
    pub fn to_xyz_d50(self) -> XyzD50 {
        apply(&RGB_TO_XYZ_D50, self.0.map(f64::from)).into()
    }
}

impl XyzD50 {
    /// CIELAB, CIE 15:2018 eq. 8.3 to 8.11, with kappa and epsilon as exact fractions.
    pub fn to_lab(self) -> LabD50 {
        cielab(self.into(), WHITE_D50).into()
    }

    /// Linear sRGB, the inverse of [`LinearRgb::to_xyz_d50`]. Not clamped: a colour outside the
    /// gamut has components below 0 or above 1.
    pub fn to_linear_rgb(self) -> LinearRgb {
        LinearRgb(apply(&XYZ_D50_TO_RGB, self.into()).map(|v| v as f32))
    }
}

impl LabD50 {
    /// Back to XYZ, the inverse of [`XyzD50::to_lab`].
    pub fn to_xyz(self) -> XyzD50 {
        cielab_to_xyz(self.into(), WHITE_D50).into()
    }

    /// The polar form, CIE 15:2018 eq. 8.12 and 8.13.
    pub fn to_lch(self) -> LchD50 {
        let c = self.a.hypot(self.b);
        let h = if c == 0.0 { 0.0 } else { self.b.atan2(self.a).to_degrees() };
        // A hue a hair below 0 rounds to 360 itself when a turn is added.
        let h = if h < 0.0 { h + 360.0 } else { h };
        LchD50 { l: self.l, c, h: if h >= 360.0 { 0.0 } else { h } }
    }
}

impl LchD50 {
    /// Back to the rectangular form.
    pub fn to_lab(self) -> LabD50 {
        let (sin, cos) = self.h.to_radians().sin_cos();
        LabD50 { l: self.l, a: self.c * cos, b: self.c * sin }
    }
}
