//! Sums over the pixels of each surface, in `f64`, in a fixed order of rows.

use super::Spread;
use super::inner::inner_part;
use crate::card::CorrectedImage;
use crate::colour::{LinearRgb, XyzD50};
use crate::surface::{Label, Piece, SurfaceMap};
use rayon::prelude::*;

/// Steps of the L* histogram, 0.05 L* each, 0 to 120.
const STEPS: usize = 2400;
const STEP: f64 = 0.05;

/// What one label of a piece sums up to.
#[derive(Debug, Clone)]
pub(super) struct Tally {
    /// Map pixels with the label.
    pub area: usize,
    /// Pixels that went into `inner`.
    pub inner_count: usize,
    /// Sum of XYZ over the inner part, shading in.
    inner: [f64; 3],
    /// Sum of the relative light over the inner part.
    inner_light: f64,
    /// Sum of XYZ over all pixels of the label, for surfaces too thin to have an inner part.
    all: [f64; 3],
    all_count: usize,
    /// Sum of the camera's linear light, before correction and with shading in.
    camera: [f64; 3],
    /// Sum of the relative light over all pixels of the label.
    light: f64,
    /// Inner pixels by L*.
    histogram: Vec<u32>,
    /// Sums of L* and its square, the same pixels.
    l_sums: [f64; 2],
}

impl Tally {
    pub fn new() -> Self {
        Self {
            area: 0,
            inner_count: 0,
            inner: [0.0; 3],
            inner_light: 0.0,
            all: [0.0; 3],
            all_count: 0,
            camera: [0.0; 3],
            light: 0.0,
            histogram: vec![0; STEPS],
            l_sums: [0.0; 2],
        }
    }

    /// Takes in one pixel: X, Y, Z with its shading, the camera's light, and the relative light there. Its area is counted
    /// by the caller. Whether it goes into the histogram of L* is for its surface to say.
    pub fn take(&mut self, xyz: [f64; 3], camera: [f32; 3], shade: f64, is_inner: bool) {
        self.take_sums(xyz, camera, shade, is_inner);
        if is_inner {
            self.take_lightness(xyz[1] / shade);
        }
    }

    fn take_sums(&mut self, xyz: [f64; 3], camera: [f32; 3], shade: f64, is_inner: bool) {
        self.all_count += 1;
        self.light += shade;
        (0..3).for_each(|c| self.all[c] += xyz[c]);
        (0..3).for_each(|c| self.camera[c] += f64::from(camera[c]));
        if is_inner {
            self.inner_count += 1;
            self.inner_light += shade;
            (0..3).for_each(|c| self.inner[c] += xyz[c]);
        }
    }

    fn take_lightness(&mut self, y: f64) {
        let l = f64::from(lightness(y as f32)).clamp(0.0, 119.99);
        self.histogram[(l / STEP) as usize] += 1;
        self.l_sums[0] += l;
        self.l_sums[1] += l * l;
    }

    fn add(&mut self, other: &Tally) {
        self.area += other.area;
        self.inner_count += other.inner_count;
        self.all_count += other.all_count;
        self.light += other.light;
        self.inner_light += other.inner_light;
        for c in 0..3 {
            self.inner[c] += other.inner[c];
            self.all[c] += other.all[c];
            self.camera[c] += other.camera[c];
        }
        for (mine, theirs) in self.histogram.iter_mut().zip(&other.histogram) {
            *mine += theirs;
        }
        self.l_sums[0] += other.l_sums[0];
        self.l_sums[1] += other.l_sums[1];
    }

    /// Mean reflectance of the inner part, or of all pixels where the surface is too thin. Each pixel counts by its
    /// light: what is seen over the light there is, in sum. A place in deep shade, where an error of the light is a large
    /// share of it, weighs little so.
    pub fn mean(&self) -> Option<XyzD50> {
        let (sum, light) =
            if self.has_inner() { (self.inner, self.inner_light) } else { (self.all, self.light) };
        (light > 0.0).then(|| xyz(sum, light))
    }

    /// Mean over all pixels of the label, edges included.
    pub fn mean_with_edges(&self) -> Option<XyzD50> {
        (self.light > 0.0).then(|| xyz(self.all, self.light))
    }

    /// Mean relative light on the surface, brightest part of the piece = 1.
    pub fn mean_light(&self) -> f64 {
        if self.all_count > 0 { self.light / self.all_count as f64 } else { 1.0 }
    }

    /// Mean of the camera's linear light on the surface, as it fell on the sensor.
    pub fn mean_camera_light(&self) -> LinearRgb {
        LinearRgb(self.camera.map(|sum| (sum / self.all_count.max(1) as f64) as f32))
    }

    /// Whether the inner part is large enough to stand for the surface.
    pub fn has_inner(&self) -> bool {
        self.inner_count >= 30
    }

    /// Share of the surface that lies away from other labels.
    pub fn inner_share(&self) -> f64 {
        if self.has_inner() { self.inner_count as f64 / self.area.max(1) as f64 } else { 0.0 }
    }

