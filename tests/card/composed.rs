//! Pictures composed for the tests of finding: a card of any layout on seeded grounds, in uneven light,
//! partly covered; and grids that are no card.

use crate::support::{Random, iso, light_of};
use sherdlight::card::{CardDefinition, Homography};
use sherdlight::colour::{LabD50, LinearRgb};
use sherdlight::photo::LinearImage;

/// Light of a patch as a print can show it: never quite without light.
pub fn printed(lab: LabD50) -> [f64; 3] {
    light_of(lab).map(|v| v.max(0.002))
}

/// A card of another layout: neutrals in the first row, seeded colours after.
pub fn own_layout(seed: u64, rows: usize, columns: usize, tall: f64) -> CardDefinition {
    let mut random = Random::new(seed + 77);
    let mut definition = iso();
    let template = definition.patches[0].clone();
    definition.layout.rows = rows;
    definition.layout.columns = columns;
    definition.layout.patch = [1.0, tall];
    definition.layout.gap = [0.15, 0.15];
    definition.patches = (0..rows * columns)
        .map(|i| {
            let mut patch = template.clone();
            patch.id = (i + 1).to_string();
            patch.lab = if i < columns {
                LabD50 { l: 95.0 - 75.0 * i as f64 / (columns - 1) as f64, a: 0.0, b: 0.0 }
            } else {
                let hue = random.between(0.0, std::f64::consts::TAU);
                let chroma = random.between(20.0, 45.0);
                let l = random.between(35.0, 75.0);
                LabD50 { l, a: chroma * hue.cos(), b: chroma * hue.sin() }
            };
            patch
        })
        .collect();
    definition
}

/// A picture being drawn, linear light.
pub struct Canvas {
    width: usize,
    height: usize,
    pixels: Vec<[f64; 3]>,
}

impl Canvas {
    pub fn new(width: usize, height: usize, ground: impl Fn(f64, f64) -> [f64; 3]) -> Self {
        let pixels =
            (0..width * height).map(|i| ground((i % width) as f64 + 0.5, (i / width) as f64 + 0.5)).collect();
        Self { width, height, pixels }
    }

    /// Draws in a plane, 3 x 3 samples a pixel; `None` lets the ground through.
    pub fn draw(&mut self, map: &Homography, paint: impl Fn(f64, f64) -> Option<[f64; 3]>) {
        let Some(back) = map.inverse() else { return };
        for i in 0..self.pixels.len() {
            let (x, y) = ((i % self.width) as f64, (i / self.width) as f64);
            let [u, v] = back.apply([x + 0.5, y + 0.5]);
            if !(-9.0..30.0).contains(&u) || !(-9.0..30.0).contains(&v) {
                continue;
            }
            let (mut sum, mut count) = ([0.0; 3], 0.0);
            for k in 0..9 {
                let at = [x + (f64::from(k % 3) + 0.5) / 3.0, y + (f64::from(k / 3) + 0.5) / 3.0];
                let [u, v] = back.apply(at);
                if let Some(light) = paint(u, v) {
                    count += 1.0;
                    (0..3).for_each(|c| sum[c] += light[c]);
                }
            }
            let under = self.pixels[i];
            self.pixels[i] = [0, 1, 2].map(|c| (sum[c] + (9.0 - count) * under[c]) / 9.0);
        }
    }

    /// A card with the gaps of its definition, `frame` around and between.
    pub fn card(
        &mut self,
        corners: &[[f64; 2]; 4],
        definition: &CardDefinition,
        colours: &[[f64; 3]],
        frame: [f64; 3],
    ) {
        let layout = &definition.layout;
        let ([w, h], [across, down], tall) = (layout.extent(), layout.pitch(), layout.tall());
        let map = Homography::from_corners(w, h, corners).expect("a rectangle");
        self.draw(&map, |u, v| {
            let (column, row) = ((u / across).floor(), (v / down).floor());
            let on_patch = u >= 0.0 && v >= 0.0 && u < w && v < h;
            let margin = 0.3;
            if on_patch && u - column * across <= 1.0 && v - row * down <= tall {
                Some(colours[row as usize * layout.columns + column as usize])
            } else {
                (u > -margin && v > -margin && u < w + margin && v < h + margin).then_some(frame)
            }
        });
    }

    /// Noise of photons; the light stays linear.
    pub fn develop(self, random: &mut Random, noise: f64) -> LinearImage {
        let pixels = self.pixels.iter().map(|p| {
            LinearRgb(p.map(|v| (v + noise * (v.max(0.0) + 0.005).sqrt() * random.normal()).max(0.0) as f32))
        });
        LinearImage { width: self.width, height: self.height, pixels: pixels.collect() }
    }
}

/// A picture with a card, and where it lies.
pub struct Scene {
    pub image: LinearImage,
    pub corners: [[f64; 2]; 4],
    pub side: f64,
}

