//! The card's part of a record.

use serde::{Deserialize, Serialize};

/// The card as found.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct CardPart {
    /// `found`, `given`, `borrowed`, `none`.
    pub status: String,
    /// Id of the card definition.
    pub definition: Option<String>,
    /// Outer corners of the patch grid in the card's reading order.
    pub corners_px: Option<[[f64; 2]; 4]>,
    /// How much better this reading of the patches is than the best other one, 0 to 1; null where the
    /// card was not sought.
    #[serde(default)]
    pub lead: Option<f64>,
    /// Doubtful finds, and other cards beside the one used.
    pub candidates_px: Vec<[[f64; 2]; 4]>,
    /// Every patch.
    pub patches: Vec<PatchPart>,
    /// The correction chosen.
    pub model: Option<String>,
    /// The corrections tried.
    pub models: Vec<ModelPart>,
    /// CIEDE2000 residuals of the fit.
    pub fit_de00: Option<ResidualPart>,
    /// The same with each patch predicted from the others.
    pub held_out_de00: Option<ResidualPart>,
    /// Relative change of light across the card.
    pub light_gradient: Option<f64>,
    /// Where the correction was borrowed; null: it was not. Then `corners_px` is null and `patches` empty, for
    /// both speak of this photograph; models, residuals and `capture` are those of the card shot. A card that lies
    /// in this photograph as well was not used: its corners stand in `candidates_px`.
    #[serde(default)]
    pub borrowed_from: Option<BorrowedPart>,
    /// How the card was photographed; null: no card was read.
    #[serde(default)]
    pub capture: Option<CapturePart>,
    /// Scale in the card's plane.
    pub mm_per_px: Option<f64>,
}

/// The photograph a correction comes from.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct BorrowedPart {
    /// The file as it was named.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Exposure of this photograph over that of the card shot.
    pub exposure_ratio: f64,
    /// Half-width of its 95 % interval.
    pub u95: f64,
}

/// How the card was photographed.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct CapturePart {
    /// Share of the patches' pixels that are over-exposed: a channel at the top of the encoding on a neutral
    /// patch, two or more on a coloured one.
    pub clipped_fraction: f64,
    /// Light that a perfect white on the card decodes to; 1 is the top of the encoding.
    pub white_light: Option<f64>,
    /// Width of the card's borders, 10 % to 90 %.
    pub edge_px: Option<f64>,
    /// Relative change of the light's tint across the card; null: none that stands out.
    pub tint_change: Option<f64>,
}

/// One patch of the card.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct PatchPart {
    /// `"1"` to `"24"`.
    pub id: String,
    /// Centre.
    pub centre_px: [f64; 2],
    /// Linear light as photographed.
    pub rgb_linear: [f64; 3],
    /// Whether the correction uses it.
    pub used: bool,
    /// `clipped`, `glare`, `shaded`, `covered`, `told`, or null.
    pub why_not: Option<String>,
    /// Reference colour.
    pub lab_reference: [f64; 3],
    /// Colour after correction.
    pub lab_corrected: [f64; 3],
}

/// A correction that was tried.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct ModelPart {
    /// Its name.
    pub model: String,
    /// Mean CIEDE2000 with each patch predicted from the others.
    pub held_out_de00: f64,
}

/// Residuals over the patches, CIEDE2000.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct ResidualPart {
    /// Mean.
    pub mean: f64,
    /// 95th percentile.
    pub p95: f64,
    /// Largest.
    pub max: f64,
}
