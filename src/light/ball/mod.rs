//! The light ball: what every direction gets, read from a matte ball beside the piece.
//!
//! Comes in: the corrected picture, the map with its label 11 and the [`View`]. Goes out: [`BallLight`], the light on a
//! surface by its normal, where 1.0 is the light on the card. The ball's own colour drops out: where its normal is the
//! card's, ball and card get the same light. A ball that does not look like a matte sphere in free light is refused.

mod harmonics;
mod room;
mod sphere;

pub use harmonics::Irradiance;
pub use room::Room;
pub(super) use room::directions;
pub use sphere::Sphere;

use super::view::View;
use crate::card::CorrectedImage;
use crate::surface::{Label, SurfaceMap};
use imageproc::image::{GrayImage, Luma};
use imageproc::region_labelling::{Connectivity, connected_components};
use nalgebra::Vector3;

/// The ball cannot be used, as a whole.
pub const BALL_UNUSED: &str = "ball-not-used";

/// The light by direction.
#[derive(Debug, Clone)]
pub struct BallLight {
    /// Light on a surface with this normal, 1.0 on the card.
    pub light: Irradiance,
    /// Where it comes from.
    pub room: Room,
    /// Relative half-width of the 95 % interval of the step from ball to card.
    pub u95: f64,
}

/// Fewest map pixels across the radius: below, the rim takes a third of the ball.
const LEAST_RADIUS: f64 = 12.0;
/// Looks over the ball, about.
const LOOKS: usize = 3000;
/// Cosine between normal and line of sight from which on a place counts: the rim is seen too flat.
const LEAST_FACING: f64 = 0.3;
/// Share of the ball's disc that must be seen free.
const LEAST_SEEN: f64 = 0.9;
/// Root mean square residual from which on it is no matte ball in free light, as a share of the mean. Nine harmonics
/// leave about 5 % under one small lamp from the side; a cast shadow or gloss leaves far more.
const LARGEST_RESIDUAL: f64 = 0.1;
/// How well the card's normal is known against the ball's for a known focal length, radians, one standard uncertainty: 2
/// degrees, for the card's flatness, its corners and the rim of the ball. A judgement.
const NORMAL_ERROR: f64 = 0.035;
/// Share of the residual that is no grain but the light itself, which nine harmonics do not follow; grain is gone in the
/// mean over many looks. A judgement.
const NOT_GRAIN: f64 = 0.5;
/// A ball's clay is not all of one colour: relative standard uncertainty at any one place.
const MOTTLED: f64 = 0.02;

impl BallLight {
    /// Reads the largest ball of the map: `None` where there is none, and why where it cannot be used.
    pub fn read(image: &CorrectedImage, map: &SurfaceMap, view: &View) -> Option<Result<Self, String>> {
        let seen = Seen::largest(map)?;
        Some(seen.read(image, map, view))
    }
}

/// The pixels of one ball.
struct Seen {
    pixels: Vec<[usize; 2]>,
    rim: Vec<[f64; 2]>,
    is_cut: bool,
}

impl Seen {
    fn largest(map: &SurfaceMap) -> Option<Self> {
        let (w, h) = (map.width, map.height);
        // The window that holds all of the label: the rest of the map need not be searched.
        let is_ball = |&at: &usize| map.labels[at] == Label::Ball;
        let rows = map.labels.chunks(w).enumerate().filter(|(_, row)| row.contains(&Label::Ball));
        let (top, bottom) = rows.fold((usize::MAX, 0), |(top, _), (y, _)| (top.min(y), y));
        if top == usize::MAX {
            return None;
        }
        let columns = (top * w..(bottom + 1) * w).filter(is_ball).map(|at| at % w);
        let (left, right) = columns.fold((usize::MAX, 0), |(l, r), x| (l.min(x), r.max(x)));
        let (across, down) = (right - left + 1, bottom - top + 1);
        let own = |x: u32, y: u32| map.labels[(top + y as usize) * w + left + x as usize] == Label::Ball;
        let mask = GrayImage::from_fn(across as u32, down as u32, |x, y| Luma([255 * u8::from(own(x, y))]));
        let parts = connected_components(&mask, Connectivity::Four, Luma([0]));
        let mut sizes = vec![0usize; parts.pixels().map(|p| p[0]).max()? as usize + 1];
        parts.pixels().for_each(|p| sizes[p[0] as usize] += 1);
        let largest = (1..sizes.len()).max_by_key(|&k| (sizes[k], std::cmp::Reverse(k)))? as u32;
        let is_own = |x: usize, y: usize| {
            let (x, y) = (x.wrapping_sub(left), y.wrapping_sub(top));
            x < across && y < down && parts.get_pixel(x as u32, y as u32)[0] == largest
        };
        let mut seen = Self { pixels: Vec::new(), rim: Vec::new(), is_cut: false };
        for (x, y, _) in parts.enumerate_pixels().filter(|(.., part)| part[0] == largest) {
            let (x, y) = (left + x as usize, top + y as usize);
            seen.pixels.push([x, y]);
            seen.is_cut |= x == 0 || y == 0 || x + 1 == w || y + 1 == h;
            let middle = [x as f64 + 0.5, y as f64 + 0.5];
            // The rim runs between the last pixel of the ball and the first beside it.
            for (dx, dy) in [(1i64, 0i64), (-1, 0), (0, 1), (0, -1)] {
                let next = (x.wrapping_add_signed(dx as isize), y.wrapping_add_signed(dy as isize));
                if !is_own(next.0, next.1) {
                    seen.rim.push([middle[0] + dx as f64 / 2.0, middle[1] + dy as f64 / 2.0]);
                }
            }
        }
        Some(seen)
    }