/// Corners of a card turned any way, tilted to 40 degrees, filling 3 % to 50 % of the picture, inside it.
fn place(random: &mut Random, definition: &CardDefinition, [w, h]: [usize; 2]) -> [[f64; 2]; 4] {
    let [cw, ch] = definition.layout.extent();
    let patches = (definition.patches.len() as f64).sqrt();
    loop {
        let share = random.between(0.03f64.ln(), 0.5f64.ln()).exp();
        // More patches need more room: no less than 14 pixels for each.
        let least = (14.0 * patches).powi(2) * 1.4 / (w * h) as f64;
        let side = (share.max(least) * (w * h) as f64 / (cw * ch)).sqrt();
        let (turn, tilt) = (random.between(0.0, std::f64::consts::TAU), random.between(0.0, 0.7));
        let (axis, away) = (random.between(0.0, std::f64::consts::TAU), cw * random.between(1.5, 4.0));
        let (x, y) = (random.between(0.0, w as f64), random.between(0.0, h as f64));
        let corners = [[0.0, 0.0], [cw, 0.0], [cw, ch], [0.0, ch]].map(|[u, v]| {
            let (u, v) = (u - cw / 2.0, v - ch / 2.0);
            let (u, v) = (u * turn.cos() - v * turn.sin(), u * turn.sin() + v * turn.cos());
            // Tilted about an axis through its middle.
            let (along, across) = (u * axis.cos() + v * axis.sin(), -u * axis.sin() + v * axis.cos());
            let depth = 1.0 + across * tilt.sin() / away;
            let (along, across) = (along / depth, across * tilt.cos() / depth);
            let (u, v) = (along * axis.cos() - across * axis.sin(), along * axis.sin() + across * axis.cos());
            [x + side * u, y + side * v]
        });
        let inside =
            |p: &[f64; 2]| p[0] > 2.0 && p[1] > 2.0 && p[0] < w as f64 - 2.0 && p[1] < h as f64 - 2.0;
        if corners.iter().all(inside) {
            return corners;
        }
    }
}

/// A card on one of six grounds, in one of several troubles.
pub fn scene(seed: u64, definition: &CardDefinition) -> Scene {
    let mut random = Random::new(seed);
    let size = if random.unit() < 0.5 { [800, 600] } else { [600, 800] };
    let mut canvas = ground(&mut random, size);
    let corners = place(&mut random, definition, size);
    let [w, h] = definition.layout.extent();
    let map = Homography::from_corners(w, h, &corners).expect("a rectangle");
    let colours: Vec<[f64; 3]> = definition
        .patches
        .iter()
        .map(|p| printed(p.lab).map(|v| v * (1.0 + 0.05 * random.normal())))
        .collect();
    let frame = [[0.02; 3], [0.02; 3], [0.7; 3], [0.2; 3]][random.below(4)];
    canvas.card(&corners, definition, &colours, frame);
    let back = map.inverse().expect("a rectangle");
    let trouble = random.below(6);
    let (turn, off) = (random.between(0.0, std::f64::consts::TAU), random.between(-0.3, 0.3));
    let (depth, strength) = (random.between(0.35, 0.7), random.between(0.3, 1.0));
    let [px, py] = [w * random.unit(), h * random.unit()];
    let reach = random.between(0.4, 0.9) * (w * h / 24.0).sqrt();
    let cover = random.colour();
    for i in 0..canvas.pixels.len() {
        let at = [(i % canvas.width) as f64 + 0.5, (i / canvas.width) as f64 + 0.5];
        let [u, v] = back.apply(at);
        let along = (u / w - 0.5) * turn.cos() + (v / h - 0.5) * turn.sin() - off;
        let from = (u - px).hypot(v - py) / reach;
        let light = &mut canvas.pixels[i];
        *light = match trouble {
            // Twice the light at one end.
            0 => light.map(|p| p * (0.7 * along.clamp(-1.5, 1.5)).exp()),
            // A hard shadow.
            1 if along > 0.0 => [light[0] * depth, light[1] * depth, light[2] * depth * 1.1],
            // Shine.
            2 => light.map(|p| p + strength * (-from * from).exp()),
            // A finger or leaf: a disc over no more than a few patches.
            3 if from < 1.0 => cover,
            _ => *light,
        };
    }
    let exposure = random.between(0.35, 1.0);
    let gains = [0; 3].map(|_| exposure * (1.0 + 0.1 * random.normal()));
    canvas.pixels.iter_mut().for_each(|p| *p = [0, 1, 2].map(|c| p[c] * gains[c]));
    let noise = random.between(0.002, 0.012);
    let area = (0..4).map(|i| {
        let (p, q) = (corners[i], corners[(i + 1) % 4]);
        (p[0] * q[1] - p[1] * q[0]) / 2.0
    });
    let side = (area.sum::<f64>().abs() / (w * h)).sqrt();
    Scene { image: canvas.develop(&mut random, noise), corners, side }
}

