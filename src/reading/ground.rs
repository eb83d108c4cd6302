//! Whether card and piece lie in the same light, as far as the ground they lie on tells.
//!
//! The ground about the card is compared with the ground about the piece, sector by sector. Of both only the
//! brightest third of the sectors counts: a thing that stands up throws a shadow to one side, and that is no
//! other light. What is left is light, texture and, where the ground changes, another material: the scatter of
//! the sectors says how much of it may be chance.

use crate::card::CorrectedImage;
use crate::colour::{LabD50, XyzD50};
use crate::surface::{Label, SurfaceMap};
use std::f64::consts::TAU;

/// Light on the ground about the piece against that about the card.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct GroundLight {
    /// Luminance about the piece over that about the card.
    pub ratio: f64,
    /// Half-width of the 95 % interval of its natural logarithm.
    pub log_u95: f64,
    /// Distance of the two tints in the a*, b* plane, both brought to L* 50.
    pub tint: f64,
    /// Half-width of its 95 % interval.
    pub tint_u95: f64,
}

/// Directions looked into.
const SECTORS: usize = 24;
/// Where the ground is looked at, as shares of the way from the middle to the rim of the thing.
const RING: [f64; 2] = [1.1, 1.35];
/// Looks in a sector, across and outward.
const LOOKS: [usize; 2] = [6, 8];
/// Share of the looks that must meet ground.
const LEAST_GROUND: f64 = 0.6;
/// Fewest sectors with ground.
const LEAST_SECTORS: usize = 6;
/// What the scatter of few sectors does not show: relative standard uncertainty of the light on one ground.
const FLOOR: f64 = 0.02;
/// The same for its tint.
const TINT_FLOOR: f64 = 0.5;

/// Compares the ground about two outlines given in full-size pixels; `None` where too little ground is seen.
pub(super) fn compare(
    image: &CorrectedImage,
    map: &SurfaceMap,
    card: &[[f64; 2]],
    piece: &[[f64; 2]],
) -> Option<GroundLight> {
    let (card, piece) = (Ground::about(image, map, card)?, Ground::about(image, map, piece)?);
    let away = [piece.tint[0] - card.tint[0], piece.tint[1] - card.tint[1]];
    let both =
        |one: f64, other: f64, floor: f64| 1.96 * (one * one + other * other + 2.0 * floor * floor).sqrt();
    Some(GroundLight {
        ratio: (piece.log - card.log).exp(),
        log_u95: both(piece.log_error, card.log_error, FLOOR),
        tint: away[0].hypot(away[1]),
        tint_u95: both(piece.tint_error, card.tint_error, TINT_FLOOR),
    })
}

/// The ground about one thing: logarithm of its luminance, its tint, and the standard errors of both.
struct Ground {
    log: f64,
    log_error: f64,
    tint: [f64; 2],
    tint_error: f64,
}

impl Ground {
    fn about(image: &CorrectedImage, map: &SurfaceMap, outline: &[[f64; 2]]) -> Option<Self> {
        let scale = 1.0 / map.factor.max(1) as f64;
        let outline: Vec<[f64; 2]> = outline.iter().map(|p| p.map(|v| v * scale)).collect();
        let n = outline.len() as f64;
        let middle = outline.iter().fold([0.0; 2], |m, p| [m[0] + p[0] / n, m[1] + p[1] / n]);
        let mut sectors: Vec<[f64; 3]> =
            (0..SECTORS).filter_map(|k| sector(image, map, &outline, middle, k)).collect();
        if sectors.len() < LEAST_SECTORS {
            return None;
        }
        sectors.sort_by(|one, other| other[0].total_cmp(&one[0]));
        sectors.truncate(sectors.len().div_ceil(3).max(3));
        // Neighbouring sectors are alike: a pair counts once.
        let looks = (sectors.len() as f64 / 2.0).max(1.0);
        let of = |c: usize| {
            let n = sectors.len() as f64;
            let mean = sectors.iter().map(|s| s[c]).sum::<f64>() / n;
            let variance = sectors.iter().map(|s| (s[c] - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
            (mean, variance / looks)
        };
        let [(log, light), (a, a_error), (b, b_error)] = [of(0), of(1), of(2)];
        let tint_error = (a_error + b_error).sqrt();
        Some(Self { log, log_error: light.sqrt(), tint: [a, b], tint_error })
    }
}

/// Medians of ln Y and of the tint over the ground in one direction.
fn sector(
    image: &CorrectedImage,
    map: &SurfaceMap,
    outline: &[[f64; 2]],
    middle: [f64; 2],
    number: usize,
) -> Option<[f64; 3]> {
    let mut seen: [Vec<f64>; 3] = Default::default();
    for across in 0..LOOKS[0] {
        let turn = TAU * (number as f64 + (across as f64 + 0.5) / LOOKS[0] as f64) / SECTORS as f64;
        let way = [turn.cos(), turn.sin()];
        let rim = reach(outline, middle, way)?;
        for outward in 0..LOOKS[1] {
            let far = rim * (RING[0] + (RING[1] - RING[0]) * (outward as f64 + 0.5) / LOOKS[1] as f64);
            let [x, y] = [middle[0] + far * way[0], middle[1] + far * way[1]];
            if !(x >= 0.0 && y >= 0.0 && x < map.width as f64 && y < map.height as f64) {
                continue;
            }
            let at = y as usize * map.width + x as usize;
            let [cx, cy, cz] = image.xyz[at].map(f64::from);
            if map.labels[at] == Label::Background && !image.clipped[at] && cx.min(cy).min(cz) > 1e-3 {
                let root = |v: f64, white: f64| (v / white / cy).cbrt();
                seen[0].push(cy.ln());
                // a* and b* (CIE 15:2018) of the same chromaticity at L* 50.
                seen[1].push(500.0 * 66.0 / 116.0 * (root(cx, 0.964_2) - 1.0));
                seen[2].push(200.0 * 66.0 / 116.0 * (1.0 - root(cz, 0.824_9)));
            }
        }
    }
    if (seen[0].len() as f64) < LEAST_GROUND * (LOOKS[0] * LOOKS[1]) as f64 {
        return None;
    }
    Some(seen.map(|mut values| {
        values.sort_by(f64::total_cmp);
        values[values.len() / 2]
    }))
}

/// How far the outline reaches from the middle in one direction.
fn reach(outline: &[[f64; 2]], middle: [f64; 2], way: [f64; 2]) -> Option<f64> {
    let n = outline.len();
    let crossing = |i: usize| {
        let (p, q) = (outline[i], outline[(i + 1) % n]);
        let (from, along) = ([p[0] - middle[0], p[1] - middle[1]], [q[0] - p[0], q[1] - p[1]]);
        let cross = way[0] * along[1] - way[1] * along[0];
        let share = (from[0] * way[1] - from[1] * way[0]) / cross;
        let far = (from[0] * along[1] - from[1] * along[0]) / cross;
        (cross.abs() > 1e-12 && (0.0..=1.0).contains(&share) && far > 0.0).then_some(far)
    };
    (0..n).filter_map(crossing).reduce(f64::max)
}

/// L*, a*, b* of a surface if its light is `ratio` times what it was taken for.
pub(super) fn in_light(lab: [f64; 3], ratio: f64) -> [f64; 3] {
    let XyzD50 { x, y, z } = LabD50::from(lab).to_xyz();
    XyzD50 { x: x / ratio, y: y / ratio, z: z / ratio }.to_lab().into()
}
