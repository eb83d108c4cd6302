//! The camera over the card: where each pixel looks and how the card lies before it.
//!
//! Comes in: the card's corners with the shape of its grid, the size of the photograph and the focal length its file
//! tells, if any. Goes out: a [`View`] in camera coordinates: x to the right, y down, z into the scene. Square pixels,
//! the axis through the middle of the photograph, no lens distortion.

use crate::card::CardPlace;
use nalgebra::{Matrix3, Matrix3x2, Vector3};

/// Long side of the frame that focal lengths for 35 mm film are told for, mm.
const FRAME_35MM: f64 = 36.0;
/// What is expected before anything is seen, in long sides of the picture: between a phone's main camera (0.7) and a
/// portrait lens (2.4), the geometric middle, with this standard deviation of the logarithm.
const EXPECTED: (f64, f64) = (1.25, 0.5);
/// Focal lengths that are tried, in long sides, and how many: 2 % apart.
const TRIED: (f64, f64, usize) = (0.4, 6.0, 136);
/// Relative standard uncertainty of the focal length that a file tells: it is told in whole millimetres, and a lens that is
/// focused near is longer.
const TOLD: f64 = 0.05;
/// Standard uncertainty of a corner as a share of a patch side, and at least so many pixels: that of `reading::plane`.
const CORNER: (f64, f64) = (0.01, 0.2);

/// How the camera looks at the card.
#[derive(Debug, Clone, Copy)]
pub struct View {
    /// Focal length, full-size pixels.
    pub focal_px: f64,
    /// The card's normal on the side of its colours, towards the camera; length 1.
    pub card_normal: Vector3<f64>,
    /// Relative standard uncertainty of the focal length.
    pub focal_doubt: f64,
    middle: [f64; 2],
    /// From the card's plane to pixels from the middle.
    plane: Matrix3<f64>,
}

impl View {
    /// From the card in a photograph of `size` full-size pixels. The focal length is that of the file; else that with
    /// which the card's corners come nearest to a rectangle of its shape (Zhang 2000, IEEE PAMI 22(11), the two
    /// constraints of one view), weighed against what cameras usually have. A card that faces the camera squarely tells
    /// nothing of it. `None` where the corners give no plane.
    pub fn of(place: &CardPlace, size: [usize; 2], focal_35mm: Option<f64>) -> Option<Self> {
        let middle = size.map(|side| side as f64 / 2.0);
        let long = size[0].max(size[1]) as f64;
        let map = plane(&place.corners_px, place.aspect, middle)?;
        let told = focal_35mm.filter(|mm| *mm > 5.0).map(|mm| mm / FRAME_35MM * long);
        let (focal_px, focal_doubt) = told.map(|focal| (focal, TOLD)).unwrap_or_else(|| {
            let corner = (CORNER.0 * place.patch_side_px).max(CORNER.1);
            let (focal, doubt) = likeliest(&map, long, corner);
            (long * focal, doubt)
        });
        let card_normal = normal(&columns(&map, focal_px))?;
        Some(Self { focal_px, card_normal, focal_doubt, middle, plane: map })
    }

    /// The same with another focal length, full-size pixels.
    pub(super) fn with_focal(&self, focal_px: f64) -> Option<Self> {
        Some(Self { focal_px, card_normal: normal(&columns(&self.plane, focal_px))?, ..*self })
    }

    /// Direction in which a full-size pixel looks; length 1.
    pub fn ray(&self, [x, y]: [f64; 2]) -> Vector3<f64> {
        Vector3::new(x - self.middle[0], y - self.middle[1], self.focal_px).normalize()
    }

    /// Directions (of any length) of the pixels of a map, `factor` full-size pixels each: times column, row and 1.
    pub fn rays(&self, factor: f64) -> Matrix3<f64> {
        let [x, y] = self.middle;
        Matrix3::new(factor, 0.0, -x, 0.0, factor, -y, 0.0, 0.0, self.focal_px)
    }

    /// Full-size pixel of a direction; not finite behind the camera.
    pub fn pixel(&self, ray: &Vector3<f64>) -> [f64; 2] {
        let scale = if ray.z > 0.0 { self.focal_px / ray.z } else { f64::NAN };
        [self.middle[0] + scale * ray.x, self.middle[1] + scale * ray.y]
    }
}

/// The map from the card's plane (grid width 1) to pixels from the middle: Hartley & Zisserman 2004, chapter 4.
fn plane(corners: &[[f64; 2]; 4], aspect: f64, middle: [f64; 2]) -> Option<Matrix3<f64>> {
    let from = [[0.0, 0.0], [1.0, 0.0], [1.0, aspect], [0.0, aspect]];
    let (mut rows, mut right) =
        (nalgebra::SMatrix::<f64, 8, 8>::zeros(), nalgebra::SVector::<f64, 8>::zeros());
    for (k, ([u, v], corner)) in from.into_iter().zip(corners).enumerate() {
        let [x, y] = [corner[0] - middle[0], corner[1] - middle[1]];
        rows.set_row(2 * k, &[u, v, 1.0, 0.0, 0.0, 0.0, -u * x, -v * x].into());
        rows.set_row(2 * k + 1, &[0.0, 0.0, 0.0, u, v, 1.0, -u * y, -v * y].into());
        (right[2 * k], right[2 * k + 1]) = (x, y);
    }
    let h = rows.lu().solve(&right)?;
    h.iter().all(|v| v.is_finite()).then(|| Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0))
}

/// The card's two sides and its first corner in camera coordinates, up to one scale.
fn columns(map: &Matrix3<f64>, focal: f64) -> Matrix3<f64> {
    Matrix3::from_diagonal(&Vector3::new(1.0 / focal, 1.0 / focal, 1.0)) * map
}

