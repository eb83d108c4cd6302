//! Ray casting of one picture, row by row.

use super::camera::{Camera, Model, Tint};
use super::noise::normal;
use super::pictures::Picture;
use super::scene::{CardSpot, Set};
use super::shapes::V3;
use super::skin::{Skin, Tints};
use super::spectra::{chart, material};
use rayon::prelude::*;

/// One pixel: what the sensor gets, and the truth behind it.
#[derive(Clone, Copy, Default)]
pub struct Pixel {
    /// Linear sRGB before exposure.
    pub rgb: [f32; 3],
    /// Number of the label, as in the label maps.
    pub label: u8,
    /// XYZ (D50) of the mean reflectance of those sub-samples that carry the label; piece only.
    pub xyz: [f32; 3],
    /// Light here, 1 = facing as the card does.
    pub irradiance: f32,
    /// Neutral reflectance that gloss adds.
    pub gloss: f32,
    /// Severity of greying, buffing, dull red.
    pub severity: [f32; 3],
    /// Share of the contrast of new paint that is left, where there was paint.
    pub left: f32,
}

/// A rendered picture.
pub struct Rendered {
    pub width: usize,
    pub height: usize,
    pub pixels: Vec<Pixel>,
    /// 8-bit sRGB, three bytes a pixel.
    pub bytes: Vec<u8>,
    /// Mean light on the piece.
    pub mean_irradiance: f64,
}

/// Linear value of the card's white patch in the picture.
const WHITE_PATCH_AT: f64 = 0.80;
/// Sub-samples a side.
const GRID: usize = 2;

struct Sample {
    rgb: [f64; 3],
    label: u8,
    xyz: [f64; 3],
    irradiance: f64,
    gloss: f64,
    severity: [f64; 3],
    left: f64,
}

