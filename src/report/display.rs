//! Measured colour on a screen.

use crate::colour::{LabD50, XyzD50};

/// Encoded sRGB (IEC 61966-2-1) of XYZ for D50, clamped to what sRGB can show.
pub(super) fn srgb_of_xyz([x, y, z]: [f64; 3]) -> [u8; 3] {
    // Inverse of the sRGB matrix adapted to D50 by the Bradford method; rows R, G, B.
    const TO_RGB: [[f64; 3]; 3] = [
        [3.133_856_1, -1.616_866_7, -0.490_614_6],
        [-0.978_768_4, 1.916_141_5, 0.033_454_0],
        [0.071_945_3, -0.228_991_4, 1.405_242_7],
    ];
    TO_RGB.map(|[r, g, b]| {
        let linear = (r * x + g * y + b * z).clamp(0.0, 1.0);
        let encoded =
            if linear <= 0.003_130_8 { 12.92 * linear } else { 1.055 * linear.powf(1.0 / 2.4) - 0.055 };
        (encoded * 255.0).round() as u8
    })
}

/// The same of a CIELAB colour.
pub(super) fn srgb_of_lab(lab: [f64; 3]) -> [u8; 3] {
    let XyzD50 { x, y, z } = LabD50::from(lab).to_xyz();
    srgb_of_xyz([x, y, z])
}

/// `#rrggbb`.
pub(super) fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Bytes as an address that holds them.
pub(super) fn data_uri(kind: &str, bytes: &[u8]) -> String {
    use base64::Engine;
    format!("data:{kind};base64,{}", base64::engine::general_purpose::STANDARD.encode(bytes))
}
