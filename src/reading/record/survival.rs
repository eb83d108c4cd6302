//! What the fire left of the paint, against a photograph of the unfired piece.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Shares of the paint that was laid, where both photographs show it. Kept, thinned and lost make 1.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SurvivalPart {
    /// Paint with at least three quarters of its contrast to the slip.
    pub kept: f64,
    /// Paint with half to three quarters of it.
    pub thinned: f64,
    /// Paint with less than half.
    pub lost: f64,
    /// Kept and thinned: the paint that still reads.
    pub retained_fraction: f64,
    /// Half-width of the 95 % interval of `retained_fraction`.
    pub u95: f64,
    /// Its components by name: `counting`, `limit`, `shift`, `labels`.
    pub u95_parts: BTreeMap<String, f64>,
    /// Paint laid, full-size pixels of the fired piece.
    pub laid_px: usize,
    /// Share of the piece that the photograph before the fire shows as well.
    pub seen_before_fraction: f64,
    /// The photograph before the fire.
    pub before: BeforePart,
    /// How well the two photographs agree.
    pub agreement: AgreementPart,
    /// Strokes, the largest first; painted places that touch are one.
    pub strokes: Vec<StrokePart>,
    /// Strokes that are too small to be told one by one.
    pub small_strokes: usize,
    /// Places of the piece in both photographs, full-size pixels: x, y before the fire, x, y after it.
    pub same_places_px: Vec<[f64; 4]>,
}

/// The photograph of the unfired piece.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct BeforePart {
    /// The file as it was named.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Which piece of it, 1, 2, ... the largest first.
    pub piece: usize,
}

/// How well two photographs of a piece agree once they are laid over each other.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct AgreementPart {
    /// Places that were compared.
    pub places: usize,
    /// Share of them that agree best where they lie, 0 to 1.
    pub in_place: f64,
    /// Mean correlation there of what changes over short distances, 0 to 1.
    pub correlation: f64,
}

/// One stroke of paint.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct StrokePart {
    /// 1, 2, ... the largest first, as on the picture.
    pub number: usize,
    /// The box about it, full-size pixels of the fired piece: x, y, width, height.
    pub box_px: [f64; 4],
    /// Its area, full-size pixels.
    pub area_px: usize,
    /// Shares of it, as of all paint.
    pub kept: f64,
    /// Paint that reads, but pale.
    pub thinned: f64,
    /// Paint that no longer reads.
    pub lost: f64,
}
