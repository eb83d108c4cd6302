//! Why no surfaces can be mapped.

/// The piece cannot be mapped.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum SurfaceError {
    /// Nothing in the photograph stands out as a piece.
    #[error("no piece found beside the card")]
    NoPiece,
    /// The outline told by hand holds nothing of the picture.
    #[error("the outline lies outside the photograph or holds fewer than 100 pixels")]
    EmptyOutline,
}
