//! A piece reduced to what does not hang on the light: luminance against what lies about it.
//!
//! Comes in: a view and how many pixels one piece unit shall have. Goes out: a [`Picture`]. Its signal is the natural log
//! of the luminance, less its mean over a wide neighbourhood, over its standard deviation there: light, exposure and
//! shading fall out, borders of paint, slip and clay stay.

use super::profile::Profile;
use super::view::{Frame, View};
use crate::surface::{Label, blur};
use std::sync::OnceLock;

/// Width of the neighbourhood, piece units.
const WIDE: f64 = 0.06;
/// Added to the standard deviation, natural log: less than this is grain and brush marks.
const EVEN: f32 = 0.08;
/// Luminance added before the logarithm, share of the piece's mean: noise rules below.
const DARK: f32 = 0.03;
/// The signal is cut off there: no single place counts more.
const MOST: f32 = 2.0;

/// The signal of one piece on a raster.
pub(super) struct Picture {
    pub width: usize,
    pub height: usize,
    /// Pixels to a piece unit.
    pub scale: f64,
    /// Place of the middle of the first pixel, piece units.
    low: [f64; 2],
    /// The signal; 0 where nothing is known.
    pub signal: Vec<f32>,
    /// 1 on the piece, 0 off it and where it shines.
    pub known: Vec<f32>,
    /// Share of each pixel that the piece covers.
    covered: Vec<f32>,
    profile: OnceLock<Profile>,
}

impl Picture {
    /// The piece with `scale` pixels to its unit.
    pub fn of(view: &View, frame: &Frame, scale: f64) -> Self {
        let [x0, y0, x1, y1] = frame.bounds;
        let low = [x0 - 1.5 / scale, y0 - 1.5 / scale];
        let size = |from: f64, to: f64| ((to - from) * scale).ceil() as usize + 4;
        let (width, height) = (size(x0, x1), size(y0, y1));
        // Each map pixel goes to the four pixels about its place, so that nothing is moved.
        let (mut sums, mut weights) = (vec![0f32; width * height], vec![0f32; width * height]);
        let mut covered = vec![0f32; width * height];
        for (x, y, at) in view.pixels() {
            let shines = view.map.labels[at] == Label::Glare;
            let own = frame.own([x as f64 + 0.5, y as f64 + 0.5]);
            let [u, v] = [0, 1].map(|c| (own[c] - low[c]) * scale);
            let (column, row) = (u as usize, v as usize);
            if column + 1 >= width || row + 1 >= height {
                continue;
            }
            let (across, down) = ((u - column as f64) as f32, (v - row as f64) as f32);
            let luminance = view.image.xyz[at][1].max(0.0);
            let corners = [
                (0, (1.0 - across) * (1.0 - down)),
                (1, across * (1.0 - down)),
                (width, (1.0 - across) * down),
                (width + 1, across * down),
            ];
            for (step, weight) in corners {
                let i = row * width + column + step;
                covered[i] += weight;
                if !shines {
                    sums[i] += weight * luminance;
                    weights[i] += weight;
                }
            }
        }
        let full = (frame.unit / scale).powi(2) as f32;
        covered.iter_mut().for_each(|c| *c = (*c / full).min(1.0));
        let known: Vec<f32> = weights.iter().map(|&w| f32::from(u8::from(w > 0.4 * full))).collect();
        let mean = sums.iter().sum::<f32>() / weights.iter().sum::<f32>().max(1.0);
        let log: Vec<f32> = (0..sums.len())
            .map(|i| if known[i] > 0.0 { (sums[i] / weights[i] / mean.max(1e-6) + DARK).ln() } else { 0.0 })
            .collect();
        let signal = against_neighbours(&log, &known, width, WIDE * scale);
        Self { width, height, scale, low, signal, known, covered, profile: OnceLock::new() }
    }

    /// Its outline about its axis, found once.
    pub fn profile(&self) -> &Profile {
        self.profile.get_or_init(|| Profile::of(self))
    }

