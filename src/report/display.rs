//! Measured colour on a screen, and pictures inside a text.

use crate::colour::{LabD50, LinearRgb, XyzD50};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::sync::LazyLock;

/// Code values of the sRGB curve for linear light in steps of 1/65535: at its steepest, near
/// black, a step is a twentieth of a code.
static CODES: LazyLock<Vec<u8>> = LazyLock::new(|| {
    (0..=u16::MAX)
        .map(|step| LinearRgb([f32::from(step) / 65535.0; 3]).to_encoded_clamped().to_u8()[0])
        .collect()
});

/// Encoded sRGB of XYZ for D50, clamped to what sRGB can show.
pub(super) fn srgb_of_xyz([x, y, z]: [f64; 3]) -> [u8; 3] {
    // The cast takes what is below 0, and what is no number, to 0.
    let step = |light: f32| (light.min(1.0) * 65535.0 + 0.5) as usize;
    XyzD50 { x, y, z }.to_linear_rgb().0.map(|light| CODES[step(light)])
}

/// `#rrggbb` of a CIELAB colour.
pub(super) fn hex_of_lab(lab: [f64; 3]) -> String {
    hex(LabD50::from(lab).to_swatch_u8())
}

/// Whether sRGB can show a CIELAB colour: no channel is moved by more than half a step of 8 bits.
pub(super) fn is_shown(lab: [f64; 3]) -> bool {
    let light = LabD50::from(lab).to_xyz().to_linear_rgb();
    let (whole, cut) = (light.to_encoded_unclamped().0, light.to_encoded_clamped().0);
    whole.iter().zip(cut).all(|(whole, cut)| (whole - cut).abs() <= 0.5 / 255.0)
}

/// `#rrggbb`.
pub(super) fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Bytes as an address that holds them.
pub(super) fn data_uri(kind: &str, bytes: &[u8]) -> String {
    format!("data:{kind};base64,{}", STANDARD.encode(bytes))
}