    fn read(&self, image: &CorrectedImage, map: &SurfaceMap, view: &View) -> Result<BallLight, String> {
        let scale = map.factor as f64;
        let full = |p: [f64; 2]| p.map(|v| v * scale);
        if self.is_cut {
            return Err("it is cut off by the edge of the photograph. Lay it wholly into the picture".into());
        }
        let rim: Vec<[f64; 2]> = self.rim.iter().map(|p| full(*p)).collect();
        let sphere = Sphere::of_rim(view, &rim).ok_or("it is not round. Use a round ball")?;
        let radius = sphere.radius * view.focal_px / scale;
        if radius < LEAST_RADIUS {
            return Err(format!(
                "it is only {:.0} pixels wide. Take a larger ball or go nearer",
                2.0 * radius * scale
            ));
        }
        let disc = std::f64::consts::PI * radius * radius;
        let (looks, clipped) = self.looks(image, map, view, &sphere);
        if (self.pixels.len() as f64) < LEAST_SEEN * disc || looks.len() < 100 {
            return Err("something hides a part of it, or it is not round. Lay it free".into());
        }
        if clipped as f64 > 0.01 * looks.len() as f64 {
            return Err("it is over-exposed. Shoot again one step darker".into());
        }
        let fit = Irradiance::fit(&looks).ok_or("its light cannot be told. Lay it free")?;
        let n = looks.len() as f64;
        let mean = looks.iter().map(|(_, light)| light).sum::<f64>() / n;
        let square = looks.iter().map(|(normal, light)| (light - fit.at(normal)).powi(2)).sum::<f64>();
        let residual = (square / n).sqrt() / mean;
        let on_card = fit.at(&view.card_normal);
        if !(residual < LARGEST_RESIDUAL && mean > 0.0) {
            return Err(format!(
                "its light is uneven by {:.0} %: a shadow lies on it, it shines, or it is no matte ball of one colour. \
                 Lay a matte ball of pale clay free beside the piece",
                100.0 * residual
            ));
        }
        // The card's normal must be among those seen, and in more than a graze of light.
        let facing = looks.iter().map(|(normal, _)| normal.dot(&view.card_normal)).fold(-1.0, f64::max);
        if facing < 0.98 || on_card < 0.2 * mean {
            return Err(
                "the card faces away from all of the ball that is lit and seen. Turn the card to the camera"
                    .into(),
            );
        }
        let focal = self.by_focal(image, map, view, &rim, on_card);
        let turned = turned(&fit, &view.card_normal, on_card);
        let u95 = 1.96 * turned.hypot(focal).hypot(NOT_GRAIN * residual).hypot(MOTTLED);
        let light = fit.scaled(1.0 / on_card);
        Ok(BallLight { light, room: Room::of(&light), u95 })
    }

    /// Normal and luminance at places all over the ball that are not seen too flat, and how many of these are clipped.
    fn looks(
        &self,
        image: &CorrectedImage,
        map: &SurfaceMap,
        view: &View,
        sphere: &Sphere,
    ) -> (Vec<(Vector3<f64>, f64)>, usize) {
        let (mut looks, mut clipped) = (Vec::with_capacity(LOOKS), 0);
        for &[x, y] in self.pixels.iter().step_by(self.pixels.len().div_ceil(LOOKS).max(1)) {
            let ray = view.ray([x as f64 + 0.5, y as f64 + 0.5].map(|v| v * map.factor as f64));
            let at = y * map.width + x;
            let Some(normal) = sphere.normal(&ray).filter(|n| -n.dot(&ray) > LEAST_FACING) else { continue };
            clipped += usize::from(image.clipped[at]);
            looks.push((normal, f64::from(image.xyz[at][1])));
        }
        (looks, clipped)
    }

    /// Relative change of the light on the card's normal with the focal length, one standard uncertainty.
    fn by_focal(
        &self,
        image: &CorrectedImage,
        map: &SurfaceMap,
        view: &View,
        rim: &[[f64; 2]],
        on_card: f64,
    ) -> f64 {
        let with = |share: f64| {
            let view = view.with_focal(view.focal_px * share)?;
            let sphere = Sphere::of_rim(&view, rim)?;
            let fit = Irradiance::fit(&self.looks(image, map, &view, &sphere).0)?;
            Some(fit.at(&view.card_normal) / on_card - 1.0)
        };
        let step = view.focal_doubt.exp();
        let changes = [step, 1.0 / step].map(|share| with(share).unwrap_or(0.0));
        (changes.iter().map(|c| c * c).sum::<f64>() / 2.0).sqrt()
    }
}

/// Relative change of the light when the card's normal leans by its uncertainty, root mean square over two directions.
fn turned(light: &Irradiance, normal: &Vector3<f64>, on_card: f64) -> f64 {
    let across = normal.cross(&Vector3::x_axis()).normalize();
    let ways = [across, normal.cross(&across), -across, -normal.cross(&across)];
    let square: f64 = ways
        .iter()
        .map(|way| (normal + way * NORMAL_ERROR).normalize())
        .map(|leaning| (light.at(&leaning) / on_card - 1.0).powi(2))
        .sum();
    (square / 2.0).sqrt()
}
