//! A small picture at a glance: for finding things, not for measuring.

use rayon::prelude::*;

use super::image::{Code, Coded, Photo, Pixels};
use crate::colour::LinearRgb;

/// A reduced picture in root-encoded light: `255 * sqrt(light)`, clamped, steps that noise and eye see
/// about alike.
#[derive(Debug, Clone, Default)]
pub(crate) struct Glance {
    pub width: usize,
    pub height: usize,
    pub pixels: Vec<[u8; 3]>,
}

/// Factors above which sums of codes could leave their type; such reductions take the slow way.
const MOST: usize = 128;

impl Photo {
    /// The picture reduced by a whole factor. Of 8-bit files the code values are averaged, not their
    /// light: four times as fast, and edges stay where they are; a place of mixed brightness comes out
    /// darker than it is, so nothing may be measured here.
    pub(crate) fn glance(&self, factor: usize) -> Glance {
        let factor = factor.max(1);
        let (width, height) = (self.width.div_ceil(factor), self.height.div_ceil(factor));
        let pixels = match &self.pixels {
            Pixels::Eight(coded) if factor <= MOST => self.mean_codes(coded, factor, width, height),
            _ => self.reduced(factor).pixels.into_par_iter().map(root_encoded).collect(),
        };
        Glance { width, height, pixels }
    }

    fn mean_codes(&self, coded: &Coded<u8>, factor: usize, width: usize, height: usize) -> Vec<[u8; 3]> {
        let tables: [[u8; 256]; 3] = std::array::from_fn(|c| {
            std::array::from_fn(|code| root_encoded(LinearRgb([(code as u8).light(&coded.curves[c]); 3]))[0])
        });
        let stride = self.width * self.channels;
        let mut pixels = vec![[0u8; 3]; width * height];
        pixels.par_chunks_mut(width.max(1)).with_min_len(8).enumerate().for_each_init(
            || vec![0u16; stride],
            |sums, (y, row)| {
                sums.fill(0);
                let rows = y * factor..((y + 1) * factor).min(self.height);
                let count = rows.len();
                for source in coded.codes[rows.start * stride..rows.end * stride].chunks_exact(stride) {
                    for (sum, &code) in sums.iter_mut().zip(source) {
                        *sum += u16::from(code);
                    }
                }
                for (block, pixel) in sums.chunks(factor * self.channels).zip(row) {
                    let codes = mean_of_block(block, self.channels, count);
                    *pixel = match self.matrix {
                        None => [0, 1, 2].map(|c| tables[c][usize::from(codes[c])]),
                        Some(_) => root_encoded(self.to_srgb_primaries(LinearRgb(
                            [0, 1, 2].map(|c| codes[c].light(&coded.curves[c])),
                        ))),
                    };
                }
            },
        );
        pixels
    }
}

/// Mean code of each channel over a block whose columns are summed already.
#[inline]
fn mean_of_block(block: &[u16], channels: usize, rows: usize) -> [u8; 3] {
    let mut sums = [0u32; 3];
    if channels == 3 {
        for pixel in block.as_chunks::<3>().0 {
            (0..3).for_each(|c| sums[c] += u32::from(pixel[c]));
        }
    } else {
        sums = [block.iter().map(|&v| u32::from(v)).sum(); 3];
    }
    let count = (block.len() / channels * rows).max(1) as u32;
    sums.map(|sum| ((sum + count / 2) / count) as u8)
}

fn root_encoded(light: LinearRgb) -> [u8; 3] {
    light.0.map(|v| (v.max(0.0).sqrt() * 255.0 + 0.5).min(255.0) as u8)
}
