//! White against black.

use super::colours::scaled;
use super::record::*;
use super::uncertainty;
use crate::card::CardReading;
use crate::colour::{self, LabD50, ciede2000};
use crate::light::Anchor;
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn contrast(
    ratios: &[RatioPart],
    surfaces: &Surfaces,
    light: &Anchor,
    card: &CardReading,
) -> Option<Contrast> {
    let (white, black) = (surfaces.white.as_ref()?, surfaces.black.as_ref()?);
    let (lab_white, lab_black) = (LabD50::from(white.lab), LabD50::from(black.lab));
    let (xyz_white, xyz_black) = (lab_white.to_xyz(), lab_black.to_xyz());
    let from_means = xyz_white.y / xyz_black.y.max(1e-4);
    // Places where both lie close together get one light.
    let touching = ratios.iter().find(|r| r.of == "white" && r.to == "black");
    let ratio = touching.map_or(from_means, |t| t.log_xyz[1].exp());
    // Light and exposure scale both alike: they move the difference of lightness far less than either.
    let delta_in =
        |share: f64| scaled(xyz_white, 1.0 / share).to_lab().l - scaled(xyz_black, 1.0 / share).to_lab().l;
    let delta = lab_white.l - lab_black.l;
    let range = |low: f64, high: f64| ((delta_in(low) - delta_in(high)) / 2.0).abs();
    let exposure = card.borrowed.as_ref().map_or(0.0, |b| b.exposure_u95.min(0.8));
    // What moves one surface alone, by component; what moves both alike comes after.
    let own = |name: &str, surface: &Surface| surface.u95_parts.get(name).map_or(0.0, |part| part[0]);
    let names: BTreeSet<&String> = white.u95_parts.keys().chain(black.u95_parts.keys()).collect();
    let mut parts: BTreeMap<String, ContrastPart> = names
        .into_iter()
        .filter(|name| !["light", "exposure"].contains(&name.as_str()))
        .map(|name| {
            let delta_l = own(name, white).hypot(own(name, black));
            // d ln Y = 3 dL* / (L* + 16), from the definition of L* (CIE 15:2018) above L* 8.
            let relative = |surface: &Surface| 3.0 * own(name, surface) / (surface.lab[0].max(8.0) + 16.0);
            let relative = match (touching, name.as_str()) {
                (Some(told), "edges") => told.edges_u95[1],
                // Its places have a scatter of their own.
                (Some(_), "noise") => 0.0,
                _ => relative(white).hypot(relative(black)),
            };
            (name.clone(), ContrastPart { delta_l, reflectance_ratio: ratio * relative })
        })
        .collect();
    parts.insert(
        "light".into(),
        ContrastPart { delta_l: range(light.low, light.high), reflectance_ratio: 0.0 },
    );
    if exposure > 0.0 {
        let delta_l = range(1.0 - exposure, 1.0 + exposure);
        parts.insert("exposure".into(), ContrastPart { delta_l, reflectance_ratio: 0.0 });
    }
    let places = touching.map_or(0.1, |t| (t.u95[1].powi(2) - t.edges_u95[1].powi(2)).max(0.0).sqrt());
    parts.insert("places".into(), ContrastPart { delta_l: 0.0, reflectance_ratio: ratio * places });
    let together =
        |pick: fn(&ContrastPart) -> f64| parts.values().map(|p| pick(p).powi(2)).sum::<f64>().sqrt();
    let u_delta = together(|p| p.delta_l);
    Some(Contrast {
        delta_l: delta,
        de00: ciede2000(lab_white, lab_black),
        reflectance_ratio: ratio,
        ratio_from: if touching.is_some() { "touching" } else { "means" }.into(),
        ratio_places: touching.map_or(0, |t| t.places),
        michelson: colour::michelson(xyz_white.y, xyz_black.y).unwrap_or(0.0) * delta.signum(),
        u95: ContrastU95 {
            delta_l: u_delta,
            de00: uncertainty::of_difference(white, black, u_delta),
            reflectance_ratio: together(|p| p.reflectance_ratio),
        },
        u95_parts: parts,
    })
}
