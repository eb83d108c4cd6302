//! Linear light to 8-bit sRGB, for looking at.

use rayon::prelude::*;

use super::LinearImage;

/// Steps of the table that guesses a code value.
const STEPS: usize = 4096;

/// Encodes linear light as sRGB (IEC 61966-2-1) at 8 bit, clamped, each value the nearest code.
pub(super) fn srgb8(picture: &LinearImage) -> image::RgbImage {
    let encoder = Encoder::new();
    let mut bytes = vec![0u8; picture.pixels.len() * 3];
    let (chunks, _) = bytes.as_chunks_mut::<3>();
    chunks.par_iter_mut().with_min_len(4096).zip(&picture.pixels).for_each(|(out, light)| {
        *out = light.0.map(|value| encoder.code(value));
    });
    let (width, height) = (picture.width as u32, picture.height as u32);
    image::RgbImage::from_raw(width, height, bytes).unwrap_or_default()
}

/// Finds the code value by a table and the exact borders between codes: no power per pixel.
struct Encoder {
    /// Least light of each code 1..=255 (light of code value minus one half), then infinity.
    borders: [f32; 256],
    /// The code at the start of each step of light.
    guess: Vec<u8>,
}

impl Encoder {
    fn new() -> Self {
        let mut borders = [f32::INFINITY; 256];
        for (code, border) in borders.iter_mut().enumerate().take(255) {
            *border = srgb_to_linear((code as f64 + 0.5) / 255.0) as f32;
        }
        let mut guess = Vec::with_capacity(STEPS);
        let mut code = 0u8;
        for step in 0..STEPS {
            while borders[usize::from(code)] <= step as f32 / STEPS as f32 {
                code += 1;
            }
            guess.push(code);
        }
        Self { borders, guess }
    }

    fn code(&self, light: f32) -> u8 {
        // A NaN becomes 0 by the cast.
        let step = ((light * STEPS as f32) as u32 as usize).min(STEPS - 1);
        let mut code = self.guess[step];
        while light >= self.borders[usize::from(code)] {
            code += 1;
        }
        code
    }
}

/// IEC 61966-2-1, equations 5 and 6 with the threshold 0.04045: encoded 0..1 to linear 0..1.
pub(super) fn srgb_to_linear(encoded: f64) -> f64 {
    if encoded <= 0.04045 { encoded / 12.92 } else { ((encoded + 0.055) / 1.055).powf(2.4) }
}
