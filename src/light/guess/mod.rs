//! The light on a piece of known form where no ball shows it.
//!
//! Comes in: the picture, the map with its shading field, the card's normal and the forms that the outline allows. Goes
//! out: a [`Level`], and the light in the map put right. Many plain lights are tried: a sky, one key light, and what the
//! ground sends back, which the photograph itself shows. Each gives a shading over the normals of the form, and with it a
//! level against the card's normal. Those that shade the piece as it is shaded count, the better the more (Bayes' rule,
//! every share of the key light as likely before). What they agree on is known; where the normals seen do not bear on
//! the card's, they disagree, and the doubt is large. Level and shading are then put together with what the field alone
//! says.

mod lights;

use super::FormChoice;
use super::anchor::anchor;
use super::ball::Room;
use super::form::{Form, Forms, Place};
use super::level::{
    FARTHEST, Level, Looked, Source, blended, by_shading, distance, median, put_right, reflectance,
};
use super::view::View;
use crate::card::CorrectedImage;
use crate::surface::{Label, Piece, SurfaceMap};
use imageproc::geometry::min_area_rect;
use imageproc::point::Point;
use lights::{Light, Lit, Scene};
use rayon::prelude::*;

/// What the ground sends back where none of it is seen.
const GROUND: f64 = 0.25;
/// The ground near the piece: so much of its box to all sides.
const NEAR: usize = 4;
/// One place of the ground in so many is looked at, both ways.
const SOME: usize = 7;
/// Places looked at.
const PLACES: usize = 250;
/// Standard uncertainty of a level by the true one of these lights: no room is a plain sky with one lamp.
const OTHER_LIGHTS: f64 = 0.1;
/// A piece that fills so much of the smallest rectangle about it is one: tiles and cylinders do; bowls and jars fill little
/// more than an ellipse does, 0.79.
const RECTANGLE: f64 = 0.9;
/// Correlation of the errors of field and guess: both start from one shading. A judgement.
const TOGETHER: f64 = 0.5;
/// Share of its light that a vessel loses from its brighter to its darker places even under an overcast sky: rendered ones
/// lose a quarter and more. A judgement.
const TURNED: f64 = 0.25;
/// Lights and forms that weigh less than this against the best say nothing of the shading.
const LIGHT: f64 = 0.02;

/// One light with one form.
struct Tried<'a> {
    form: usize,
    light: &'a Light,
    level: f64,
    distance: f64,
}

/// The level of one piece by all forms and lights that explain its shading, and the light in the map put right; `None` where
/// none does.
pub(super) fn guess(
    image: &CorrectedImage,
    map: &mut SurfaceMap,
    number: u8,
    view: &View,
    forms: &Forms,
    choice: FormChoice,
) -> Option<Level> {
    let piece = map.pieces[usize::from(number) - 1].clone();
    if choice == FormChoice::Auto && is_rectangle(&piece, map.factor) {
        return None;
    }
    let reflectance = reflectance(image, map, &piece, number);
    let scene = Scene { card_normal: &view.card_normal, ground: ground(image, map, &piece) };
    let room = Room::even();
    let lights: Vec<Vec<Light>> =
        forms.all.iter().map(|form| Light::all(&view.card_normal, &form.out)).collect();
    let mut tried: Vec<Tried> = Vec::new();
    for ((index, form), lights) in forms.all.iter().enumerate().zip(&lights) {
        let some = form.places.iter().step_by(form.places.len().div_ceil(PLACES).max(1));
        let places: Vec<Lit> = some.map(|place| Lit::of(map, form, place, &room, reflectance)).collect();
        tried.par_extend(lights.par_iter().filter_map(|light| {
            let mut apart: Vec<f64> =
                places.iter().map(|place| scene.log_light(light, form, place)).collect();
            let level = median(apart.clone())?;
            apart.iter_mut().for_each(|v| *v -= level);
            Some(Tried { form: index, light, level, distance: distance(form, &apart)? })
        }));
    }
    let log_odds = |t: &Tried| forms.all[t.form].log_odds + t.light.prior.ln() + by_shading(t.distance);
    let best = tried.iter().max_by(|p, q| log_odds(p).total_cmp(&log_odds(q)))?;
    if best.distance > FARTHEST {
        return None;
    }
    let most = log_odds(best);
    let weight = |t: &Tried| (log_odds(t) - most).exp();
    let mut by_form = vec![0.0; forms.all.len()];
    tried.iter().for_each(|t| by_form[t.form] += weight(t));
    let total: f64 = by_form.iter().sum();
    let mean = |of: &dyn Fn(&Tried) -> f64| tried.iter().map(|t| weight(t) * of(t)).sum::<f64>() / total;
    let log_level = mean(&|t| t.level);
    let sd = mean(&|t| (t.level - log_level).powi(2)).sqrt().hypot(OTHER_LIGHTS);

    // The places get the light of all forms that weigh; where these do not agree, a surface is in doubt.
    let heaviest = by_form.iter().copied().fold(0.0, f64::max);
    let looks: Vec<(Looked, f64)> = (0..by_form.len())
        .filter(|&form| by_form[form] > LIGHT * heaviest)
        .map(|index| {
            let form = &forms.all[index];
            let own = tried.iter().filter(|t| t.form == index).map(|t| (t, weight(t))).collect();
            let lit = |place: &Place| Lit::of(map, form, place, &room, reflectance);
            (Looked::new(form, mean_light(&scene, form, own, lit)), by_form[index])
        })
        .collect();
    let apart_u95 = apart_u95(map, &looks);
    let (log_level, u95) = with_field(forms.evenness, log_level, sd);
    put_right(map, &piece, number, view, forms, &blended(&looks, forms));
    Some(Level { factor: log_level.exp(), u95, apart_u95, source: Source::Form })
}

