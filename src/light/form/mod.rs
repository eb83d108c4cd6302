//! The form of a piece: its normal at each place, from its outline and the view.
//!
//! Comes in: the map and the [`View`]. Goes out: every [`Form`] that the outline and the decoration allow, with its odds. A
//! round vessel shows its axis by the symmetry of its outline, the lean of the axis by the ellipse of its rim and its wall
//! by the outline below. Which end is the mouth, whether a mouth is seen or a base, and how deep a bowl is that is seen
//! into, the outline does not tell: the rings about the axis do, which like a painter's bands are of one kind (`bands`),
//! and the light (`level`).

mod bands;
mod profile;
mod round;
mod silhouette;
mod solid;

use super::FormChoice;
use super::view::View;
use crate::surface::SurfaceMap;
use nalgebra::{Matrix3, Vector3};
use round::round;
use silhouette::Silhouette;

/// Least overlap of the outline with its mirror image for a round vessel. Outlines of round pieces are drawn to about a
/// hundredth of their area and lie one to two hundredths off by perspective; most sherds are far below.
const LEAST_SYMMETRY: f64 = 0.955;
/// The same where the light falls off over the piece as it does over walls that turn away: an oval jar, a foot that is not
/// level, an outline with a piece missing. Flat sherds as symmetric as that are common, but their light is even.
const TURNING_SYMMETRY: f64 = 0.9;
/// Evenness of the light below which the walls turn away. Rendered sherds kept 0.7 and more, round and oval vessels less
/// than 0.6.
const TURNING: f64 = 0.62;

/// One place of a form.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    /// Cell of the form's grid.
    pub cell: usize,
    /// Pixel of the map.
    pub pixel: usize,
    /// Normal in camera coordinates, length 1, towards the camera.
    pub normal: Vector3<f64>,
    /// Where it lies from the middle of the mouth, camera coordinates, in radii of the mouth, if it is an inside.
    pub inside: Option<Vector3<f64>>,
}

/// A form that the outline allows.
pub(super) struct Form {
    /// Out of the mouth along the axis, camera coordinates, length 1.
    pub out: Vector3<f64>,
    /// The places whose normal it tells.
    pub places: Vec<Place>,
    /// Their share of the piece.
    pub cover: f64,
    /// Intersection over union of the form as seen and the piece.
    pub overlap: f64,
    /// Logarithm of its odds before the light is looked at: how many forms share its place among the kinds of form, and
    /// what its rings leave open of the decoration.
    pub log_odds: f64,
}

impl Form {
    /// Whether the light of a direction (length 1, towards the light) comes in through the mouth to an inside place.
    pub fn lets_in(&self, inside: &Vector3<f64>, from: &Vector3<f64>) -> bool {
        let rise = from.dot(&self.out);
        if rise <= 0.0 {
            return false;
        }
        let through = inside - from * (inside.dot(&self.out) / rise);
        through.norm_squared() < 1.0
    }
}

/// The grid on which forms of one piece lie.
pub(super) struct Forms {
    silhouette: Silhouette,
    /// How even the light is over the piece: its 5th percentile over its 95th, 0 to 1.
    pub evenness: f64,
    /// All forms; empty where the outline is that of no round vessel.
    pub all: Vec<Form>,
}

impl Forms {
    /// All forms of a piece (its number as in `piece_of`).
    pub fn of(map: &SurfaceMap, number: u8, view: &View, choice: FormChoice) -> Self {
        let piece = &map.pieces[usize::from(number) - 1];
        let silhouette = Silhouette::of(map, piece, number, view);
        let evenness = evenness(map, &silhouette);
        let least = if evenness < TURNING { TURNING_SYMMETRY } else { LEAST_SYMMETRY };
        let all = match choice {
            FormChoice::Flat => vec![flat(&silhouette, view)],
            FormChoice::Round => round(map, &silhouette, 0.0),
            FormChoice::Auto => round(map, &silhouette, least),
        };
        Self { silhouette, evenness, all }
    }

    /// Cells of the grid each way.
    pub fn side(&self) -> usize {
        self.silhouette.side
    }

