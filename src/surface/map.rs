//! The label map.

use super::{Label, SurfaceError};
use crate::card::{CardReading, CorrectedImage};

/// The outline of the piece, told by hand, full-size pixels.
#[derive(Debug, Clone, PartialEq)]
pub enum Outline {
    /// x, y of the top left corner, width, height: the piece lies inside, its exact outline is found.
    Box([f64; 4]),
    /// The outline itself, at least three points.
    Polygon(Vec<[f64; 2]>),
}

/// How surfaces are to be mapped.
#[derive(Debug, Clone, Default)]
pub struct SurfaceSettings {
    /// Outline told by hand.
    pub outline: Option<Outline>,
}

/// One piece in the photograph.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Outline polygon, full-size pixels.
    pub outline_px: Vec<[f64; 2]>,
    /// Bounding box in map pixels: x0, y0, x1, y1 (past the end).
    pub bounds: [usize; 4],
    /// Area in map pixels.
    pub area: usize,
}

/// Labels and relative light, at the size of the corrected picture.
#[derive(Debug, Clone)]
pub struct SurfaceMap {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Full-size pixels per map pixel.
    pub factor: usize,
    /// A label a pixel.
    pub labels: Vec<Label>,
    /// Number of the piece a pixel belongs to, 1 the largest, 0 none.
    pub piece_of: Vec<u8>,
    /// Light on each place of a piece as a share of the light on its brightest part (the shading
    /// field; smooth; 1.0 off the piece).
    pub light: Vec<f32>,
    /// The pieces, the largest first.
    pub pieces: Vec<Piece>,
    /// Remarks for the record: (code, text).
    pub warnings: Vec<(String, String)>,
}

/// Maps the surfaces of all pieces in the picture.
///
/// # Errors
/// [`SurfaceError::NoPiece`] where nothing stands out.
pub fn map_surfaces(
    _image: &CorrectedImage,
    _card: &CardReading,
    _settings: &SurfaceSettings,
) -> Result<SurfaceMap, SurfaceError> {
    let _ = Label::White;
    Err(SurfaceError::NoPiece)
}