/// Plain, cloth, brick, tiles, print, or coloured rectangles.
fn ground(random: &mut Random, [w, h]: [usize; 2]) -> Canvas {
    let (kind, turn, scale) =
        (random.below(6), random.between(0.0, std::f64::consts::TAU), random.between(8.0, 40.0));
    let (one, other, salt) = (random.colour(), random.colour(), random.below(1000) as f64);
    let dice = move |a: f64, b: f64| {
        let t = ((a * 127.1 + b * 311.7 + salt * 13.7).sin() * 43_758.545_3).fract();
        t.abs()
    };
    let mut canvas = Canvas::new(w, h, |x, y| {
        let (u, v) = ((x * turn.cos() + y * turn.sin()) / scale, (y * turn.cos() - x * turn.sin()) / scale);
        let cell = |width: f64| {
            let row = v.floor();
            let u = u / width + 0.5 * row.rem_euclid(2.0) * f64::from(kind == 2);
            (u.floor(), row, (u.fract() + 1.0).fract(), (v.fract() + 1.0).fract())
        };
        match kind {
            1 => one.map(|c| c * (0.7 + 0.3 * ((6.0 * u).sin() * (6.0 * v).sin()).abs())),
            2 | 3 => {
                let (a, b, fu, fv) = cell(if kind == 2 { 2.0 } else { 1.0 });
                if fu < 0.05 || fv < 0.07 { other } else { one.map(|c| c * (0.8 + 0.4 * dice(a, b))) }
            }
            4 => {
                let (a, b, fu, fv) = cell(0.6);
                let ink = fv > 0.4
                    && fv < 0.8
                    && dice(a, b) > 0.2
                    && dice((9.0 * u).floor(), (9.0 * v).floor()) > 0.5;
                if ink && fu > 0.1 { [0.05; 3] } else { [0.7, 0.68, 0.6] }
            }
            _ => one,
        }
    });
    if kind == 5 {
        for _ in 0..60 {
            let size = [random.between(6.0, 50.0), random.between(6.0, 50.0)];
            let (x, y, a) =
                (random.between(0.0, w as f64), random.between(0.0, h as f64), random.between(0.0, 3.0));
            let colour = random.colour();
            let map = Homography::affine([x, y], [a.cos(), a.sin()], [-a.sin(), a.cos()]);
            let scale = 0.1;
            let map = map.after([0.0; 2], [1.0 / scale, 0.0], [0.0, 1.0 / scale]);
            canvas.draw(&map, |u, v| {
                (u.abs() < size[0] * scale && v.abs() < size[1] * scale).then_some(colour)
            });
        }
    }
    canvas
}

/// Things of many even squares that are not the card.
pub fn lookalike(seed: u64, definition: &CardDefinition) -> (&'static str, LinearImage) {
    let mut random = Random::new(seed + 9000);
    let own: Vec<[f64; 3]> = definition.patches.iter().map(|p| printed(p.lab)).collect();
    let kinds = [
        "keyboard",
        "tiles",
        "mosaic",
        "colours at random",
        "the card's colours shuffled",
        "grey scale",
        "seedling tray",
        "labels",
        "windows",
        "paint cards",
        "rows of the card swapped",
        "half a card",
    ];
    let kind = seed as usize % kinds.len();
    let (rows, columns) = match kind {
        3..=5 | 10 | 11 => (4, 6),
        0 => (5, 12),
        _ => (4 + random.below(5), 5 + random.below(7)),
    };
    let base = random.colour();
    let palette: Vec<[f64; 3]> = (0..5).map(|_| random.colour()).collect();
    let mut colours: Vec<[f64; 3]> = (0..rows * columns)
        .map(|i| {
            let t = random.between(0.8, 1.2);
            match kind {
                0 => [0.05 * t; 3],
                1 => base.map(|c| c * t),
                2 => palette[random.below(5)].map(|c| c * t),
                3 => [0; 3].map(|_| random.unit()),
                5 => [0.02 + 0.85 * (i as f64 / 23.0).powi(2); 3],
                6 if random.unit() < 0.6 => [0.06, 0.2 * t, 0.03],
                6 => [0.08 * t, 0.05 * t, 0.03],
                7 => [0.6 * t; 3],
                8 if random.unit() < 0.7 => [0.05 * t, 0.07, 0.1],
                8 => [0.6 * t, 0.5, 0.3],
                9 => palette[i % 5].map(|c| (c + 0.1) * (1.0 - 0.1 * (i / columns) as f64)),
                _ => own[i.min(23)],
            }
        })
        .collect();
    match kind {
        4 => (1..24).rev().for_each(|i| colours.swap(i, random.below(i + 1))),
        10 => (0..6).for_each(|i| colours.swap(i, 12 + i)),
        11 => colours[12..].iter_mut().for_each(|c| *c = [0; 3].map(|_| random.unit())),
        _ => {}
    }
    let mut drawn = definition.clone();
    drawn.layout.rows = rows;
    drawn.layout.columns = columns;
    let size = [800, 600];
    let mut canvas = ground(&mut random, size);
    let corners = place(&mut random, &drawn, size);
    let frame = if kind == 9 || kind == 1 { [0.7; 3] } else { [0.03; 3] };
    canvas.card(&corners, &drawn, &colours, frame);
    (kinds[kind], canvas.develop(&mut random, 0.005))
}
