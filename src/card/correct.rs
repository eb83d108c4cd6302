//! From linear light to XYZ for D50, relative to the light on the card.

use super::models::{Kind, Model, SRGB_TO_XYZ_D50, Sample};
use super::tone::Tone;
use super::uncertainty;
use crate::colour::{LabD50, LinearRgb, XyzD50};
use crate::photo::Photo;
use rayon::prelude::*;

/// A fitted colour correction.
#[derive(Debug, Clone)]
pub struct Correction {
    /// Name of the model, as in the record.
    pub model: String,
    pub(super) fitted: Model,
    /// The same model fitted to the other edition's colours, where the edition is not known.
    pub(super) other_edition: Option<Model>,
    /// Colour of each used patch, and its residual when predicted from the others.
    pub(super) held_out: Vec<(LabD50, [f64; 3])>,
}

impl Correction {
    /// The plain sRGB matrix, as if the encoding's white were the perfect diffuser. It knows nothing of
    /// a card: its [`Correction::u95`] is that of a camera nobody has checked, 20 each way.
    pub fn plain() -> Self {
        let mut fitted = Model::balance(&[]);
        fitted.kind = Kind::Matrix;
        let sure = [10.0; 3];
        let grey = |l: f64| (LabD50 { l, a: 0.0, b: 0.0 }, sure);
        let held_out = (0..60).map(|i| grey(100.0 * f64::from(i) / 59.0)).collect();
        Self { model: "none".into(), fitted, other_edition: None, held_out }
    }

    /// XYZ of a surface that lies in the card's light. Y = 1 is the perfect diffuser. Unclamped.
    pub fn apply(&self, light: LinearRgb) -> XyzD50 {
        self.fitted.apply(light.0.map(f64::from))
    }

    /// Half-widths of the 95 % interval of L*, a*, b* of one more patch of this colour, from held-out residuals
    /// of the patches near it. Always finite.
    pub fn u95(&self, near: LabD50) -> [f64; 3] {
        uncertainty::u95(&self.held_out, near)
    }

    /// The same for a surface of this colour: what the fit gets wrong there, without what a patch has to itself.
    pub fn surface_u95(&self, near: LabD50) -> [f64; 3] {
        self.u95(near).map(|u| uncertainty::COMMON.sqrt() * u)
    }

    /// How far L*, a*, b* may lie off because the card's edition is not known; zero when it is.
    pub fn edition_u95(&self, light: LinearRgb) -> [f64; 3] {
        let Some(other) = &self.other_edition else { return [0.0; 3] };
        let light = light.0.map(f64::from);
        let (one, two) = (self.fitted.apply(light).to_lab(), other.apply(light).to_lab());
        [one.l - two.l, one.a - two.a, one.b - two.b].map(|d| if d.is_finite() { d.abs() } else { 0.0 })
    }

    /// Colour of a patch with the slope of light over the card taken off.
    pub(super) fn patch(&self, sample: &Sample) -> LabD50 {
        self.fitted.patch(sample.light, sample.place)
    }

    fn prepared(&self) -> Prepared {
        Prepared::new(&self.fitted)
    }
}

/// Steps of the tone table over light 0 to 1: several between two codes of an 8-bit file at the dark end.
const STEPS: usize = 16384;

/// A model in `f32` for many pixels: a table for the tone, one matrix for the rest.
struct Prepared {
    tone: Option<Vec<f32>>,
    roots: bool,
    gains: [f32; 3],
    veil: [f32; 3],
    /// One row a term, columns X, Y, Z.
    matrix: [[f32; 3]; 6],
}

impl Prepared {
    fn new(model: &Model) -> Self {
        let curve = |i: usize| model.tone.undo(i as f64 / STEPS as f64) as f32;
        let tone = (model.tone != Tone::default()).then(|| (0..=STEPS).map(curve).collect());
        let base = (-model.base).exp();
        let entry = |t: usize, k: usize| {
            (0..3).map(|c| base * SRGB_TO_XYZ_D50[k][c] * model.mix[t][c]).sum::<f64>() as f32
        };
        let matrix = std::array::from_fn(|t| std::array::from_fn(|k| entry(t, k)));
        let roots = model.kind.has_roots();
        Self { tone, roots, gains: model.gains.map(|g| g as f32), veil: model.veil.map(|v| v as f32), matrix }
    }