/// Focal length in long sides, and its relative standard uncertainty.
fn likeliest(map: &Matrix3<f64>, long: f64, corner: f64) -> (f64, f64) {
    let side = map.column(0).xy().norm().max(1.0);
    // Both ends of two sides lie off by `corner`.
    let spread = 2.0 * corner / side;
    let cost = |focal: f64| {
        let columns = columns(map, focal * long);
        let (a, b) = (columns.column(0), columns.column(1));
        let skew = a.dot(&b) / (a.norm() * b.norm());
        let stretch = (a.norm() / b.norm()).ln();
        let usual = (focal / EXPECTED.0).ln() / EXPECTED.1;
        (skew / spread).powi(2) + (stretch / spread).powi(2) + usual * usual
    };
    let tried = |k: usize| TRIED.0 * (TRIED.1 / TRIED.0).powf(k as f64 / (TRIED.2 - 1) as f64);
    let costs: Vec<(f64, f64)> = (0..TRIED.2).map(tried).map(|focal| (focal, cost(focal))).collect();
    let (best, least) = costs.iter().copied().min_by(|p, q| p.1.total_cmp(&q.1)).unwrap_or((EXPECTED.0, 0.0));
    // The costs are squares in standard deviations: the spread of what they leave open (normal distributions).
    let weight = |cost: f64| (-0.5 * (cost - least)).exp();
    let all: f64 = costs.iter().map(|(_, cost)| weight(*cost)).sum();
    let square: f64 = costs.iter().map(|(focal, cost)| weight(*cost) * (focal / best).ln().powi(2)).sum();
    (best, (square / all).sqrt())
}

/// Normal of the rectangle nearest to the two sides, towards the camera.
fn normal(columns: &Matrix3<f64>) -> Option<Vector3<f64>> {
    let sides = Matrix3x2::from_columns(&[columns.column(0).into_owned(), columns.column(1).into_owned()]);
    let svd = sides.svd(true, true);
    let square = svd.u? * svd.v_t?;
    let normal = square.column(0).cross(&square.column(1));
    let corner = columns.column(2) * columns[(2, 2)].signum();
    let towards = if normal.dot(&corner) > 0.0 { -normal } else { normal };
    towards.iter().all(|v| v.is_finite()).then_some(towards)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use nalgebra::Rotation3;

    /// A card of 6 to 4 that lies turned and tilted before a camera, projected exactly.
    pub fn seen(focal: f64, size: [usize; 2], turn: Rotation3<f64>, at: [f64; 3]) -> CardPlace {
        let corners = [[-3.0, -2.0], [3.0, -2.0], [3.0, 2.0], [-3.0, 2.0]];
        let corners_px = corners.map(|[u, v]| {
            let p = turn * Vector3::new(u, v, 0.0) + Vector3::from(at);
            [size[0] as f64 / 2.0 + focal * p.x / p.z, size[1] as f64 / 2.0 + focal * p.y / p.z]
        });
        CardPlace {
            corners_px,
            frame_px: corners_px,
            patch_side_px: focal / at[2],
            mm_per_px: None,
            aspect: 4.0 / 6.0,
            extent_mm: None,
        }
    }

    #[test]
    fn the_normal_of_a_tilted_card_comes_back() {
        let size = [2000, 1500];
        for (x, y, turn) in [(0.3, 0.0, 0.1), (-0.2, 0.4, 2.0), (0.05, -0.5, -1.2), (0.0, 0.0, 0.0)] {
            let turn = Rotation3::from_euler_angles(x, y, turn);
            // 35 mm equivalent of 54 mm: 1.5 long sides.
            let place = seen(3000.0, size, turn, [3.0, -2.0, 25.0]);
            let view = View::of(&place, size, Some(54.0)).expect("a plane");
            let towards = turn * Vector3::new(0.0, 0.0, -1.0);
            assert!((view.focal_px - 3000.0).abs() < 1e-9);
            assert!((view.card_normal - towards).norm() < 1e-9, "{} for {towards}", view.card_normal);
            let px = [311.0, 1203.5];
            let back = view.pixel(&(view.ray(px) * 3.0));
            assert!((back[0] - px[0]).hypot(back[1] - px[1]) < 1e-9);
        }
    }

    #[test]
    fn a_tilted_card_tells_the_focal_length_and_a_square_one_does_not() {
        let size = [2000, 1500];
        let found = |focal: f64, tilt: f64| {
            let turn = Rotation3::from_euler_angles(tilt, 0.7 * tilt, 0.4);
            View::of(&seen(focal, size, turn, [1.0, 0.5, 12.0]), size, None).expect("a plane")
        };
        for focal in [1600.0, 2500.0, 4000.0] {
            let (tilted, square) = (found(focal, 0.5), found(focal, 0.0));
            assert!((tilted.focal_px / focal - 1.0).abs() < 0.06, "{} for {focal}", tilted.focal_px);
            assert!((square.focal_px / (EXPECTED.0 * 2000.0) - 1.0).abs() < 0.02);
            // What the card tells nothing of is as doubtful as before; what it tells is within its doubt.
            assert!((square.focal_doubt / EXPECTED.1 - 1.0).abs() < 0.1, "{}", square.focal_doubt);
            let off = (tilted.focal_px / focal).ln().abs();
            assert!(
                tilted.focal_doubt < 0.2 && off < 1.96 * tilted.focal_doubt + 0.01,
                "{}",
                tilted.focal_doubt
            );
        }
    }
}
