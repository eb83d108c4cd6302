//! Which surface lies where: the label map of the piece.
//!
//! Comes in: a [`CorrectedImage`](crate::card::CorrectedImage), the card's frame, and
//! [`SurfaceSettings`]. Goes out: a [`SurfaceMap`] at the size of that picture: labels, pieces
//! with their outlines, and the relative light on each place (shared with `light`).

mod ball;
mod circles;
mod classes;
mod contrast;
mod cut;
mod dark;
mod earth;
mod error;
mod field;
mod grid;
mod ground;
mod hand;
mod label;
mod map;
mod mask;
mod neighbours;
mod outline;
mod paint;
mod piece;
mod priors;
mod reach;
mod refine;
mod remarks;
mod seeds;
mod shine;
mod smudge;
mod split;
mod steps;
mod swatches;
mod things;
mod trace;

pub(crate) use contrast::soundest;
pub use dark::mark_dark;
pub use error::SurfaceError;
pub use label::Label;
pub use map::{Outline, Piece, SurfaceMap, SurfaceSettings, map_surfaces};
pub(crate) use neighbours::{blur, narrowed, widened};
pub use paint::{BareSlip, tell_paint};
pub use shine::mark_glare;
pub use smudge::mark_smudged;
pub use swatches::{
    GridChoice, GroundField, SwatchError, SwatchGrid, SwatchPlace, SwatchSettings, Unreadable, find_swatches,
};
pub use trace::straightened;

#[cfg(test)]
pub(crate) mod drawn {
    use super::{Label, Piece, SurfaceMap};

    /// A map that one piece fills, its light even.
    pub fn filled(width: usize, height: usize, label: impl Fn(usize) -> Label) -> SurfaceMap {
        let n = width * height;
        SurfaceMap {
            width,
            height,
            factor: 1,
            labels: (0..n).map(label).collect(),
            piece_of: vec![1; n],
            light: vec![1.0; n],
            smudged: false,
            pieces: vec![Piece {
                outline_px: vec![],
                bounds: [0, 0, width, height],
                area: n,
                doubtful_cloud: 0,
                warnings: vec![],
            }],
            warnings: vec![],
        }
    }
}
