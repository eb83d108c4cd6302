//! Pixels: encoded as they came, read as linear light.

use std::sync::Arc;

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
    /// Maker and model of the camera, as EXIF names them, with one blank between.
    pub camera: Option<String>,
    /// Whether the camera set its white balance by itself, as EXIF says.
    pub auto_white_balance: Option<bool>,
    /// The colour space the file names: its embedded profile's description, or the space that a
    /// PNG chunk or EXIF names. `None`: sRGB was assumed (a remark says so).
    pub profile: Option<String>,
    /// Bits per channel as decoded, 8 or 16.
    pub bits: u8,
    /// Remarks on the file for the record's `warnings`: (code, text). Codes: `no-profile`,
    /// `bad-profile`, `wide-gamut-profile`, `gain-map`, `bad-exif`, `grey`, `transparent`, `more-pages`.
    pub remarks: Vec<(String, String)>,
}

/// One encoded channel value, 8 or 16 bit.
pub(super) trait Code: Copy + Send + Sync + 'static {
    /// Linear light of every code value.
    type Table: Send + Sync;
    /// Linear light of this value.
    fn light(self, table: &Self::Table) -> f32;
    /// Whether the value stands at the top of the encoding.
    fn is_top(self) -> bool;
}

/// Lowest 8-bit value that counts as clipped: the last but one, as decoders and sharpening move
/// the top by one.
const TOP_8: u8 = 254;
/// The same level at 16 bit.
const TOP_16: u16 = TOP_8 as u16 * 257;

impl Code for u8 {
    type Table = [f32; 256];
    #[inline(always)]
    fn light(self, table: &Self::Table) -> f32 {
        table[usize::from(self)]
    }
    #[inline(always)]
    fn is_top(self) -> bool {
        self >= TOP_8
    }
}

impl Code for u16 {
    type Table = [f32; 65536];
    #[inline(always)]
    fn light(self, table: &Self::Table) -> f32 {
        table[usize::from(self)]
    }
    #[inline(always)]
    fn is_top(self) -> bool {
        self >= TOP_16
    }
}

/// Encoded samples, one or three a pixel, with the curve of each channel.
pub(super) struct Coded<C: Code> {
    /// `width * height * channels` values.
    pub codes: Vec<C>,
    /// Linear light of each code value, per channel; often one table shared.
    pub curves: [Arc<C::Table>; 3],
}

/// The pixels as they are kept: 3 bytes a pixel for an 8-bit photograph.
pub(super) enum Pixels {
    Eight(Coded<u8>),
    Sixteen(Coded<u16>),
    /// Made in memory.
    Light(Vec<LinearRgb>),
}

/// A decoded photograph, upright. The encoded values are private: only linear light comes out.
pub struct Photo {
    /// What the file says of itself.
    pub facts: PhotoFacts,
    pub(super) width: usize,
    pub(super) height: usize,
    /// 1 (grey) or 3.
    pub(super) channels: usize,
    pub(super) pixels: Pixels,
    /// From the file's linear primaries to sRGB's; `None` is the identity.
    pub(super) matrix: Option<[[f32; 3]; 3]>,
}

