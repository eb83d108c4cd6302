//! From sums to the record of one piece.

use super::ground::{self, GroundLight};
use super::record::*;
use super::remarks;
use super::statistics::{PieceSums, Tally, sum_piece};
use super::uncertainty::{self, quadrature};
use crate::card::{CardReading, CardStatus, CorrectedImage};
use crate::colour::{self, IndexIlluminant, LabD50, XyzD50, ciede2000};
use crate::light::{Anchor, anchor};
use crate::photo::Photo;
use crate::surface::{Label, SurfaceMap};
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
}

/// Measures every piece of the map, the largest first. Verdicts are still empty.
pub fn measure(sources: Sources, made_by: &MadeBy) -> Vec<Reading> {
    (0..sources.map.pieces.len()).map(|index| measure_piece(sources, made_by, index)).collect()
}

fn measure_piece(sources: Sources, made_by: &MadeBy, index: usize) -> Reading {
    let Sources { photo, card, image, map, .. } = sources;
    let piece = &map.pieces[index];
    let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
    let sums = sum_piece(image, map, piece, number);
    let mut light = anchor(sums.light_range[0] / sums.light_range[1].max(0.05));
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
    let surface = |label: Label| measure_surface(&sums, label, card, (&light, other), map.factor);
    let surfaces = Surfaces {
        white: surface(Label::White),
        red: surface(Label::Red),
        black: surface(Label::Black),
        body: surface(Label::Body),
        smudged: surface(Label::Smudged),
    };
    let full = map.factor * map.factor;
    let area = |label: Label| sums.tallies[label as usize].area;
    let share = |label: Label| AreaPart { area_fraction: area(label) as f64 / sums.area.max(1) as f64 };
    let of_piece = |pixels: usize| pixels as f64 / sums.area.max(1) as f64;
    let part = PiecePart {
        number: index + 1,
        count: map.pieces.len(),
        outline_px: piece.outline_px.clone(),
        size_mm: None,
        clipped_fraction: of_piece(sums.beyond.clipped),
        crushed_fraction: of_piece(sums.beyond.crushed),
        out_of_gamut_fraction: of_piece(sums.beyond.out_of_gamut),
    };
    let mut warnings = remarks(sources, index);
    warnings.extend(remarks::piece(&part, ground.as_ref(), &surfaces));
    Reading {
        schema: SCHEMA.into(),
        photo: photo_part(sources.path, photo),
        made_by: made_by.clone(),
        observer: "CIE 1931 2 degree".into(),
        illuminant: "D50".into(),
        card: card_part(card),
        contrast: contrast(&sums, &surfaces, &light, card),
        paint: paint(area(Label::Black) * full, area(Label::LostPaint) * full, map.factor),
        clouds: Clouds { area_fraction: share(Label::Cloud).area_fraction },
        piece: part,
        left_out: LeftOut {
            glare: share(Label::Glare),
            shade: share(Label::Shade),
            cloud: share(Label::Cloud),
            unclear: share(Label::Unclear),
        },
        light: LightPart {
            source: "field".into(),
            range: Some([light.low * light.darkest, light.high]),
            ground: ground.map(|g| ground_part(&g, &surfaces)),
        },
        surfaces,
        warnings,
        ..Reading::default()
    }
}

fn ground_part(ground: &GroundLight, surfaces: &Surfaces) -> GroundPart {
    let other = remarks::is_other_light(ground);
    let in_light = |(name, s): (&str, &Surface)| (name.to_owned(), ground::in_light(s.lab, ground.ratio));
    GroundPart {
        ratio: ground.ratio,
        u95: ground.ratio * ground.log_u95,
        tint: ground.tint,
        tint_u95: ground.tint_u95,
        lab: surfaces.iter().filter(|_| other).map(in_light).collect(),
    }
}

