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
    let height = map.labels.len() / width.max(1);
    let is_beside = |x: usize, y: usize| {
        (y.saturating_sub(EDGE)..(y + EDGE + 1).min(height)).any(|v| {
            (x.saturating_sub(EDGE)..(x + EDGE + 1).min(width))
                .any(|u| fates[v * width + u].of_paint().is_some())
        })
    };
    for (at, &fate) in fates.iter().enumerate().filter(|&(at, _)| map.piece_of[at] == number) {
        map.labels[at] = match (fate, map.labels[at]) {
            (Fate::Kept | Fate::Thinned, _) => Label::Black,
            (Fate::Lost, _) => Label::LostPaint,
            (Fate::Bare, Label::LostPaint) => Label::White,
            (_, Label::Black) if is_beside(at % width, at / width) => Label::White,
            (_, label) => label,
        };
    }
}

#[cfg(test)]
mod tests {
    use super::super::register::Agreement;
    use super::super::view::Frame;
    use super::*;
    use crate::surface::drawn::filled;

    const SIDE: usize = 60;

    /// A piece found in place; right of column 40 the wall was turned away before the fire.
    fn found(fates: Vec<Fate>, in_place: f64) -> Found {
        let bounds = [-0.5, -0.5, 0.5, 0.5];
        let frame = Frame { middle: [30.0; 2], unit: SIDE as f64, bounds };
        let turned = 10.0 / 60.0;
        let to = |[x, y]: [f64; 2]| [x.min(turned), y];
        let registration = Registration::told(frame, to, Agreement { in_place, ..Agreement::default() });
        let left = vec![0.0; fates.len()];
        let [kept, thinned, lost, seen_before, doubtful, moved] = [0.0; 6];
        let survival = Survival { laid: 0, kept, thinned, lost, seen_before, fates, left, doubtful, moved };
        Found { before: 0, registration, survival }
    }

    /// Row by row of the table: label and fate before, label after.
    #[test]
    fn paint_is_marked() {
        let at = |x: usize, y: usize| y * SIDE + x;
        let told = [
            (at(10, 5), Label::White, Fate::Kept, Label::Black),
            (at(20, 5), Label::LostPaint, Fate::Thinned, Label::Black),
            (at(10, 15), Label::Black, Fate::Lost, Label::LostPaint),
            (at(20, 15), Label::White, Fate::Lost, Label::LostPaint),
            // Nothing was lost where none was laid; a place that is not compared keeps its label.
            (at(10, 25), Label::LostPaint, Fate::Bare, Label::White),
            (at(55, 25), Label::LostPaint, Fate::None, Label::LostPaint),
            // Black not laid: within two pixels of laid paint both ways it is slip, further off it stays.
            (at(12, 7), Label::Black, Fate::None, Label::White),
            (at(13, 5), Label::Black, Fate::None, Label::Black),
            (at(20, 8), Label::Black, Fate::None, Label::Black),
            (at(10, 35), Label::Black, Fate::None, Label::Black),
            (at(11, 5), Label::Red, Fate::None, Label::Red),
            (at(9, 5), Label::Body, Fate::None, Label::Body),
            (at(30, 30), Label::White, Fate::None, Label::White),
        ];
        let mut map = filled(SIDE, SIDE, |i| told.iter().find(|t| t.0 == i).map_or(Label::Cloud, |t| t.1));
        let mut fates = vec![Fate::None; SIDE * SIDE];
        told.iter().for_each(|t| fates[t.0] = t.2);
        // Another piece in the same photograph stays as it is.
        let other = at(50, 50);
        (map.piece_of[other], fates[other]) = (2, Fate::Lost);
        mark_paint(&mut map, 0, &found(fates, 0.5));
        for (i, label, fate, want) in told {
            assert_eq!(map.labels[i], want, "{label:?} {fate:?} at {}, {}", i % SIDE, i / SIDE);
        }
        assert_eq!(map.labels[other], Label::Cloud);
    }

    /// What was found goes before what bears no paint, that before another piece, that before one too small; the first of
    /// two alike stays.
    #[test]
    fn the_better_is_taken() {
        let another = |in_place| Agreement { in_place, ..Agreement::default() };
        let ladder = || {
            [
                Err(Unmatched::TooSmall),
                Err(Unmatched::AnotherPiece(another(0.02))),
                Err(Unmatched::AnotherPiece(another(0.08))),
                Err(Unmatched::NoPaint),
                Ok(found(vec![], 0.1)),
                Ok(found(vec![], 0.6)),
            ]
        };
        let name = |found: &Result<Found, Unmatched>| match found {
            Ok(found) => format!("{}", found.registration.agreement.in_place),
            Err(why) => format!("{why:?}"),
        };
        for (i, one) in ladder().iter().enumerate() {
            for (j, other) in ladder().iter().enumerate() {
                let taken = better(one.clone(), other.clone());
                assert_eq!(name(&taken), name(if j > i { other } else { one }));
            }
        }
        let mut first = found(vec![], 0.6);
        first.before = 3;
        let taken = better(Ok(first), Ok(found(vec![], 0.6)));
        assert_eq!(taken.map(|found| found.before), Ok(3));
    }
}
