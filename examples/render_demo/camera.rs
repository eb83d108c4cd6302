//! An invented camera: sensitivities, white balance, 3x3 matrix, and the way to an 8-bit picture.

use super::noise;
use super::spectra::{COUNT, D65, Spectrum, chart, daylight, tristimulus, xyz_d50};
use nalgebra::{Matrix3, Vector3};
use rayon::prelude::*;

/// What a reflectance gives in the light of a scene: the camera's linear sRGB and the true XYZ for D50.
/// Both are linear in the reflectance, so mixtures of materials are mixtures of tints.
#[derive(Clone, Copy, Default)]
pub struct Tint {
    pub rgb: [f64; 3],
    pub xyz: [f64; 3],
}

impl Tint {
    /// This one with `share` (0..1) of it replaced by `other`.
    pub fn mixed(self, other: Tint, share: f64) -> Tint {
        let mix = |a: [f64; 3], b: [f64; 3]| std::array::from_fn(|i| a[i] + (b[i] - a[i]) * share);
        Tint { rgb: mix(self.rgb, other.rgb), xyz: mix(self.xyz, other.xyz) }
    }
    /// A paler or deeper version.
    pub fn scaled(self, factor: f64) -> Tint {
        Tint { rgb: self.rgb.map(|v| v * factor), xyz: self.xyz.map(|v| v * factor) }
    }
}

/// Sensitivities as Gaussian curves of our own: peak (nm) and width (nm) of red, green, blue.
#[derive(Clone, Copy)]
pub struct Model {
    pub id: &'static str,
    pub curves: [[f64; 2]; 3],
    /// Error of the white balance: red and blue gain.
    pub balance: [f64; 2],
    /// Electrons at full scale: sets the noise.
    pub full_well: f64,
    /// Blur of lens and sensor, standard deviation in pixels.
    pub blur: f64,
    /// Loss of light in the corners.
    pub vignetting: f64,
    /// Stray light: this share of the picture's mean lies over all of it.
    pub flare: f64,
    /// Strength of the contrast curve that the camera lays over the sRGB curve, 0 to 1.
    pub curve: f64,
    /// How far the card in hand is from its table: relative scatter of its patches, a channel.
    pub print: f64,
}

/// A camera set up for one light.
pub struct Camera {
    pub model: Model,
    sensitivity: [Spectrum; 3],
    light: Spectrum,
    gains: Vector3<f64>,
    matrix: Matrix3<f64>,
}

/// Chroma of the picture against the scene's. Below 1, so that no patch of the card leaves the sRGB gamut,
/// as in the neutral picture style of many cameras.
const SATURATION: f64 = 0.82;

/// Linear sRGB from XYZ, D65 (IEC 61966-2-1).
const XYZ_TO_SRGB: [f64; 9] = [3.2406, -1.5372, -0.4986, -0.9689, 1.8758, 0.0415, 0.0557, -0.2040, 1.0570];

impl Camera {
    /// Sets white balance for daylight of `kelvin` and fits the matrix to the 24 patches under D65.
    pub fn new(model: Model, kelvin: f64) -> Self {
        let sensitivity: [Spectrum; 3] = model.curves.map(|[peak, width]| {
            std::array::from_fn(|i| {
                let nm = 380.0 + 10.0 * i as f64;
                // A little of everything: filters are never quite dark.
                (-((nm - peak) / width).powi(2) / 2.0).exp() + 0.01
            })
        });
        let raw = |s: &Spectrum, light: &Spectrum| {
            Vector3::from_fn(|c, _| (0..COUNT).map(|i| s[i] * light[i] * sensitivity[c][i]).sum::<f64>())
        };
        let reference = daylight(D65);
        let white = raw(&[1.0; COUNT], &reference);
        let to_srgb = Matrix3::from_row_slice(&XYZ_TO_SRGB);
        let (mut aa, mut ab) = (Matrix3::zeros(), Matrix3::zeros());
        for patch in chart() {
            let seen = raw(&patch, &reference).component_div(&white);
            let wanted = to_srgb * Vector3::from(tristimulus(&patch, &reference));
            aa += seen * seen.transpose();
            ab += wanted * seen.transpose();
        }
        let mut matrix = ab * aa.try_inverse().expect("24 patches span three channels");
        for mut row in matrix.row_iter_mut() {
            let sum = row.sum();
            row /= sum; // grey stays grey
        }
        let luma = Matrix3::from_fn(|_, c| [0.2126, 0.7152, 0.0722][c]);
        let matrix = (luma * (1.0 - SATURATION) + Matrix3::identity() * SATURATION) * matrix;
        let light = daylight(kelvin);
        let gains =
            Vector3::new(model.balance[0], 1.0, model.balance[1]).component_div(&raw(&[1.0; COUNT], &light));
        Self { model, sensitivity, light, gains, matrix }
    }

