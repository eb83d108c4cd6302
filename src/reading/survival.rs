//! From the two photographs of a piece, before the fire and after it, to the record's `survival`.

use super::record::{AgreementPart, BeforePart, StrokePart, SurvivalPart, Warning};
use super::uncertainty::of_count;
use crate::surface::SurfaceMap;
use crate::survival::{Found, LEAST_AGREEMENT, Unmatched, strokes};
use std::collections::BTreeMap;

/// At the edges of strokes and at the limb of a vessel some places are told wrong: so much of a share on rendered pairs, at most.
const TOLD_WRONG: f64 = 0.02;
/// About so many places are told of which it is known where they lie in both photographs.
const PLACES: f64 = 120.0;

/// What the fire left on the piece `index` of the fired photograph's map. `before`: the other photograph, and pixels of it
/// to a pixel of its map.
pub fn survival_part(
    found: &Found,
    map: &SurfaceMap,
    index: usize,
    (before, factor): (BeforePart, usize),
) -> SurvivalPart {
    let survival = &found.survival;
    let (strokes, small_strokes) = strokes(survival, map.width);
    let retained_fraction = survival.retained();
    let parts: BTreeMap<String, f64> = [
        ("counting", of_count(retained_fraction, survival.laid)),
        ("limit", survival.doubtful / 2.0),
        ("shift", survival.moved),
        ("labels", TOLD_WRONG),
    ]
    .map(|(name, part)| (name.to_owned(), part))
    .into();
    let full = map.factor as f64;
    let agreement = found.registration.agreement;
    SurvivalPart {
        kept: survival.kept,
        thinned: survival.thinned,
        lost: survival.lost,
        retained_fraction,
        u95: parts.values().map(|part| part * part).sum::<f64>().sqrt(),
        u95_parts: parts,
        laid_px: survival.laid * map.factor * map.factor,
        seen_before_fraction: survival.seen_before,
        before: BeforePart { piece: found.before + 1, ..before },
        agreement: AgreementPart {
            places: agreement.places,
            in_place: agreement.in_place,
            correlation: agreement.correlation,
        },
        strokes: (1..)
            .zip(strokes)
            .map(|(number, stroke)| {
                let [x0, y0, x1, y1] = stroke.bounds.map(|v| v as f64 * full);
                StrokePart {
                    number,
                    box_px: [x0, y0, x1 - x0, y1 - y0],
                    area_px: stroke.area * map.factor * map.factor,
                    kept: stroke.kept,
                    thinned: stroke.thinned,
                    lost: stroke.lost,
                }
            })
            .collect(),
        small_strokes,
        same_places_px: same_places(found, map, index, factor as f64),
    }
}

/// Places in even rows over the piece.
fn same_places(found: &Found, map: &SurfaceMap, index: usize, factor: f64) -> Vec<[f64; 4]> {
    let Some(piece) = map.pieces.get(index) else { return Vec::new() };
    let [x0, y0, x1, y1] = piece.bounds;
    let step = ((piece.area as f64 / PLACES).sqrt().ceil() as usize).max(1);
    let full = map.factor as f64;
    let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
    (y0 + step / 2..y1)
        .step_by(step)
        .flat_map(|y| (x0 + step / 2..x1).step_by(step).map(move |x| [x, y]))
        .filter(|[x, y]| map.piece_of[y * map.width + x] == number)
        .filter_map(|at| {
            let after = at.map(|v| v as f64 + 0.5);
            let [x, y] = found.registration.before(after)?;
            Some([x * factor, y * factor, after[0] * full, after[1] * full])
        })
        .collect()
}

/// Why there is no `survival` for a piece though a photograph before the fire was given, and the warning that says so.
pub fn unmatched(why: &Unmatched, before: &str) -> (String, Warning) {
    let (code, what, remedy) = match why {
        Unmatched::AnotherPiece(agreement) => (
            ANOTHER_PIECE,
            format!(
                "'{before}' does not show this piece from this side: {:.0} % of the places agree, {:.0} % are wanted",
                100.0 * agreement.in_place,
                100.0 * LEAST_AGREEMENT
            ),
            "Name the photograph of this piece before the fire, taken from the same side and about the same height",
        ),
        Unmatched::TooSmall => (
            TOO_SMALL,
            format!("the piece is too small in this photograph or in '{before}' to be compared"),
            "Go nearer, so that the piece fills half of the picture",
        ),
        Unmatched::NoPaint => (
            NO_PAINT,
            format!("no paint is seen in '{before}' on what both photographs show"),
            "Photograph the piece after it is painted and before it is fired",
        ),
    };
    let warning = Warning { code: code.into(), text: format!("{what}. {remedy}.") };
    (what, warning)
}

/// The photograph before the fire shows another piece.
const ANOTHER_PIECE: &str = "another-piece";
const TOO_SMALL: &str = "before-too-small";
const NO_PAINT: &str = "before-no-paint";
/// Warnings that say why a piece has no `survival`.
pub const UNMATCHED: [&str; 3] = [ANOTHER_PIECE, TOO_SMALL, NO_PAINT];
