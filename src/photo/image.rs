//! Pixels: encoded as they came, read as linear light.

use crate::colour::LinearRgb;

/// A picture in linear light (sRGB primaries), row by row from the top left.
#[derive(Debug, Clone, Default)]
pub struct LinearImage {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `width * height` pixels.
    pub pixels: Vec<LinearRgb>,
}

/// EXIF exposure settings; each `None` where the file does not say.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Exposure {
    /// Exposure time in seconds.
    pub seconds: Option<f64>,
    /// Aperture number.
    pub f_number: Option<f64>,
    /// ISO speed.
    pub iso: Option<f64>,
}

/// What the file says of itself.
#[derive(Debug, Clone, Default)]
pub struct PhotoFacts {
    /// SHA-256 of the file's bytes, lower-case hexadecimal.
    pub sha256: String,
    /// Time as the camera wrote it, ISO 8601, with an offset only where the file holds one.
    pub taken: Option<String>,
    /// Exposure settings, `None` where the file has none at all.
    pub exposure: Option<Exposure>,
    /// Focal length for a 35 mm frame, in mm.
    pub focal_35mm: Option<f64>,
    /// The embedded profile's description, or `None`: sRGB was assumed (a warning says so).
    pub profile: Option<String>,
    /// Bits per channel as decoded, 8 or 16.
    pub bits: u8,
    /// Remarks on the file for the record's `warnings`: (code, text).
    pub remarks: Vec<(String, String)>,
}

/// A decoded photograph, upright. The encoded values are private: only linear light comes out.
#[derive(Debug)]
pub struct Photo {
    /// What the file says of itself.
    pub facts: PhotoFacts,
    width: usize,
    height: usize,
    // photo room: replace by encoded samples + curve + matrix
    light: Vec<LinearRgb>,
}

impl Photo {
    /// A photograph made in memory (tests, examples, other programs).
    pub fn from_linear(image: LinearImage) -> Self {
        Self {
            facts: PhotoFacts { bits: 16, ..PhotoFacts::default() },
            width: image.width,
            height: image.height,
            light: image.pixels,
        }
    }
    /// Columns of the upright picture.
    pub fn width(&self) -> usize {
        self.width
    }
    /// Rows of the upright picture.
    pub fn height(&self) -> usize {
        self.height
    }
    /// Linear light of one pixel; `x < width`, `y < height`.
    pub fn linear(&self, x: usize, y: usize) -> LinearRgb {
        self.light[y * self.width + x]
    }
    /// Whether any channel of the pixel stands at the top of the encoding (8 bit: 254 or more).
    pub fn is_clipped(&self, x: usize, y: usize) -> bool {
        self.linear(x, y).0.iter().any(|&v| v >= 0.99)
    }
    /// The picture reduced by a whole factor, each pixel the mean of `factor * factor` pixels in
    /// linear light (the last column and row may be means of fewer). `factor` 1 copies.
    pub fn reduced(&self, factor: usize) -> LinearImage {
        let (w, h) = (self.width.div_ceil(factor), self.height.div_ceil(factor));
        let mut pixels = Vec::with_capacity(w * h);
        for y in 0..h {
            for x in 0..w {
                let (mut sum, mut n) = ([0f64; 3], 0);
                for yy in y * factor..((y + 1) * factor).min(self.height) {
                    for xx in x * factor..((x + 1) * factor).min(self.width) {
                        let v = self.linear(xx, yy).0;
                        (0..3).for_each(|c| sum[c] += f64::from(v[c]));
                        n += 1;
                    }
                }
                pixels.push(LinearRgb(sum.map(|s| (s / f64::from(n)) as f32)));
            }
        }
        LinearImage { width: w, height: h, pixels }
    }
}
