//! The light on each place of the piece, relative to the light on the card.
//!
//! Comes in: the relative light field that `surface` estimates with the labels (1.0 = the brightest
//! part of the piece). Goes out: an [`Anchor`]: what that brightest part gets, as a share of the
//! card's light, with its range. Not here yet: the light ball and the form of the piece.

mod anchor;
mod field;

pub use anchor::{Anchor, anchor};
pub use field::shading;
