//! Card definitions as data: layout in mm, reference colours with white point, observer and source.

use crate::colour::LabD50;

/// One patch of a card.
#[derive(Debug, Clone)]
pub struct PatchDefinition {
    /// Number in reading order, as text: `"1"` to `"24"`.
    pub id: String,
    /// Plain words, such as `dark skin`.
    pub name: String,
    /// Reference colour.
    pub lab: LabD50,
}

/// A card: layout and reference colours.
#[derive(Debug, Clone)]
pub struct CardDefinition {
    /// Short name, such as `chart24-b`.
    pub id: String,
    /// What it is, in a sentence.
    pub name: String,
    /// Where the colours come from.
    pub source: String,
    /// Rows of patches.
    pub rows: usize,
    /// Patches in a row.
    pub columns: usize,
    /// Side of a patch in mm.
    pub patch_mm: f64,
    /// Distance between two patches in mm.
    pub gap_mm: f64,
    /// Width of the frame around the patch grid in mm.
    pub frame_mm: f64,
    /// `rows * columns` patches in reading order.
    pub patches: Vec<PatchDefinition>,
}