    /// Place of the middle of a pixel, piece units.
    pub fn place(&self, i: usize) -> [f64; 2] {
        let at = [(i % self.width) as f64, (i / self.width) as f64];
        [self.low[0] + at[0] / self.scale, self.low[1] + at[1] / self.scale]
    }

    /// Where a place lies on the raster: 0, 0 is the middle of the first pixel.
    pub fn raster(&self, place: [f64; 2]) -> [f64; 2] {
        [(place[0] - self.low[0]) * self.scale, (place[1] - self.low[1]) * self.scale]
    }

    /// Place of a point of the raster: 0, 0 is the middle of the first pixel.
    pub fn at_raster(&self, at: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|c| self.low[c] + at[c] / self.scale)
    }

    /// Signal and how far it is known at a place, by straight lines between pixels; zeros off the raster.
    pub fn sample(&self, place: [f64; 2]) -> [f32; 2] {
        self.between([&self.signal, &self.known], place)
    }

    /// Share that the piece covers at a place, by straight lines between pixels; 0 off the raster.
    pub fn covered_at(&self, place: [f64; 2]) -> f32 {
        self.between([&self.covered], place)[0]
    }

    fn between<const MANY: usize>(&self, of: [&[f32]; MANY], place: [f64; 2]) -> [f32; MANY] {
        let [u, v] = self.raster(place);
        let inside = u >= 0.0 && v >= 0.0 && u < (self.width - 1) as f64 && v < (self.height - 1) as f64;
        if !inside {
            return [0.0; MANY];
        }
        let (column, row) = (u as usize, v as usize);
        let (across, down) = ((u - column as f64) as f32, (v - row as f64) as f32);
        let i = row * self.width + column;
        of.map(|of| {
            let line = |i: usize| of[i] + across * (of[i + 1] - of[i]);
            let (above, below) = (line(i), line(i + self.width));
            above + down * (below - above)
        })
    }
}

/// Values less the mean about them, over their standard deviation there.
fn against_neighbours(values: &[f32], known: &[f32], width: usize, sigma: f64) -> Vec<f32> {
    let height = values.len() / width;
    let blurred = |of: Vec<f32>| {
        let mut of = of;
        blur(&mut of, width, height, sigma);
        of
    };
    let under = blurred(known.to_vec());
    let mean = blurred(values.iter().zip(known).map(|(v, k)| v * k).collect());
    let mean: Vec<f32> = mean.iter().zip(&under).map(|(m, u)| m / u.max(1e-4)).collect();
    let rest: Vec<f32> = (0..values.len()).map(|i| (values[i] - mean[i]) * known[i]).collect();
    let square = blurred(rest.iter().map(|v| v * v).collect());
    (0..values.len())
        .map(|i| {
            let spread = (square[i] / under[i].max(1e-4)).max(0.0).sqrt();
            (rest[i] / (spread + EVEN)).clamp(-MOST, MOST)
        })
        .collect()
}

#[cfg(test)]
impl Picture {
    /// A piece of which only the outline is drawn.
    pub fn outlined(
        low: [f64; 2],
        scale: f64,
        [width, height]: [usize; 2],
        covers: impl Fn([f64; 2]) -> bool,
    ) -> Self {
        let many = width * height;
        let (signal, known, covered) = (vec![0.0; many], Vec::new(), Vec::new());
        let mut picture =
            Self { width, height, scale, low, signal, known, covered, profile: OnceLock::new() };
        // A pixel in four by four.
        let parts = || (0..16).map(|k| [k % 4, k / 4].map(|v| (f64::from(v) - 1.5) / 4.0 / scale));
        let share = |i: usize| {
            let [x, y] = picture.place(i);
            parts().filter(|by| covers([x + by[0], y + by[1]])).count() as f32 / 16.0
        };
        picture.covered = (0..many).map(share).collect();
        picture.known = picture.covered.iter().map(|&c| f32::from(u8::from(c > 0.4))).collect();
        picture
    }
}
