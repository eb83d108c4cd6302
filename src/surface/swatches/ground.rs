//! The slip on which swatches lie: its colour and the light on it at each place, as one smooth field.
//!
//! Comes in: the picture and the map. Goes out: a [`GroundField`], a polynomial in the place for ln X, ln Y and ln Z of
//! the slip over the relative light of the map. It is fitted again and again without what lies far from it, which is a
//! trimmed least-squares fit (Rousseeuw & Leroy 1987, chapter 4).

use super::super::grid::Tint;
use super::super::{Label, Piece, SurfaceMap};
use crate::card::CorrectedImage;
use nalgebra::{DMatrix, DVector};
use std::collections::BTreeMap;

/// Places looked at.
const SAMPLES: usize = 30_000;
/// Side of the cells in which the commonest colour is counted, L*, a*, b*.
const CELL: f32 = 4.0;
/// Colours so near the commonest belong to the slip at first.
const NEAR: f32 = 12.0;
/// So many of the commonest colours may be the slip, each on at least this share of the piece.
const CANDIDATES: usize = 3;
const LEAST_SHARE: f64 = 0.1;
/// Then those within so many standard deviations of the field, in CIE 1976 units, and never fewer units than the last.
const TRIM: (f32, f32) = (2.5, 2.0);
/// Degree of the polynomial in both directions together.
const DEGREE: usize = 3;
/// Fits until the trimmed set has settled.
const ROUNDS: usize = 8;
/// From the median distance to a standard deviation in one of three equal channels: the median of the chi distribution
/// with three degrees of freedom is 1.538.
const MEDIAN_OF_THREE: f32 = 1.538;

/// The slip at each place of a piece.
#[derive(Debug, Clone)]
pub struct GroundField {
    /// Middle and half size of the piece's box, map pixels.
    middle: [f64; 2],
    half: f64,
    /// By channel, a coefficient a term.
    terms: [Vec<f64>; 3],
    /// Standard deviation about the field in one channel, CIE 1976 units.
    pub scatter: f32,
    /// X, Y, Z of the slip in the light of the piece's brightest part: the mean of what lies on the field.
    pub mean: [f64; 3],
    /// Mean relative light where it was seen.
    pub mean_light: f64,
}

impl GroundField {
    /// A field for each of the commonest colours of the piece, the commonest first; none where it is too small.
    pub(super) fn candidates(
        image: &CorrectedImage,
        map: &SurfaceMap,
        piece: &Piece,
        number: u8,
    ) -> Vec<Self> {
        let step = ((piece.area as f64 / SAMPLES as f64).sqrt().floor() as usize).max(1);
        let usable = |&at: &usize| {
            map.piece_of[at] == number
                && !image.clipped[at]
                && !matches!(map.labels[at], Label::Glare | Label::Shade | Label::Cloud)
        };
        let places: Vec<usize> = map.places(piece, step).filter(usable).collect();
        let lit = |at: usize| image.xyz[at].map(|v| (v / map.light[at].max(0.02)).max(1e-4));
        let tints: Vec<Tint> = places.iter().map(|&at| Tint::of(lit(at))).collect();
        commonest(&tints)
            .into_iter()
            .filter_map(|common| Self::about(common, (&places, &tints), image, map, piece))
            .collect()
    }

    fn about(
        common: Tint,
        (places, tints): (&[usize], &[Tint]),
        image: &CorrectedImage,
        map: &SurfaceMap,
        piece: &Piece,
    ) -> Option<Self> {
        let lit = |at: usize| image.xyz[at].map(|v| (v / map.light[at].max(0.02)).max(1e-4));
        let [x0, y0, x1, y1] = piece.bounds.map(|v| v as f64);
        let half = ((x1 - x0).max(y1 - y0) / 2.0).max(1.0);
        let mut field = Self {
            middle: [(x0 + x1) / 2.0, (y0 + y1) / 2.0],
            half,
            terms: std::array::from_fn(|_| Vec::new()),
            scatter: TRIM.1,
            mean: [0.0; 3],
            mean_light: 1.0,
        };
        let near = |tint: &Tint| distance(*tint, common) < NEAR;
        let mut chosen: Vec<usize> =
            places.iter().zip(tints).filter(|(_, t)| near(t)).map(|(&at, _)| at).collect();
        for round in 0..ROUNDS {
            // Few terms first: a high polynomial would follow what is not slip yet.
            let degree = if round < 2 { 1 } else { DEGREE };
            field.fit(&chosen, map.width, degree, lit)?;
            let far = |at: usize| distance(Tint::of(lit(at)), field.tint(at, map.width));
            let mut off: Vec<f32> = chosen.iter().map(|&at| far(at)).collect();
            let middle = off.len() / 2;
            let scatter = *off.select_nth_unstable_by(middle, f32::total_cmp).1 / MEDIAN_OF_THREE;
            let reach = (TRIM.0 * MEDIAN_OF_THREE * scatter).max(TRIM.1);
            chosen = places.iter().copied().filter(|&at| far(at) < reach).collect();
            field.scatter = scatter;
        }
        let (mut sum, mut light) = ([0.0; 3], 0.0);
        for &at in &chosen {
            (0..3).for_each(|c| sum[c] += f64::from(image.xyz[at][c]));
            light += f64::from(map.light[at].max(0.02));
        }
        field.mean = sum.map(|s| s / light);
        field.mean_light = light / chosen.len().max(1) as f64;
        Some(field)
    }

