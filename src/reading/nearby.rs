//! One surface over another where both lie close together.
//!
//! The light field of a piece is least sure between places that face different ways. Two surfaces that lie in one small
//! square get nearly the same light, whatever the field says of the rest of the piece: their ratio there is known far
//! better than the ratio of their means.

use super::record::RatioPart;
use super::statistics::Inner;
use super::uncertainty;
use crate::card::CorrectedImage;
use crate::surface::{Label, Piece, SurfaceMap};
use rayon::prelude::*;

/// The surfaces that have a colour, in the order of the labels.
pub(super) const SURFACES: [(Label, &str); 5] = [
    (Label::White, "white"),
    (Label::Red, "red"),
    (Label::Black, "black"),
    (Label::Body, "body"),
    (Label::Smudged, "smudged"),
];

/// Side of a square as a share of the root of the piece's area, and at least so many map pixels.
const SIDE: (f64, usize) = (0.07, 24);
/// Inner map pixels of each of the two surfaces in a square.
const LEAST_PIXELS: f64 = 12.0;
/// Squares below which nothing is said.
const LEAST_PLACES: usize = 4;
/// Squares touch each other and see one slip and one brush: so many make one independent look.
const PLACES_A_LOOK: f64 = 4.0;
/// Relative standard uncertainty of the light between two surfaces whose pixels lie mixed in a square.
const WITHIN_PLACE: f64 = 0.02;
/// What it grows by from one side of a square to the other, on a piece where light falls off to nothing; and where one of
/// the two is red, which is polished, so that its shine hangs on the way it faces, and lies beyond rims. Settled on rendered
/// round pieces of known colours: white over black was off by 0.03 at the median, red over white by 0.1.
const ACROSS_PLACE: [f64; 2] = [0.12, 0.35];

/// Sums over one surface in one square: pixels, their places, relative light, XYZ.
#[derive(Clone, Copy, Default)]
struct Sum {
    pixels: f64,
    place: [f64; 2],
    light: f64,
    xyz: [f64; 3],
}

impl Sum {
    /// Distance of the middles of two surfaces.
    fn apart(&self, other: &Self) -> f64 {
        let way = |c: usize| self.place[c] / self.pixels - other.place[c] / other.pixels;
        way(0).hypot(way(1))
    }
}

/// Ratios of all pairs of surfaces that meet on a piece (its number as in `piece_of`), in the order of the labels.
/// `darkest`: light on its darkest part over that on its brightest.
pub(super) fn ratios(
    image: &CorrectedImage,
    map: &SurfaceMap,
    (piece, number): (&Piece, u8),
    inner: &Inner,
    darkest: f64,
) -> Vec<RatioPart> {
    let [x0, y0, x1, y1] = piece.bounds;
    let side = ((SIDE.0 * (piece.area as f64).sqrt()) as usize).max(SIDE.1);
    let corners: Vec<[usize; 2]> =
        (y0..y1).step_by(side).flat_map(|y| (x0..x1).step_by(side).map(move |x| [x, y])).collect();
    let squares: Vec<[Sum; 5]> = corners
        .par_iter()
        .map(|&[left, top]| {
            let mut sums = [Sum::default(); 5];
            for y in top..(top + side).min(y1) {
                for x in left..(left + side).min(x1) {
                    let at = y * map.width + x;
                    if map.piece_of[at] != number || !inner.holds(x, y) || image.clipped[at] {
                        continue;
                    }
                    if let Some(k) = SURFACES.iter().position(|(label, _)| *label == map.labels[at]) {
                        sums[k].pixels += 1.0;
                        sums[k].place = [sums[k].place[0] + x as f64, sums[k].place[1] + y as f64];
                        sums[k].light += f64::from(map.light[at].max(0.02));
                        (0..3).for_each(|c| sums[k].xyz[c] += f64::from(image.xyz[at][c]));
                    }
                }
            }
            sums
        })
        .collect();
    let pairs = (0..SURFACES.len()).flat_map(|of| (of + 1..SURFACES.len()).map(move |to| (of, to)));
    // Doubt of the light from one side of a square to the other, a pixel.
    let slope = |of: usize, to: usize| {
        let has_red = [of, to].iter().any(|k| SURFACES[*k].0 == Label::Red);
        ACROSS_PLACE[usize::from(has_red)] * (1.0 - darkest) / side as f64
    };
    pairs.filter_map(|(of, to)| ratio(&squares, [of, to], slope(of, to))).collect()
}

fn ratio(squares: &[[Sum; 5]], [of, to]: [usize; 2], slope: f64) -> Option<RatioPart> {
    // ln of X, Y, Z, and how far apart the two lie.
    let logs: Vec<[f64; 4]> = squares
        .iter()
        .filter(|square| square[of].pixels.min(square[to].pixels) >= LEAST_PIXELS)
        .map(|square| {
            let mean = |k: usize, c: usize| square[k].xyz[c] / square[k].light;
            let log = |c: usize| (mean(of, c) / mean(to, c)).ln();
            [log(0), log(1), log(2), square[of].apart(&square[to])]
        })
        .filter(|logs| logs.iter().all(|v| v.is_finite()))
        .collect();
    if logs.len() < LEAST_PLACES {
        return None;
    }
    let n = logs.len() as f64;
    let looks = (n / PLACES_A_LOOK).max(2.0);
    let [mean_x, mean_y, mean_z, apart] = [0, 1, 2, 3].map(|c| logs.iter().map(|v| v[c]).sum::<f64>() / n);
    let mean = [mean_x, mean_y, mean_z];
    let within = WITHIN_PLACE.hypot(slope * apart);
    let error = |c: usize| {
        let variance = logs.iter().map(|v| (v[c] - mean[c]).powi(2)).sum::<f64>() / (n - 1.0);
        uncertainty::COVERAGE * (variance / looks + within * within).sqrt()
    };
    Some(RatioPart {
        of: SURFACES[of].1.into(),
        to: SURFACES[to].1.into(),
        log_xyz: mean,
        u95: [0, 1, 2].map(error),
        places: logs.len(),
    })
}
