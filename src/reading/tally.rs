//! What one label of a piece sums up to, pixel by pixel: colour, light, spread.
//!
//! Comes in: pixels with their light, and how deep in their surface they lie. Goes out: means of XYZ, the spread of L*.

use super::Spread;
use super::inner::Depth;
use crate::colour::{LabD50, LinearRgb, XyzD50};

/// Steps of the L* histogram, 0.05 L* each, 0 to 120.
const STEPS: usize = 2400;
const STEP: f64 = 0.05;

/// Pixels of an inner or a deep part that are enough to stand for a surface.
const LEAST_INNER: usize = 30;
/// Of so many inner pixels one must lie deep, or the deep part is but the middle of a blot or two.
const DEEP_ONE_IN: usize = 20;

/// Light and colour summed over pixels.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sum {
    pub pixels: usize,
    /// Of the relative light.
    pub light: f64,
    /// Of X, Y, Z, shading in.
    xyz: [f64; 3],
}

impl Sum {
    /// Takes in one pixel.
    pub fn take(&mut self, xyz: [f64; 3], light: f64) {
        self.pixels += 1;
        self.light += light;
        (0..3).for_each(|c| self.xyz[c] += xyz[c]);
    }

    fn add(&mut self, other: &Self) {
        self.pixels += other.pixels;
        self.light += other.light;
        (0..3).for_each(|c| self.xyz[c] += other.xyz[c]);
    }

    /// What is seen over the light there is, in sum, so that each pixel counts by its light; `None` without light.
    pub fn mean(&self) -> Option<XyzD50> {
        let [x, y, z] = self.xyz.map(|sum| sum / self.light);
        (self.light > 0.0).then_some(XyzD50 { x, y, z })
    }
}

/// What one label of a piece sums up to.
#[derive(Debug, Clone)]
pub(super) struct Tally {
    /// Map pixels with the label.
    pub area: usize,
    /// Over all its pixels, for surfaces too thin to have an inner part; over the inner part; over its deep part.
    all: Sum,
    inner: Sum,
    deep: Sum,
    /// Sum of the camera's linear light, before correction and with shading in.
    camera: [f64; 3],
    /// Inner pixels by L*.
    histogram: Vec<u32>,
    /// Sums of L* and its square, the same pixels.
    l_sums: [f64; 2],
    /// Of those that give light back: how many, sums of X / Y and Z / Y, and of their squares.
    tinted: usize,
    tint: [f64; 2],
    tint_squares: [f64; 2],
}

impl Tally {
    pub fn new() -> Self {
        Self {
            area: 0,
            all: Sum::default(),
            inner: Sum::default(),
            deep: Sum::default(),
            camera: [0.0; 3],
            histogram: vec![0; STEPS],
            l_sums: [0.0; 2],
            tinted: 0,
            tint: [0.0; 2],
            tint_squares: [0.0; 2],
        }
    }

    /// Takes in one pixel: X, Y, Z with its shading, the camera's light, and the relative light there. Its area is counted
    /// by the caller.
    pub fn take(&mut self, xyz: [f64; 3], camera: [f32; 3], shade: f64, depth: Depth) {
        self.take_sums(xyz, camera, shade, depth);
        if depth > Depth::Edge {
            self.take_spread(xyz, shade);
        }
    }

    /// The same without the spreads.
    pub fn take_sums(&mut self, xyz: [f64; 3], camera: [f32; 3], shade: f64, depth: Depth) {
        self.all.take(xyz, shade);
        (0..3).for_each(|c| self.camera[c] += f64::from(camera[c]));
        if depth > Depth::Edge {
            self.inner.take(xyz, shade);
        }
        if depth == Depth::Deep {
            self.deep.take(xyz, shade);
        }
    }

    /// Takes one pixel into the spreads of lightness and tint.
    pub fn take_spread(&mut self, xyz: [f64; 3], shade: f64) {
        let l = f64::from(lightness((xyz[1] / shade) as f32)).clamp(0.0, 119.99);
        self.histogram[(l / STEP) as usize] += 1;
        self.l_sums[0] += l;
        self.l_sums[1] += l * l;
        if xyz[1] > DARKEST {
            self.tinted += 1;
            for (k, tint) in [xyz[0] / xyz[1], xyz[2] / xyz[1]].into_iter().enumerate() {
                self.tint[k] += tint;
                self.tint_squares[k] += tint * tint;
            }
        }
    }

