//! White against black.

use super::colours::scaled;
use super::record::*;
use super::statistics::PieceSums;
use super::uncertainty;
use crate::card::CardReading;
use crate::colour::{self, LabD50, ciede2000};
use crate::light::Anchor;

pub(super) fn contrast(
    sums: &PieceSums,
    surfaces: &Surfaces,
    light: &Anchor,
    card: &CardReading,
) -> Option<Contrast> {
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
        ratio_from: if sums.touching_ratio.is_some() { "touching" } else { "means" }.into(),
        ratio_places: sums.touching_ratio.map_or(0, |t| t.places),
        michelson: colour::michelson(xyz_white.y, xyz_black.y).unwrap_or(0.0) * delta.signum(),
        u95: ContrastU95 {
            delta_l: u_delta,
            de00: uncertainty::of_difference(white, black, u_delta),
            reflectance_ratio: ratio * u_log,
        },
    })
}
