//! The light on each place of a piece, relative to the light on the card.
//!
//! Comes in: the corrected picture and the surface map, whose first light field was found with the
//! labels. Goes out: [`shading`], the light on each place as a share of that on the piece's brightest
//! part, and an [`Anchor`]: what that brightest part gets as a share of the card's light, with its range.
//! Not here yet: the light ball and the form of the piece.

mod anchor;
mod field;

pub use anchor::{Anchor, anchor};
pub use field::shading;
