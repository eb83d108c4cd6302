//! The colour of one surface, with the components of its uncertainty.

use super::record::*;
use super::statistics::PieceSums;
use super::tally::Tally;
use super::uncertainty::{self, quadrature};
use crate::card::CardReading;
use crate::colour::{self, IndexIlluminant, LabD50, XyzD50};
use crate::light::Anchor;
use crate::surface::Label;
use std::collections::BTreeMap;

/// A surface takes part when it covers at least this share of the piece: below it, what is found
/// is mostly edges of other surfaces.
pub(super) const SMALLEST_SHARE: f64 = 0.003;

pub(super) fn measure_surface(
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
    let parts = uncertainty_parts((tally, label), mean, card, (light, other));
    Some(Surface {
        area_px: tally.area * factor * factor,
        area_fraction: share,
        lab: lab.into(),
        lch: [lch.l, lch.c, lch.h],
        lab_with_edges: tally.mean_with_edges().map(|m| scaled(m, 1.0 / light.brightest).to_lab().into()),
        lab_deep: tally.mean_deep().map(|m| scaled(m, 1.0 / light.brightest).to_lab().into()),
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

pub(super) fn scaled(xyz: XyzD50, by: f64) -> XyzD50 {
    XyzD50 { x: xyz.x * by, y: xyz.y * by, z: xyz.z * by }
}

/// The components of the uncertainty of a surface's mean, by name (GUM, JCGM 100:2008, 5.1).
pub(super) fn uncertainty_parts(
    (tally, label): (&Tally, Label),
    mean: XyzD50,
    card: &CardReading,
    (light, other): (&Anchor, Option<f64>),
) -> BTreeMap<String, [f64; 3]> {
    let lab = mean.to_lab();
    let mut parts = BTreeMap::new();
    let mut put = |name: &str, value: [f64; 3]| {
        parts.insert(name.to_owned(), value.map(|v| if v.is_finite() { v } else { 0.0 }));
    };
    put("card", card.correction.surface_u95(lab));
    put("edition", card.correction.edition_u95(tally.mean_camera_light()));
    let doubt = light.relative_u95(label, tally.mean_light()).min(0.8);
    let by_card = uncertainty::of_scale(mean, doubt);
    put(
        "light",
        other
            .map_or(by_card, |ratio| uncertainty::reaching(by_card, lab, scaled(mean, 1.0 / ratio).to_lab())),
    );
    if let Some(borrowed) = &card.borrowed {
        put("exposure", uncertainty::of_scale(mean, borrowed.exposure_u95));
    }
    put("noise", uncertainty::of_mean(tally.deviations(lab), tally.inner_count()));
    let edges = edges(tally, lab, light.brightest);
    // Too thin for much of an inner part: the neighbours' colour is in the mean itself, by an unknown share.
    let thin = 1.0 - (tally.inner_share() / 0.25).min(1.0);
    put("edges", [0, 1, 2].map(|c| edges[c].hypot(thin * THIN_EDGES[c])));
    parts
}

/// What the neighbours may still do to a mean: how far the deep part lies from it, where blur and the thin ends of brush
/// strokes no longer reach. Without a deep part, half of what the places left out would do.
fn edges(tally: &Tally, lab: LabD50, brightest: f64) -> [f64; 3] {
    let in_light = |mean: XyzD50| scaled(mean, 1.0 / brightest).to_lab();
    match (tally.mean_deep(), tally.mean_with_edges()) {
        (Some(deep), _) => uncertainty::half_difference(lab, in_light(deep)).map(|half| 2.0 * half),
        (None, Some(all)) => uncertainty::half_difference(lab, in_light(all)),
        (None, None) => [0.0; 3],
    }
}

/// What neighbours can do to the mean of a surface that is nothing but edges: L*, a*, b*.
const THIN_EDGES: [f64; 3] = [8.0, 8.0, 8.0];
