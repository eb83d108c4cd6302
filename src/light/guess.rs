//! The level of the light on a piece of known form where no ball shows it.
//!
//! Many plain lights are tried: a sky that is brightest above, one key light and what the ground sends back. Each gives a
//! shading over the normals of the form, and with it a level against the card's normal. Those that shade the piece as it
//! is shaded count, the better the more (Bayes' rule, every light as likely before). What they agree on is known; where
//! the normals seen do not bear on the card's, they disagree, and the doubt is large.

use super::ball::Room;
use super::form::{Form, Forms, Place};
use super::level::{FARTHEST, LEAST_LIGHT, median, reflectance};
use crate::card::CorrectedImage;
use crate::surface::SurfaceMap;
use nalgebra::Vector3;
use rayon::prelude::*;

/// What a family of lights says of the level.
#[derive(Debug, Clone, Copy)]
pub struct Guess {
    /// Logarithm of the light relative to the card's where the field is 1.
    pub log_factor: f64,
    /// Its standard uncertainty.
    pub sd: f64,
}

/// How far above the card's normal, towards the top of the photograph, the sky may be brightest: a card lies on the table
/// under it, or stands up before the camera. Radians.
const ZENITHS: [f64; 3] = [0.0, 0.6, 1.2];
/// Shares of the key light.
const KEYS: [f64; 3] = [0.2, 0.45, 0.7];
/// Directions of the key light over the whole sphere; those that light card and table count.
const KEY_DIRECTIONS: usize = 120;
/// Least cosine of the key light with the card's normal and with the zenith.
const LEAST_KEY: f64 = 0.2;
/// What the ground sends back of the sky.
const GROUND: f64 = 0.25;
/// Places looked at.
const PLACES: usize = 250;
/// How far the shading of the true light lies from the field, median of the logarithm: texture, labels and the smooth
/// field itself leave about so much.
const USUAL: f64 = 0.03;
/// Standard uncertainty of a level by the true one of these lights: no room is a plain sky with one lamp.
const OTHER_LIGHTS: f64 = 0.1;

/// A sky with a key light.
struct Light {
    zenith: Vector3<f64>,
    key: Vector3<f64>,
    share: f64,
}

impl Light {
    fn on(&self, normal: &Vector3<f64>) -> f64 {
        let up = normal.dot(&self.zenith);
        let sky = 0.5 * (1.0 + up) + 0.5 * GROUND * (1.0 - up);
        (1.0 - self.share) * sky + self.share * normal.dot(&self.key).max(0.0)
    }

    fn all(card_normal: &Vector3<f64>) -> Vec<Self> {
        let up = -Vector3::y();
        let across = up - card_normal * up.dot(card_normal);
        let towards_top = across.try_normalize(1e-9).unwrap_or_else(Vector3::x);
        let mut all = Vec::new();
        for angle in ZENITHS {
            let zenith = card_normal * angle.cos() + towards_top * angle.sin();
            all.push(Self { zenith, key: zenith, share: 0.0 });
            for key in super::ball::directions(KEY_DIRECTIONS) {
                if key.dot(card_normal) > LEAST_KEY && key.dot(&zenith) > LEAST_KEY {
                    all.extend(KEYS.map(|share| Self { zenith, key, share }));
                }
            }
        }
        all
    }
}

/// The level of one piece by all forms and lights that explain its shading; `None` where none does.
pub(super) fn guess(
    image: &CorrectedImage,
    map: &SurfaceMap,
    number: u8,
    card_normal: &Vector3<f64>,
    forms: &Forms,
) -> Option<Guess> {
    let reflectance = reflectance(image, map, &map.pieces[usize::from(number) - 1], number);
    let lights = Light::all(card_normal);
    let room = Room::even();
    let mut looks: Vec<[f64; 2]> = Vec::new();
    for form in &forms.all {
        let step = form.places.len().div_ceil(PLACES).max(1);
        let places: Vec<(Vector3<f64>, f64)> = form
            .places
            .iter()
            .step_by(step)
            .map(|p| (p.normal, base(map, form, p, &room, reflectance)))
            .collect();
        looks.par_extend(lights.par_iter().filter_map(|light| {
            let on_card = light.on(card_normal);
            let log = |(normal, base): &(Vector3<f64>, f64)| {
                (light.on(normal) / on_card).max(LEAST_LIGHT).ln() + base
            };
            let mut apart: Vec<f64> = places.iter().map(log).collect();
            let level = median(apart.clone())?;
            apart.iter_mut().for_each(|v| *v = (*v - level).abs());
            Some([level, median(apart)? / form.cover.max(1e-3)])
        }));
    }
    let best = looks.iter().map(|look| look[1]).reduce(f64::min).filter(|best| *best < FARTHEST)?;
    let weight = |look: &[f64; 2]| (-(look[1].powi(2) - best.powi(2)) / (2.0 * USUAL * USUAL)).exp();
    let total: f64 = looks.iter().map(weight).sum();
    let log_factor = looks.iter().map(|look| weight(look) * look[0]).sum::<f64>() / total;
    let variance =
        looks.iter().map(|look| weight(look) * (look[0] - log_factor).powi(2)).sum::<f64>() / total;
    Some(Guess { log_factor, sd: variance.sqrt().hypot(OTHER_LIGHTS) })
}

/// Logarithm of what a place gets of the light on its normal, over the field there: an inside gets what comes through the
/// mouth, as from an even room, and its own light back.
fn base(map: &SurfaceMap, form: &Form, place: &Place, room: &Room, reflectance: f64) -> f64 {
    let open = place.inside.as_ref().map_or(1.0, |inside| {
        let [open, _] = room.shares(&place.normal, |from| form.lets_in(inside, from));
        open / (1.0 - reflectance * (1.0 - open))
    });
    (open.max(LEAST_LIGHT) / f64::from(map.light[place.pixel]).max(LEAST_LIGHT)).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// View factors: an even sky above a plane gives (1 + cos t) / 2 of its light to a plane that leans by t, and what
    /// the ground sends back the rest.
    #[test]
    fn the_sky_gives_its_view_factor() {
        let zenith = Vector3::new(0.0, -1.0, 0.0);
        let sky = Light { zenith, key: zenith, share: 0.0 };
        assert!((sky.on(&zenith) - 1.0).abs() < 1e-12);
        assert!((sky.on(&Vector3::x()) - (0.5 + 0.5 * GROUND)).abs() < 1e-12);
        assert!((sky.on(&-zenith) - GROUND).abs() < 1e-12);
        let key = Light { zenith, key: Vector3::new(0.6, -0.8, 0.0), share: 1.0 };
        assert!((key.on(&zenith) - 0.8).abs() < 1e-12 && key.on(&-zenith) == 0.0);
    }
}
