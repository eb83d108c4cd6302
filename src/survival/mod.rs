//! What the fire left of the paint: the piece before the fire laid over the piece after it.
//!
//! Comes in: two [`View`]s, each a corrected picture with its surface map and one piece of it: the painted piece before
//! the fire, and the fired one. Goes out: a [`Survival`]: where each place of the fired piece lies in the photograph of
//! the unfired one ([`Registration`]), and how much of the contrast of the paint that was laid is left there; or an
//! [`Unmatched`], where the two photographs do not show the same piece. Nothing is taken from the colour of the light:
//! only what changes over short distances is compared, and paint against the slip about it.
//!
//! Places are in piece units: the middle of the piece is 0, 0 and a square as large as the piece has side 1. Pixels are
//! those of the maps unless something else is said.

mod coarse;
#[cfg(test)]
mod drawn;
mod few;
mod field;
mod paint;
mod picture;
mod pieces;
mod profile;
mod refine;
mod register;
mod round;
mod strokes;
mod vessel;
mod view;

pub use paint::{Fate, KEPT_FROM, LOST_BELOW, OFF, Survival, survive};
pub use pieces::{Found, Shot, find_pieces, mark_paint};
pub use register::{Agreement, LEAST_AGREEMENT, Registration, Unmatched, register};
pub use strokes::{Stroke, strokes};
pub use view::View;
