//! From patch numbers to patch sides: how wide the patches are against their pitch.

use super::matching::Placement;
use super::work::Work;
use crate::card::CardDefinition;
use crate::card::geometry::Grid;

/// The grid in full-size pixels.
pub(super) fn refine(work: &Work, best: &Placement, definition: &CardDefinition) -> Grid {
    let pitch = 1.0 + definition.gap_per_patch;
    // Patch (c, r) has its centre at (c, r) before, at (c * pitch + 0.5, r * pitch + 0.5) after.
    let shift = -0.5 / pitch;
    let to_px = best.to_px.after([shift, shift], [1.0 / pitch, 0.0], [0.0, 1.0 / pitch]);
    Grid {
        to_px: to_px.then(work.scale, [0.0, 0.0]),
        pitch,
        rows: definition.rows,
        columns: definition.columns,
    }
}
