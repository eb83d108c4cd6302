//! From sums to the record of one piece.

use super::colours::{SMALLEST_SHARE, measure_surface};
use super::contrast::contrast;
use super::ground::{self, GroundLight};
use super::lengths::lengths;
use super::nearby::{SURFACES, ratios};
use super::paint::{lightness_of_black, paint};
use super::parts::{card_part, ground_part, photo_part};
use super::record::*;
use super::remarks;
use super::statistics::{PieceSums, sum_piece};
use super::uncertainty;
use super::unevenness::unevenness;
use crate::card::{CardReading, CardStatus, CorrectedImage};
use crate::light::{Anchor, Level, Source, anchor};
use crate::photo::Photo;
use crate::surface::{Label, Piece, SurfaceMap, straightened};
use std::collections::BTreeMap;

/// All that a record is made from.
#[derive(Clone, Copy)]
pub struct Sources<'a> {
    /// The file as it was named.
    pub path: &'a str,
    /// The photograph.
    pub photo: &'a Photo,
    /// The card in it.
    pub card: &'a CardReading,
    /// The photograph in corrected light.
    pub image: &'a CorrectedImage,
    /// Its surfaces.
    pub map: &'a SurfaceMap,
    /// The light on each piece where a ball told it; pieces beyond its end have none.
    pub levels: &'a [Option<Level>],
}

/// Measures every piece of the map, the largest first. Verdicts are still empty.
pub fn measure(sources: Sources, made_by: &MadeBy) -> Vec<Reading> {
    (0..sources.map.pieces.len()).map(|index| measure_piece(sources, made_by, index)).collect()
}

fn measure_piece(sources: Sources, made_by: &MadeBy, index: usize) -> Reading {
    let Sources { photo, card, image, map, levels, .. } = sources;
    let piece = &map.pieces[index];
    let level = levels.get(index).and_then(Option::as_ref);
    let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
    let sums = sum_piece(image, map, piece, number);
    let (light, ground, other) = piece_light(sources, index, sums.light_range);
    // Without a card no colour is made up: what is left is what the piece shows in its own light.
    let has_card = card.status != CardStatus::None;
    let surface =
        |label: Label| measure_surface(&sums, label, card, (&light, other), map.factor).filter(|_| has_card);
    let surfaces = Surfaces {
        white: surface(Label::White),
        red: surface(Label::Red),
        black: surface(Label::Black),
        body: surface(Label::Body),
        smudged: surface(Label::Smudged),
    };
    let mut lengths = lengths(sources, piece, number);
    let mut null_because = std::mem::take(&mut lengths.null_because);
    let area = |label: Label| sums.tallies[label as usize].area;
    let share = |label: Label| AreaPart { area_fraction: area(label) as f64 / sums.area.max(1) as f64 };
    let of_piece = |pixels: usize| pixels as f64 / sums.area.max(1) as f64;
    let uneven = white_unevenness(sources, (piece, number), &sums);
    let part = PiecePart {
        number: index + 1,
        count: map.pieces.len(),
        outline_px: straightened(&piece.outline_px, photo.width().max(photo.height())),
        size_mm: lengths.size_mm,
        margin_px: lengths.margin_px,
        margin_mm: lengths.margin_mm,
        white_unevenness: surfaces.white.as_ref().zip(uneven).map(|(white, m)| in_lightness(m, white)),
        clipped_fraction: of_piece(sums.beyond.clipped),
        crushed_fraction: of_piece(sums.beyond.crushed),
        out_of_gamut_fraction: of_piece(sums.beyond.out_of_gamut),
    };
    let one_light = OneLight {
        ratios: ratios(image, map, (piece, number), &sums.inner, light.darkest),
        shares: shares(&sums),
        white_unevenness: uneven,
    };
    let black = lightness_of_black(&surfaces, &one_light.ratios);
    let paint = paint(sources, (piece, number), &sums, &lengths, black);
    let contrast = contrast(&one_light.ratios, &surfaces, &light, card);
    explain(&mut null_because, &part, paint.as_ref(), contrast.as_ref());
    if !has_card {
        null_because.extend(
            NEEDS_CARD.map(|field| (field.to_owned(), "there is no card in this photograph".to_owned())),
        );
    }
    let mut warnings = remarks(sources, index);
    warnings.extend(remarks::piece(&part, ground.as_ref(), &surfaces));
    Reading {
        schema: SCHEMA.into(),
        photo: photo_part(sources.path, photo),
        made_by: made_by.clone(),
        observer: "CIE 1931 2 degree".into(),
        illuminant: "D50".into(),
        card: card_part(card),
        contrast,
        one_light,
        paint,
        clouds: clouds(share(Label::Cloud).area_fraction, of_piece(piece.doubtful_cloud)),
        piece: part,
        left_out: LeftOut {
            glare: share(Label::Glare),
            shade: share(Label::Shade),
            cloud: share(Label::Cloud),
            unclear: share(Label::Unclear),
        },
        light: LightPart {
            source: match level.map(|level| level.source) {
                _ if !has_card => "none",
                Some(Source::Ball) => "ball",
                Some(Source::Form) => "form",
                None => "field",
            }
            .into(),
            range: has_card.then_some([light.low * light.darkest, light.high]),
            level_u95: has_card.then_some((light.high - light.low) / 2.0 / light.brightest),
            darkest: has_card.then_some(light.darkest),
            ground: ground.map(|g| ground_part(&g, &surfaces)),
        },
        surfaces,
        null_because,
        warnings,
        ..Reading::default()
    }
}

