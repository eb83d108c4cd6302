//! Encoded sRGB, kept apart from linear light by its type.

use super::constants::{SRGB_GAMMA, SRGB_KNEE_ENCODED, SRGB_KNEE_LINEAR, SRGB_OFFSET, SRGB_SLOPE};
use super::{LabD50, LinearRgb};

/// sRGB as files and screens hold it (IEC 61966-2-1:1999), 0..1 a channel. Not light: do not average it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EncodedSrgb(pub [f32; 3]);

impl EncodedSrgb {
    /// From 8 bit code values, 255 being 1.0.
    pub fn from_u8(codes: [u8; 3]) -> Self {
        Self(codes.map(|code| (f64::from(code) / 255.0) as f32))
    }

    /// Nearest 8 bit code values. Values outside 0..1 are clamped, NaN becomes 0.
    pub fn to_u8(self) -> [u8; 3] {
        // The cast saturates, so no clamp is needed.
        self.0.map(|v| (f64::from(v) * 255.0).round() as u8)
    }

    /// Linear light, IEC 61966-2-1:1999 eq. 5. Values outside 0..1 are kept: the curve goes on
    /// above 1 and is mirrored below 0 (the extended range of IEC 61966-2-1 amendment 1:2003, annex F).
    pub fn to_linear_unclamped(self) -> LinearRgb {
        LinearRgb(self.0.map(|v| decode(f64::from(v)) as f32))
    }

    /// Linear light within 0..1: values outside are clamped first.
    pub fn to_linear_clamped(self) -> LinearRgb {
        Self(self.0.map(|v| v.clamp(0.0, 1.0))).to_linear_unclamped()
    }
}

impl LinearRgb {
    /// Encoded sRGB within 0..1: light outside the gamut is clamped a channel.
    pub fn to_encoded_clamped(self) -> EncodedSrgb {
        LinearRgb(self.0.map(|v| v.clamp(0.0, 1.0))).to_encoded_unclamped()
    }

    /// Encoded sRGB with nothing lost: values outside 0..1 stay there, the inverse of
    /// [`EncodedSrgb::to_linear_unclamped`].
    pub fn to_encoded_unclamped(self) -> EncodedSrgb {
        EncodedSrgb(self.0.map(|v| encode(f64::from(v)) as f32))
    }
}

impl LabD50 {
    /// 8 bit sRGB to show this colour on a screen, clamped to the gamut. For swatches only.
    pub fn to_swatch_u8(self) -> [u8; 3] {
        self.to_xyz().to_linear_rgb().to_encoded_clamped().to_u8()
    }
}

/// Encoded to linear, IEC 61966-2-1:1999 eq. 5, odd about 0.
fn decode(v: f64) -> f64 {
    let size = v.abs();
    let linear = if size <= SRGB_KNEE_ENCODED {
        size / SRGB_SLOPE
    } else {
        ((size + SRGB_OFFSET) / (1.0 + SRGB_OFFSET)).powf(SRGB_GAMMA)
    };
    linear.copysign(v)
}

/// Linear to encoded, IEC 61966-2-1:1999 eq. 8, odd about 0.
fn encode(v: f64) -> f64 {
    let size = v.abs();
    let encoded = if size <= SRGB_KNEE_LINEAR {
        size * SRGB_SLOPE
    } else {
        (1.0 + SRGB_OFFSET) * size.powf(1.0 / SRGB_GAMMA) - SRGB_OFFSET
    };
    encoded.copysign(v)
}
