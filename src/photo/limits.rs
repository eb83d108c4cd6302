//! How large a photograph may be. Checked on headers, before any pixel is allocated.

use super::PhotoError;

/// Bounds on what is read. A file outside them is refused, never scaled in silence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Largest file in bytes.
    pub max_file_bytes: u64,
    /// Most pixels (columns times rows).
    pub max_pixels: u64,
    /// Longest side in pixels.
    pub max_side: u32,
    /// Shortest side in pixels. Below the default of 64 the six columns of a card that fills half
    /// the frame are five pixels wide each: too few to sample.
    pub min_side: u32,
}

impl Default for Limits {
    /// 512 MiB, 150 million pixels, 50,000 px and 64 px. 150 million pixels of 8-bit RGB are 450 MB.
    fn default() -> Self {
        Self { max_file_bytes: 512 << 20, max_pixels: 150_000_000, max_side: 50_000, min_side: 64 }
    }
}

impl Limits {
    /// Accepts or refuses a picture of `width` times `height` pixels.
    pub(super) fn check_size(&self, width: u32, height: u32) -> Result<(), PhotoError> {
        if width.min(height) < self.min_side {
            return Err(PhotoError::TooSmall { width, height, min_side: self.min_side });
        }
        if u64::from(width) * u64::from(height) > self.max_pixels || width.max(height) > self.max_side {
            return Err(PhotoError::TooManyPixels {
                width,
                height,
                max_pixels: self.max_pixels,
                max_side: self.max_side,
            });
        }
        Ok(())
    }
}
