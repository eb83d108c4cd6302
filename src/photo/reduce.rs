//! Smaller pictures: means in linear light over whole blocks of pixels.

use rayon::prelude::*;

use super::image::{Code, Coded, LinearImage, Photo, Pixels, is_light_top};
use super::preview;
use crate::colour::LinearRgb;

impl Photo {
    /// The picture reduced by a whole factor, each pixel the mean of `factor * factor` pixels in
    /// linear light (the last column and row may be means of fewer). `factor` 1 copies, 0 counts as 1.
    /// Each mean is summed in one fixed order, so the result does not depend on the threads.
    pub fn reduced(&self, factor: usize) -> LinearImage {
        let factor = factor.max(1);
        let (width, height) = (self.width.div_ceil(factor), self.height.div_ceil(factor));
        let pixels = match &self.pixels {
            Pixels::Eight(coded) => self.means(factor, |rows, row| coded.add_rows(self, factor, rows, row)),
            Pixels::Sixteen(coded) => self.means(factor, |rows, row| coded.add_rows(self, factor, rows, row)),
            Pixels::Light(light) => self.means(factor, |rows, row| {
                for source in light[rows.start * self.width..rows.end * self.width].chunks(self.width) {
                    add_row(factor, source, row, |&pixel| pixel.0);
                }
            }),
        };
        LinearImage { width, height, pixels }
    }

    /// For each pixel of [`Photo::reduced`], whether any pixel behind it is clipped
    /// ([`Photo::is_clipped`]). Row by row, `ceil(width/factor) * ceil(height/factor)` values.
    pub fn clipped_reduced(&self, factor: usize) -> Vec<bool> {
        let factor = factor.max(1);
        match &self.pixels {
            Pixels::Eight(coded) => self.any_in_blocks(factor, &coded.codes, self.channels, |c| c.is_top()),
            Pixels::Sixteen(coded) => self.any_in_blocks(factor, &coded.codes, self.channels, |c| c.is_top()),
            Pixels::Light(light) => self.any_in_blocks(factor, light, 1, |&pixel| is_light_top(pixel)),
        }
    }

    /// The picture for people to look at: upright, reduced in linear light, through its own profile
    /// to sRGB at 8 bit (IEC 61966-2-1). Light outside 0..1 is clamped. Not for measuring.
    pub fn to_srgb8(&self, factor: usize) -> image::RgbImage {
        preview::srgb8(&self.reduced(factor))
    }

    /// Runs `add` over every block row and divides by the pixels of each block.
    fn means<F>(&self, factor: usize, add: F) -> Vec<LinearRgb>
    where
        F: Fn(std::ops::Range<usize>, &mut [[f32; 3]]) + Sync,
    {
        let (width, height) = (self.width.div_ceil(factor), self.height.div_ceil(factor));
        // Zeroed arrays come from the system untouched; the wrapping below is done in place.
        let mut pixels = vec![[0.0f32; 3]; width * height];
        pixels.par_chunks_mut(width.max(1)).with_min_len(8).enumerate().for_each(|(y, row)| {
            let rows = y * factor..((y + 1) * factor).min(self.height);
            let count = rows.len();
            add(rows, row);
            let last = row.len().saturating_sub(1);
            for (x, pixel) in row.iter_mut().enumerate() {
                let columns = if x == last { self.width - x * factor } else { factor };
                let share = 1.0 / (count * columns) as f32;
                *pixel = self.to_srgb_primaries(LinearRgb(pixel.map(|sum| sum * share))).0;
            }
        });
        pixels.into_iter().map(LinearRgb).collect()
    }

    /// Whether `top` holds for any value of each block. `stride` values make a pixel.
    fn any_in_blocks<T: Sync>(
        &self,
        factor: usize,
        values: &[T],
        stride: usize,
        top: impl Fn(&T) -> bool + Sync,
    ) -> Vec<bool> {
        let (width, height) = (self.width.div_ceil(factor), self.height.div_ceil(factor));
        let mut any = vec![false; width * height];
        any.par_chunks_mut(width.max(1)).with_min_len(8).enumerate().for_each(|(y, row)| {
            for source_y in y * factor..((y + 1) * factor).min(self.height) {
                let source = &values[source_y * self.width * stride..(source_y + 1) * self.width * stride];
                // Most rows hold no clipped value: one quick look without branches saves the blocks.
                if !source.iter().fold(false, |found, value| found | top(value)) {
                    continue;
                }
                for (flag, block) in row.iter_mut().zip(source.chunks(stride * factor)) {
                    *flag |= block.iter().any(&top);
                }
            }
        });
        any
    }
}

impl<C: Code> Coded<C> {
    /// Adds the light of whole source rows to one row of blocks.
    fn add_rows(&self, photo: &Photo, factor: usize, rows: std::ops::Range<usize>, row: &mut [[f32; 3]]) {
        let [red, green, blue] = [&*self.curves[0], &*self.curves[1], &*self.curves[2]];
        let stride = photo.width * photo.channels;
        for source in self.codes[rows.start * stride..rows.end * stride].chunks(stride) {
            if photo.channels == 3 {
                let (pixels, _) = source.as_chunks::<3>();
                add_row(factor, pixels, row, |&[r, g, b]| [r.light(red), g.light(green), b.light(blue)]);
            } else {
                add_row(factor, source, row, |grey| [grey.light(red); 3]);
            }
        }
    }
}

/// Adds one source row to a row of blocks. The usual factors get loops of known length.
#[inline(always)]
fn add_row<P>(factor: usize, source: &[P], row: &mut [[f32; 3]], light: impl Fn(&P) -> [f32; 3] + Copy) {
    match factor {
        1 => add_blocks(1, source, row, light),
        2 => add_blocks(2, source, row, light),
        3 => add_blocks(3, source, row, light),
        4 => add_blocks(4, source, row, light),
        _ => add_blocks(factor, source, row, light),
    }
}

#[inline(always)]
fn add_blocks<P>(factor: usize, source: &[P], row: &mut [[f32; 3]], light: impl Fn(&P) -> [f32; 3] + Copy) {
    let add = |block: &[P], pixel: &mut [f32; 3]| {
        // At most `factor` values in one f32 sum, then at most `factor` such sums.
        let mut sum = [0.0f32; 3];
        for value in block {
            let value = light(value);
            (0..3).for_each(|c| sum[c] += value[c]);
        }
        (0..3).for_each(|c| pixel[c] += sum[c]);
    };
    let blocks = source.chunks_exact(factor);
    let rest = blocks.remainder();
    if let (false, Some(last)) = (rest.is_empty(), row.last_mut()) {
        add(rest, last);
    }
    for (block, pixel) in blocks.zip(row) {
        add(block, pixel);
    }
}