    #[inline(always)]
    fn curve(&self, light: f32) -> f32 {
        let Some(table) = &self.tone else { return light };
        let v = light.abs();
        if v >= 1.0 {
            return light * table[STEPS];
        }
        let at = v * STEPS as f32;
        let i = (at as usize).min(STEPS - 1);
        let share = at - i as f32;
        (table[i] + share * (table[i + 1] - table[i])).copysign(light)
    }

    #[inline(always)]
    fn apply(&self, light: [f32; 3]) -> [f32; 3] {
        let x = [0, 1, 2].map(|c| self.gains[c] * self.curve(light[c]) - self.veil[c]);
        let m = &self.matrix;
        let mut out = [0, 1, 2].map(|k| x[0] * m[0][k] + x[1] * m[1][k] + x[2] * m[2][k]);
        if self.roots {
            let p = x.map(|v| v.max(0.0));
            let r = [(p[0] * p[1]).sqrt(), (p[1] * p[2]).sqrt(), (p[0] * p[2]).sqrt()];
            for k in 0..3 {
                out[k] += r[0] * m[3][k] + r[1] * m[4][k] + r[2] * m[5][k];
            }
        }
        out
    }
}

/// The whole picture in corrected light, at a reduced size.
#[derive(Debug, Clone)]
pub struct CorrectedImage {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Full-size pixels per pixel of this picture, 1 or more, both ways.
    pub factor: usize,
    /// X, Y, Z for D50, relative to the card's light, Y = 1 the perfect diffuser facing as the card does.
    pub xyz: Vec<[f32; 3]>,
    /// Linear light before correction, same size.
    pub light: Vec<[f32; 3]>,
    /// Where any channel of any pixel behind it stood at the top of the encoding.
    pub clipped: Vec<bool>,
}

impl CorrectedImage {
    /// Corrects a whole photograph, reduced by `factor` (1 or more; 0 is taken as 1).
    pub fn new(photo: &Photo, correction: &Correction, factor: usize) -> Self {
        let factor = factor.max(1);
        let reduced = photo.reduced(factor);
        let (width, height) = (reduced.width, reduced.height);
        let light: Vec<[f32; 3]> = reduced.pixels.into_iter().map(|p| p.0).collect();
        let prepared = correction.prepared();
        let mut xyz = vec![[0f32; 3]; light.len()];
        let row = width.max(1);
        xyz.par_chunks_mut(row).zip(light.par_chunks(row)).with_min_len(8).for_each(|(xyz, light)| {
            for (out, &l) in xyz.iter_mut().zip(light) {
                *out = prepared.apply(l);
            }
        });
        let clipped = photo.clipped_reduced(factor);
        Self { width, height, factor, xyz, light, clipped }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The fast form against the slow one, over darks, lights, beyond the white and below black.
    #[test]
    fn prepared_agrees_with_the_plain_form() {
        for kind in Kind::ALL {
            let mut correction = Correction::plain();
            let model = &mut correction.fitted;
            model.kind = kind;
            model.tone = Tone { power: 0.1, gain: [-0.3, -0.2, 0.0, 0.1, 0.15, 0.2, 0.4, 0.6] };
            model.gains = [1.2, 0.9, 1.6];
            model.veil = [0.004, 0.002, -0.003];
            model.base = 0.1;
            model.mix[0][1] = -0.2;
            model.mix[2][0] = 0.1;
            if kind.has_roots() {
                model.mix[4] = [0.1, -0.1, 0.05];
            }
            let fast = correction.prepared();
            for i in 0..4000u32 {
                // A fixed scatter of lights, more of them dark.
                let at = |k: u32| (i.wrapping_mul(2_654_435_761).rotate_left(k * 10) % 1000) as f32 / 1000.0;
                let light = [0, 1, 2].map(|k| at(k).powi(2) * 1.3 - 0.02);
                let slow = correction.apply(LinearRgb(light));
                let got = fast.apply(light);
                for (a, b) in got.iter().zip([slow.x, slow.y, slow.z]) {
                    assert!(
                        (f64::from(*a) - b).abs() < 2e-4 * (0.05 + b.abs()),
                        "{kind:?} {light:?}: {a} {b}"
                    );
                }
            }
        }
    }
}