/// The photograph's part of a record.
pub fn photo_part(path: &str, photo: &Photo) -> PhotoPart {
    let facts = &photo.facts;
    PhotoPart {
        path: path.into(),
        sha256: Some(facts.sha256.clone()),
        width: Some(photo.width()),
        height: Some(photo.height()),
        taken: facts.taken.clone(),
        exposure: facts.exposure.as_ref().map(|e| ExposurePart {
            seconds: e.seconds,
            f_number: e.f_number,
            iso: e.iso,
        }),
        profile: facts.profile.clone(),
    }
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

/// The card's part of a record.
pub fn card_part(card: &CardReading) -> CardPart {
    let residuals = |r: crate::card::Residuals| ResidualPart { mean: r.mean, p95: r.p95, max: r.max };
    let borrowed = card.status == CardStatus::Borrowed;
    let corners = card.place.as_ref().map(|p| p.corners_px);
    CardPart {
        status: card.status.name().into(),
        definition: Some(card.definition.clone()),
        corners_px: corners.filter(|_| !borrowed),
        lead: card.lead,
        candidates_px: card.candidates_px.iter().copied().chain(corners.filter(|_| borrowed)).collect(),
        patches: card
            .patches
            .iter()
            .map(|p| PatchPart {
                id: p.id.clone(),
                centre_px: p.centre_px,
                rgb_linear: p.rgb_linear,
                used: p.used,
                why_not: p.why_not.map(|why| why.name().to_owned()),
                lab_reference: p.lab_reference.into(),
                lab_corrected: p.lab_corrected.into(),
            })
            .collect(),
        model: Some(card.correction.model.clone()),
        models: card
            .models
            .iter()
            .map(|m| ModelPart { model: m.model.clone(), held_out_de00: m.held_out_de00 })
            .collect(),
        fit_de00: Some(residuals(card.fit)),
        held_out_de00: Some(residuals(card.held_out)),
        light_gradient: card.light_gradient,
        borrowed_from: card.borrowed.as_ref().map(|b| BorrowedPart {
            path: b.path.clone(),
            sha256: b.sha256.clone(),
            exposure_ratio: b.exposure_ratio,
            u95: b.exposure_ratio * b.exposure_u95,
        }),
        capture: Some(CapturePart {
            clipped_fraction: card.capture.clipped,
            white_light: card.capture.white_light,
            edge_px: card.capture.edge_px,
            tint_change: card.capture.tint_change,
        }),
        mm_per_px: card.place.as_ref().and_then(|p| p.mm_per_px),
    }
}

/// A surface takes part when it covers at least this share of the piece: below it, what is found
/// is mostly edges of other surfaces.
const SMALLEST_SHARE: f64 = 0.003;

fn measure_surface(
    sums: &PieceSums,
    label: Label,
    card: &CardReading,
    (light, other): (&Anchor, Option<f64>),
    factor: usize,
) -> Option<Surface> {
    let tally = &sums.tallies[label as usize];
    let share = tally.area as f64 / sums.area.max(1) as f64;
    if share < SMALLEST_SHARE {
        return None;
    }
    let mean = scaled(tally.mean()?, 1.0 / light.brightest);
    let lab = mean.to_lab();
    let lch = lab.to_lch();
    let parts = uncertainty_parts(tally, mean, card, (light, other));
    Some(Surface {
        area_px: tally.area * factor * factor,
        area_fraction: share,
        lab: lab.into(),
        lch: [lch.l, lch.c, lch.h],
        u95: quadrature(parts.values()),
        u95_parts: parts,
        l_spread: tally.spread(),
        munsell: colour::nearest_munsell(lab)
            .into_iter()
            .map(|m| MunsellPart { notation: m.notation, de00: m.de00 })
            .collect(),
        whiteness: whiteness(lab),
        yellowness: yellowness(lab),
        to_target_de00: None,
    })
}

/// ASTM E313 for D65 and the 2 degree observer, the illuminant CIE recommends for it.
fn whiteness(lab: LabD50) -> Option<IndexPart> {
    let index = colour::whiteness(lab, IndexIlluminant::D65);
    index_part(index.value, index.illuminant, index.valid)
}

fn yellowness(lab: LabD50) -> Option<IndexPart> {
    let index = colour::yellowness(lab, IndexIlluminant::D65);
    index_part(index.value, index.illuminant, index.valid)
}

fn index_part(value: f64, illuminant: IndexIlluminant, valid: bool) -> Option<IndexPart> {
    value.is_finite().then(|| IndexPart { value, illuminant: illuminant.name().into(), valid })
}

fn scaled(xyz: XyzD50, by: f64) -> XyzD50 {
    XyzD50 { x: xyz.x * by, y: xyz.y * by, z: xyz.z * by }
}

/// The components of the uncertainty of a surface's mean, by name (GUM, JCGM 100:2008, 5.1).
fn uncertainty_parts(
    tally: &Tally,
    mean: XyzD50,
    card: &CardReading,
    (light, other): (&Anchor, Option<f64>),
) -> BTreeMap<String, [f64; 3]> {
    let lab = mean.to_lab();
    let mut parts = BTreeMap::new();
    let mut put = |name: &str, value: [f64; 3]| {
        parts.insert(name.to_owned(), value.map(|v| if v.is_finite() { v } else { 0.0 }));
    };
    put("card", card.correction.u95(lab));
    put("edition", card.correction.edition_u95(tally.mean_camera_light()));
    let doubt = light.relative_u95(tally.mean_light()).min(0.8);
    let by_card = uncertainty::of_scale(mean, doubt);
    put(
        "light",
        other
            .map_or(by_card, |ratio| uncertainty::reaching(by_card, lab, scaled(mean, 1.0 / ratio).to_lab())),
    );
    if let Some(borrowed) = &card.borrowed {
        put("exposure", uncertainty::of_scale(mean, borrowed.exposure_u95));
    }
    put("noise", uncertainty::of_mean(tally.spread().map_or(0.0, |s| s.sd), tally.inner_count));
    let with_edges = scaled(tally.mean_with_edges().unwrap_or(mean), 1.0 / light.brightest).to_lab();
    let edges = uncertainty::half_difference(lab, with_edges);
    // Too thin for much of an inner part: the neighbours' colour is in the mean itself, by an unknown share.
    let thin = 1.0 - (tally.inner_share() / 0.25).min(1.0);
    put("edges", [0, 1, 2].map(|c| edges[c].hypot(thin * THIN_EDGES[c])));
    parts
}

/// What neighbours can do to the mean of a surface that is nothing but edges: L*, a*, b*.
const THIN_EDGES: [f64; 3] = [8.0, 8.0, 8.0];

fn contrast(sums: &PieceSums, surfaces: &Surfaces, light: &Anchor, card: &CardReading) -> Option<Contrast> {
    let (white, black) = (surfaces.white.as_ref()?, surfaces.black.as_ref()?);
    let (lab_white, lab_black) = (LabD50::from(white.lab), LabD50::from(black.lab));
    let (xyz_white, xyz_black) = (lab_white.to_xyz(), lab_black.to_xyz());
    let from_means = xyz_white.y / xyz_black.y.max(1e-4);
    let ratio = sums.touching_ratio.map_or(from_means, |t| t.log_mean.exp());
    // Light and exposure scale both alike: they move the difference of lightness far less than either.
    let delta_in =
        |share: f64| scaled(xyz_white, 1.0 / share).to_lab().l - scaled(xyz_black, 1.0 / share).to_lab().l;
    let delta = lab_white.l - lab_black.l;
    let range = |low: f64, high: f64| ((delta_in(low) - delta_in(high)) / 2.0).abs();
    let exposure = card.borrowed.as_ref().map_or(0.0, |b| b.exposure_u95.min(0.8));
    let alike = range(light.low, light.high).hypot(range(1.0 - exposure, 1.0 + exposure));
    let is_own = |name: &str| !["light", "exposure"].contains(&name);
    let own = |surface: &Surface, c: usize| {
        uncertainty::quadrature(surface.u95_parts.iter().filter(|(name, _)| is_own(name)).map(|(_, u)| u))[c]
    };
    let u_delta = (own(white, 0).powi(2) + own(black, 0).powi(2) + alike.powi(2)).sqrt();
    // d ln Y = 3 dL* / (L* + 16), from the definition of L* (CIE 15:2018) above L* 8.
    let relative = |surface: &Surface| 3.0 * own(surface, 0) / (surface.lab[0].max(8.0) + 16.0);
    let places = sums.touching_ratio.map_or(0.1, |t| 1.96 * t.log_error);
    let u_log = (relative(white).powi(2) + relative(black).powi(2) + places.powi(2)).sqrt();
    Some(Contrast {
        delta_l: delta,
        de00: ciede2000(lab_white, lab_black),
        reflectance_ratio: ratio,
        michelson: colour::michelson(xyz_white.y, xyz_black.y).unwrap_or(0.0) * delta.signum(),
        u95: ContrastU95 {
            delta_l: u_delta,
            de00: uncertainty::of_difference(white, black, u_delta),
            reflectance_ratio: ratio * u_log,
        },
    })
}

fn paint(kept_px: usize, lost_px: usize, factor: usize) -> Option<Paint> {
    let applied = kept_px + lost_px;
    // Fewer than a small square's worth of map pixels is noise, not paint.
    if applied < 200 * factor * factor {
        return None;
    }
    let retained = kept_px as f64 / applied as f64;
    Some(Paint {
        applied_px: applied,
        retained_fraction: retained,
        u95: uncertainty::of_share(retained, applied / (factor * factor)),
        line_width_mm: None,
    })
}
