//! Swatches of a test tile or test cylinder: where each lies on the piece.
//!
//! Comes in: the corrected picture, the surface map with its light, a piece and [`SwatchSettings`]. Goes out: a
//! [`SwatchGrid`]: a quad a swatch in full-size pixels by row and column, and the slip that lies about them. Swatches too
//! like the slip to be seen get their place from the others; one that lies where the piece turns away is told so.
//!
//! 1. The slip is one of the commonest colours of the piece: the one on which most swatches lie in a grid. A smooth field
//!    is fitted to it (`ground`).
//! 2. What differs from it in one piece, fills its own box and is of a common size is a swatch (`blobs`).
//! 3. Their middles are numbered by row and column, and a projective or a smooth curved map is laid through them,
//!    whichever tells each from the others best (`lattice`, `course`).

mod bands;
mod blobs;
mod course;
mod ground;
mod lattice;
mod place;

use super::{Piece, SurfaceMap};
use crate::card::CorrectedImage;
pub use ground::GroundField;
use lattice::Lattice;

/// What is known of the grid before it is looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum GridChoice {
    /// Nothing: as many rows and columns as are seen.
    #[default]
    Seen,
    /// So many rows and columns, as they lie in the photograph.
    Grid([usize; 2]),
    /// So many bands, one behind the other, that reach around a cylinder or across a tile.
    Bands(usize),
}

/// How swatches are looked for.
#[derive(Debug, Clone, Default)]
pub struct SwatchSettings {
    /// Rows and columns, if told.
    pub grid: GridChoice,
    /// Middles of the swatches at the corners of the grid, told by hand, full-size pixels: first of the first row, last of
    /// the first row, last of the last row, first of the last row. Needs a told grid.
    pub corners: Option<[[f64; 2]; 4]>,
}

/// Why there is no grid.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SwatchError {
    /// Fewer than four swatches that stand out.
    #[error("{seen} swatches stand out from the slip of the piece; a grid needs {needed}")]
    TooFew {
        /// Swatches that stand out.
        seen: usize,
        /// How many it takes.
        needed: usize,
    },
    /// The swatches lie in no rows and columns.
    #[error("{seen} patches stand out from the slip of the piece, but they lie in no rows and columns")]
    NoGrid {
        /// Patches that stand out.
        seen: usize,
    },
    /// The grid that was told is not there.
    #[error("a grid of {told} was told, but the piece shows {rows}x{columns}")]
    OtherGrid {
        /// As it was told, such as `4x6`.
        told: String,
        /// Rows that are seen.
        rows: usize,
        /// Columns that are seen.
        columns: usize,
    },
    /// Another number of bands than was told.
    #[error("{told} bands were told, but {seen} reach across the piece with slip between them")]
    OtherBands {
        /// As it was told.
        told: usize,
        /// Bands that are seen.
        seen: usize,
    },
    /// Corners told by hand do not lie on the piece, or span no grid.
    #[error("the corners told for the grid do not lie on the piece")]
    CornersOff,
}

impl SwatchError {
    /// How much it tells of the grid: of several the one that tells most is said.
    fn tells(&self) -> usize {
        match self {
            SwatchError::TooFew { seen, .. } | SwatchError::OtherBands { seen, .. } => *seen,
            SwatchError::NoGrid { seen } => 1_000 + seen,
            SwatchError::OtherGrid { rows, columns, .. } => 1_000_000 + rows * columns,
            SwatchError::CornersOff => usize::MAX,
        }
    }
}

/// Why a swatch is not read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unreadable {
    /// The wall turns away there: seen at under half its width.
    Edge,
    /// Under a fire cloud.
    Cloud,
    /// In deep shade.
    Shade,
    /// Most of it shines.
    Glare,
}

impl Unreadable {
    /// Name in records.
    pub fn name(self) -> &'static str {
        match self {
            Unreadable::Edge => "edge",
            Unreadable::Cloud => "cloud",
            Unreadable::Shade => "shade",
            Unreadable::Glare => "glare",
        }
    }
}

/// Where one swatch lies.
#[derive(Debug, Clone)]
pub struct SwatchPlace {
    /// Row from 1, the first the uppermost in the photograph.
    pub row: usize,
    /// Column from 1, the first the leftmost in the photograph.
    pub column: usize,
    /// Corners, full-size pixels: first of the row above, then clockwise in the picture.
    pub quad_px: [[f64; 2]; 4],
    /// Whether it stands out by itself; else its place is told by the others.
    pub stands_out: bool,
    /// Why it is not to be read, if so.
    pub unreadable: Option<Unreadable>,
}

/// All swatches of a piece.
#[derive(Debug, Clone)]
pub struct SwatchGrid {
    /// Rows.
    pub rows: usize,
    /// Columns.
    pub columns: usize,
    /// Row by row.
    pub swatches: Vec<SwatchPlace>,
    /// The slip about them.
    pub ground: GroundField,
}

/// Finds the swatches of a piece (its number as in `piece_of`).
///
/// # Errors
/// [`SwatchError`] where there is no grid, or another than was told.
pub fn find_swatches(
    image: &CorrectedImage,
    map: &SurfaceMap,
    number: u8,
    settings: &SwatchSettings,
) -> Result<SwatchGrid, SwatchError> {
    let none = || SwatchError::TooFew { seen: 0, needed: lattice::LEAST };
    let piece: &Piece =
        usize::from(number).checked_sub(1).and_then(|i| map.pieces.get(i)).ok_or_else(none)?;
    let mut found: Vec<(usize, SwatchGrid)> = Vec::new();
    let mut trouble: Option<SwatchError> = None;
    for ground in GroundField::candidates(image, map, piece, number) {
        match on_slip(image, map, piece, number, settings, ground) {
            Ok(one) => found.push(one),
            Err(why) if trouble.as_ref().is_none_or(|known| why.tells() > known.tells()) => {
                trouble = Some(why)
            }
            Err(_) => {}
        }
    }
    // Of equals the first, whose slip is the commonest colour.
    let best = found.into_iter().reduce(|best, one| if one.0 > best.0 { one } else { best });
    best.map(|(_, grid)| grid).ok_or_else(|| trouble.unwrap_or_else(none))
}

/// The grid on one slip, and how many of its swatches stand out.
fn on_slip(
    image: &CorrectedImage,
    map: &SurfaceMap,
    piece: &Piece,
    number: u8,
    settings: &SwatchSettings,
    ground: GroundField,
) -> Result<(usize, SwatchGrid), SwatchError> {
    if let GridChoice::Bands(wanted) = settings.grid {
        let stands_out = blobs::standing(image, map, piece, number, &ground);
        let swatches = bands::find(&stands_out, map, piece, number, wanted)?;
        return Ok((swatches.len(), SwatchGrid { rows: swatches.len(), columns: 1, swatches, ground }));
    }
    let blobs = blobs::find(image, map, piece, number, &ground);
    let lattice = match settings.corners {
        Some(corners) => Lattice::of_corners(&corners, settings.grid, &blobs, map, number)?,
        None => Lattice::through(&blobs, settings.grid)?,
    };
    let swatches = place::swatches(&lattice, &blobs, map, number);
    Ok((lattice.holds(&blobs), SwatchGrid { rows: lattice.rows, columns: lattice.columns, swatches, ground }))
}