    pub fn add(&mut self, other: &Tally) {
        self.area += other.area;
        self.all.add(&other.all);
        self.inner.add(&other.inner);
        self.deep.add(&other.deep);
        (0..3).for_each(|c| self.camera[c] += other.camera[c]);
        for (mine, theirs) in self.histogram.iter_mut().zip(&other.histogram) {
            *mine += theirs;
        }
        self.l_sums[0] += other.l_sums[0];
        self.l_sums[1] += other.l_sums[1];
        self.tinted += other.tinted;
        for k in 0..2 {
            self.tint[k] += other.tint[k];
            self.tint_squares[k] += other.tint_squares[k];
        }
    }

    /// Mean reflectance of the inner part, or of all pixels where the surface is too thin. A place in deep shade, where an
    /// error of the light is a large share of it, weighs little.
    pub fn mean(&self) -> Option<XyzD50> {
        if self.has_inner() { self.inner.mean() } else { self.all.mean() }
    }

    /// Mean over the deep part; `None` where it is too small a share of the inner part to stand for it.
    pub fn mean_deep(&self) -> Option<XyzD50> {
        let is_enough =
            self.deep.pixels >= LEAST_INNER && self.deep.pixels * DEEP_ONE_IN >= self.inner.pixels;
        self.deep.mean().filter(|_| is_enough)
    }

    /// Mean over all pixels of the label, edges included.
    pub fn mean_with_edges(&self) -> Option<XyzD50> {
        self.all.mean()
    }

    /// Pixels of the inner part.
    pub fn inner_count(&self) -> usize {
        self.inner.pixels
    }

    /// Mean relative light on the surface, brightest part of the piece = 1.
    pub fn mean_light(&self) -> f64 {
        if self.all.pixels > 0 { self.all.light / self.all.pixels as f64 } else { 1.0 }
    }

    /// Mean of the camera's linear light on the surface, as it fell on the sensor.
    pub fn mean_camera_light(&self) -> LinearRgb {
        LinearRgb(self.camera.map(|sum| (sum / self.all.pixels.max(1) as f64) as f32))
    }

    /// Whether the inner part is large enough to stand for the surface.
    pub fn has_inner(&self) -> bool {
        self.inner.pixels >= LEAST_INNER
    }

    /// Share of the surface that lies away from other labels.
    pub fn inner_share(&self) -> f64 {
        if self.has_inner() { self.inner.pixels as f64 / self.area.max(1) as f64 } else { 0.0 }
    }

    /// Standard deviations over the pixels of a surface of that colour: L*, and a*, b* by the tint, whatever the light does.
    /// (CIELAB to first order: a* moves by 500 / 3 times the cube root of X / Xn times the relative change of X, b* by 200 / 3
    /// likewise with Z; CIE 15:2018.)
    pub fn deviations(&self, lab: LabD50) -> [f64; 3] {
        let relative = [0, 1].map(|k| {
            let n = self.tinted as f64;
            let mean = self.tint[k] / n;
            ((self.tint_squares[k] / n - mean * mean).max(0.0).sqrt() / mean).min(1.0)
        });
        let relative = relative.map(|share| if share.is_finite() { share } else { 0.0 });
        let y = (lab.l + 16.0) / 116.0;
        let (x, z) = ((y + lab.a / 500.0).max(0.0), (y - lab.b / 200.0).max(0.0));
        [self.deviation(self.spread_count()), 500.0 / 3.0 * x * relative[0], 200.0 / 3.0 * z * relative[1]]
    }

    /// Pixels in the spreads.
    fn spread_count(&self) -> u64 {
        self.histogram.iter().map(|&c| u64::from(c)).sum()
    }

    /// Standard deviation of L* over so many pixels; 0 of fewer than two.
    fn deviation(&self, n: u64) -> f64 {
        let mean = self.l_sums[0] / n as f64;
        if n < 2 { 0.0 } else { (self.l_sums[1] / n as f64 - mean * mean).max(0.0).sqrt() }
    }

    /// Spread of L* over the pixels that made the mean.
    pub fn spread(&self) -> Option<Spread> {
        let n = self.spread_count();
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
        let sd = self.deviation(n);
        Some(Spread { p05: quantile(0.05), p50: quantile(0.5), p95: quantile(0.95), sd })
    }
}

/// Y below which a pixel has no tint.
const DARKEST: f64 = 1e-4;

/// L* in `f32`, CIE 15:2018, for the spread alone; means go through `XyzD50`.
fn lightness(y: f32) -> f32 {
    if y > 216.0 / 24389.0 { 116.0 * y.cbrt() - 16.0 } else { 24389.0 / 27.0 * y }
}
