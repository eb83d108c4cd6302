//! Colour differences.

use super::LabD50;
use palette::color_difference::Ciede2000;

/// CIEDE2000 (CIE 142-2001, ISO/CIE 11664-6) with all weights 1.
pub fn ciede2000(one: LabD50, other: LabD50) -> f64 {
    type Lab = palette::Lab<palette::white_point::D50, f64>;
    Lab::new(one.l, one.a, one.b).difference(Lab::new(other.l, other.a, other.b))
}
