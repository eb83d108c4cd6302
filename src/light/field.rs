//! The shading of a piece, fitted to all its surfaces together.
//!
//! On a log scale what is seen is light plus reflectance (as in the bias-field model of Wells, Grimson,
//! Kikinis & Jolesz 1996, IEEE Trans. Med. Imaging 15(4)). With the surfaces known, light is one smooth
//! function of the place and each surface one constant:
//!
//! ```text
//! ln Y(x, y) = P(x, y) + constant of the surface there
//! ```
//!
//! That is linear least squares, so nothing needs to be assumed of how bright any surface is: what light
//! does on one side of a border, it does on the other. Residuals are re-weighted (Huber 1964), so that
//! clouds, thin places and wrong labels pull little.

use crate::card::CorrectedImage;
use crate::surface::{Label, Piece, SurfaceMap};
use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

/// Degree of the polynomial in the place: 14 terms beside the constants.
const DEGREE: usize = 4;
const TERMS: usize = (DEGREE + 1) * (DEGREE + 2) / 2 - 1;
/// Terms up to degree 2, with which the fit begins.
const SIMPLE_TERMS: usize = 5;
/// Surfaces with a constant of their own, and how far each is believed: white is evenest; polished red
/// shines, and bare clay often lies in a mouth or on a rim, in other light.
const SURFACES: [(Label, f64); 4] =
    [(Label::White, 1.0), (Label::Red, 0.4), (Label::Black, 0.4), (Label::Body, 0.1)];
/// About so many places are looked at.
const PLACES: usize = 6_000;
/// Fewer places than this bear no fit.
const LEAST_PLACES: usize = 200;
/// Pixels along a row over which light is taken as a straight line.
const STRAIGHT: usize = 8;
/// Most rounds of re-weighting, for each of the two degrees.
const ROUNDS: usize = 6;
/// No coefficient moves by more than this (natural log of the light): the weights have settled.
const STILL: f64 = 3e-3;
/// Residuals beyond this many robust standard deviations count less.
const HUBER: f64 = 1.5;
/// Residuals this many robust standard deviations below count a quarter (the square of Cauchy's weight).
const SOOTY: f64 = 3.0;

/// Fits the relative light on the pieces: 1.0 is the mean (of logarithms) over the places that are anchored on the
/// card (see `first_anchored`). A piece that bears no fit keeps the light at hand; what lies off the pieces as well.
pub(super) fn shade(image: &CorrectedImage, map: &SurfaceMap, light: &mut [f32]) {
    for (index, piece) in map.pieces.iter().enumerate() {
        let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
        let places = places(image, map, piece, number);
        if let Some(fit) = (places.len() >= LEAST_PLACES).then(|| Fit::to(&places)).flatten() {
            fit.spread(map, piece, number, light);
        }
    }
}

/// One place: its polynomial terms, which surface it is, ln Y.
struct Place {
    terms: [f64; TERMS],
    surface: usize,
    log_y: f64,
}

/// Places away from edges, evenly over the piece.
fn places(image: &CorrectedImage, map: &SurfaceMap, piece: &Piece, number: u8) -> Vec<Place> {
    let [x0, y0, x1, y1] = piece.bounds;
    let step = ((piece.area as f64 / PLACES as f64).sqrt().floor() as usize).max(1);
    let calm = |at: usize| {
        let own = map.labels[at];
        [at.wrapping_sub(2), at + 2, at.wrapping_sub(2 * map.width), at + 2 * map.width]
            .iter()
            .all(|&next| map.labels.get(next) == Some(&own))
    };
    (y0..y1)
        .step_by(step)
        .flat_map(|y| (x0..x1).step_by(step).map(move |x| (x, y)))
        .filter_map(|(x, y)| {
            let at = y * map.width + x;
            let surface = SURFACES.iter().position(|(label, _)| *label == map.labels[at])?;
            let luminance = f64::from(image.xyz[at][1]);
            let fit = map.piece_of[at] == number && !image.clipped[at] && luminance > 1e-3 && calm(at);
            fit.then(|| Place { terms: terms(piece, x, y), surface, log_y: luminance.ln() })
        })
        .collect()
}

/// -1..1 from one end of the piece's box to the other.
fn unit(at: usize, low: usize, high: usize) -> f64 {
    2.0 * (at - low) as f64 / (high - low).max(1) as f64 - 1.0
}

/// Powers of the place, both coordinates -1..1 over the piece, without the constant.
fn terms(piece: &Piece, x: usize, y: usize) -> [f64; TERMS] {
    let [x0, y0, x1, y1] = piece.bounds;
    let powers = |of: f64| {
        let mut powers = [1.0; DEGREE + 1];
        (1..=DEGREE).for_each(|k| powers[k] = powers[k - 1] * of);
        powers
    };
    let (u, v) = (powers(unit(x, x0, x1)), powers(unit(y, y0, y1)));
    let mut terms = [0.0; TERMS];
    let mut at = 0;
    for degree in 1..=DEGREE {
        for j in 0..=degree {
            terms[at] = u[degree - j] * v[j];
            at += 1;
        }
    }
    terms
}