/// Renders a picture at `size` pixels.
pub fn render(picture: &Picture, model: Model, [width, height]: [usize; 2]) -> Rendered {
    let camera = Camera::new(model, picture.light.kelvin);
    let skin = Skin {
        zones: picture.zones.clone(),
        rows: picture.rows.clone(),
        faults: picture.faults,
        seed: picture.seed,
        tints: Tints::new(&camera, picture.white, picture.red, picture.paint),
    };
    let printed = |n: usize, tint: Tint| {
        let off = |c: usize| 1.0 + model.print * normal(n, c, 0, picture.seed + 700);
        Tint { rgb: std::array::from_fn(|c| tint.rgb[c] * off(c)), ..tint }
    };
    let patches: Vec<Tint> = chart().iter().enumerate().map(|(n, s)| printed(n, camera.tint(s))).collect();
    let fixed = ["frame", "ink", picture.ground.material()].map(|name| camera.tint(&material(name)));
    let set = Set { shape: &picture.shape, pose: picture.pose, card: &picture.card, light: &picture.light };
    let view = picture.view([width, height]);

    let sample = |x: f64, y: f64| -> Sample {
        let (eye, dir) = view.ray(x, y);
        // The hit's place on the piece is for the decoration; the rest of it counts where it stands.
        let (from, along) = (set.pose.inward(eye), set.pose.inward_direction(dir));
        let hit = picture.shape.trace(from, along);
        let card = set.card.trace(eye, dir);
        let way = hit.as_ref().map_or(f64::INFINITY, |h| (set.pose.outward(h.point) - eye).norm());
        let plain = |tint: Tint, p: V3, n: V3, label: u8| {
            let (e, _) = set.irradiance(p, n);
            let rgb = tint.rgb.map(|v| v * e);
            Sample { rgb, label, xyz: [0.0; 3], irradiance: e, gloss: 0.0, severity: [0.0; 3], left: 0.0 }
        };
        if let Some((t, spot)) = card.filter(|c| c.0 < way) {
            let tint = match spot {
                CardSpot::Patch(n) => patches[n],
                CardSpot::Frame => fixed[0],
                CardSpot::Ink => fixed[1],
            };
            return plain(tint, eye + dir * t, set.card.normal, 5);
        }
        let Some(hit) = hit else {
            let p = eye - dir * (eye.z / dir.z.min(-1e-3));
            let tint = fixed[2].scaled(picture.ground.texture(p.x, p.y, picture.seed + 500));
            return plain(tint, p, V3::z(), 0);
        };
        let spot = skin.at(hit.point, hit.place);
        let normal = set.pose.outward_direction(hit.normal);
        let (e, key) = set.irradiance(set.pose.outward(hit.point), normal);
        // Gloss: a soft lobe around the lamp's mirror image (Blinn 1977), and a thin veil of sky.
        let half = (set.light.to_key - dir).normalize();
        let facing = normal.dot(&set.light.to_key).max(0.05);
        let lobe = normal.dot(&half).max(0.0).powf(picture.gloss[1]);
        let gloss = spot.polish * (picture.gloss[0] * lobe * key / facing + 0.004 * (e - key));
        let rgb = spot.tint.rgb.map(|v| v * e + gloss);
        let label = if gloss > 0.25 * spot.tint.xyz[1] * e { 7 } else { spot.label };
        Sample {
            rgb,
            label,
            xyz: spot.tint.xyz,
            irradiance: e,
            gloss: gloss / e.max(1e-6),
            severity: spot.severity,
            left: spot.left,
        }
    };

    let mut pixels = vec![Pixel::default(); width * height];
    pixels.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, pixel) in row.iter_mut().enumerate() {
            let samples: [Sample; GRID * GRID] = std::array::from_fn(|k| {
                let at = |c: usize, k: usize| c as f64 + (k as f64 + 0.5) / GRID as f64;
                sample(at(x, k % GRID), at(y, k / GRID))
            });
            *pixel = gathered(&samples);
        }
    });

    let (sum, count) = pixels
        .iter()
        .filter(|p| on_piece(p.label))
        .fold((0.0, 0.0), |(s, n), p| (s + f64::from(p.irradiance), n + 1.0));
    let mean_irradiance = sum / f64::max(count, 1.0);
    for p in pixels.iter_mut().filter(|p| on_piece(p.label) && p.label != 7) {
        if f64::from(p.irradiance) < 0.15 * mean_irradiance {
            p.label = 9;
        }
    }
    let white = patches[18].rgb.iter().fold(0.0f64, |m, v| m.max(*v));
    let rgb: Vec<[f32; 3]> = pixels.iter().map(|p| p.rgb).collect();
    let bytes = camera.develop(&rgb, width, WHITE_PATCH_AT / white, picture.seed + 900);
    Rendered { width, height, pixels, bytes, mean_irradiance }
}

/// Whether a label belongs to the piece.
pub fn on_piece(label: u8) -> bool {
    label != 0 && label != 5
}

/// One pixel from its sub-samples; the commonest label wins, the first of equals.
fn gathered(samples: &[Sample]) -> Pixel {
    let count = |l: u8| samples.iter().filter(|s| s.label == l).count();
    let mut label = samples[0].label;
    for s in samples {
        if count(s.label) > count(label) {
            label = s.label;
        }
    }
    let mean = |list: &[&Sample], f: &dyn Fn(&Sample) -> f64| {
        (list.iter().map(|s| f(s)).sum::<f64>() / list.len() as f64) as f32
    };
    let all: Vec<&Sample> = samples.iter().collect();
    let own: Vec<&Sample> = samples.iter().filter(|s| s.label == label).collect();
    Pixel {
        rgb: std::array::from_fn(|c| mean(&all, &|s| s.rgb[c])),
        label,
        xyz: std::array::from_fn(|c| mean(&own, &|s| s.xyz[c])),
        irradiance: mean(&own, &|s| s.irradiance),
        gloss: mean(&own, &|s| s.gloss),
        severity: std::array::from_fn(|c| mean(&own, &|s| s.severity[c])),
        left: mean(&own, &|s| s.left),
    }
}
