//! Lengths in the plane of the card: from full-size pixels to mm, by the homography of its corners.

use crate::card::{CardReading, CardStatus, Homography};

/// The plane in which the card lies, as the photograph shows it.
#[derive(Clone)]
pub(super) struct CardPlane {
    to_mm: Homography,
    corners: [[f64; 2]; 4],
    extent_mm: [f64; 2],
    /// Standard uncertainty of a corner, each coordinate, pixels.
    corner_error: f64,
}

/// Standard uncertainty of a found corner, as a share of the patch side: the edges of 24 patches fix it far better
/// than one edge is seen, what is left is the card's own flatness and the lens. At least so many pixels.
const FOUND_CORNER: (f64, f64) = (0.01, 0.2);
/// Standard uncertainty of a corner told by hand, pixels: as well as a hand points.
const TOLD_CORNER: f64 = 2.0;

impl CardPlane {
    /// The plane of the card, or why there is no scale.
    pub fn of(card: &CardReading) -> Result<Self, &'static str> {
        let Some(place) = &card.place else {
            return Err(match card.status {
                CardStatus::None => "there is no card in this photograph, so that there is no scale",
                _ => "the card lies in another photograph, so that there is no scale in this one",
            });
        };
        let Some(extent_mm) = place.extent_mm else {
            return Err(
                "the size of the card is not known; measure one patch with a ruler and say --patch-mm",
            );
        };
        let corner_error = match card.status {
            CardStatus::Given => TOLD_CORNER,
            _ => (FOUND_CORNER.0 * place.patch_side_px).max(FOUND_CORNER.1),
        };
        Self::new(extent_mm, place.corners_px, corner_error)
            .ok_or("the corners of the card give no plane; give them with --card-corners")
    }

    fn new(extent_mm: [f64; 2], corners: [[f64; 2]; 4], corner_error: f64) -> Option<Self> {
        let to_mm = Homography::from_corners(extent_mm[0], extent_mm[1], &corners)?.inverse()?;
        Some(Self { to_mm, corners, extent_mm, corner_error })
    }

    /// Place in mm of a full-size pixel; `None` on the far side of the plane's horizon.
    pub fn place(&self, px: [f64; 2]) -> Option<[f64; 2]> {
        let mm = self.to_mm.apply(px);
        let same_side = self.to_mm.area(px) * self.to_mm.area(self.corners[0]) > 0.0;
        (same_side && mm.iter().all(|v| v.is_finite())).then_some(mm)
    }

    /// Distance in mm of two full-size pixels.
    pub fn distance(&self, from: [f64; 2], to: [f64; 2]) -> Option<f64> {
        let (from, to) = (self.place(from)?, self.place(to)?);
        Some((to[0] - from[0]).hypot(to[1] - from[1]))
    }

    /// mm per full-size pixel at a place: root of the area of a pixel.
    pub fn mm_per_px(&self, px: [f64; 2]) -> f64 {
        self.to_mm.area(px).abs().sqrt()
    }

    /// The eight planes in which one coordinate of one corner lies one standard uncertainty off.
    pub fn neighbours(&self) -> impl Iterator<Item = Option<Self>> + '_ {
        (0..8).map(|k| {
            let mut corners = self.corners;
            corners[k / 2][k % 2] += self.corner_error;
            Self::new(self.extent_mm, corners, self.corner_error)
        })
    }
}