/// The light on a piece relative to the card's, what the ground beside both says of it, and, where the two disagree, what
/// the ground says instead. `light_range`: 5th and 95th percentile of the relative light on it.
pub(super) fn piece_light(
    sources: Sources,
    index: usize,
    light_range: [f64; 2],
) -> (Anchor, Option<GroundLight>, Option<f64>) {
    let Sources { card, image, map, levels, .. } = sources;
    let piece = &map.pieces[index];
    let mut light = anchor(light_range[0] / light_range[1].max(0.05));
    if let Some(level) = levels.get(index).and_then(Option::as_ref) {
        light = light.told(level);
    }
    let ground = card
        .place
        .as_ref()
        .filter(|_| card.status != CardStatus::Borrowed)
        .and_then(|place| ground::compare(image, map, &place.frame_px, &piece.outline_px));
    // Where card and ground disagree, the interval holds both.
    let other = ground.filter(remarks::is_other_light).map(|g| g.ratio);
    if let Some(ratio) = other {
        (light.low, light.high) = (light.low.min(ratio), light.high.max(ratio));
    }
    (light, ground, other)
}

/// A cloud's edge is soft: this share of what is proven may lie either side of it.
const SOFT_EDGE: f64 = 0.3;
/// Where a blotch is doubtful, it may be no cloud at all, or the core of a larger one: about this share of the piece.
const DOUBTFUL: f64 = 0.05;
/// On any piece so much may be missed: smaller clouds are not looked for.
const MISSED: f64 = 0.01;

/// Clouds on the given share of the piece, a part of it doubtful.
fn clouds(area_fraction: f64, doubtful: f64) -> Clouds {
    // Labels of another kind may lie on a blotch, so the parts need not add up to the pixel.
    let doubtful = doubtful.min(area_fraction);
    let proven_fraction = area_fraction - doubtful;
    let doubt = if doubtful > 0.0 { DOUBTFUL.max(doubtful) } else { MISSED };
    Clouds { area_fraction, proven_fraction, u95: doubt.hypot(SOFT_EDGE * proven_fraction) }
}

fn remarks(sources: Sources, index: usize) -> Vec<Warning> {
    let map = sources.map;
    let said =
        [&sources.photo.facts.remarks, &sources.card.warnings, &map.warnings, &map.pieces[index].warnings];
    said.into_iter()
        .flatten()
        .map(|(code, text)| Warning { code: code.clone(), text: text.clone() })
        .collect()
}

/// What a record without a card cannot hold.
const NEEDS_CARD: [&str; 4] = ["surfaces", "contrast", "piece.white_unevenness", "light.range"];

/// Share of each surface that has a colour, the largest first, with what wrong labels can do to it.
fn shares(sums: &PieceSums) -> Vec<SharePart> {
    let area = |label: Label| sums.tallies[label as usize].area;
    let all: usize = SURFACES.iter().map(|(label, _)| area(*label)).sum();
    let mut shares: Vec<SharePart> = SURFACES
        .iter()
        .map(|(label, name)| (area(*label) as f64 / all.max(1) as f64, name))
        .filter(|(share, _)| *share >= SMALLEST_SHARE)
        .map(|(share, name)| SharePart {
            surface: (*name).into(),
            share,
            u95: uncertainty::of_count(share, all).hypot(uncertainty::WRONG_LABELS),
        })
        .collect();
    shares.sort_by(|one, other| other.share.total_cmp(&one.share));
    shares
}

/// In L*: by the definition of L* (CIE 15:2018) dL* = (L* + 16) / 3 times the relative change of Y.
fn in_lightness(relative: Measure, white: &Surface) -> Measure {
    let to_l = (white.lab[0] + 16.0) / 3.0;
    Measure { value: to_l * relative.value, u95: to_l * relative.u95 }
}

/// Standard deviation of the reflectance of white from place to place over its mean.
fn white_unevenness(sources: Sources, piece: (&Piece, u8), sums: &PieceSums) -> Option<Measure> {
    let Sources { image, map, .. } = sources;
    let counts = |x: usize, y: usize| {
        let at = y * map.width + x;
        map.labels[at] == Label::White && sums.inner.holds(x, y) && !image.clipped[at]
    };
    let found = unevenness(image, map, piece, counts)?;
    let value = found.relative_sd;
    Some(Measure { value, u95: uncertainty::of_spread(value, found.pixels) })
}

/// Reasons for the nulls that `lengths` does not know of. Without paint there is one reason for all its fields.
fn explain(
    reasons: &mut BTreeMap<String, String>,
    piece: &PiecePart,
    paint: Option<&Paint>,
    contrast: Option<&Contrast>,
) {
    let mut put = |field: &str, reason: &str| {
        reasons.insert(field.into(), reason.into());
    };
    if piece.white_unevenness.is_none() {
        put("piece.white_unevenness", "too little white is seen away from other surfaces");
    }
    if contrast.is_none() {
        put("contrast", "white and black must both be seen");
    }
    match paint {
        Some(paint) if paint.spottiness.is_none() => {
            put("paint.spottiness", "too little paint is seen away from its edges");
        }
        Some(_) => {}
        None => {
            reasons.retain(|field, _| !field.starts_with("paint."));
            reasons.insert("paint".into(), "no paint is seen".into());
        }
    }
}