/// Relative half-widths by label number: those of each look in the mean, and how far the looks lie apart.
fn apart_u95(map: &SurfaceMap, looks: &[(Looked, f64)]) -> [f64; Label::ALL.len()] {
    let all: f64 = looks.iter().map(|(_, weight)| weight).sum();
    let means: Vec<_> = looks.iter().map(|(look, weight)| (look.mean_change(map), weight / all)).collect();
    let own: Vec<_> = looks.iter().map(|(look, weight)| (look.apart_u95(map), weight / all)).collect();
    std::array::from_fn(|k| {
        let mean: f64 = means.iter().map(|(change, weight)| weight * change[k]).sum();
        let square: f64 = means.iter().map(|(change, weight)| weight * (change[k] - mean).powi(2)).sum();
        let within: f64 = own.iter().map(|(u95, weight)| weight * u95[k]).sum();
        within.hypot(1.96 * square.sqrt())
    })
}

/// Logarithm of the light by one form, place by place, over that of the field, less its level: the mean of the lights that
/// weigh most.
fn mean_light(
    scene: &Scene,
    form: &Form,
    mut lights: Vec<(&Tried, f64)>,
    lit: impl Fn(&Place) -> Lit + Sync,
) -> Vec<f64> {
    let strongest = lights.iter().map(|(_, weight)| *weight).fold(0.0, f64::max);
    lights.retain(|(_, weight)| *weight > LIGHT * strongest);
    let all: f64 = lights.iter().map(|(_, weight)| weight).sum();
    let apart = |place: &Place| {
        let lit = lit(place);
        let sum: f64 = lights.iter().map(|(t, w)| w * (scene.log_light(t.light, form, &lit) - t.level)).sum();
        sum / all.max(1e-12)
    };
    form.places.par_iter().map(apart).collect()
}

/// Level and relative half-width of field and guess together: the mean of both, each by its own variance, which does not
/// hang on how their errors go together. That enters the range (GUM, JCGM 100:2008, eq. 16). Where walls turn away the
/// field has its widest range: little shading is a sign of soft light then, not of a piece that lies as the card does. Of a
/// piece that is lit evenly it is as sure as ever, round as its outline may be.
fn with_field(evenness: f64, log_level: f64, sd: f64) -> (f64, f64) {
    let field = anchor(1.0 - (1.0 - evenness) / TURNED);
    let own = (field.high - field.low) / 2.0 / 1.96;
    let share = own.powi(2) / (own.powi(2) + sd.powi(2));
    let (theirs, mine) = (share * sd, (1.0 - share) * own);
    let both = (theirs.powi(2) + mine.powi(2) + 2.0 * TOGETHER * theirs * mine).sqrt();
    (share * log_level, 1.96 * both)
}

/// Whether the outline is a rectangle: a tile and a cylinder look alike.
fn is_rectangle(piece: &Piece, factor: usize) -> bool {
    let corners: Vec<Point<i32>> =
        piece.outline_px.iter().map(|p| Point::new(p[0].round() as i32, p[1].round() as i32)).collect();
    if corners.len() < 3 {
        return false;
    }
    let [a, b, c, _] = min_area_rect(&corners).map(|p| [f64::from(p.x), f64::from(p.y)]);
    let side = |p: [f64; 2], q: [f64; 2]| (p[0] - q[0]).hypot(p[1] - q[1]);
    (piece.area * factor * factor) as f64 > RECTANGLE * side(a, b) * side(b, c)
}

/// What the ground about a piece sends back: the middle of its luminance.
fn ground(image: &CorrectedImage, map: &SurfaceMap, piece: &Piece) -> f64 {
    let [x0, y0, x1, y1] = piece.bounds;
    let (across, down) = ((x1 - x0) / NEAR, (y1 - y0) / NEAR);
    let rows = (y0.saturating_sub(down)..(y1 + down).min(map.height)).step_by(SOME);
    let columns = (x0.saturating_sub(across)..(x1 + across).min(map.width)).step_by(SOME);
    let seen = rows
        .flat_map(|y| columns.clone().map(move |x| y * map.width + x))
        .filter(|&at| map.labels[at] == Label::Background)
        .map(|at| f64::from(image.xyz[at][1]));
    median(seen.collect()).unwrap_or(GROUND).clamp(0.0, 0.9)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A piece that is lit evenly keeps the card's light but for a small share of the guess, and its range; where walls turn
    /// away the guess counts, the more the surer it is.
    #[test]
    fn even_light_speaks_against_turning_walls() {
        let (guess, sd) = (-0.1, 0.1);
        let levels = [1.0, 0.95, 0.9, 0.75, 0.4].map(|evenness| with_field(evenness, guess, sd));
        assert!(levels.windows(2).all(|pair| pair[0].0 >= pair[1].0), "{levels:?}");
        assert!(levels[0].0 > 0.1 * guess && levels[4].0 < 0.7 * guess, "{levels:?}");
        assert_eq!(levels[3], levels[4]);
        // Of a guess that is sure in full the range is that of the guess.
        assert!((with_field(0.4, guess, 1e-6).0 - guess).abs() < 1e-6);
        let flat = anchor(1.0);
        assert!(levels[0].1 < 1.5 * (flat.high - flat.low) / 2.0, "{levels:?}");
    }
}
