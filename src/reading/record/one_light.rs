//! What can be told of a piece within its own light, without a card.

use super::Measure;
use serde::{Deserialize, Serialize};

/// What needs no card: ratios of surfaces in one light, their shares, how even the white is.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct OneLight {
    /// Reflectance of one surface over that of another, from places where both lie close together.
    pub ratios: Vec<RatioPart>,
    /// Shares of the measured surfaces (white, red, black, body, smudged, together 1), largest first.
    pub shares: Vec<SharePart>,
    /// Standard deviation of the reflectance of white from place to place over its mean; null: too little is seen.
    pub white_unevenness: Option<Measure>,
}

/// One surface over another where both lie close together, so that both get nearly the same light.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct RatioPart {
    /// The surface above the line.
    pub of: String,
    /// The surface below it.
    pub to: String,
    /// Natural logarithms of the ratios of X, Y and Z for D50.
    pub log_xyz: [f64; 3],
    /// Half-widths of their 95 % intervals: scatter over the places, light that changes from one surface to the other
    /// within a place, and what their edges do. The card's part is not in it.
    pub u95: [f64; 3],
    /// The part of the edges: how far the logarithms move in places farther from other labels.
    #[serde(default)]
    pub edges_u95: [f64; 3],
    /// Squares that hold both surfaces.
    pub places: usize,
}

/// Share of one surface.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SharePart {
    /// `white`, `red`, `black`, `body` or `smudged`.
    pub surface: String,
    /// 0 to 1.
    pub share: f64,
    /// Half-width of its 95 % interval: that of the labels, for this view of the piece.
    pub u95: f64,
}