    /// From directions of the camera to homogeneous columns and rows of the grid, continuous.
    pub fn to_grid(&self) -> Matrix3<f64> {
        let (scale, half) = (1.0 / self.silhouette.unit, self.silhouette.side as f64 / 2.0);
        Matrix3::new(scale, 0.0, half, 0.0, scale, half, 0.0, 0.0, 1.0) * self.silhouette.frame.transpose()
    }
}

/// How even the light is over a piece: its 5th percentile over its 95th, 0 to 1.
fn evenness(map: &SurfaceMap, silhouette: &Silhouette) -> f64 {
    let mut lights: Vec<f32> = silhouette.cells.iter().flatten().map(|&pixel| map.light[pixel]).collect();
    lights.sort_unstable_by(f32::total_cmp);
    let at = |share: usize| lights.get(lights.len() * share / 100).map_or(1.0, |light| f64::from(*light));
    (at(5) / at(95).max(1e-6)).clamp(0.0, 1.0)
}

/// A piece that lies in the card's plane.
fn flat(silhouette: &Silhouette, view: &View) -> Form {
    let place = |(cell, _)| {
        let pixel = silhouette.cells[cell]?;
        Some(Place { cell, pixel, normal: view.card_normal, inside: None })
    };
    Form {
        out: view.card_normal,
        places: silhouette.places().filter_map(place).collect(),
        cover: 1.0,
        overlap: 1.0,
        log_odds: 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form of a cap of a sphere: its area is pi (a^2 + d^2), so that d^2 / (a^2 + d^2) of the view is itself.
    /// From the bottom of a cap d radii deep the mouth is a disc at distance d: light comes in up to the angle atan(1 / d)
    /// from the axis, and near the rim from all that is above its plane on the open side.
    #[test]
    fn light_comes_in_through_the_mouth_only() {
        let out = Vector3::new(0.0, 0.6, -0.8);
        let form = Form { out, places: Vec::new(), cover: 1.0, overlap: 1.0, log_odds: 0.0 };
        let across = Vector3::x();
        let leaning = |angle: f64| out * angle.cos() + across * angle.sin();
        for depth in [0.2, 0.5, 1.0f64] {
            let limit = (1.0 / depth).atan();
            let bottom = -out * depth;
            assert!(form.lets_in(&bottom, &leaning(limit - 0.01)));
            assert!(!form.lets_in(&bottom, &leaning(limit + 0.01)));
        }
        let rim = across - out * 1e-6;
        assert!(form.lets_in(&rim, &leaning(-1.5)) && !form.lets_in(&rim, &leaning(1.5)));
        assert!(!form.lets_in(&rim, &leaning(-1.6)));
    }

    /// The plain way from a pixel of the map to the grid: its ray, turned into the silhouette's frame, meets the plane at
    /// distance 1; all in one projective map.
    #[test]
    fn one_map_leads_from_pixels_to_the_grid() {
        let turn = nalgebra::Rotation3::from_euler_angles(0.1, -0.2, 0.3);
        let size = [2000, 1500];
        let place = crate::light::view::tests::seen(3000.0, size, turn, [3.0, -2.0, 25.0]);
        let view = View::of(&place, size, Some(54.0)).expect("a plane");
        let frame = *turn.matrix();
        let silhouette =
            Silhouette { frame, side: 80, cells: vec![None; 6400], middle: [40.0; 2], unit: 0.003 };
        let forms = Forms { silhouette, evenness: 1.0, all: Vec::new() };
        let map = forms.to_grid() * view.rays(2.0);
        for [x, y] in [[0.5, 0.5], [400.5, 300.5], [999.5, 10.5]] {
            let local = frame.transpose() * view.ray([2.0 * x, 2.0 * y]);
            let plain = [local.x, local.y].map(|v| v / local.z / 0.003 + 40.0);
            let at = map * Vector3::new(x, y, 1.0);
            assert!((at.x / at.z - plain[0]).hypot(at.y / at.z - plain[1]) < 1e-9, "{at} for {plain:?}");
        }
    }
}
