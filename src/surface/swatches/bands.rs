//! Bands of paint one behind the other, around a cylinder or across a tile.
//!
//! Comes in: what stands out from the slip over the box of a piece. Goes out: a place a band: its middle, where the wall
//! faces the camera best.

use super::super::mask::parts;
use super::super::{Piece, SurfaceMap};
use super::place::judged;
use super::{SwatchError, SwatchPlace};

/// A band reaches over so much of the piece's width.
const LEAST_REACH: f64 = 0.5;
/// Share of the width to either side of the middle line in which bands are read.
const MIDDLE: f64 = 0.2;
/// Least height of a band, map pixels.
const LEAST_HEIGHT: f64 = 5.0;

/// The bands from the top of the photograph down, or from left to right where they stand upright.
pub(super) fn find(
    stands_out: &[bool],
    map: &SurfaceMap,
    piece: &Piece,
    number: u8,
    wanted: usize,
) -> Result<Vec<SwatchPlace>, SwatchError> {
    let [x0, y0, x1, _] = piece.bounds;
    let width = x1 - x0;
    let own: Vec<[f64; 2]> = map
        .places(piece, 1)
        .filter(|&at| map.piece_of[at] == number)
        .map(|at| [(at % map.width) as f64 + 0.5, (at / map.width) as f64 + 0.5])
        .collect();
    let (part_of, areas) = parts(stands_out, width);
    let mut members: Vec<Vec<[f64; 2]>> = vec![Vec::new(); areas.len()];
    for (i, &part) in part_of.iter().enumerate().filter(|(_, part)| **part > 0) {
        members[part as usize].push([(x0 + i % width) as f64 + 0.5, (y0 + i / width) as f64 + 0.5]);
    }
    // Of the two axes of the piece the one across which more bands reach.
    let (middle, axes) = axes(&own);
    let along = axes.map(|axis| bands_along(&own, &members, middle, axis));
    let [one, other] = along;
    let bands = if other.len() > one.len() { other } else { one };
    if bands.len() != wanted {
        return Err(SwatchError::OtherBands { told: wanted, seen: bands.len() });
    }
    let row = |(i, quad): (usize, [[f64; 2]; 4])| judged(quad, [i + 1, 1], true, false, map, number);
    Ok(bands.into_iter().enumerate().map(row).collect())
}

/// Mean of the places and their two principal axes.
fn axes(places: &[[f64; 2]]) -> ([f64; 2], [[f64; 2]; 2]) {
    let n = places.len().max(1) as f64;
    let middle = [0, 1].map(|k| places.iter().map(|p| p[k]).sum::<f64>() / n);
    let moment =
        |a: usize, b: usize| places.iter().map(|p| (p[a] - middle[a]) * (p[b] - middle[b])).sum::<f64>();
    let turn = 0.5 * (2.0 * moment(0, 1)).atan2(moment(0, 0) - moment(1, 1));
    (middle, [[turn.cos(), turn.sin()], [-turn.sin(), turn.cos()]])
}

/// Quads of the bands that lie one behind the other along an axis.
fn bands_along(
    own: &[[f64; 2]],
    members: &[Vec<[f64; 2]>],
    middle: [f64; 2],
    axis: [f64; 2],
) -> Vec<[[f64; 2]; 4]> {
    // Down in the photograph, or to the right.
    let sign = if axis[1].abs() > 0.5 { axis[1].signum() } else { axis[0].signum() };
    let axis = axis.map(|v| v * sign);
    let local = |p: &[f64; 2]| {
        let d = [p[0] - middle[0], p[1] - middle[1]];
        [d[0] * axis[0] + d[1] * axis[1], -d[0] * axis[1] + d[1] * axis[0]]
    };
    let span = |places: &[[f64; 2]]| {
        let across = places.iter().map(|p| local(p)[1]);
        across.fold([f64::INFINITY, f64::NEG_INFINITY], |s, v| [s[0].min(v), s[1].max(v)])
    };
    let [low, high] = span(own);
    let (line, half) = ((low + high) / 2.0, MIDDLE * (high - low));
    let mut bands: Vec<[f64; 2]> = members
        .iter()
        .filter(|places| {
            let [from, to] = span(places);
            to - from >= LEAST_REACH * (high - low)
        })
        .filter_map(|places| {
            let mut along: Vec<f64> =
                places.iter().map(local).filter(|p| (p[1] - line).abs() < half).map(|p| p[0]).collect();
            along.sort_by(f64::total_cmp);
            let at = |share: f64| along.get(((along.len().max(1) - 1) as f64 * share) as usize).copied();
            // A ragged edge is no part of the band.
            let (from, to) = (at(0.03)?, at(0.97)?);
            (to - from >= LEAST_HEIGHT).then_some([from, to])
        })
        .collect();
    bands.sort_by(|p, q| p[0].total_cmp(&q[0]));
    let place = |along: f64, across: f64| {
        [middle[0] + along * axis[0] - across * axis[1], middle[1] + along * axis[1] + across * axis[0]]
    };
    // From the upper left, clockwise in the picture: across runs to the left where along runs down.
    let quad = |[from, to]: [f64; 2]| {
        let (left, right) = (line + half, line - half);
        [place(from, left), place(from, right), place(to, right), place(to, left)]
    };
    bands.into_iter().map(quad).collect()
}
