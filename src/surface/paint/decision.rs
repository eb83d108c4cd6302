//! Which cells are black paint, which lost paint.

use super::super::grid::extreme;
use super::cells::Cells;
use super::levels::Levels;
use super::proof::{Proof, proven};
use super::trace::{DARK, TRACE};

/// Paint with less than this share of the soundest contrast is lost (design.md, label 6).
pub(super) const LOST_BELOW: f32 = 0.5;

/// What was decided on cells.
pub(super) struct Decision {
    pub levels: Levels,
    /// Cells at most one away from paint that reads dark.
    pub near_dark: Vec<bool>,
    /// Cells of lost paint, and those at its edge that no longer read dark.
    pub lost: Vec<bool>,
    /// The same of bare clay that passed for slip.
    pub clay: Vec<bool>,
}

impl Decision {
    pub fn of(cells: &Cells) -> Self {
        let n = cells.neutral.len();
        let near = |mask: &[bool]| -> Vec<bool> {
            let flags: Vec<f32> = mask.iter().map(|&m| f32::from(u8::from(m))).collect();
            extreme(&flags, cells.width, cells.height, 1, true).iter().map(|&v| v > 0.0).collect()
        };
        let mask = |test: &dyn Fn(usize) -> bool| (0..n).map(test).collect::<Vec<bool>>();
        let dark = DARK.find(cells, &cells.neutral);
        let levels = Levels::of(cells, &dark);
        let near_dark = near(&dark);
        let bare = mask(&|i| cells.neutral[i] && !near_dark[i] && !levels.is_dirty(i));
        let faint = TRACE.find(cells, &bare);
        // Soot takes away the contrast of paint: under it, what reads dark at all is black.
        let black = mask(&|i| {
            dark[i] && (levels.is_dirty(i) || levels.contrast(levels.share(cells, i)) >= LOST_BELOW)
        });
        let near_black = near(&black);
        let traces = mask(&|i| faint[i] || dark[i] && !near_black[i]);
        let pale = mask(&|i| cells.neutral[i] && !near_black[i]);
        let proofs = proven(cells, &traces, &pale, &black);
        // What is proven on cells holds for those at its edge.
        let spread = |what: Proof| {
            let own = near(&mask(&|i| proofs[i] == what));
            mask(&|i| own[i] && (faint[i] || !bare[i]))
        };
        let (lost, clay) = (spread(Proof::Lost), spread(Proof::Clay));
        Self { levels, near_dark, lost, clay }
    }
}
