//! Why no surfaces can be mapped.

/// The piece cannot be mapped.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum SurfaceError {
    /// Nothing in the photograph stands out as a piece.
    #[error("no piece found beside the card")]
    NoPiece,
    /// Things stand out, but all of them are too small to be measured.
    #[error("{things} things lie beside the card, all of them too small to be measured")]
    TooSmall {
        /// How many.
        things: usize,
    },
    /// Nearly all of what stands out has colours that no slip, ochre, clay or paint has.
    #[error("what lies beside the card has colours that no slip, ochre, clay or paint has")]
    NotPottery,
    /// The outline told by hand holds nothing of the picture.
    #[error("the outline lies outside the photograph or holds fewer than 100 pixels")]
    EmptyOutline,
}

impl SurfaceError {
    /// Stable, kebab-case.
    pub fn code(&self) -> &'static str {
        match self {
            SurfaceError::NoPiece => "piece-not-found",
            SurfaceError::TooSmall { .. } => "piece-too-small",
            SurfaceError::NotPottery => "not-pottery",
            SurfaceError::EmptyOutline => "outline-empty",
        }
    }
    /// What to do next, one sentence.
    pub fn hint(&self) -> &'static str {
        match self {
            SurfaceError::NoPiece => {
                "Lay the piece on a plain ground of another colour, or draw a box around it with --outline x,y,w,h."
            }
            SurfaceError::TooSmall { .. } => "Go nearer, or lay fewer pieces into one photograph.",
            SurfaceError::NotPottery => {
                "Photograph the pottery itself; if it is in the picture, draw a box around it with --outline x,y,w,h."
            }
            SurfaceError::EmptyOutline => "Give the outline in pixels of the upright photograph.",
        }
    }
}
