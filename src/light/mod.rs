//! The light on the piece.
//!
//! The shading field itself is found together with the surfaces, because each needs the other: it is
//! [`SurfaceMap::light`](crate::surface::SurfaceMap::light), light on each place as a share of that on the piece's
//! brightest part. This room says where a record's light comes from.
//!
//! Not done yet: the light told by a pale ball beside the piece, and the piece's form.

use crate::surface::SurfaceMap;

/// Where the light on the piece is known from; the record's `light.source`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LightSource {
    /// The smooth field found with the surfaces.
    Field,
    /// It is not known.
    None,
}

impl LightSource {
    /// The source for a mapped photograph.
    pub fn of(map: &SurfaceMap) -> Self {
        if map.pieces.is_empty() { Self::None } else { Self::Field }
    }
    /// Name in records.
    pub fn name(self) -> &'static str {
        match self {
            Self::Field => "field",
            Self::None => "none",
        }
    }
}
