//! A photograph made in memory: a card and a painted plate on a textured cloth, in light that can be planted.

use crate::support::{Random, iso, light_of};
use sherdlight::card::{CardReading, CardSettings, CorrectedImage, Homography, read_card};
use sherdlight::colour::LinearRgb;
use sherdlight::light;
use sherdlight::photo::{LinearImage, Photo};
use sherdlight::reading::{MadeBy, Reading, Sources, measure};
use sherdlight::surface::{SurfaceSettings, map_surfaces};
use sherdlight::verdict::{DecisionRule, Targets, judge};

pub const WIDTH: usize = 900;
pub const HEIGHT: usize = 640;
pub const WHITE: [f64; 3] = [82.0, 1.0, 7.0];
pub const BLACK: [f64; 3] = [28.0, 0.5, 2.0];
const CLOTH: [f64; 3] = [48.0, -4.0, -14.0];
const PLATE: ([f64; 2], f64) = ([640.0, 330.0], 190.0);

/// What is in the picture.
#[derive(Clone, Copy)]
pub struct Scene {
    pub with_card: bool,
    /// Light of a perfect white where nothing is planted.
    pub exposure: f64,
    /// Relative standard deviation of the cloth's texture.
    pub texture: f64,
    /// Standard deviation of a blur in pixels.
    pub blur: f64,
    pub seed: u64,
}

impl Default for Scene {
    fn default() -> Self {
        Self { with_card: true, exposure: 0.7, texture: 0.04, blur: 0.8, seed: 0x5eed }
    }
}

pub fn settings() -> CardSettings {
    CardSettings { definition: Some(iso()), ..CardSettings::default() }
}

impl Scene {
    /// Linear light, `planted` times what the place would get: x, y and channel go in. Clipped at 1.
    pub fn draw(&self, planted: impl Fn(f64, f64) -> [f64; 3]) -> LinearImage {
        let card = iso();
        let [w, h] = card.layout.extent();
        let [pitch, _] = card.layout.pitch();
        let side = 38.0;
        let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]
            .map(|[u, v]| [70.0 + side * (u + 0.05 * v), 120.0 + side * (v - 0.05 * u)]);
        let to_card =
            Homography::from_corners(w, h, &corners).and_then(|m| m.inverse()).expect("a rectangle");
        let patches: Vec<[f64; 3]> = card.patches.iter().map(|p| light_of(p.lab)).collect();
        let (white, black, cloth) = (light_of(WHITE.into()), light_of(BLACK.into()), light_of(CLOTH.into()));
        let mut random = Random::new(self.seed);
        // Texture of the weave: noise on a lattice of 3 pixels, and a broad mottle.
        let coarse: Vec<f64> = (0..(WIDTH / 3 + 1) * (HEIGHT / 3 + 1)).map(|_| random.normal()).collect();
        let phase = [0; 4].map(|_| 6.3 * random.unit());
        let weave = |x: usize, y: usize| {
            let fine = coarse[y / 3 * (WIDTH / 3 + 1) + x / 3];
            let (u, v) = (x as f64 / 60.0, y as f64 / 60.0);
            let broad = (u + phase[0]).sin() * (v + phase[1]).cos() + (0.6 * u - v + phase[2]).sin();
            1.0 + self.texture * (0.8 * fine + 0.5 * broad)
        };
        let surface = |x: f64, y: f64, px: usize, py: usize| -> [f64; 3] {
            let from = [x - PLATE.0[0], y - PLATE.0[1]];
            let far = from[0].hypot(from[1]) / PLATE.1;
            if far < 1.0 {
                let painted = (0.55..0.72).contains(&far) || (far < 0.3 && from[0].abs() < 14.0);
                return if painted { black } else { white };
            }
            let [u, v] = to_card.apply([x, y]);
            if self.with_card && u > -0.3 && v > -0.3 && u < w + 0.3 && v < h + 0.3 {
                let (column, row) = ((u / pitch).floor(), (v / pitch).floor());
                let on_patch = (0.0..6.0).contains(&column)
                    && (0.0..4.0).contains(&row)
                    && u - column * pitch <= 1.0
                    && v - row * pitch <= 1.0;
                return if on_patch { patches[row as usize * 6 + column as usize] } else { [0.03; 3] };
            }
            cloth.map(|c| c * weave(px, py))
        };
        let mut pixels = vec![[0.0; 3]; WIDTH * HEIGHT];
        for (i, pixel) in pixels.iter_mut().enumerate() {
            let (px, py) = (i % WIDTH, i / WIDTH);
            for (dx, dy) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                let (x, y) = (px as f64 + dx, py as f64 + dy);
                let (light, by) = (surface(x, y, px, py), planted(x, y));
                (0..3).for_each(|c| pixel[c] += 0.25 * self.exposure * light[c] * by[c]);
            }
        }
        blurred(&mut pixels, self.blur);
        let pixels = pixels
            .into_iter()
            .map(|light| {
                LinearRgb(light.map(|v| {
                    (v + 0.004 * (v.max(0.0) + 0.01).sqrt() * random.normal()).clamp(0.0, 1.0) as f32
                }))
            })
            .collect();
        LinearImage { width: WIDTH, height: HEIGHT, pixels }
    }

    pub fn photo(&self, planted: impl Fn(f64, f64) -> [f64; 3]) -> Photo {
        Photo::from_linear(self.draw(planted))
    }
}

/// Even light.
pub fn even(_: f64, _: f64) -> [f64; 3] {
    [1.0; 3]
}

/// Light that changes softly from 1 at the card to `share` at the plate.
pub fn other_at_plate(share: [f64; 3]) -> impl Fn(f64, f64) -> [f64; 3] {
    move |x, _| {
        let there = 1.0 / (1.0 + (-(x - 400.0) / 8.0).exp());
        share.map(|s| 1.0 + there * (s - 1.0))
    }
}

fn blurred(pixels: &mut [[f64; 3]], sigma: f64) {
    if sigma <= 0.0 {
        return;
    }
    let reach = (3.0 * sigma).ceil() as isize;
    let kernel: Vec<f64> = (-reach..=reach).map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp()).collect();
    let sum: f64 = kernel.iter().sum();
    for (stride, count) in [(1isize, WIDTH as isize), (WIDTH as isize, HEIGHT as isize)] {
        let source = pixels.to_vec();
        for (i, pixel) in pixels.iter_mut().enumerate() {
            let place = (i as isize / stride) % count;
            *pixel = [0.0; 3];
            for (k, weight) in kernel.iter().enumerate() {
                let off = (place + k as isize - reach).clamp(0, count - 1) - place;
                let from = source[(i as isize + off * stride) as usize];
                (0..3).for_each(|c| pixel[c] += weight / sum * from[c]);
            }
        }
    }
}

/// The record of the plate under a given card, judged.
pub fn reading_of(photo: &Photo, card: &CardReading) -> Reading {
    let image = CorrectedImage::new(photo, &card.correction, 1);
    let mut map = map_surfaces(&image, card, &SurfaceSettings::default()).expect("the plate stands out");
    light::settle(&image, &mut map);
    let sources = Sources { path: "plate.png", photo, card, image: &image, map: &map, levels: &[] };
    let mut readings = measure(sources, &MadeBy::default());
    assert_eq!(readings.len(), 1, "one plate");
    let targets = Targets::load("three-colour-low-fired").expect("built in");
    judge(&mut readings[0], &targets, DecisionRule::default());
    readings.remove(0)
}

/// The record of the plate under the card in the photograph.
pub fn reading(photo: &Photo) -> Reading {
    reading_of(photo, &read_card(photo, &settings()).expect("the card is seen"))
}
