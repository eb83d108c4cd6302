//! The swatches of a test tile or test cylinder.

use super::{ContrastU95, Grade};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One swatch, read as a surface of its own. What is not read is null, and `left_out` says why.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Swatch {
    /// Its name: that of the list of names, else its place, such as `r2c3`.
    pub id: String,
    /// Row from 1, the first the uppermost in the photograph.
    pub row: usize,
    /// Column from 1, the first the leftmost in the photograph.
    pub column: usize,
    /// Corners in full-size pixels, the first of the row above first, then clockwise.
    pub quad_px: [[f64; 2]; 4],
    /// Whether it stands out by itself; else its place was told by the others.
    pub stands_out: bool,
    /// Number of the surface it belongs to; null: not read.
    pub label: Option<u8>,
    /// L*, a*, b* of its mean reflectance, shading removed.
    pub lab: Option<[f64; 3]>,
    /// Half-widths of the 95 % intervals of L*, a*, b*.
    pub u95: Option<[f64; 3]>,
    /// Their components by name.
    pub u95_parts: BTreeMap<String, [f64; 3]>,
    /// Half-widths of the part that differs from swatch to swatch: what tells two of them apart.
    pub apart_u95: Option<[f64; 3]>,
    /// Against the slip that lies about it.
    pub contrast: Option<SwatchContrast>,
    /// Of paint: its share of the L* contrast of the soundest paint on the piece, 0 to 1.
    pub contrast_left: Option<f64>,
    /// Of paint: the part of it that has at least half that contrast, 0 to 1.
    pub retained_fraction: Option<f64>,
    /// Its rank by L* among those read, 1 the darkest.
    pub rank: Option<usize>,
    /// Swatches of the same piece that it cannot be told from.
    pub like: Vec<String>,
    /// Its grade against the ranges of its surface.
    pub grade: Option<Grade>,
    /// What decided.
    pub grade_because: Vec<String>,
    /// Why it was not read: `edge`, `cloud`, `shade`, `glare`, `clipped`; null: it was.
    pub left_out: Option<String>,
    /// What the plan of a trial says was laid here; absent: it was read by no plan, or the plan leaves the place free.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub laid: Option<Laid>,
}

/// What was laid at a place of a tile, as the plan of its trial says. Tiles are known by trial and number together, for every
/// trial has a tile 1.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Laid {
    /// Name of the trial.
    pub trial: String,
    /// Seed by which the places were drawn; null: the plan does not tell.
    pub seed: Option<u64>,
    /// Number of the tile in its trial, from 1.
    pub tile: usize,
    /// Row of the plan, from 1; the photograph may show fewer.
    pub row: usize,
    /// Column of the plan, from 1.
    pub column: usize,
    /// Its name in the plan.
    pub swatch: Option<String>,
    /// `trial`, `control` or `blank`.
    pub role: Option<String>,
    /// Its slip.
    pub slip: Option<String>,
    /// Its paint; null of a blank.
    pub paint: Option<String>,
    /// Its coats; null of a blank.
    pub coats: Option<String>,
    /// The firing of its tile.
    pub firing: Option<String>,
}

/// A swatch against the slip about it.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct SwatchContrast {
    /// L* of the slip less L* of the swatch.
    pub delta_l: f64,
    /// CIEDE2000.
    pub de00: f64,
    /// Y of the slip over Y of the swatch, in one light.
    pub reflectance_ratio: f64,
    /// Half-widths of the 95 % intervals.
    pub u95: ContrastU95,
}