    /// Spread of L* over the pixels that made the mean.
    pub fn spread(&self) -> Option<Spread> {
        let n: u64 = self.histogram.iter().map(|&c| u64::from(c)).sum();
        if n < 2 {
            return None;
        }
        let quantile = |share: f64| {
            let want = share * n as f64;
            let mut seen = 0.0;
            for (i, &count) in self.histogram.iter().enumerate() {
                let next = seen + f64::from(count);
                if next >= want && count > 0 {
                    return (i as f64 + (want - seen) / f64::from(count)) * STEP;
                }
                seen = next;
            }
            STEPS as f64 * STEP
        };
        let mean = self.l_sums[0] / n as f64;
        let sd = (self.l_sums[1] / n as f64 - mean * mean).max(0.0).sqrt();
        Some(Spread { p05: quantile(0.05), p50: quantile(0.5), p95: quantile(0.95), sd })
    }
}

fn xyz(sum: [f64; 3], light: f64) -> XyzD50 {
    let [x, y, z] = sum.map(|s| s / light);
    XyzD50 { x, y, z }
}

/// Everything summed over one piece.
pub(super) struct PieceSums {
    /// By label number.
    pub tallies: Vec<Tally>,
    /// Map pixels of the piece.
    pub area: usize,
    /// Map pixels of the piece that the file or the pictures cannot hold.
    pub beyond: Beyond,
    /// 5th and 95th percentile of the relative light over measured places.
    pub light_range: [f64; 2],
    /// Mean of ln(Y white / Y black) where they touch, its standard error, and how many places.
    pub touching_ratio: Option<TouchingRatio>,
    /// The inner part of the piece.
    pub inner: Inner,
}

/// Map pixels beyond what can be held, each in one of them at most.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Beyond {
    /// At the top of the encoding and not glare.
    pub clipped: usize,
    /// At its bottom in all channels and not deep shade.
    pub crushed: usize,
    /// Neither, nor glare, and outside sRGB after correction.
    pub out_of_gamut: usize,
}

impl Beyond {
    fn add(&mut self, other: Self) {
        self.clipped += other.clipped;
        self.crushed += other.crushed;
        self.out_of_gamut += other.out_of_gamut;
    }
}

/// Light of an 8-bit code between 1 and 2 (IEC 61966-2-1): below it a channel holds nothing but 0 and 1.
const BOTTOM: f32 = (1.5 / 255.0 / 12.92) as f32;
/// How far linear sRGB may lie outside 0 to 1: noise in the dark and rounding do that much.
const GAMUT_SLACK: f32 = 0.005;

/// XYZ for D50 to linear sRGB, in `f32` for many pixels.
struct ToSrgb([[f32; 3]; 3]);

impl ToSrgb {
    fn new() -> Self {
        let column = |x, y, z| XyzD50 { x, y, z }.to_linear_rgb().0;
        let (x, y, z) = (column(1.0, 0.0, 0.0), column(0.0, 1.0, 0.0), column(0.0, 0.0, 1.0));
        Self([0, 1, 2].map(|c| [x[c], y[c], z[c]]))
    }

    fn is_outside(&self, xyz: [f32; 3]) -> bool {
        self.0.iter().any(|row| {
            let value = row[0] * xyz[0] + row[1] * xyz[1] + row[2] * xyz[2];
            !(-GAMUT_SLACK..=1.0 + GAMUT_SLACK).contains(&value)
        })
    }
}

/// Y of white over Y of black from places where both lie close together.
#[derive(Debug, Clone, Copy)]
pub(super) struct TouchingRatio {
    /// Mean of the natural logarithm of the ratio.
    pub log_mean: f64,
    /// Standard error of `log_mean` over the places.
    pub log_error: f64,
    /// Number of places.
    pub places: usize,
}

/// Sums one piece (its number as in `piece_of`).
pub(super) fn sum_piece(image: &CorrectedImage, map: &SurfaceMap, piece: &Piece, number: u8) -> PieceSums {
    let [x0, y0, x1, y1] = piece.bounds;
    let inner = Inner { part: inner_part(map, piece.bounds), bounds: piece.bounds };
    // Bands of rows: enough work each for a thread, few enough to keep the histograms small.
    const BAND: usize = 64;
    let to_srgb = ToSrgb::new();
    let bands: Vec<(Vec<Tally>, Beyond, Vec<u32>)> = (y0..y1)
        .step_by(BAND)
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|top| sum_band(image, map, &inner, &to_srgb, number, [x0, top, x1, (top + BAND).min(y1)]))
        .collect();
    let mut tallies = vec![Tally::new(); Label::ALL.len()];
    let (mut beyond, mut light) = (Beyond::default(), vec![0u32; LIGHT_STEPS]);
    for (band, band_beyond, band_light) in &bands {
        tallies.iter_mut().zip(band).for_each(|(sum, part)| sum.add(part));
        light.iter_mut().zip(band_light).for_each(|(sum, part)| *sum += part);
        beyond.add(*band_beyond);
    }
    PieceSums {
        area: tallies.iter().map(|t| t.area).sum(),
        tallies,
        beyond,
        light_range: [light_quantile(&light, 0.05), light_quantile(&light, 0.95)],
        touching_ratio: touching_ratio(image, map, &inner, piece.bounds, number),
        inner,
    }
}