    fn fit(
        &mut self,
        places: &[usize],
        width: usize,
        degree: usize,
        lit: impl Fn(usize) -> [f32; 3],
    ) -> Option<()> {
        let count = powers(degree).count();
        if places.len() < 20 * count {
            return None;
        }
        let (mut square, mut right) = (DMatrix::<f64>::zeros(count, count), DMatrix::<f64>::zeros(count, 3));
        let mut row = vec![0.0; count];
        for &at in places {
            let p = self.local(at % width, at / width);
            powers(degree).zip(&mut row).for_each(|([i, j], v)| *v = p[0].powi(i) * p[1].powi(j));
            let y = lit(at).map(|v| f64::from(v).ln());
            for a in 0..count {
                (0..count).for_each(|b| square[(a, b)] += row[a] * row[b]);
                (0..3).for_each(|c| right[(a, c)] += row[a] * y[c]);
            }
        }
        let cholesky = square.cholesky()?;
        for c in 0..3 {
            let column: DVector<f64> = right.column(c).into_owned();
            self.terms[c] = cholesky.solve(&column).iter().copied().collect();
        }
        Some(())
    }

    fn local(&self, x: usize, y: usize) -> [f64; 2] {
        [(x as f64 + 0.5 - self.middle[0]) / self.half, (y as f64 + 0.5 - self.middle[1]) / self.half]
    }

    /// X, Y, Z of the slip over the map's relative light at a pixel of a map `width` wide.
    pub fn at(&self, at: usize, width: usize) -> [f64; 3] {
        let p = self.local(at % width, at / width);
        let count = self.terms[0].len();
        let degree = (0..).find(|&d| powers(d).count() >= count).unwrap_or(DEGREE);
        let mut log = [0.0; 3];
        for (k, [i, j]) in powers(degree).enumerate() {
            let v = p[0].powi(i) * p[1].powi(j);
            (0..3).for_each(|c| log[c] += self.terms[c][k] * v);
        }
        log.map(f64::exp)
    }

    fn tint(&self, at: usize, width: usize) -> Tint {
        Tint::of(self.at(at, width).map(|v| v as f32))
    }

    /// How far the colour `xyz` over the map's light lies from the slip at a pixel, CIE 1976 units at L* 50 for a* and b*.
    pub(super) fn distance(&self, xyz: [f32; 3], at: usize, width: usize) -> f32 {
        distance(Tint::of(xyz), self.tint(at, width))
    }
}

/// Exponents of the terms up to a degree.
fn powers(degree: usize) -> impl Iterator<Item = [i32; 2]> {
    let degree = degree as i32;
    (0..=degree).flat_map(move |sum| (0..=sum).map(move |j| [sum - j, j]))
}

fn distance(one: Tint, other: Tint) -> f32 {
    ((one.l - other.l).powi(2) + (one.a - other.a).powi(2) + (one.b - other.b).powi(2)).sqrt()
}

/// Middles of the cells of colours that, with their 26 neighbours, hold most; each well apart from those before it.
fn commonest(tints: &[Tint]) -> Vec<Tint> {
    let cell = |t: &Tint| t.array().map(|v| (v / CELL).floor() as i32);
    let mut counts: BTreeMap<[i32; 3], usize> = BTreeMap::new();
    tints.iter().for_each(|t| *counts.entry(cell(t)).or_default() += 1);
    let around = |c: &[i32; 3]| -> usize {
        let near = (0..27).map(|k| [c[0] + k % 3 - 1, c[1] + k / 3 % 3 - 1, c[2] + k / 9 - 1]);
        near.filter_map(|n| counts.get(&n)).sum()
    };
    // Of equals the first in order, so that the answer does not hang on chance.
    let mut cells: Vec<(usize, [i32; 3])> = counts.keys().map(|c| (around(c), *c)).collect();
    cells.sort_by(|p, q| q.0.cmp(&p.0).then(p.1.cmp(&q.1)));
    let mut found: Vec<Tint> = Vec::new();
    for (_, middle) in cells.iter().filter(|(count, _)| *count as f64 >= LEAST_SHARE * tints.len() as f64) {
        let of_cell = |t: &&Tint| cell(t).iter().zip(middle).all(|(a, b)| (a - b).abs() <= 1);
        let members: Vec<&Tint> = tints.iter().filter(of_cell).collect();
        let mean = |get: fn(&Tint) -> f32| {
            (members.iter().map(|t| f64::from(get(t))).sum::<f64>() / members.len().max(1) as f64) as f32
        };
        let tint = Tint { l: mean(|t| t.l), a: mean(|t| t.a), b: mean(|t| t.b) };
        if found.iter().all(|other| distance(*other, tint) > 2.0 * NEAR) {
            found.push(tint);
        }
        if found.len() == CANDIDATES {
            break;
        }
    }
    found
}
