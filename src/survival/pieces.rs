//! Which piece of the one photograph is which of the other, and what the fire left on each.

use super::paint::{Fate, Survival, survive};
use super::register::{Registration, Unmatched, register};
use super::view::View;
use crate::card::CorrectedImage;
use crate::surface::{Label, SurfaceMap};
use rayon::prelude::*;

/// A photograph: its picture in corrected light and its surfaces.
pub type Shot<'a> = (&'a CorrectedImage, &'a SurfaceMap);

/// A fired piece that was found in the photograph before the fire.
#[derive(Clone, Debug)]
pub struct Found {
    /// Which piece there: index into its map's pieces.
    pub before: usize,
    /// Where each place lies there.
    pub registration: Registration,
    /// What is left of the paint.
    pub survival: Survival,
}

/// Each piece after the fire, with the piece before it that agrees best.
pub fn find_pieces(before: Shot, after: Shot) -> Vec<Result<Found, Unmatched>> {
    let view = |(image, map), index| View { image, map, index };
    let of_piece = |index: usize| {
        let after = view(after, index);
        let tried = (0..before.1.pieces.len()).into_par_iter().map(|number| {
            let before = view(before, number);
            let registration = register(&before, &after)?;
            let survival = survive(&before, &after, &registration)?;
            Ok(Found { before: number, registration, survival })
        });
        let tried: Vec<Result<Found, Unmatched>> = tried.collect();
        tried.into_iter().reduce(better).unwrap_or(Err(Unmatched::TooSmall))
    };
    (0..after.1.pieces.len()).map(of_piece).collect()
}

/// The one that agrees better; the first of two that agree alike.
fn better(one: Result<Found, Unmatched>, other: Result<Found, Unmatched>) -> Result<Found, Unmatched> {
    let agreement = |found: &Result<Found, Unmatched>| match found {
        Ok(found) => 1.0 + found.registration.agreement.in_place,
        Err(Unmatched::NoPaint) => 1.0,
        Err(Unmatched::AnotherPiece(agreement)) => agreement.in_place,
        Err(_) => -1.0,
    };
    if agreement(&other) > agreement(&one) { other } else { one }
}

/// An edge of paint lies no surer than this, map pixels.
const EDGE: usize = 2;

/// Puts into the map what the unfired piece told: laid paint is paint, kept or lost; where none was laid none was lost, and a
/// rim of black beside laid paint is slip: the edge is where it was before the fire.
pub fn mark_paint(map: &mut SurfaceMap, index: usize, found: &Found) {
    let (width, number) = (map.width, u8::try_from(index + 1).unwrap_or(u8::MAX));
    let fates = &found.survival.fates;
    let seen =
        |at: usize| found.registration.before([at % width, at / width].map(|v| v as f64 + 0.5)).is_some();
    let height = map.labels.len() / width.max(1);
    let is_beside = |x: usize, y: usize| {
        (y.saturating_sub(EDGE)..(y + EDGE + 1).min(height)).any(|v| {
            (x.saturating_sub(EDGE)..(x + EDGE + 1).min(width)).any(|u| fates[v * width + u] != Fate::None)
        })
    };
    for (at, &fate) in fates.iter().enumerate().filter(|&(at, _)| map.piece_of[at] == number) {
        map.labels[at] = match (fate, map.labels[at]) {
            (Fate::Kept | Fate::Thinned, _) => Label::Black,
            (Fate::Lost, _) => Label::LostPaint,
            (Fate::None, Label::LostPaint) if seen(at) => Label::White,
            (Fate::None, Label::Black) if is_beside(at % width, at / width) => Label::White,
            (Fate::None, label) => label,
        };
    }
}
