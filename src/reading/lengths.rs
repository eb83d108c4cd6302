//! Lengths read off the label map: painted lines, the bare margin between red and white, paint edges.
//!
//! Comes in: the map, the photograph, the card. Goes out: percentiles in full-size pixels and, where the card gives a
//! scale, in mm in the card's plane, each length by the scale at its own place and direction. What is null has its
//! reason in [`Lengths::null_because`], by the field's name in the record.

use super::Sources;
use super::paint_edges::edges;
use super::plane::CardPlane;
use super::record::{Percentiles, SizePart};
use super::size::{Seen, size};
use super::strips::{Shape, Strip};
use crate::card::CardStatus;
use crate::surface::{Label, Piece};
use std::collections::BTreeMap;

/// Fewest looks that give percentiles of a width.
const LEAST_LOOKS: usize = 40;
/// A strip narrower than this many map pixels, or than the picture's blur, may be the mixture that every picture has
/// where two surfaces touch: red and white mixed look like clay, white and clay in the shade like pale paint. A line
/// with two surfaces beside it must be twice as wide.
const MIXED: f64 = 2.0;
/// Edges of the paint are told apart from the picture's blur where they are wider by this factor: the paint's own
/// part is then three quarters of the blur or more. Below, a tenth of error in either width decides.
const TOLD_APART: f64 = 1.25;

/// All lengths of one piece.
#[derive(Debug, Default)]
pub(super) struct Lengths {
    pub line_px: Option<Percentiles>,
    pub line_mm: Option<Percentiles>,
    pub margin_px: Option<Percentiles>,
    pub margin_mm: Option<Percentiles>,
    pub edge_px: Option<Percentiles>,
    pub edge_mm: Option<Percentiles>,
    /// What of the median edge width is the paint's, the picture's blur taken off.
    pub edge_own_px: Option<f64>,
    pub size_mm: Option<SizePart>,
    pub null_because: BTreeMap<String, String>,
}

/// Measures the lengths of a piece (its number as in `piece_of`).
pub(super) fn lengths(sources: Sources, piece: &Piece, number: u8) -> Lengths {
    let Sources { photo, card, map, .. } = sources;
    let mut found = Lengths::default();
    let plane = CardPlane::of(card);
    let factor = map.factor as f64;
    let blur = card.capture.edge_px.filter(|_| card.status != CardStatus::Borrowed);

    // What a picture's blur makes of any border is a strip as wide as the blur, with a label between the two.
    let least = MIXED.max(blur.unwrap_or(0.0) / factor);
    let lines: Vec<Look> = Shape::new(map, piece, &[Label::Black, Label::LostPaint])
        .strips(piece, number, &BESIDE_PAINT)
        .iter()
        .filter(|strip| strip.outside.iter().all(|label| BESIDE_PAINT.contains(label)))
        .filter(|strip| strip.width() > least * if strip.outside[0] == strip.outside[1] { 1.0 } else { 2.0 })
        .map(|strip| Look::of(strip, factor))
        .collect();
    let none = "no painted line is seen, or too little of it; blocks, dots and fields are no lines";
    let both = found.both(["paint.line_width_px", "paint.line_width_mm"], &lines, LEAST_LOOKS, &plane, none);
    [found.line_px, found.line_mm] = both;

    let margin: Vec<Look> = Shape::new(map, piece, &[Label::Body])
        .strips(piece, number, &[Label::Red])
        .iter()
        .filter(|strip| is_red_to_white(strip.outside) && strip.width() > least)
        .map(|strip| Look::of(strip, factor))
        .collect();
    let none = "no strip of bare clay between red and white is seen that is wider than the picture's blur";
    let both = found.both(["piece.margin_px", "piece.margin_mm"], &margin, LEAST_LOOKS, &plane, none);
    [found.margin_px, found.margin_mm] = both;

    let steps: Vec<Look> = edges(photo, map, piece, number)
        .iter()
        .map(|edge| Look { ends: edge.ends, px: edge.width(), weight: 1.0 })
        .collect();
    let none = "too few borders of black paint on white slip have room enough on both sides";
    let both = found.both(["paint.edge_px", "paint.edge_mm"], &steps, 1, &plane, none);
    [found.edge_px, found.edge_mm] = both;
    match own_part(found.edge_px.map(|edge| edge.p50), blur) {
        Ok(own) => found.edge_own_px = Some(own),
        Err(reason) => found.because("paint.edge_own_px", reason),
    }

    let seen = Seen {
        outline: &piece.outline_px,
        factor: map.factor,
        long_side_px: photo.width().max(photo.height()) as f64,
        focal_35mm: photo.facts.focal_35mm,
    };
    match plane.and_then(|plane| size(&plane, &seen).ok_or(BEYOND)) {
        Ok(size) => found.size_mm = Some(size),
        Err(reason) => found.because("piece.size_mm", reason.into()),
    }
    found
}

