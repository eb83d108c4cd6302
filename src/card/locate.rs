//! Finding and sampling alone, without a correction.

use super::{CardDefinition, CardError, find, sample};
use crate::photo::Photo;

/// Where a card lies and what light its patches show.
#[derive(Debug, Clone)]
pub struct LocatedCard {
    /// Outer corners of the patch grid: first patch, end of first row, last patch, start of last row.
    /// Full-size pixels.
    pub corners_px: [[f64; 2]; 4],
    /// How sure it is which patch is which; see [`CardReading::lead`](super::CardReading::lead).
    pub lead: f64,
    /// Corners of other cards in the picture.
    pub candidates_px: Vec<[[f64; 2]; 4]>,
    /// Robust centre of the inner part of every patch in reading order, linear light as photographed;
    /// `None` for a patch outside the picture.
    pub light: Vec<Option<[f64; 3]>>,
}

/// Finds the card and samples its patches.
///
/// # Errors
/// [`CardError::NotFound`].
pub fn locate_card(photo: &Photo, definition: &CardDefinition) -> Result<LocatedCard, CardError> {
    let found = find::find(photo, definition)?;
    let seen = sample::sample(photo, &found.grid);
    Ok(LocatedCard {
        corners_px: found.grid.corners([0.0; 2]),
        lead: found.lead.unwrap_or(0.0),
        candidates_px: found.others,
        light: seen.iter().map(|patch| (patch.count > 0).then_some(patch.light)).collect(),
    })
}
