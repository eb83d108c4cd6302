//! One piece of one photograph, and its own coordinates.

use crate::card::CorrectedImage;
use crate::surface::{Piece, SurfaceMap};

/// A piece in its photograph.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// The photograph in corrected light.
    pub image: &'a CorrectedImage,
    /// Its surfaces, same size.
    pub map: &'a SurfaceMap,
    /// Which piece: index into `map.pieces`.
    pub index: usize,
}

impl<'a> View<'a> {
    /// The piece; `None` where the map has no piece of that index.
    pub(super) fn piece(&self) -> Option<&'a Piece> {
        self.map.pieces.get(self.index)
    }

    /// Its number in the map.
    pub(super) fn number(&self) -> u8 {
        u8::try_from(self.index + 1).unwrap_or(u8::MAX)
    }

    /// Its pixels, row by row: x, y and index into the map.
    pub(super) fn pixels(&self) -> impl Iterator<Item = (usize, usize, usize)> + use<'a> {
        let (map, number) = (self.map, self.number());
        let [x0, y0, x1, y1] = self.piece().map_or([0; 4], |piece| piece.bounds);
        (y0..y1)
            .flat_map(move |y| (x0..x1).map(move |x| (x, y, y * map.width + x)))
            .filter(move |&(_, _, at)| map.piece_of[at] == number)
    }
}

/// The coordinates of a piece: its middle is 0, 0, and a square as large as the piece has side 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frame {
    /// Middle, map pixels.
    pub middle: [f64; 2],
    /// Side of that square, map pixels.
    pub unit: f64,
    /// Box of the piece in piece units: x0, y0, x1, y1.
    pub bounds: [f64; 4],
}

impl Frame {
    /// Of a piece; `None` where it has next to no pixels.
    pub fn of(view: &View) -> Option<Self> {
        let (mut sum, mut many) = ([0f64; 2], 0usize);
        for (x, y, _) in view.pixels() {
            sum = [sum[0] + x as f64 + 0.5, sum[1] + y as f64 + 0.5];
            many += 1;
        }
        if many < LEAST_PIXELS {
            return None;
        }
        let (middle, unit) = (sum.map(|v| v / many as f64), (many as f64).sqrt());
        let [x0, y0, x1, y1] = view.piece()?.bounds.map(|v| v as f64);
        let own = |at: f64, axis: usize| (at - middle[axis]) / unit;
        Some(Self { middle, unit, bounds: [own(x0, 0), own(y0, 1), own(x1, 0), own(y1, 1)] })
    }

    /// Map pixels to piece units.
    pub fn own(&self, pixel: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|c| (pixel[c] - self.middle[c]) / self.unit)
    }

    /// Piece units to map pixels.
    pub fn pixel(&self, own: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|c| own[c] * self.unit + self.middle[c])
    }
}

/// Fewest pixels of a piece that can be compared.
const LEAST_PIXELS: usize = 2500;
