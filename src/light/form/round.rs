//! The forms of a round vessel.
//!
//! Comes in: the silhouette of a piece and the map with its labels. Goes out: every [`Form`] that outline and decoration
//! allow: the silhouette is taken along each of its axes from both ends, and each end for a mouth or a base.

use super::bands::left_open;
use super::profile::{Mouth, Outline, Ring, cap};
use super::silhouette::{Axis, Silhouette};
use super::solid::{Drawn, Facet};
use super::{Form, Place};
use crate::surface::SurfaceMap;
use nalgebra::Vector3;

/// Another axis counts as well if its symmetry is so near that of the best.
const AS_SYMMETRIC: f64 = 0.03;
/// A form must cover the piece as well as the best does, but for so much: a hundredth for the outline as drawn, one to
/// two for the perspective that is left out, and as much again for a rim that is not quite round.
const AS_COVERING: f64 = 0.05;
/// So many independent looks at the decoration a piece gives: motifs are some eight cells wide.
const LOOKS: f64 = 50.0;
/// Forms whose odds are under a fiftieth of the likeliest's are left out, logarithm.
const AS_LIKELY: f64 = -4.0;
/// A base is narrower than the belly: it has at most this share of the largest width. A judgement.
const WIDEST_BASE: f64 = 0.8;
/// Leans that are tried, sine of the angle between the axis and the picture's plane.
const LEANS: [f64; 5] = [0.05, 0.2, 0.4, 0.6, 0.8];
/// Depths of a bowl that is seen into, in radii of its rim: from a plate to nearly half a sphere.
const DEPTHS: [f64; 4] = [0.2, 0.35, 0.5, 0.7];
/// The inside of a vessel that sees more of itself than of the room is lit by itself: its form tells nothing.
const ENCLOSED: f64 = 0.7;

/// Every round vessel that the outline and its decoration allow. Each end may be towards the camera: as a mouth by the
/// ellipse of its rim, and at several leans as a mouth or as a flat base.
pub(super) fn round(map: &SurfaceMap, silhouette: &Silhouette, least: f64) -> Vec<Form> {
    let axes = silhouette.axes();
    let best = axes.first().map_or(0.0, |axis| axis.symmetry);
    let good = |axis: &&Axis| axis.symmetry >= least.max(best - AS_SYMMETRIC);
    let mut forms = Vec::new();
    for axis in axes.iter().filter(good) {
        for turn in [axis.turn, axis.turn + std::f64::consts::PI] {
            let seen = Seen::along(silhouette, turn);
            let draw = |mouth: &Mouth, end, rings: &[Ring], among: usize| {
                seen.form(map, silhouette, mouth, end, rings, 1.0 / among as f64)
            };
            if let Some(mouth) = seen.outline.mouth() {
                if mouth.is_seen_into() {
                    let depths = DEPTHS.iter();
                    forms.extend(
                        depths.map(|depth| draw(&mouth, End::Open, &cap(&mouth, *depth), DEPTHS.len())),
                    );
                } else if let Some(wall) = seen.outline.wall(&mouth) {
                    forms.push(draw(&mouth, End::Open, &wall, 1));
                }
            }
            let widest = seen.outline.half_widths.iter().copied().fold(0.0, f64::max);
            for end in LEANS.iter().filter_map(|lean| seen.outline.end(*lean)) {
                let Some(wall) = seen.outline.wall(&end) else { continue };
                forms.push(draw(&end, End::Open, &wall, LEANS.len()));
                if end.radius <= WIDEST_BASE * widest {
                    let base = [0.0, end.radius].map(|radius| Ring { height: 0.0, radius });
                    let rings: Vec<Ring> = base.into_iter().chain(wall).collect();
                    forms.push(draw(&end, End::Closed, &rings, LEANS.len()));
                }
            }
        }
    }
    let most = |forms: &[Form], of: fn(&Form) -> f64| forms.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let covering = most(&forms, |form| form.overlap);
    forms.retain(|form| form.overlap >= covering - AS_COVERING);
    let likeliest = most(&forms, |form| form.log_odds);
    forms.retain(|form| form.log_odds >= likeliest + AS_LIKELY);
    forms
}

/// What a vessel turns to the camera.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    /// Its mouth.
    Open,
    /// Its base.
    Closed,
}

/// The silhouette along one direction, from the mouth to the base.
struct Seen {
    outline: Outline,
    way: [f64; 2],
    /// Where the outline begins along the way, and where the axis lies across it, from the middle.
    start: f64,
    axis: f64,
}

