//! The level of the light on a piece, from the ball and the form.
//!
//! The shading field tells how the light falls off over a piece, not how much of the card's light its brightest part
//! gets. The ball tells that for every normal, and the form the normals. Both looks at the light are put together: the
//! level is the one at which they agree in the median over the piece, and each place gets a light between the two, with
//! a share of their distance as its doubt. Of all forms that the outline allows, the one is taken that the decoration and
//! the shading make likeliest.

use super::ball::BallLight;
use super::form::{Form, Forms, Place};
use super::view::View;
use crate::card::CorrectedImage;
use crate::surface::{Label, Piece, SurfaceMap};
use nalgebra::Vector3;
use rayon::prelude::*;

/// The light on a piece as ball and form tell it.
#[derive(Debug, Clone, Copy)]
pub struct Level {
    /// Light relative to the card's where the field is 1.
    pub factor: f64,
    /// Relative half-width of its 95 % interval.
    pub u95: f64,
    /// Relative half-widths by label number: how far field and form lie apart on that surface.
    pub apart_u95: [f64; Label::ALL.len()],
    /// What told it.
    pub source: Source,
}

/// What told the light on a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A ball, and the form of the piece.
    Ball,
    /// The form and the shading alone.
    Form,
}

/// A form whose light lies farther than this from the shading (see [`distance`]) is not that of the piece.
pub(super) const FARTHEST: f64 = 0.25;
/// How far the shading of the true light lies from the field, median of the logarithm: texture, labels and the smooth
/// field itself leave about so much.
const USUAL: f64 = 0.03;
/// What a place counts of which the form tells nothing: about as far as the light of a form that is not quite right.
const UNTOLD: f64 = 0.1;
/// Forms whose odds are not below this share of the best's cannot be ruled out: their levels make its doubt, logarithm.
const AS_LIKELY: f64 = -2.0;
/// Relative standard uncertainty of a level by a form that is right: what the ground sends back and table and neighbours
/// take away is not the same for a wall as for a ball. A judgement, not a publication.
const SURROUNDINGS: f64 = 0.04;
/// The light of a place lies somewhere between the two looks, the likelier the nearer to the form's: a density that grows
/// evenly from the field's to the form's has its mean at two thirds of the way. Half way, the light of rendered pieces was
/// less well met. A judgement.
const BY_FORM: f64 = 2.0 / 3.0;
/// Half-width of the 95 % interval about that mean, over the whole way: 2/3 - sqrt(0.05).
const BETWEEN: f64 = 0.443;
/// Light by the form is not believed below this share of the card's: what is left there comes from all around.
pub(super) const LEAST_LIGHT: f64 = 0.05;
/// Strongest believed change of a place's light by the form, logarithm.
const STRONGEST: f64 = 0.7;

/// How far the light by a form lies from the shading: the median of the logarithm's distance over the places that the form
/// tells, in the mean with [`UNTOLD`] for the rest.
pub(super) fn distance(form: &Form, apart: &[f64]) -> Option<f64> {
    let told = median(apart.iter().map(|v| v.abs()).collect())?;
    Some(form.cover * told + (1.0 - form.cover) * UNTOLD)
}

/// Logarithm of the odds of a form whose light lies so far from the shading.
pub(super) fn by_shading(distance: f64) -> f64 {
    -(distance / USUAL).powi(2) / 2.0
}

/// One form's look at the light.
pub(super) struct Looked<'a> {
    form: &'a Form,
    /// ln of the light by the form over that of the field, place by place, less their level.
    apart: Vec<f64>,
    /// By how much the field is changed at each place, logarithm.
    change: Vec<f64>,
}

/// Finds the level of one piece and puts the light on its places right. `None` where no form of the piece explains its
/// shading.
pub(super) fn find(
    image: &CorrectedImage,
    map: &mut SurfaceMap,
    number: u8,
    view: &View,
    ball: &BallLight,
    forms: &Forms,
) -> Option<Level> {
    let piece = map.pieces[usize::from(number) - 1].clone();
    let reflectance = reflectance(image, map, &piece, number);
    let looks: Vec<ByBall> =
        forms.all.iter().filter_map(|form| ByBall::of(map, ball, form, reflectance)).collect();
    let log_odds = |look: &ByBall| look.form.log_odds + by_shading(look.distance);
    let best = looks.iter().max_by(|p, q| log_odds(p).total_cmp(&log_odds(q)))?;
    if best.distance > FARTHEST {
        return None;
    }
    let near = looks.iter().filter(|look| log_odds(look) >= log_odds(best) + AS_LIKELY);
    let doubt = near.map(|look| (look.log_level - best.log_level).abs()).fold(0.0, f64::max);
    let look = Looked::new(best.form, best.apart.clone());
    let level = Level {
        factor: best.log_level.exp(),
        u95: ball.u95.hypot(1.96 * SURROUNDINGS).hypot(doubt),
        apart_u95: look.apart_u95(map),
        source: Source::Ball,
    };
    put_right(map, &piece, number, view, forms, &blended(&[(look, 1.0)], forms));
    Some(level)
}