/// The inner part of a piece, over its box.
pub(super) struct Inner {
    part: Vec<bool>,
    bounds: [usize; 4],
}

impl Inner {
    /// Whether a map pixel inside the box lies in it.
    pub fn holds(&self, x: usize, y: usize) -> bool {
        let [x0, y0, x1, _] = self.bounds;
        self.part[(y - y0) * (x1 - x0) + x - x0]
    }
}

/// Steps of the light histogram, 0.01 each, 0 to 2.
const LIGHT_STEPS: usize = 200;

fn light_quantile(histogram: &[u32], share: f64) -> f64 {
    let n: u64 = histogram.iter().map(|&c| u64::from(c)).sum();
    let mut seen = 0u64;
    for (i, &count) in histogram.iter().enumerate() {
        seen += u64::from(count);
        if n > 0 && seen as f64 >= share * n as f64 {
            return (i as f64 + 0.5) / 100.0;
        }
    }
    1.0
}

fn sum_band(
    image: &CorrectedImage,
    map: &SurfaceMap,
    inner: &Inner,
    to_srgb: &ToSrgb,
    number: u8,
    [x0, y0, x1, y1]: [usize; 4],
) -> (Vec<Tally>, Beyond, Vec<u32>) {
    let mut tallies = vec![Tally::new(); Label::ALL.len()];
    let (mut beyond, mut light) = (Beyond::default(), vec![0u32; LIGHT_STEPS]);
    for y in y0..y1 {
        for x in x0..x1 {
            let at = y * map.width + x;
            if map.piece_of[at] != number {
                continue;
            }
            let label = map.labels[at];
            let tally = &mut tallies[label as usize];
            tally.area += 1;
            if image.clipped[at] {
                beyond.clipped += usize::from(label != Label::Glare);
                continue;
            }
            if image.light[at].iter().all(|&v| v <= BOTTOM) {
                beyond.crushed += usize::from(label != Label::Shade);
            } else if label != Label::Glare && to_srgb.is_outside(image.xyz[at]) {
                beyond.out_of_gamut += 1;
            }
            let shade = map.light[at].max(0.02);
            let is_inner = inner.holds(x, y);
            tally.take_sums(image.xyz[at].map(f64::from), image.light[at], f64::from(shade), is_inner);
            let has_colour =
                matches!(label, Label::White | Label::Red | Label::Black | Label::Body | Label::Smudged);
            if is_inner && has_colour {
                let step = (shade * 100.0) as usize;
                light[step.min(LIGHT_STEPS - 1)] += 1;
                tally.take_lightness(f64::from(image.xyz[at][1] / shade));
            }
        }
    }
    (tallies, beyond, light)
}

/// L* in `f32`, CIE 15:2018, for the spread alone; means go through `XyzD50`.
fn lightness(y: f32) -> f32 {
    if y > 216.0 / 24389.0 { 116.0 * y.cbrt() - 16.0 } else { 24389.0 / 27.0 * y }
}

/// White over black in one light: small squares that hold inner places of both, without the light
/// field, so that its errors cancel. `None` with fewer than four such squares.
fn touching_ratio(
    image: &CorrectedImage,
    map: &SurfaceMap,
    inner: &Inner,
    [x0, y0, x1, y1]: [usize; 4],
    number: u8,
) -> Option<TouchingRatio> {
    let side = 24usize;
    let enough = 12usize;
    let squares: Vec<(usize, usize)> =
        (y0..y1).step_by(side).flat_map(|y| (x0..x1).step_by(side).map(move |x| (x, y))).collect();
    let logs: Vec<Option<f64>> = squares
        .into_par_iter()
        .map(|(left, top)| {
            let (mut white, mut black) = ((0.0, 0usize), (0.0, 0usize));
            for y in top..(top + side).min(y1) {
                for x in left..(left + side).min(x1) {
                    let at = y * map.width + x;
                    if map.piece_of[at] != number || !inner.holds(x, y) || image.clipped[at] {
                        continue;
                    }
                    let sum = match map.labels[at] {
                        Label::White => &mut white,
                        Label::Black => &mut black,
                        _ => continue,
                    };
                    sum.0 += f64::from(image.xyz[at][1]);
                    sum.1 += 1;
                }
            }
            let both = white.1 >= enough && black.1 >= enough && black.0 > 0.0;
            both.then(|| ((white.0 / white.1 as f64) / (black.0 / black.1 as f64)).ln())
        })
        .collect();
    let logs: Vec<f64> = logs.into_iter().flatten().filter(|v| v.is_finite()).collect();
    let n = logs.len() as f64;
    if logs.len() < 4 {
        return None;
    }
    let mean = logs.iter().sum::<f64>() / n;
    let variance = logs.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    Some(TouchingRatio { log_mean: mean, log_error: (variance / n).sqrt(), places: logs.len() })
}