struct Fit {
    coefficients: [f64; TERMS],
    /// Range of the polynomial over the places: it is not trusted beyond.
    range: [f64; 2],
    /// Its mean over the places that are anchored.
    top: f64,
}

impl Fit {
    fn to(places: &[Place]) -> Option<Self> {
        let mut weights = vec![1.0; places.len()];
        // The simpler shape comes first: a cloud of soot is a dent that terms of higher degree would follow.
        settled::<SIMPLE_TERMS>(places, &mut weights)?;
        let (coefficients, _) = settled::<TERMS>(places, &mut weights)?;
        let mut values: Vec<f64> = places.iter().map(|p| polynomial(&coefficients, &p.terms)).collect();
        values.sort_unstable_by(f64::total_cmp);
        let quantile = |share: f64| values[((values.len() - 1) as f64 * share) as usize];
        let anchored = &values[first_anchored(&values)..];
        let top = anchored.iter().sum::<f64>() / anchored.len() as f64;
        Some(Self { coefficients, range: [quantile(0.005), quantile(0.995)], top })
    }

    fn spread(&self, map: &SurfaceMap, piece: &Piece, number: u8, light: &mut [f32]) {
        let [x0, y0, x1, y1] = piece.bounds;
        let [low, high] = self.range.map(|v| (v - self.top) as f32);
        let rows = light.par_chunks_mut(map.width).enumerate().skip(y0).take(y1 - y0);
        rows.for_each(|(y, row)| {
            let along = self.along_row(unit(y, y0, y1));
            let own = &map.piece_of[y * map.width..(y + 1) * map.width];
            let light = |x: usize| {
                let u = unit(x, x0, x1);
                let log = along.iter().rev().fold(0.0, |sum, c| sum * u + c) - self.top;
                (log as f32).clamp(low, high).exp()
            };
            // Light is smooth: a straight line over a few pixels is as good.
            let mut next = light(x0);
            for from in (x0..x1).step_by(STRAIGHT) {
                let here = next;
                next = light(from + STRAIGHT);
                for x in (from..(from + STRAIGHT).min(x1)).filter(|&x| own[x] == number) {
                    row[x] = here + (next - here) * ((x - from) as f32 / STRAIGHT as f32);
                }
            }
        });
    }

    /// The polynomial on one row: its coefficients in u, lowest first, for a fixed v (Horner's rule follows).
    fn along_row(&self, v: f64) -> [f64; DEGREE + 1] {
        let mut along = [0.0; DEGREE + 1];
        let mut at = 0;
        for degree in 1..=DEGREE {
            for j in 0..=degree {
                along[degree - j] += self.coefficients[at] * v.powi(j as i32);
                at += 1;
            }
        }
        along
    }
}

/// Fall-off of light over a piece up to which it is taken to lie as the card does, all of it.
const LYING: f64 = 0.25;
/// Fall-off from which on only its brighter half is compared with the card.
const STANDING: f64 = 0.5;

/// Index of the first of the sorted `values` (logarithms of light) that is anchored on the card's light.
/// A shallow piece lies as the card does: its walls lean all ways by little, and the light on the whole
/// of it is the card's in the mean. A piece that turns far away is anchored on its brighter half, which no
/// single bright corner moves far. In between, in between.
fn first_anchored(values: &[f64]) -> usize {
    let at = |share: f64| values[((values.len() - 1) as f64 * share) as usize];
    let fall = 1.0 - (at(0.05) - at(0.95)).exp();
    let left_out = 0.5 * ((fall - LYING) / (STANDING - LYING)).clamp(0.0, 1.0);
    (left_out * values.len() as f64) as usize
}

fn polynomial(coefficients: &[f64], terms: &[f64; TERMS]) -> f64 {
    coefficients.iter().zip(terms).map(|(c, t)| c * t).sum()
}

/// Coefficients of the first terms, and the constants of the surfaces.
type Solution<const N: usize> = ([f64; N], [f64; SURFACES.len()]);

/// The least squares of the first `N` terms, re-weighted until the light moves no more or the rounds are over; the
/// weights that follow from it are left behind. `None` where the places bear no solution.
fn settled<const N: usize>(places: &[Place], weights: &mut [f64]) -> Option<Solution<N>> {
    let mut last = [0.0; N];
    for round in 1..=ROUNDS {
        let solution = solve::<N>(places, weights)?;
        reweigh(places, &solution, weights);
        let moved = solution.0.iter().zip(&last).map(|(c, l)| (c - l).abs()).fold(0.0, f64::max);
        if moved < STILL || round == ROUNDS {
            return Some(solution);
        }
        last = solution.0;
    }
    None
}