/// The light of the ball on a form.
struct ByBall<'a> {
    form: &'a Form,
    /// As in [`Looked`].
    apart: Vec<f64>,
    /// The level at which it and the field agree.
    log_level: f64,
    /// How far it lies from the shading, as by [`distance`].
    distance: f64,
}

impl<'a> ByBall<'a> {
    fn of(map: &SurfaceMap, ball: &BallLight, form: &'a Form, reflectance: f64) -> Option<Self> {
        let ratio = |place: &Place| {
            let by_form = by_form(ball, form, place, reflectance).max(LEAST_LIGHT);
            (by_form / f64::from(map.light[place.pixel]).max(LEAST_LIGHT)).ln()
        };
        let mut apart: Vec<f64> = form.places.iter().map(ratio).collect();
        let log_level = median(apart.clone())?;
        apart.iter_mut().for_each(|v| *v -= log_level);
        let distance = distance(form, &apart)?;
        Some(Self { form, apart, log_level, distance })
    }
}

impl<'a> Looked<'a> {
    /// A form, and what its light says: as in `apart`. The field is changed by two thirds of the way to it. Inside and outside
    /// of a vessel are lit apart, and of the step between them a smooth field knows nothing: it is taken whole.
    pub fn new(form: &'a Form, apart: Vec<f64>) -> Self {
        let places = || form.places.iter().zip(&apart);
        let side = |inside: bool| {
            let own = places().filter(|(place, _)| place.inside.is_some() == inside);
            median(own.map(|(_, apart)| *apart).collect()).unwrap_or(0.0)
        };
        let sides = [side(false), side(true)];
        let change = |(place, apart): (&Place, &f64)| {
            let side = sides[usize::from(place.inside.is_some())];
            (side + BY_FORM * (apart - side)).clamp(-STRONGEST, STRONGEST)
        };
        let change = places().map(change).collect();
        Self { form, apart, change }
    }

    /// Relative half-widths by label number: the light of a surface lies somewhere between the two looks.
    pub fn apart_u95(&self, map: &SurfaceMap) -> [f64; Label::ALL.len()] {
        let rest = self.apart.iter().zip(&self.change).map(|(apart, change)| apart - change);
        self.by_label(map, rest).map(|rest| BETWEEN * (rest / (1.0 - BY_FORM)).abs())
    }

    /// Change of the field by label number, logarithm, in the mean over its places; 0 where there are none.
    pub fn mean_change(&self, map: &SurfaceMap) -> [f64; Label::ALL.len()] {
        self.by_label(map, self.change.iter().copied())
    }

    /// Mean of a value of each place over the places of each label; 0 where there are none.
    fn by_label(&self, map: &SurfaceMap, values: impl Iterator<Item = f64>) -> [f64; Label::ALL.len()] {
        let mut sums = [(0.0, 0.0f64); Label::ALL.len()];
        for (place, value) in self.form.places.iter().zip(values) {
            let (sum, many) = &mut sums[map.labels[place.pixel] as usize];
            *sum += value;
            *many += 1.0;
        }
        sums.map(|(sum, many)| sum / many.max(1.0))
    }
}

/// Change of the field in each cell of the grid, logarithm: the mean over several looks by their weights. Of what a look
/// does not tell it leaves the field as it is. `None` off the piece.
pub(super) fn blended(looks: &[(Looked, f64)], forms: &Forms) -> Vec<Option<f64>> {
    let mut change = vec![None; forms.side() * forms.side()];
    let all: f64 = looks.iter().map(|(_, weight)| weight).sum();
    for (look, weight) in looks {
        for (place, by) in look.form.places.iter().zip(&look.change) {
            *change[place.cell].get_or_insert(0.0) += by * weight / all.max(1e-12);
        }
    }
    change
}

