//! Whiteness, tint and yellowness of ASTM E313, with the limits inside which the numbers mean something.

use super::LabD50;
use super::adaptation::adapt;
use super::constants as k;
use serde::{Deserialize, Serialize};

/// Illuminant and observer an index is computed for. The two differ: always state which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum IndexIlluminant {
    /// D65, CIE 1931 2 degree observer. The one CIE recommends for whiteness.
    #[serde(rename = "D65/2")]
    D65,
    /// C, CIE 1931 2 degree observer.
    #[serde(rename = "C/2")]
    C,
}

impl IndexIlluminant {
    /// `D65/2` or `C/2`.
    pub fn name(self) -> &'static str {
        match self {
            Self::D65 => "D65/2",
            Self::C => "C/2",
        }
    }

    /// XYZ of its white, Y = 1 (CIE 15:2018).
    pub fn white(self) -> [f64; 3] {
        match self {
            Self::D65 => k::WHITE_D65,
            Self::C => k::WHITE_C,
        }
    }

    /// x, y of the perfect diffuser as ASTM E313 prints it.
    fn e313_xy(self) -> [f64; 2] {
        match self {
            Self::D65 => k::E313_WHITE_XY_D65,
            Self::C => k::E313_WHITE_XY_C,
        }
    }

    fn e313_yellowness(self) -> [f64; 2] {
        match self {
            Self::D65 => k::E313_YELLOWNESS_D65,
            Self::C => k::E313_YELLOWNESS_C,
        }
    }

    /// The colour as seen under this illuminant: linear Bradford from D50.
    fn xyz_of(self, lab: LabD50) -> [f64; 3] {
        adapt(lab.to_xyz().into(), k::WHITE_D50, self.white())
    }
}

/// Whiteness and tint. Report `value` as whiteness only where `valid` is true.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Whiteness {
    /// Whiteness W; 100 is the perfect diffuser, higher is bluer.
    pub value: f64,
    /// Tint T; positive greenish, negative reddish.
    pub tint: f64,
    /// What it was computed for.
    pub illuminant: IndexIlluminant,
    /// Inside the limits W > 40, W < 5Y - 280, -4 < T < 2 (CIE 15:2004; Y in percent). ASTM E313-20, 5.2
    /// names limits in Munsell value and chroma; those of CIE need no chart and have no gaps between hues.
    pub valid: bool,
}

/// Yellowness. Report `value` as yellowness only where `valid` is true.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Yellowness {
    /// Yellowness YI; 0 is the perfect diffuser, negative is blueness. NaN where Y is not above 0.
    pub value: f64,
    /// What it was computed for.
    pub illuminant: IndexIlluminant,
    /// Y is above 0 and the dominant wavelength lies within 570 to 580 nm (ASTM E313-20, 5.2).
    /// An exact neutral has no dominant wavelength and is not valid.
    pub valid: bool,
}

/// Whiteness of a colour, ASTM E313 by way of linear Bradford to the illuminant's white.
pub fn whiteness(lab: LabD50, illuminant: IndexIlluminant) -> Whiteness {
    whiteness_of_xyz(illuminant.xyz_of(lab), illuminant)
}

/// Whiteness of XYZ measured under the illuminant itself, Y = 1 for the perfect diffuser.
/// Without light (X + Y + Z not above 0) value and tint are NaN and not valid.
pub fn whiteness_of_xyz(xyz: [f64; 3], illuminant: IndexIlluminant) -> Whiteness {
    let [xn, yn] = illuminant.e313_xy();
    let [x, y] = chromaticity(xyz);
    let luminance = 100.0 * xyz[1];
    let value = luminance + k::E313_WHITENESS[0] * (xn - x) + k::E313_WHITENESS[1] * (yn - y);
    let tint = k::E313_TINT[0] * (xn - x) - k::E313_TINT[1] * (yn - y);
    let valid = value > 40.0 && value < 5.0 * luminance - 280.0 && tint > -4.0 && tint < 2.0;
    Whiteness { value, tint, illuminant, valid }
}

/// Yellowness of a colour, ASTM E313 by way of linear Bradford to the illuminant's white.
pub fn yellowness(lab: LabD50, illuminant: IndexIlluminant) -> Yellowness {
    yellowness_of_xyz(illuminant.xyz_of(lab), illuminant)
}

/// Yellowness of XYZ measured under the illuminant itself, any scale: 100 (Cx X - Cz Z) / Y.
pub fn yellowness_of_xyz(xyz: [f64; 3], illuminant: IndexIlluminant) -> Yellowness {
    let [cx, cz] = illuminant.e313_yellowness();
    let lit = xyz[1] > 0.0;
    let value = if lit { 100.0 * (cx * xyz[0] - cz * xyz[2]) / xyz[1] } else { f64::NAN };
    Yellowness { value, illuminant, valid: lit && is_yellow(xyz, illuminant) }
}

/// Whether the line from the white through the colour meets the spectrum between 570 and 580 nm.
fn is_yellow(xyz: [f64; 3], illuminant: IndexIlluminant) -> bool {
    let [xn, yn] = illuminant.e313_xy();
    let from_white = |xyz| {
        let [x, y] = chromaticity(xyz);
        [x - xn, y - yn]
    };
    let side = |p: [f64; 2], q: [f64; 2]| p[0] * q[1] - p[1] * q[0];
    let (colour, greener, redder) =
        (from_white(xyz), from_white(k::OBSERVER_570_NM), from_white(k::OBSERVER_580_NM));
    // Between the two directions, which are less than a half turn apart. Strict on one side, so that
    // the white itself, which has no direction, fails.
    side(redder, colour) >= 0.0 && side(colour, greener) > 0.0
}

/// x, y of XYZ; NaN without light.
fn chromaticity(xyz: [f64; 3]) -> [f64; 2] {
    let sum = xyz[0] + xyz[1] + xyz[2];
    let sum = if sum > 0.0 { sum } else { f64::NAN };
    [xyz[0] / sum, xyz[1] / sum]
}