impl Seen {
    fn along(silhouette: &Silhouette, turn: f64) -> Self {
        let way = [turn.cos(), turn.sin()];
        let places: Vec<[f64; 2]> =
            silhouette.places().map(|(_, p)| along_and_across(silhouette.middle, way, p)).collect();
        let start = places.iter().map(|p| p[0]).fold(f64::INFINITY, f64::min) - 0.5;
        let end = places.iter().map(|p| p[0]).fold(f64::NEG_INFINITY, f64::max) + 0.5;
        let rows = ((end - start).ceil() as usize).max(1);
        let mut spans = vec![[f64::INFINITY, f64::NEG_INFINITY]; rows];
        for [along, across] in places {
            let span = &mut spans[((along - start) as usize).min(rows - 1)];
            *span = [span[0].min(across), span[1].max(across)];
        }
        let half_widths = spans
            .iter()
            .map(|[low, high]| if high >= low { (high - low + 1.0) / 2.0 } else { 0.0 })
            .collect();
        let mut middles: Vec<f64> =
            spans.iter().filter(|[low, high]| high >= low).map(|[low, high]| (low + high) / 2.0).collect();
        middles.sort_by(f64::total_cmp);
        let axis = middles.get(middles.len() / 2).copied().unwrap_or(0.0);
        Self { outline: Outline { half_widths }, way, start, axis }
    }

    /// The form of these rings, before anything is seen as likely as `prior`.
    fn form(
        &self,
        map: &SurfaceMap,
        silhouette: &Silhouette,
        mouth: &Mouth,
        end: End,
        rings: &[Ring],
        prior: f64,
    ) -> Form {
        let rows = self.outline.half_widths.len();
        let half = self.outline.half_widths.iter().copied().fold(0.0, f64::max) as usize + 3;
        let drawn = Drawn::of(rings, mouth, end == End::Open, rows, half);
        let is_closed = enclosed(mouth, rings) > ENCLOSED;
        let [x, y] = self.way;
        // From across, along and away to the frame of the silhouette, then to the camera.
        let turned =
            |n: Vector3<f64>| silhouette.frame * Vector3::new(-y * n.x + x * n.y, x * n.x + y * n.y, n.z);
        let facet_at = |at| {
            let [along, across] = along_and_across(silhouette.middle, self.way, at);
            drawn.at(across - self.axis, along - self.start)
        };
        let seen: Vec<(usize, usize, Facet)> = silhouette
            .places()
            .filter_map(|(cell, at)| Some((cell, silhouette.cells[cell]?, facet_at(at)?)))
            .collect();
        let open_by_rings = left_open(seen.iter().map(|(_, pixel, facet)| (facet.ring, map.labels[*pixel])));
        let place = |&(cell, pixel, facet): &(usize, usize, Facet)| {
            if facet.inside.is_some() && is_closed {
                return None;
            }
            let (normal, inside) = (turned(facet.normal), facet.inside.map(turned));
            Some(Place { cell, pixel, normal, inside })
        };
        let places: Vec<Place> = seen.iter().filter_map(place).collect();
        let all = silhouette.places().count();
        let lean = mouth.lean;
        Form {
            out: turned(-Vector3::new(0.0, (1.0 - lean * lean).sqrt(), lean)),
            cover: places.len() as f64 / all.max(1) as f64,
            overlap: seen.len() as f64 / (drawn.area() + all - seen.len()).max(1) as f64,
            log_odds: prior.ln() - LOOKS * open_by_rings,
            places,
        }
    }
}

fn along_and_across(middle: [f64; 2], [x, y]: [f64; 2], at: [f64; 2]) -> [f64; 2] {
    let (dx, dy) = (at[0] - middle[0], at[1] - middle[1]);
    [dx * x + dy * y, dy * x - dx * y]
}

/// Share of its view in which the inside of an open vessel sees itself: one less the area of the mouth over that of the
/// inside, in the mean over the inside by reciprocity, and everywhere so in a cap of a sphere.
fn enclosed(mouth: &Mouth, rings: &[Ring]) -> f64 {
    let sides: f64 = rings
        .windows(2)
        .map(|p| (p[0].radius + p[1].radius) * (p[1].radius - p[0].radius).hypot(p[1].height - p[0].height))
        .sum();
    let base = rings.last().map_or(0.0, |ring| ring.radius.powi(2));
    (1.0 - mouth.radius.powi(2) / (sides + base).max(1e-9)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cap_sees_itself_by_its_share_of_the_sphere() {
        let mouth = Mouth { radius: 50.0, lean: 0.9, at: 45.0 };
        for depth in [0.2, 0.5, 1.0f64] {
            let exact = depth * depth / (1.0 + depth * depth);
            let found = enclosed(&mouth, &cap(&mouth, depth));
            assert!((found - exact).abs() < 0.01, "{found} for {exact}");
        }
    }
}
