//! The paint of a piece: how much of it is kept, how wide and how sharp its strokes are, how spotty.
//!
//! Comes in: sums over the piece, its map, its lengths. Goes out: [`Paint`] with the parts of its uncertainty; `None` where
//! there is hardly any paint.

use super::inner::inner_reach;
use super::lengths::Lengths;
use super::measure::Sources;
use super::record::{Measure, Paint};
use super::statistics::PieceSums;
use super::uncertainty;
use super::unevenness::unevenness;
use crate::surface::{Label, Piece};
use std::collections::BTreeMap;

/// The soft margin of a cloud darkens paint and slip alike, so that what is left there is told less surely: this share of
/// the cloud's own share of the piece may be told wrong.
const UNDER_SOOT: f64 = 0.5;
/// Brush marks and soft shade pass for traces of burned-out paint on slip that never bore any: up to so much of the paint,
/// all that seems lost may be such. (95 % on rendered pieces; on sound ones it is nothing else.)
const FALSE_TRACES: f64 = 0.12;
/// Fewest map pixels of paint: a small square's worth is noise.
const LEAST_PAINT: usize = 200;

pub(super) fn paint(
    sources: Sources,
    piece: (&Piece, u8),
    sums: &PieceSums,
    lengths: &Lengths,
) -> Option<Paint> {
    let Sources { image, map, .. } = sources;
    let area = |label: Label| sums.tallies[label as usize].area;
    let (kept, applied) = (area(Label::Black), area(Label::Black) + area(Label::LostPaint));
    if applied < LEAST_PAINT {
        return None;
    }
    let retained = kept as f64 / applied as f64;
    let cloud = area(Label::Cloud) as f64 / sums.area.max(1) as f64;
    let parts: BTreeMap<String, f64> = [
        ("counting", uncertainty::of_count(retained, applied)),
        ("labels", uncertainty::WRONG_LABELS),
        ("traces", (1.0 - retained).min(FALSE_TRACES)),
        ("clouds", UNDER_SOOT * cloud),
    ]
    .map(|(name, part)| (name.to_owned(), part))
    .into();
    let is_paint = |at: usize| matches!(map.labels[at], Label::Black | Label::LostPaint);
    // Places away from everything but paint, kept or lost.
    let reach = inner_reach(map);
    let inner = |x: usize, y: usize| {
        let at = y * map.width + x;
        is_paint(at)
            && !image.clipped[at]
            && (sums.inner.holds(x, y)
                || (x >= reach && x + reach < map.width && y >= reach && y + reach < map.height)
                    && (y - reach..=y + reach).all(|y| {
                        let row = y * map.width;
                        (row + x - reach..=row + x + reach).all(is_paint)
                    }))
    };
    Some(Paint {
        applied_px: applied * map.factor * map.factor,
        retained_fraction: retained,
        u95: parts.values().map(|part| part * part).sum::<f64>().sqrt(),
        u95_parts: parts,
        line_width_mm: lengths.line_mm,
        line_width_px: lengths.line_px,
        edge_px: lengths.edge_px,
        edge_mm: lengths.edge_mm,
        edge_own_px: lengths.edge_own_px,
        spottiness: unevenness(image, map, piece, inner).map(|spots| Measure {
            value: spots.relative_sd,
            u95: uncertainty::of_spread(spots.relative_sd, spots.pixels),
        }),
    })
}
