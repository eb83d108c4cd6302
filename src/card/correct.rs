//! From linear light to XYZ for D50, relative to the light on the card.

use crate::colour::{LabD50, LinearRgb, XyzD50};

/// A fitted colour correction.
#[derive(Debug, Clone)]
pub struct Correction {
    /// Name of the model, as in the record.
    pub model: String,
    // card room: coefficients and what is needed for the uncertainty
}

impl Correction {
    /// XYZ of a surface that lies in the card's light. Y = 1 is the perfect diffuser. Unclamped.
    pub fn apply(&self, light: LinearRgb) -> XyzD50 {
        let [x, y, z] = light.0.map(f64::from);
        XyzD50 { x, y, z }
    }
    /// Half-widths of the 95 % interval of L*, a*, b* near this colour, from held-out residuals
    /// of the patches near it. The parts by name are in the reading.
    pub fn u95(&self, _near: LabD50) -> [f64; 3] {
        [f64::NAN; 3]
    }
    /// How far L*, a*, b* of a corrected colour may lie off for an unknown edition.
    pub fn edition_shift(&self, _xyz: XyzD50) -> [f64; 3] {
        [0.0; 3]
    }
    /// How far L*, a*, b* may lie off because the card's edition is not known; zero when it is.
    pub fn edition_u95(&self, _light: LinearRgb) -> [f64; 3] {
        [0.0; 3]
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
