//! The light on each place of a piece, relative to the light on the card.
//!
//! Comes in: the corrected picture and the surface map, whose first light field was found with the
//! labels. Goes out: [`shading`], the light on each place as a share of that on the piece's brightest
//! part, and an [`Anchor`]: what that brightest part gets as a share of the card's light, with its range.
//! Not here yet: the light ball and the form of the piece.

mod anchor;
mod clouds;
mod field;
mod shade;

pub use anchor::{Anchor, anchor};
pub use field::shading;

use crate::card::CorrectedImage;
use crate::surface::{SurfaceMap, mark_glare, mark_smudged, tell_paint};

/// Settles light and surfaces of a freshly mapped photograph together: fits the smooth shading, tells glare from red
/// and paint from slip by it, marks as cloud what the slip gives back too little, fits again without the clouds, and
/// marks shade and smudged places.
pub fn settle(image: &CorrectedImage, map: &mut SurfaceMap) {
    let mut smooth = shading(image, map);
    mark_glare(image, map, &smooth);
    let found = tell_paint(image, map, &smooth);
    field::shade_again(image, map, &mut smooth);
    mark_glare(image, map, &smooth);
    // Soot pulls the first fit down a little; with most of it marked, the second look sees its margin.
    for _ in 0..2 {
        if !clouds::mark(map, &found, &smooth) {
            break;
        }
        field::shade_again(image, map, &mut smooth);
    }
    shade::mark(map, &smooth);
    mark_smudged(map);
    map.light = smooth;
}
