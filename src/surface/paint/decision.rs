//! Which cells are black paint, which lost paint.

use super::super::neighbours::widened;
use super::cells::Cells;
use super::levels::Levels;
use super::proof::{self, Bar, Proof, STRICT, half_width_of_strokes, proven};
use super::trace::{DARK, FAINT_TRACE, TRACE};
use std::cell::OnceCell;

/// Paint with less than this share of the soundest contrast is lost (design.md, label 6).
pub(super) const LOST_BELOW: f32 = 0.5;

/// Share of the paint that must be proven lost before fainter traces are taken for paint as well.
const SURELY_BURNED: f64 = 0.5;

/// Share of the paint that must be gone before what is not proven counts as doubtful.
const BURNED_AT_ALL: f64 = 0.2;
/// Paint is gone where less than this share of the soundest contrast is left: thin or pale paint keeps more.
const GONE: f32 = 0.25;

/// What was decided on cells.
pub(super) struct Decision {
    pub levels: Levels,
    /// Cells at most one away from paint that reads dark.
    pub near_dark: Vec<bool>,
    /// Cells deep inside what reads dark.
    pub sure: Vec<bool>,
    /// Cells of lost paint, and those at its edge that no longer read dark.
    pub lost: Vec<bool>,
    /// The same of bare clay that passed for slip.
    pub clay: Vec<bool>,
    /// The same of what may be lost paint, on a piece whose paint has burned in places.
    pub doubt: Vec<bool>,
}

impl Decision {
    pub fn of(cells: &Cells) -> Self {
        let n = cells.neutral.len();
        let near = |mask: &[bool]| widened(mask, cells.width, 1);
        let mask = |test: &dyn Fn(usize) -> bool| (0..n).map(test).collect::<Vec<bool>>();
        let dark = DARK.find(cells, &cells.neutral);
        let levels = Levels::of(cells, &dark);
        let near_dark = near(&dark);
        let bare = mask(&|i| cells.neutral[i] && !near_dark[i] && !levels.is_dirty(i));
        // Soot takes away the contrast of paint: under it, what reads dark at all is black. So it is deep inside a
        // broad dark place, where nothing is near to compare it with and the light is a guess.
        let black_below = levels.share_at(LOST_BELOW);
        let sure = mask(&|i| dark[i] && levels.alone[i]);
        let black =
            mask(&|i| sure[i] || dark[i] && (levels.is_dirty(i) || levels.share(cells, i) <= black_below));
        let near_black = near(&black);
        let pale = mask(&|i| cells.neutral[i] && !near_black[i]);
        let strokes = OnceCell::new();
        let look = |faint: &[bool], bar: &Bar| {
            let traces = mask(&|i| faint[i] || dark[i] && !near_black[i]);
            let strokes = || *strokes.get_or_init(|| half_width_of_strokes(cells, &black));
            proven(cells, &traces, &pale, &black, strokes, bar)
        };
        let mut faint = TRACE.find(cells, &bare);
        let mut proofs = look(&faint, &STRICT);
        let burned = proofs.iter().filter(|&&p| p == Proof::Lost).count() as f64;
        let kept = black.iter().filter(|&&b| b).count() as f64;
        let found = OnceCell::new();
        let fainter = || found.get_or_init(|| FAINT_TRACE.find(cells, &bare));
        let mut doubtful = vec![Proof::Slip; n];
        if burned > SURELY_BURNED * (burned + kept) {
            faint = fainter().clone();
            proofs = look(&faint, &proof::BURNED);
        }
        let gone_above = levels.share_at(GONE);
        let is_gone = |i: usize| !dark[i] && levels.share(cells, i) > gone_above;
        let gone = (0..n).filter(|&i| proofs[i] == Proof::Lost && is_gone(i)).count() as f64;
        if gone > BURNED_AT_ALL * (gone + kept) {
            doubtful = look(fainter(), &proof::DOUBTFUL);
        }
        // What is proven on cells holds for those at its edge.
        let spread = |proofs: &[Proof], what: Proof| {
            let own = near(&mask(&|i| proofs[i] == what));
            mask(&|i| own[i] && (proofs[i] == what || faint[i] || !bare[i]))
        };
        let (lost, clay) = (spread(&proofs, Proof::Lost), spread(&proofs, Proof::Clay));
        let doubt = spread(&doubtful, Proof::Lost);
        Self { levels, near_dark, sure, lost, clay, doubt }
    }
}