impl Photo {
    /// A photograph made in memory (tests, examples, other programs).
    /// Channels at 0.99 and above count as clipped.
    pub fn from_linear(image: LinearImage) -> Self {
        Self {
            facts: PhotoFacts { bits: 16, ..PhotoFacts::default() },
            width: image.width,
            height: image.height,
            channels: 3,
            pixels: Pixels::Light(image.pixels),
            matrix: None,
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
    #[inline]
    pub fn linear(&self, x: usize, y: usize) -> LinearRgb {
        let at = y * self.width + x;
        match &self.pixels {
            Pixels::Eight(coded) => self.to_srgb_primaries(coded.light(at, self.channels)),
            Pixels::Sixteen(coded) => self.to_srgb_primaries(coded.light(at, self.channels)),
            Pixels::Light(light) => light[at],
        }
    }

    /// Linear light between pixels, straight from centre to centre (they lie at halves), held at the border;
    /// `None` outside the picture.
    pub fn between(&self, [x, y]: [f64; 2]) -> Option<[f64; 3]> {
        let (w, h) = (self.width as f64, self.height as f64);
        if !(x >= 0.0 && y >= 0.0 && x < w && y < h) {
            return None;
        }
        let (x, y) = ((x - 0.5).clamp(0.0, w - 1.0), (y - 0.5).clamp(0.0, h - 1.0));
        let (x0, y0) = (x as usize, y as usize);
        let (x1, y1) = ((x0 + 1).min(self.width - 1), (y0 + 1).min(self.height - 1));
        let (fx, fy) = (x - x0 as f64, y - y0 as f64);
        let p = |x: usize, y: usize| self.linear(x, y).0.map(f64::from);
        let (a, b, c, d) = (p(x0, y0), p(x1, y0), p(x0, y1), p(x1, y1));
        Some([0, 1, 2].map(|k| (a[k] + (b[k] - a[k]) * fx) * (1.0 - fy) + (c[k] + (d[k] - c[k]) * fx) * fy))
    }

    /// Whether any channel of the pixel stands at the top of the encoding: 254 or more of 8 bit,
    /// 65278 (254 * 257) or more of 16 bit.
    #[inline]
    pub fn is_clipped(&self, x: usize, y: usize) -> bool {
        let at = y * self.width + x;
        match &self.pixels {
            Pixels::Eight(coded) => coded.is_top(at, self.channels),
            Pixels::Sixteen(coded) => coded.is_top(at, self.channels),
            Pixels::Light(light) => is_light_top(light[at]),
        }
    }

    /// How many channels of the pixel stand at the top of the encoding, 0 to 3, as in
    /// [`Photo::is_clipped`]; 3 for a grey picture that does.
    pub fn clipped_channels(&self, x: usize, y: usize) -> usize {
        let at = y * self.width + x;
        match &self.pixels {
            Pixels::Eight(coded) => coded.tops(at, self.channels),
            Pixels::Sixteen(coded) => coded.tops(at, self.channels),
            Pixels::Light(light) => light[at].0.iter().filter(|&&v| v >= LIGHT_TOP).count(),
        }
    }

    /// Applies the matrix of the file's primaries; never clamps.
    #[inline(always)]
    pub(super) fn to_srgb_primaries(&self, light: LinearRgb) -> LinearRgb {
        match &self.matrix {
            None => light,
            Some(m) => {
                LinearRgb(m.map(|row| row[0] * light.0[0] + row[1] * light.0[1] + row[2] * light.0[2]))
            }
        }
    }
}

impl std::fmt::Debug for Photo {
    /// Size and facts; not the millions of pixels.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let size = (self.width, self.height);
        f.debug_struct("Photo").field("size", &size).field("facts", &self.facts).finish_non_exhaustive()
    }
}

/// Top of light made in memory.
const LIGHT_TOP: f32 = 0.99;

/// Whether light made in memory stands at its top.
pub(super) fn is_light_top(light: LinearRgb) -> bool {
    light.0.iter().any(|&v| v >= LIGHT_TOP)
}

impl<C: Code> Coded<C> {
    #[inline(always)]
    fn light(&self, at: usize, channels: usize) -> LinearRgb {
        let codes = &self.codes[at * channels..(at + 1) * channels];
        match *codes {
            [r, g, b] => {
                LinearRgb([r.light(&self.curves[0]), g.light(&self.curves[1]), b.light(&self.curves[2])])
            }
            _ => LinearRgb([codes[0].light(&self.curves[0]); 3]),
        }
    }

    #[inline(always)]
    fn is_top(&self, at: usize, channels: usize) -> bool {
        self.codes[at * channels..(at + 1) * channels].iter().any(|c| c.is_top())
    }

    fn tops(&self, at: usize, channels: usize) -> usize {
        let codes = &self.codes[at * channels..(at + 1) * channels];
        codes.iter().filter(|c| c.is_top()).count() * 3 / channels.max(1)
    }
}