/// Gives each pixel of the piece the light put right by the change in its cell; where no form tells anything, the field
/// stays.
pub(super) fn put_right(
    map: &mut SurfaceMap,
    piece: &Piece,
    number: u8,
    view: &View,
    forms: &Forms,
    change: &[Option<f64>],
) {
    let side = forms.side();
    // Means of three by three cells: a cell has one normal, and the edge of a facet is no edge of the light.
    let near = |at: usize| {
        let (x, y) = (at % side, at / side);
        let rows = y.saturating_sub(1)..(y + 2).min(side);
        let cells = rows.flat_map(|j| (x.saturating_sub(1)..(x + 2).min(side)).map(move |i| j * side + i));
        let (sum, many) = cells.filter_map(|k| change[k]).fold((0.0, 0.0f64), |(s, n), v| (s + v, n + 1.0));
        (sum / many.max(1.0)).exp() as f32
    };
    let factor: Vec<f32> = (0..side * side).map(near).collect();
    let last = side as f64 - 1.001;
    let between = |x: f64, y: f64| {
        let (x, y) = ((x - 0.5).clamp(0.0, last), (y - 0.5).clamp(0.0, last));
        let (i, j) = (x as usize, y as usize);
        let (u, v) = ((x - i as f64) as f32, (y - j as f64) as f32);
        let row = |j: usize| (1.0 - u) * factor[j * side + i] + u * factor[j * side + i + 1];
        (1.0 - v) * row(j) + v * row(j + 1)
    };
    let (width, to_grid) = (map.width, forms.to_grid() * view.rays(map.factor as f64));
    let [x0, y0, x1, y1] = piece.bounds;
    let owners = &map.piece_of;
    map.light.par_chunks_mut(width).enumerate().skip(y0).take(y1 - y0).for_each(|(y, row)| {
        for x in (x0..x1).filter(|&x| owners[y * width + x] == number) {
            let at = to_grid * Vector3::new(x as f64 + 0.5, y as f64 + 0.5, 1.0);
            row[x] *= between(at.x / at.z, at.y / at.z);
        }
    });
}

/// Light on a place relative to the card's. An inside gets what comes in through the mouth; where it faces its own wall it
/// gets back what that sends, taken to be lit as the place itself: E = E_in + reflectance * (1 - open) * E.
fn by_form(ball: &BallLight, form: &Form, place: &Place, reflectance: f64) -> f64 {
    let free = ball.light.at(&place.normal);
    let Some(inside) = &place.inside else { return free };
    let [light, open] = ball.room.shares(&place.normal, |from| form.lets_in(inside, from));
    free * light / (1.0 - reflectance * (1.0 - open))
}

pub(super) fn median(mut values: Vec<f64>) -> Option<f64> {
    let middle = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(middle, f64::total_cmp).1)
}

/// Mean luminance of the piece in the field's own light: what its inside sends back.
pub(super) fn reflectance(image: &CorrectedImage, map: &SurfaceMap, piece: &Piece, number: u8) -> f64 {
    let step = ((piece.area as f64 / 4000.0).sqrt() as usize).max(1);
    let (mut sum, mut many) = (0.0, 0.0f64);
    for at in map.places(piece, step).filter(|&at| map.piece_of[at] == number) {
        sum += f64::from(image.xyz[at][1] / map.light[at].max(LEAST_LIGHT as f32));
        many += 1.0;
    }
    (sum / many.max(1.0)).clamp(0.0, 0.9)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: the mean of the density 2 x on 0..1 is 2/3, and 95 % of it lie above sqrt(0.05). Here summed.
    #[test]
    fn the_way_between_both_looks_is_that_of_its_density() {
        let steps = 100_000;
        let at = |k: i32| (f64::from(k) + 0.5) / f64::from(steps);
        let mean: f64 = (0..steps).map(|k| 2.0 * at(k).powi(2) / f64::from(steps)).sum();
        let inside: f64 = (0..steps)
            .map(at)
            .filter(|x| (x - BY_FORM).abs() <= BETWEEN)
            .map(|x| 2.0 * x / f64::from(steps))
            .sum();
        assert!((mean - BY_FORM).abs() < 1e-6 && (inside - 0.95).abs() < 1e-3, "{mean}, {inside}");
    }
}
