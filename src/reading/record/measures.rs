//! What is measured across surfaces: contrast, paint, clouds.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// White against black.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Contrast {
    /// L* of white less L* of black.
    pub delta_l: f64,
    /// CIEDE2000.
    pub de00: f64,
    /// Y of white over Y of black in one light.
    pub reflectance_ratio: f64,
    /// Where that ratio comes from: `touching`: places where white and black lie close together, so that no
    /// knowledge of the light is needed; `means`: the mean reflectances, for want of such places.
    #[serde(default)]
    pub ratio_from: String,
    /// Number of such places; 0 for `means`.
    #[serde(default)]
    pub ratio_places: usize,
    /// (Yw - Yb) / (Yw + Yb).
    pub michelson: f64,
    /// Half-widths of the 95 % intervals.
    pub u95: ContrastU95,
    /// Their components by name: those of the surfaces, `light` and `exposure`, which move both alike, and `places`, the
    /// scatter of the ratio over the places it comes from. The squares add up.
    #[serde(default)]
    pub u95_parts: BTreeMap<String, ContrastPart>,
}

/// What one component adds to the half-widths of the contrast.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct ContrastPart {
    /// Of `delta_l`.
    pub delta_l: f64,
    /// Of `reflectance_ratio`.
    pub reflectance_ratio: f64,
}

/// Half-widths of the 95 % intervals of the contrast figures.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct ContrastU95 {
    /// Of `delta_l`.
    pub delta_l: f64,
    /// Of `de00`.
    pub de00: f64,
    /// Of `reflectance_ratio`.
    pub reflectance_ratio: f64,
}

/// The paint.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Paint {
    /// Full-size pixels where paint was laid.
    pub applied_px: usize,
    /// The part of it that still reads black, 0 to 1.
    pub retained_fraction: f64,
    /// Half-width of its 95 % interval.
    pub u95: f64,
    /// Its components by name: `counting`, the independent places that were counted; `labels`, places told wrong; `clouds`,
    /// paint beside soot; `traces`, brush marks that pass for lost paint, which doubts upward alone; `unseen`, paint that burned
    /// away without a mark, which doubts downward alone.
    #[serde(default)]
    pub u95_parts: BTreeMap<String, f64>,
    /// Width of painted lines in the card's plane, black and lost paint together, mm. Here and below the reason of a
    /// null stands in `null_because`.
    pub line_width_mm: Option<Percentiles>,
    /// The same in full-size pixels.
    #[serde(default)]
    pub line_width_px: Option<Percentiles>,
    /// Width of the steps from white to black, 10 % to 90 %, the picture's blur in it, full-size pixels.
    #[serde(default)]
    pub edge_px: Option<Percentiles>,
    /// The same in the card's plane, mm.
    #[serde(default)]
    pub edge_mm: Option<Percentiles>,
    /// What of the median `edge_px` is the paint's own: root of its square less that of the card's borders.
    #[serde(default)]
    pub edge_own_px: Option<f64>,
    /// Standard deviation of the reflectance over painted places over its mean: 0 even, 1 very spotty.
    #[serde(default)]
    pub spottiness: Option<Measure>,
}

/// A scatter with its uncertainty.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Measure {
    /// The number.
    pub value: f64,
    /// Half-width of its 95 % interval, from the number of independent places alone: wrong labels, and light that the
    /// fitted field does not follow, are not in it.
    pub u95: f64,
}

/// Percentiles of a length, weighted by how much of the piece each value stands for.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Percentiles {
    /// 5th percentile.
    pub p05: f64,
    /// Median.
    pub p50: f64,
    /// 95th percentile.
    pub p95: f64,
}

/// Fire clouds.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Clouds {
    /// Share of the piece, 0 to 1.
    pub area_fraction: f64,
    /// The part of it that is no doubt cloud, share of the piece; the rest may be shade.
    #[serde(default)]
    pub proven_fraction: f64,
    /// Half-width of the 95 % interval of the share, about `proven_fraction` and half of the rest.
    #[serde(default)]
    pub u95: f64,
}
