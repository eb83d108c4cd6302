//! One surface over another where both lie close together.
//!
//! The light field of a piece is least sure between places that face different ways. Two surfaces that lie in one small
//! square get nearly the same light, whatever the field says of the rest of the piece: their ratio there is known far
//! better than the ratio of their means.

use super::inner::{Depth, Inner};
use super::record::RatioPart;
use super::tally::Sum;
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
const LEAST_PIXELS: usize = 12;
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

/// One surface in one square.
#[derive(Clone, Copy, Default)]
struct Here {
    /// All its pixels, those of its inner part, those of its deep part.
    all: Sum,
    inner: Sum,
    deep: Sum,
    /// Sums of the columns and rows of the inner ones.
    place: [f64; 2],
}

impl Here {
    /// Distance of the middles of two surfaces.
    fn apart(&self, other: &Self) -> f64 {
        let way =
            |c: usize| self.place[c] / self.inner.pixels as f64 - other.place[c] / other.inner.pixels as f64;
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
    let squares: Vec<[Here; 5]> = corners
        .par_iter()
        .map(|&[left, top]| {
            let mut sums = [Here::default(); 5];
            for y in top..(top + side).min(y1) {
                for x in left..(left + side).min(x1) {
                    let at = y * map.width + x;
                    if map.piece_of[at] != number || image.clipped[at] {
                        continue;
                    }
                    let Some(k) = SURFACES.iter().position(|(label, _)| *label == map.labels[at]) else {
                        continue;
                    };
                    let (light, depth) = (f64::from(map.light[at].max(0.02)), inner.depth(x, y));
                    let xyz = image.xyz[at].map(f64::from);
                    sums[k].all.take(xyz, light);
                    if depth > Depth::Edge {
                        sums[k].inner.take(xyz, light);
                        sums[k].place = [sums[k].place[0] + x as f64, sums[k].place[1] + y as f64];
                    }
                    if depth == Depth::Deep {
                        sums[k].deep.take(xyz, light);
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

fn ratio(squares: &[[Here; 5]], [of, to]: [usize; 2], slope: f64) -> Option<RatioPart> {
    let bears = |square: &&[Here; 5], part: fn(&Here) -> &Sum| {
        part(&square[of]).pixels.min(part(&square[to]).pixels) >= LEAST_PIXELS
    };
    let log = |square: &[Here; 5], part: fn(&Here) -> &Sum| {
        let logs = |k: usize| part(&square[k]).mean().map_or([f64::NAN; 3], |m| [m.x, m.y, m.z].map(f64::ln));
        let (one, other) = (logs(of), logs(to));
        [0, 1, 2].map(|c| one[c] - other[c])
    };
    let borne: Vec<&[Here; 5]> = squares
        .iter()
        .filter(|square| {
            bears(square, |s| &s.inner) && log(square, |s| &s.inner).iter().all(|v| v.is_finite())
        })
        .collect();
    if borne.len() < LEAST_PLACES {
        return None;
    }
    let n = borne.len() as f64;
    let looks = (n / PLACES_A_LOOK).max(2.0);
    // Each pixel of paint counts once; of surfaces that are even, each square.
    let paint = [of, to].into_iter().find(|k| SURFACES[*k].0 == Label::Black);
    let weight = |square: &[Here; 5]| paint.map_or(1.0, |k| square[k].inner.pixels as f64);
    let logs: Vec<(f64, [f64; 3])> =
        borne.iter().map(|square| (weight(square), log(square, |s| &s.inner))).collect();
    let (mean, variance) = middle(&logs, paint.map(|k| if k == of { 1.0 } else { -1.0 }));
    let apart = borne.iter().map(|square| square[of].apart(&square[to])).sum::<f64>() / n;
    let within = WITHIN_PLACE.hypot(slope * apart);
    // Squares beside each other see one slip and one brush.
    let scatter = |c: usize| uncertainty::COVERAGE * (variance[c] * n / looks + within * within).sqrt();
    // What neighbours do to it: how far it moves in the deep parts, or half of what the places at edges would do.
    let moved = |part: fn(&Here) -> &Sum| -> Vec<(f64, [f64; 3])> {
        let both = borne.iter().filter(|square| bears(square, part));
        let steps = both.map(|square| (weight(square), log(square, part), log(square, |s| &s.inner)));
        let steps = steps.map(|(weight, there, here)| (weight, [0, 1, 2].map(|c| there[c] - here[c])));
        steps.filter(|(_, step)| step.iter().all(|v| v.is_finite())).collect()
    };
    let deep = moved(|s| &s.deep);
    let edges = if deep.len() >= LEAST_PLACES {
        mean_of(&deep).map(f64::abs)
    } else {
        mean_of(&moved(|s| &s.all)).map(|step| step.abs() / 2.0)
    };
    Some(RatioPart {
        of: SURFACES[of].1.into(),
        to: SURFACES[to].1.into(),
        log_xyz: mean,
        u95: [0, 1, 2].map(|c| scatter(c).hypot(edges[c])),
        edges_u95: edges,
        places: borne.len(),
    })
}

/// Logarithm of the ratio over weighted squares, and the variance of that. `paint`: 1 where its logarithms are those of paint
/// over a neighbour, -1 where they are those of the neighbour over paint. Paint is uneven: its ratio is one of means, as its
/// colour is. Of even surfaces it is the mean of logarithms, which odd squares sway less.
fn middle(logs: &[(f64, [f64; 3])], paint: Option<f64>) -> ([f64; 3], [f64; 3]) {
    let value = |log: f64| paint.map_or(log, |sign| (sign * log).exp());
    let values: Vec<(f64, [f64; 3])> = logs.iter().map(|(weight, log)| (*weight, log.map(value))).collect();
    let mean = mean_of(&values);
    let scale = |c: usize| if paint.is_some() { mean[c] } else { 1.0 };
    let (n, all) = (values.len() as f64, values.iter().map(|(weight, _)| weight).sum::<f64>());
    let off = |c: usize, weight: f64, v: f64| (weight / all * (v - mean[c]) / scale(c)).powi(2);
    let sum = |c: usize| values.iter().map(|(weight, v)| off(c, *weight, v[c])).sum::<f64>();
    (mean.map(|v| paint.map_or(v, |sign| sign * v.ln())), [0, 1, 2].map(|c| sum(c) * n / (n - 1.0)))
}

/// Mean of weighted values; 0 of none.
fn mean_of(list: &[(f64, [f64; 3])]) -> [f64; 3] {
    let all: f64 = list.iter().map(|(weight, _)| weight).sum();
    [0, 1, 2].map(|c| list.iter().map(|(weight, v)| weight * v[c]).sum::<f64>() / all.max(1.0))
}
