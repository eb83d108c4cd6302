//! The surfaces of a piece, with their colours.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The surfaces of a piece; those not seen are absent.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Surfaces {
    /// White slip.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub white: Option<Surface>,
    /// Red slip.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub red: Option<Surface>,
    /// Black paint.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub black: Option<Surface>,
    /// Bare clay.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub body: Option<Surface>,
    /// Blackened on purpose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub smudged: Option<Surface>,
}

impl Surfaces {
    /// Names and surfaces in the order of the labels.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, &Surface)> {
        [
            ("white", &self.white),
            ("red", &self.red),
            ("black", &self.black),
            ("body", &self.body),
            ("smudged", &self.smudged),
        ]
        .into_iter()
        .filter_map(|(name, surface)| surface.as_ref().map(|surface| (name, surface)))
    }
    /// A surface by its name; `None` where it is not seen or the name is none of ours.
    pub fn get(&self, name: &str) -> Option<&Surface> {
        self.iter().find(|(known, _)| *known == name).map(|(_, surface)| surface)
    }
}

/// One surface.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Surface {
    /// Full-size pixels with this label.
    pub area_px: usize,
    /// Share of the piece.
    pub area_fraction: f64,
    /// L*, a*, b* of the mean reflectance of its inner part, shading removed.
    pub lab: [f64; 3],
    /// L*, C*ab, h in degrees.
    pub lch: [f64; 3],
    /// The same with the places near other labels.
    #[serde(default)]
    pub lab_with_edges: Option<[f64; 3]>,
    /// The same over places twice as far from other labels as the inner part begins; `None` where there are too few.
    #[serde(default)]
    pub lab_deep: Option<[f64; 3]>,
    /// Half-widths of the 95 % intervals of L*, a*, b*.
    pub u95: [f64; 3],
    /// Their components by name.
    pub u95_parts: BTreeMap<String, [f64; 3]>,
    /// Spread of L* over the surface after shading is removed.
    pub l_spread: Option<Spread>,
    /// Nearest Munsell notations, computed, dry.
    pub munsell: Vec<MunsellPart>,
    /// ASTM E313 whiteness.
    pub whiteness: Option<IndexPart>,
    /// ASTM E313 yellowness.
    pub yellowness: Option<IndexPart>,
    /// CIEDE2000 to the centre of the target's aim range.
    pub to_target_de00: Option<f64>,
}

/// Quantiles and standard deviation of L*.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Spread {
    /// 5th percentile.
    pub p05: f64,
    /// Median.
    pub p50: f64,
    /// 95th percentile.
    pub p95: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// A Munsell notation and its CIEDE2000 distance.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct MunsellPart {
    /// Such as `10YR 8/2`.
    pub notation: String,
    /// Distance.
    pub de00: f64,
}

/// A one-number index with its illuminant and validity.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct IndexPart {
    /// The index.
    pub value: f64,
    /// Illuminant and observer, such as `D65/2`.
    pub illuminant: String,
    /// False outside the formula's limits.
    pub valid: bool,
}
