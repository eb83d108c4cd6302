//! Finding the card.
//!
//! Comes in: a photograph and a card's layout and colours. Goes out: where the grid of patches lies.
//! The way: a small picture; even spots that fill a parallelogram; spots on a common grid; every place
//! and turn of the card on that grid judged by its colours; the size of the patches measured.

mod blobs;
mod lattice;
mod matching;
mod refine;
mod unknown;
mod work;

pub(crate) use unknown::find_unknown;

use super::geometry::Grid;
use super::{CardDefinition, CardError};
use crate::photo::Photo;
use matching::Placement;
use work::Work;

/// Long sides of the pictures searched, in turn, until one holds a card.
const LONG_SIDES: [usize; 3] = [800, 1600, 400];

/// Where the card lies.
///
/// # Errors
/// [`CardError::NotFound`].
pub(crate) fn find(photo: &Photo, definition: &CardDefinition) -> Result<Grid, CardError> {
    let reference = matching::reference(definition);
    let (mut tried, mut sizes) = (Vec::new(), Vec::new());
    let mut furthest = Step::Spots;
    for long_side in LONG_SIDES {
        if photo.width().min(photo.height()) < 16 {
            break;
        }
        let work = Work::new(photo, long_side);
        if sizes.contains(&work.width) {
            continue;
        }
        sizes.push(work.width);
        let spots = blobs::blobs(&work);
        let grids = lattice::lattices(&work, &spots);
        let mut all: Vec<Placement> = grids
            .iter()
            .flat_map(|g| {
                let mut p = matching::placements(
                    &work,
                    g,
                    definition.layout.rows,
                    definition.layout.columns,
                    &reference,
                );
                p.truncate(8);
                p
            })
            .collect();
        all.sort_by(|a, b| b.merit().total_cmp(&a.merit()));
        tried.push(format!(
            "{} spots and {} grids at {} x {} pixels",
            spots.len(),
            grids.len(),
            work.width,
            work.height
        ));
        let step = if spots.len() < 6 {
            Step::Spots
        } else if grids.is_empty() {
            Step::Grid
        } else {
            match accept(&all, definition) {
                Ok(best) => return Ok(refine::refine(&work, best, definition)),
                Err(step) => step,
            }
        };
        furthest = furthest.max(step);
    }
    Err(CardError::NotFound { step: furthest.text().into(), tried: tried.join("; ") })
}

/// How far the search came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Step {
    Spots,
    Grid,
    Colours,
    Doubtful,
    Mirrored,
}

impl Step {
    fn text(self) -> &'static str {
        match self {
            Self::Spots => "no even spots that could be patches; show the whole card, sharp and evenly lit",
            Self::Grid => "no spots on a common grid; show the whole card, flat and not covered",
            Self::Colours => "a grid was seen, but its colours are not those of the card",
            Self::Doubtful => "a grid of like colours was seen, but which patch is which stays doubtful",
            Self::Mirrored => "the card is seen mirrored; use the picture as the camera took it",
        }
    }
}

/// Least share of the reference colours' spread that a placement must explain, with and without
/// lightness. On pictures with and without a card, right placements reach 0.7 and more, wrong ones
/// stay below 0.5.
const LEAST_EXPLAINED: f64 = 0.62;
/// Least share of all patches that must agree; the rest may be covered.
const LEAST_AGREE: f64 = 0.6;
/// Least lead in merit over any other reading of a place.
const LEAST_LEAD: f64 = 0.25;

/// Takes the best placement if it is good, and better than any other reading of the same place.
fn accept<'a>(all: &'a [Placement], definition: &CardDefinition) -> Result<&'a Placement, Step> {
    let Some(best) = all.first() else { return Err(Step::Grid) };
    if best.explained.min(best.explained_chroma) < LEAST_EXPLAINED || best.agree < LEAST_AGREE {
        return Err(Step::Colours);
    }
    if best.mirrored {
        return Err(Step::Mirrored);
    }
    let other = all.iter().find(|p| !same_reading(p, best, definition));
    match other {
        Some(p) if p.merit() > best.merit() - LEAST_LEAD => Err(Step::Doubtful),
        _ => Ok(best),
    }
}

/// Whether two placements put the corner patches in about the same places.
fn same_reading(one: &Placement, other: &Placement, definition: &CardDefinition) -> bool {
    let (right, low) = ((definition.layout.columns - 1) as f64, (definition.layout.rows - 1) as f64);
    [[0.0, 0.0], [right, 0.0], [right, low], [0.0, low]].iter().all(|&corner| {
        let (p, q) = (one.to_px.apply(corner), other.to_px.apply(corner));
        (p[0] - q[0]).hypot(p[1] - q[1]) < 0.5 * other.to_px.area(corner).abs().sqrt()
    })
}
