//! Colour differences.

use super::LabD50;
use palette::color_difference::Ciede2000;
use serde::Serialize;

/// CIEDE2000 (CIE 142-2001, ISO/CIE 11664-6) with all weights 1.
pub fn ciede2000(one: LabD50, other: LabD50) -> f64 {
    type Lab = palette::Lab<palette::white_point::D50, f64>;
    Lab::new(one.l, one.a, one.b).difference(Lab::new(other.l, other.a, other.b))
}

/// What a CIEDE2000 difference is made of: `total^2 = lightness^2 + chroma^2 + hue^2 + rotation`.
///
/// The first three are signed in CIEDE2000 units, `other` minus `one`: +2 in `lightness` means that
/// `other` is lighter by 2 units. A positive `hue` is a turn against the clock, from red towards yellow.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Ciede2000Parts {
    /// dL'/SL.
    pub lightness: f64,
    /// dC'/SC.
    pub chroma: f64,
    /// dH'/SH.
    pub hue: f64,
    /// RT (dC'/SC)(dH'/SH), in squared units; away from blue it is next to nothing.
    pub rotation: f64,
}

impl Ciede2000Parts {
    /// The CIEDE2000 difference, put together again.
    pub fn total(self) -> f64 {
        let squared = self.lightness.powi(2) + self.chroma.powi(2) + self.hue.powi(2) + self.rotation;
        // Rounding alone could make it negative: |RT| stays below 2.
        squared.max(0.0).sqrt()
    }
}

/// The terms of [`ciede2000`]: Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1) 21-30, eq. 2 to 22,
/// with every printed branch. (`palette` leaves out the mean hue's second branch, for a hue sum of 360
/// and more. That moves only the rotation angle, by under 0.0003 degree.)
pub fn ciede2000_parts(one: LabD50, other: LabD50) -> Ciede2000Parts {
    let mean_chroma = (one.a.hypot(one.b) + other.a.hypot(other.b)) / 2.0;
    let stretch = 1.0 + 0.5 * (1.0 - saturation(mean_chroma));
    let (a1, a2) = (one.a * stretch, other.a * stretch);
    let (c1, c2) = (a1.hypot(one.b), a2.hypot(other.b));
    let (h1, h2) = (hue_degrees(a1, one.b), hue_degrees(a2, other.b));
    let grey = c1 * c2 == 0.0;

    let turn = h2 - h1;
    let turn = match turn {
        _ if grey => 0.0,
        _ if turn > 180.0 => turn - 360.0,
        _ if turn < -180.0 => turn + 360.0,
        _ => turn,
    };
    let hue_sum = h1 + h2;
    let mean_hue = match hue_sum {
        _ if grey => hue_sum,
        _ if (h1 - h2).abs() <= 180.0 => hue_sum / 2.0,
        _ if hue_sum < 360.0 => (hue_sum + 360.0) / 2.0,
        _ => (hue_sum - 360.0) / 2.0,
    };
    let cos = |degrees: f64| degrees.to_radians().cos();
    let t = 1.0 - 0.17 * cos(mean_hue - 30.0) + 0.24 * cos(2.0 * mean_hue) + 0.32 * cos(3.0 * mean_hue + 6.0)
        - 0.20 * cos(4.0 * mean_hue - 63.0);

    let mean_c = (c1 + c2) / 2.0;
    let from_middle = ((one.l + other.l) / 2.0 - 50.0).powi(2);
    let lightness = (other.l - one.l) / (1.0 + 0.015 * from_middle / (20.0 + from_middle).sqrt());
    let chroma = (c2 - c1) / (1.0 + 0.045 * mean_c);
    let hue = 2.0 * (c1 * c2).sqrt() * (turn / 2.0).to_radians().sin() / (1.0 + 0.015 * mean_c * t);
    let blue_turn = 30.0 * (-((mean_hue - 275.0) / 25.0).powi(2)).exp();
    let rotation = -2.0 * saturation(mean_c) * (2.0 * blue_turn).to_radians().sin() * chroma * hue;
    Ciede2000Parts { lightness, chroma, hue, rotation }
}

/// sqrt(C^7 / (C^7 + 25^7)).
fn saturation(chroma: f64) -> f64 {
    let seventh = chroma.powi(7);
    (seventh / (seventh + 25f64.powi(7))).sqrt()
}

/// Hue angle 0..360, 0 for a colour without chroma.
fn hue_degrees(a: f64, b: f64) -> f64 {
    if a == 0.0 && b == 0.0 {
        return 0.0;
    }
    let h = b.atan2(a).to_degrees();
    if h < 0.0 { h + 360.0 } else { h }
}