    /// What a reflectance gives.
    pub fn tint(&self, s: &Spectrum) -> Tint {
        let raw = Vector3::from_fn(|c, _| {
            (0..COUNT).map(|i| s[i] * self.light[i] * self.sensitivity[c][i]).sum::<f64>() * self.gains[c]
        });
        Tint { rgb: (self.matrix * raw).into(), xyz: xyz_d50(s) }
    }

    /// Linear light, row by row, to the 8-bit picture: lens, blur, noise, sRGB curve.
    pub fn develop(&self, rgb: &[[f32; 3]], width: usize, exposure: f64, seed: u64) -> Vec<u8> {
        let height = rgb.len() / width;
        let across = blurred(rgb, width, self.model.blur);
        let both = transposed(&blurred(&transposed(&across, width), height, self.model.blur), height);
        let stray = [0, 1, 2].map(|c| {
            let sum: f64 = both.iter().map(|p| f64::from(p[c])).sum();
            self.model.flare * exposure * sum / both.len() as f64
        });
        let mut out = vec![0u8; width * height * 3];
        out.par_chunks_mut(width * 3).enumerate().for_each(|(y, row)| {
            for x in 0..width {
                let (dx, dy) =
                    (x as f64 / width as f64 - 0.5, (y as f64 - height as f64 / 2.0) / width as f64);
                let fall = 1.0 - self.model.vignetting * (dx * dx + dy * dy) / 0.39;
                for c in 0..3 {
                    let v = f64::from(both[y * width + x][c]) * exposure * fall + stray[c];
                    let sd = (v.max(0.0) / self.model.full_well).sqrt() + 0.0006;
                    row[3 * x + c] = encode(v + sd * noise::normal(x, y, c, seed), self.model.curve);
                }
            }
        });
        out
    }
}

/// The sRGB curve (IEC 61966-2-1) and a share of a smooth step in contrast, to 8 bits.
fn encode(v: f64, curve: f64) -> u8 {
    let v = v.clamp(0.0, 1.0);
    let e = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
    let e = e + curve * (e * e * (3.0 - 2.0 * e) - e);
    (e * 255.0).round() as u8
}

/// Gaussian blur along the rows.
fn blurred(rgb: &[[f32; 3]], width: usize, sd: f64) -> Vec<[f32; 3]> {
    let kernel: Vec<f64> = (-3..=3).map(|k| (-f64::from(k * k) / (2.0 * sd * sd)).exp()).collect();
    let total: f64 = kernel.iter().sum();
    let mut out = vec![[0.0; 3]; rgb.len()];
    out.par_chunks_mut(width).zip(rgb.par_chunks(width)).for_each(|(to, from)| {
        for (x, px) in to.iter_mut().enumerate() {
            let mut sum = [0.0f64; 3];
            for (k, weight) in kernel.iter().enumerate() {
                let at = (x + k).saturating_sub(3).min(width - 1);
                for c in 0..3 {
                    sum[c] += weight * f64::from(from[at][c]);
                }
            }
            *px = sum.map(|v| (v / total) as f32);
        }
    });
    out
}

/// Rows become columns.
fn transposed(rgb: &[[f32; 3]], width: usize) -> Vec<[f32; 3]> {
    let height = rgb.len() / width;
    (0..rgb.len()).map(|i| rgb[(i % height) * width + i / height]).collect()
}
