//! Finding the card.
//!
//! Comes in: a photograph and a card's layout and colours. Goes out: where the grid of patches lies
//! ([`Found`]), or what was seen instead ([`Search`]).
//! The way: a small picture (`work`); even spots that fill a parallelogram (`regions`, `blobs`); spots
//! on a common grid (`lattice`); every place and turn of the card on that grid judged by its colours
//! (`matching`, `verdict`); the edges of the patches found in the full-size picture (`edges`, `refine`).

mod agreement;
mod blobs;
mod edges;
mod lattice;
mod matching;
mod refine;
mod regions;
mod search;
mod unknown;
mod verdict;
mod work;

pub(crate) use unknown::find_unknown;

use super::geometry::Grid;
use super::{CardDefinition, CardError};
use crate::photo::Photo;
pub use search::Search;
use verdict::{Step, verdict};
use work::Work;

/// Long sides of the pictures searched, in turn, until one holds a card: most cards show in the first,
/// large coarse ones in the second, small ones in the others.
const LONG_SIDES: [usize; 4] = [640, 320, 1280, 2560];
/// Smaller pictures than this hold no card.
const LEAST_SIDE: usize = 16;
/// Placements on one grid that are compared with those on others.
const MOST_PLACEMENTS: usize = 8;

/// Where the card lies.
#[derive(Debug, Clone)]
pub(crate) struct Found {
    pub grid: Grid,
    /// How much better this reading of the place is than the best other one, 0 to 1, see
    /// [`CardReading::lead`](super::CardReading::lead).
    pub lead: Option<f64>,
    /// Corners of the patch grids of other cards, full-size pixels, each in its own reading order.
    pub others: Vec<[[f64; 2]; 4]>,
}

/// Where the card lies.
///
/// # Errors
/// [`CardError::NotFound`].
pub(crate) fn find(photo: &Photo, definition: &CardDefinition) -> Result<Found, CardError> {
    let reference = matching::reference(definition);
    let mut search = Search::default();
    let (mut furthest, mut tried, mut sizes) = (Step::Spots, Vec::new(), Vec::new());
    for long_side in LONG_SIDES {
        if photo.width().min(photo.height()) < LEAST_SIDE {
            break;
        }
        let work = Work::new(photo, long_side);
        if sizes.contains(&work.width) {
            continue;
        }
        sizes.push(work.width);
        let spots = blobs::blobs(&work);
        let grids = lattice::lattices(&work, &spots);
        let placements = grids.iter().flat_map(|grid| {
            let mut best = matching::placements(&work, grid, &spots, &definition.layout, &reference);
            best.truncate(MOST_PLACEMENTS);
            best
        });
        let verdict = verdict(placements.collect(), &definition.layout, &reference);
        if let Some((best, lead)) = verdict.card {
            let to_px = best.own_map(&definition.layout).then(work.scale, [0.0, 0.0]);
            let quads = |placement: &matching::Placement| placement.quad(&definition.layout, work.scale);
            return Ok(Found {
                grid: refine::refine(photo, &to_px, definition),
                lead: Some(lead),
                others: verdict.others.iter().map(quads).collect(),
            });
        }
        let size = format!("{} x {}", work.width, work.height);
        tried.push(format!("{} spots and {} grids at {size} pixels", spots.len(), grids.len()));
        search.add(&work, &spots, &grids, &verdict.doubtful, &definition.layout);
        furthest = furthest.max(verdict.step(spots.len(), grids.len()));
    }
    Err(CardError::NotFound {
        step: furthest.text().into(),
        tried: if tried.is_empty() { "the picture is too small".into() } else { tried.join("; ") },
        search: Box::new(search),
    })
}