/// Why there is no length in mm though there is a scale.
const BEYOND: &str =
    "the piece reaches beyond where the card's plane can be followed; lay the card closer and flat";

/// Labels whose border with paint is the paint's own: not where glare, cloud, shade or the outline cut it.
const BESIDE_PAINT: [Label; 4] = [Label::White, Label::Red, Label::Body, Label::Smudged];

/// Whether red lies on one side and white slip, painted or not, on the other.
fn is_red_to_white(outside: [Label; 2]) -> bool {
    let white = |label| matches!(label, Label::White | Label::Black | Label::LostPaint);
    let [one, other] = outside;
    (one == Label::Red && white(other)) || (other == Label::Red && white(one))
}

/// What of a width of edges is the paint's own: normal blurs add as squares.
fn own_part(edge: Option<f64>, blur: Option<f64>) -> Result<f64, String> {
    let edge = edge.ok_or("the edges themselves were not measured; see paint.edge_px")?;
    let blur = blur.ok_or(
        "the borders of the card in this photograph were not measured, so that its blur is not known",
    )?;
    if edge < TOLD_APART * blur {
        return Err(format!(
            "not told apart from the picture's own blur: the card's borders are {blur:.1} px wide"
        ));
    }
    Ok((edge * edge - blur * blur).sqrt())
}

/// One length in the picture.
struct Look {
    /// Full-size pixels.
    ends: [[f64; 2]; 2],
    px: f64,
    weight: f64,
}

impl Look {
    fn of(strip: &Strip, factor: f64) -> Self {
        let ends = strip.ends.map(|p| p.map(|v| v * factor));
        Self { ends, px: strip.width() * factor, weight: strip.weight }
    }
}

impl Lengths {
    fn because(&mut self, field: &str, reason: String) {
        self.null_because.insert(field.into(), reason);
    }

    /// Percentiles in pixels and in mm, and the reasons where there are none.
    fn both(
        &mut self,
        fields: [&str; 2],
        looks: &[Look],
        least: usize,
        plane: &Result<CardPlane, &'static str>,
        none: &str,
    ) -> [Option<Percentiles>; 2] {
        if looks.len() < least.max(1) {
            fields.iter().for_each(|field| self.because(field, none.into()));
            return [None, None];
        }
        let px = percentiles(looks.iter().map(|look| (look.px, look.weight)).collect());
        let in_mm = |plane: &CardPlane| {
            let mm: Option<Vec<_>> = looks
                .iter()
                .map(|look| Some((plane.distance(look.ends[0], look.ends[1])?, look.weight)))
                .collect();
            mm.and_then(percentiles).ok_or(BEYOND)
        };
        let mm = plane.as_ref().map_err(|reason| *reason).and_then(in_mm);
        if let Err(reason) = mm {
            self.because(fields[1], reason.into());
        }
        [px, mm.ok()]
    }
}

/// Weighted percentiles: each value stands in the middle of its weight, between two values it is a straight line.
fn percentiles(mut values: Vec<(f64, f64)>) -> Option<Percentiles> {
    values.sort_by(|p, q| p.0.total_cmp(&q.0));
    let total: f64 = values.iter().map(|v| v.1).sum();
    let (first, last) = (values.first()?.0, values.last()?.0);
    let at = |share: f64| {
        let (wanted, mut seen) = (share * total, 0.0);
        let mut before: Option<(f64, f64)> = None;
        for (value, weight) in &values {
            let place = seen + weight / 2.0;
            if place >= wanted {
                return before.map_or(first, |(was, at)| {
                    was + (value - was) * (wanted - at) / (place - at).max(f64::MIN_POSITIVE)
                });
            }
            before = Some((*value, place));
            seen += weight;
        }
        last
    };
    Some(Percentiles { p05: at(0.05), p50: at(0.5), p95: at(0.95) })
}
