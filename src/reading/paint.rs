//! The paint of a piece: how much of it is kept, how wide and how sharp its strokes are, how spotty.
//!
//! Comes in: sums over the piece, its map, its lengths, how dark its black is. Goes out: [`Paint`] with the parts of its
//! uncertainty; `None` where there is hardly any paint.

use super::colours::scaled;
use super::inner::inner_reach;
use super::lengths::Lengths;
use super::measure::Sources;
use super::record::{Measure, Paint, RatioPart, Surfaces};
use super::statistics::PieceSums;
use super::uncertainty;
use super::unevenness::unevenness;
use crate::colour::LabD50;
use crate::surface::{Label, Piece};
use std::collections::BTreeMap;

/// The soft margin of a cloud darkens paint and slip alike, so that what is left there is told less surely: this share of
/// the cloud's own share of the piece may be told wrong.
const UNDER_SOOT: f64 = 0.5;
/// Brush marks and soft shade pass for traces of burned-out paint on slip that never bore any: up to so much of the paint,
/// all that seems lost may be such. (95 % on rendered pieces; on sound ones it is nothing else.)
const FALSE_TRACES: f64 = 0.12;
/// Paint may burn away without a mark, and what stays on such a piece has paled and is spotty. Sound plant black has at most this
/// L*, about Munsell value 3 1/4 (common practice).
const SOUND_BLACK: f64 = 33.0;
/// For each L* that spotty black is lighter, so much of the paint may have gone unseen (95 % on random shots of the demo
/// studio, `examples/intervals`).
const UNSEEN: f64 = 0.06;
/// Black that varies by less from place to place (relative standard deviation) is not spotty: pale paint as even as that is
/// thin all over, and the more even it is, the less of it has burned.
const SPOTTY: f64 = 0.15;
/// Of what still reads black, at most so much stands for paint that is gone.
const MOST_UNSEEN: f64 = 0.85;
/// L* of slip where there is no card to tell it: the light end of what sound slip has (common practice).
const SLIP: f64 = 75.0;
/// Fewest map pixels of paint: a small square's worth is noise.
const LEAST_PAINT: usize = 200;

pub(super) fn paint(
    sources: Sources,
    piece: (&Piece, u8),
    sums: &PieceSums,
    lengths: &Lengths,
    black: Option<f64>,
) -> Option<Paint> {
    let Sources { image, map, .. } = sources;
    let area = |label: Label| sums.tallies[label as usize].area;
    let (kept, applied) = (area(Label::Black), area(Label::Black) + area(Label::LostPaint));
    if applied < LEAST_PAINT {
        return None;
    }
    let retained = kept as f64 / applied as f64;
    let cloud = area(Label::Cloud) as f64 / sums.area.max(1) as f64;
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
    let spottiness = unevenness(image, map, piece, inner).map(|spots| Measure {
        value: spots.relative_sd,
        u95: uncertainty::of_spread(spots.relative_sd, spots.pixels),
    });
    let parts: BTreeMap<String, f64> = [
        ("counting", uncertainty::of_count(retained, applied)),
        ("labels", uncertainty::WRONG_LABELS),
        ("traces", (1.0 - retained).min(FALSE_TRACES)),
        ("unseen", unseen(retained, black, spottiness)),
        ("clouds", UNDER_SOOT * cloud),
    ]
    .map(|(name, part)| (name.to_owned(), part))
    .into();
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
        spottiness,
    })
}

/// How much of the paint may have burned away without a mark, half-width: more, the paler and the spottier what stays is.
/// `black`: its L*, 0 to 100.
fn unseen(retained: f64, black: Option<f64>, spottiness: Option<Measure>) -> f64 {
    let most = MOST_UNSEEN * retained;
    let Some(black) = black else { return most };
    let spotty = spottiness.map_or(1.0, |spots| (spots.value / SPOTTY).min(1.0));
    (UNSEEN * (black - SOUND_BLACK).max(0.0) * spotty).min(most)
}

/// L* of the black paint: as measured, or by the slip beside it where there is no card.
pub(super) fn lightness_of_black(surfaces: &Surfaces, ratios: &[RatioPart]) -> Option<f64> {
    let by_slip = |ratio: &RatioPart| {
        let slip = LabD50 { l: SLIP, a: 0.0, b: 0.0 }.to_xyz();
        scaled(slip, (-ratio.log_xyz[1]).exp()).to_lab().l
    };
    let measured = surfaces.black.as_ref().map(|black| black.lab[0]);
    measured.or_else(|| ratios.iter().find(|r| r.of == "white" && r.to == "black").map(by_slip))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_a_card_the_slip_beside_it_tells_how_dark_the_black_is() {
        // L* 75 is Y 0.4828, L* 33 is 0.0754 (CIE 15:2018), by hand.
        let ratio = |of: &str, y: f64| RatioPart {
            of: of.into(),
            to: "black".into(),
            log_xyz: [0.0, y.ln(), 0.0],
            ..RatioPart::default()
        };
        let told = |ratios: &[RatioPart]| lightness_of_black(&Surfaces::default(), ratios);
        let black = told(&[ratio("red", 2.0), ratio("white", 0.4828 / 0.0754)]).unwrap();
        assert!((black - 33.0).abs() < 0.02, "{black}");
        assert_eq!(told(&[ratio("red", 2.0)]), None);
        // Nothing known of the black: what is kept may stand for almost nothing.
        assert_eq!(unseen(0.4, None, None), 0.85 * 0.4);
        assert_eq!(unseen(0.4, Some(30.0), None), 0.0);
    }
}
