//! The parts of a record that say what photograph, card and ground were read, copied from the stages before.

use super::ground::{self, GroundLight};
use super::record::*;
use super::remarks;
use crate::card::{CardReading, CardStatus};
use crate::photo::Photo;

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

/// The card's part of a record.
pub fn card_part(card: &CardReading) -> CardPart {
    let residuals = |r: crate::card::Residuals| ResidualPart { mean: r.mean, p95: r.p95, max: r.max };
    let borrowed = card.status == CardStatus::Borrowed;
    if card.status == CardStatus::None {
        return CardPart { status: card.status.name().into(), ..CardPart::default() };
    }
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

pub(super) fn ground_part(ground: &GroundLight, surfaces: &Surfaces) -> GroundPart {
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