/// Weighted least squares of the first `N` terms and the constants.
fn solve<const N: usize>(places: &[Place], weights: &[f64]) -> Option<Solution<N>> {
    // Sums over the places of products of terms, and a surface: of terms, of one.
    let mut products = [[0f64; N]; N];
    let (mut means, mut many) = ([[0f64; N]; SURFACES.len()], [0f64; SURFACES.len()]);
    let (mut seen, mut levels) = ([0f64; N], [0f64; SURFACES.len()]);
    for (place, weight) in places.iter().zip(weights) {
        let weight = weight * SURFACES[place.surface].1;
        let terms: [f64; N] = std::array::from_fn(|i| place.terms[i]);
        let scaled = terms.map(|t| weight * t);
        for i in 0..N {
            // The whole row: half of it is not read, but whole rows are summed faster.
            products[i].iter_mut().zip(terms).for_each(|(sum, term)| *sum += scaled[i] * term);
            means[place.surface][i] += scaled[i];
            seen[i] += scaled[i] * place.log_y;
        }
        many[place.surface] += weight;
        levels[place.surface] += weight * place.log_y;
    }
    let unknowns = N + SURFACES.len();
    let (mut left, mut right) = (DMatrix::zeros(unknowns, unknowns), DVector::zeros(unknowns));
    // A little damping: a term that no place bears on stays at nothing. The constants are large and must not be
    // pulled, so theirs only keeps an unseen surface solvable.
    let damping = places.len() as f64 * 1e-5;
    for i in 0..N {
        (0..=i).for_each(|j| left[(i, j)] = products[i][j]);
        left[(i, i)] += damping;
        right[i] = seen[i];
    }
    for k in 0..SURFACES.len() {
        (0..N).for_each(|i| left[(N + k, i)] = means[k][i]);
        left[(N + k, N + k)] = many[k] + 1e-4 * damping;
        right[N + k] = levels[k];
    }
    // Only the lower triangle is read.
    let solution = left.cholesky()?.solve(&right);
    Some((std::array::from_fn(|i| solution[i]), std::array::from_fn(|k| solution[N + k])))
}

/// Huber's weights, the scale from the median absolute residual (1.4826 of it is a standard deviation).
fn reweigh<const N: usize>(places: &[Place], solution: &Solution<N>, weights: &mut [f64]) {
    let (coefficients, constants) = solution;
    let residuals: Vec<f64> =
        places.iter().map(|p| p.log_y - polynomial(coefficients, &p.terms) - constants[p.surface]).collect();
    let mut sorted: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
    let middle = sorted.len() / 2;
    let scale = 1.4826 * *sorted.select_nth_unstable_by(middle, f64::total_cmp).1;
    for (weight, residual) in weights.iter_mut().zip(residuals) {
        *weight = if residual > 0.0 {
            (HUBER * scale / residual.max(1e-12)).min(1.0)
        } else {
            // Soot only darkens, and much of a piece may be sooty: what lies far below says nothing of the light.
            (1.0 + (residual / (SOOTY * scale)).powi(2)).powi(-2)
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::drawn::filled;

    /// A piece of two surfaces under a planted ramp of light: the ramp comes back whatever the
    /// reflectances are, also where one surface lies wholly in the dark half.
    #[test]
    fn a_planted_ramp_comes_back() {
        let (width, height) = (200, 100);
        for (white, red) in [(0.6, 0.1), (0.2, 0.15), (0.1, 0.6)] {
            let ramp = |x: usize| {
                let u = x as f32 / width as f32;
                (-0.7 * u + 0.3 * u * u).exp()
            };
            let label = |x: usize| if x < 120 { Label::White } else { Label::Red };
            let at = |i: usize| i % width;
            let luminance = |x: usize| ramp(x) * if label(x) == Label::White { white } else { red };
            let image = CorrectedImage {
                width,
                height,
                factor: 1,
                xyz: (0..width * height).map(|i| [luminance(at(i)); 3]).collect(),
                light: vec![[0.5; 3]; width * height],
                clipped: vec![false; width * height],
            };
            let map = filled(width, height, |i| label(at(i)));
            let mut light = map.light.clone();
            shade(&image, &map, &mut light);
            for x in [10, 60, 110, 150, 190] {
                let (found, planted) = (light[50 * width + x] / light[50 * width + 10], ramp(x) / ramp(10));
                // The planted light is in the model; what is left is the damping and the cut at the ends.
                assert!((found / planted - 1.0).abs() < 0.005, "{white} {red} at {x}: {found} for {planted}");
            }
        }
    }
}
