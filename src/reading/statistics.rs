//! Sums over the pixels of each surface, in `f64`, in a fixed order of rows.

use super::inner::{Depth, Inner};
use super::tally::Tally;
use crate::card::CorrectedImage;
use crate::colour::XyzD50;
use crate::surface::{Label, Piece, SurfaceMap};
use rayon::prelude::*;

/// Everything summed over one piece.
pub(super) struct PieceSums {
    /// By label number.
    pub tallies: Vec<Tally>,
    /// Map pixels of the piece.
    pub area: usize,
    /// Map pixels of the piece that the file or the pictures cannot hold.
    pub beyond: Beyond,
    /// 5th and 95th percentile of the relative light over measured places.
    pub light_range: [f64; 2],
    /// The inner part of the piece.
    pub inner: Inner,
}

/// Map pixels beyond what can be held, each in one of them at most.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Beyond {
    /// At the top of the encoding and not glare.
    pub clipped: usize,
    /// At its bottom in all channels and not deep shade.
    pub crushed: usize,
    /// Neither, nor glare, and outside sRGB after correction.
    pub out_of_gamut: usize,
}

impl Beyond {
    fn add(&mut self, other: Self) {
        self.clipped += other.clipped;
        self.crushed += other.crushed;
        self.out_of_gamut += other.out_of_gamut;
    }
}

/// Light of an 8-bit code between 1 and 2 (IEC 61966-2-1): below it a channel holds nothing but 0 and 1.
const BOTTOM: f32 = (1.5 / 255.0 / 12.92) as f32;
/// How far linear sRGB may lie outside 0 to 1: noise in the dark and rounding do that much.
const GAMUT_SLACK: f32 = 0.005;

/// XYZ for D50 to linear sRGB, in `f32` for many pixels.
struct ToSrgb([[f32; 3]; 3]);

impl ToSrgb {
    fn new() -> Self {
        let column = |x, y, z| XyzD50 { x, y, z }.to_linear_rgb().0;
        let (x, y, z) = (column(1.0, 0.0, 0.0), column(0.0, 1.0, 0.0), column(0.0, 0.0, 1.0));
        Self([0, 1, 2].map(|c| [x[c], y[c], z[c]]))
    }

    fn is_outside(&self, xyz: [f32; 3]) -> bool {
        self.0.iter().any(|row| {
            let value = row[0] * xyz[0] + row[1] * xyz[1] + row[2] * xyz[2];
            !(-GAMUT_SLACK..=1.0 + GAMUT_SLACK).contains(&value)
        })
    }
}

/// Sums one piece (its number as in `piece_of`).
pub(super) fn sum_piece(image: &CorrectedImage, map: &SurfaceMap, piece: &Piece, number: u8) -> PieceSums {
    let [x0, y0, x1, y1] = piece.bounds;
    let inner = Inner::new(map, piece.bounds);
    // Bands of rows: enough work each for a thread, few enough to keep the histograms small.
    const BAND: usize = 64;
    let to_srgb = ToSrgb::new();
    let bands: Vec<(Vec<Tally>, Beyond, Vec<u32>)> = (y0..y1)
        .step_by(BAND)
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|top| sum_band(image, map, &inner, &to_srgb, number, [x0, top, x1, (top + BAND).min(y1)]))
        .collect();
    let mut tallies = vec![Tally::new(); Label::ALL.len()];
    let (mut beyond, mut light) = (Beyond::default(), vec![0u32; LIGHT_STEPS]);
    for (band, band_beyond, band_light) in &bands {
        tallies.iter_mut().zip(band).for_each(|(sum, part)| sum.add(part));
        light.iter_mut().zip(band_light).for_each(|(sum, part)| *sum += part);
        beyond.add(*band_beyond);
    }
    PieceSums {
        area: tallies.iter().map(|t| t.area).sum(),
        tallies,
        beyond,
        light_range: [light_quantile(&light, 0.05), light_quantile(&light, 0.95)],
        inner,
    }
}

/// Steps of the light histogram, 0.01 each, 0 to 2.
const LIGHT_STEPS: usize = 200;

fn light_quantile(histogram: &[u32], share: f64) -> f64 {
    let n: u64 = histogram.iter().map(|&c| u64::from(c)).sum();
    let mut seen = 0u64;
    for (i, &count) in histogram.iter().enumerate() {
        seen += u64::from(count);
        if n > 0 && seen as f64 >= share * n as f64 {
            return (i as f64 + 0.5) / 100.0;
        }
    }
    1.0
}

fn sum_band(
    image: &CorrectedImage,
    map: &SurfaceMap,
    inner: &Inner,
    to_srgb: &ToSrgb,
    number: u8,
    [x0, y0, x1, y1]: [usize; 4],
) -> (Vec<Tally>, Beyond, Vec<u32>) {
    let mut tallies = vec![Tally::new(); Label::ALL.len()];
    let (mut beyond, mut light) = (Beyond::default(), vec![0u32; LIGHT_STEPS]);
    for y in y0..y1 {
        for x in x0..x1 {
            let at = y * map.width + x;
            if map.piece_of[at] != number {
                continue;
            }
            let label = map.labels[at];
            let tally = &mut tallies[label as usize];
            tally.area += 1;
            if image.clipped[at] {
                beyond.clipped += usize::from(label != Label::Glare);
                continue;
            }
            if image.light[at].iter().all(|&v| v <= BOTTOM) {
                beyond.crushed += usize::from(label != Label::Shade);
            } else if label != Label::Glare && to_srgb.is_outside(image.xyz[at]) {
                beyond.out_of_gamut += 1;
            }
            let shade = map.light[at].max(0.02);
            let (depth, xyz) = (inner.depth(x, y), image.xyz[at].map(f64::from));
            tally.take_sums(xyz, image.light[at], f64::from(shade), depth);
            let has_colour =
                matches!(label, Label::White | Label::Red | Label::Black | Label::Body | Label::Smudged);
            if depth > Depth::Edge && has_colour {
                let step = (shade * 100.0) as usize;
                light[step.min(LIGHT_STEPS - 1)] += 1;
                tally.take_spread(xyz, f64::from(shade));
            }
        }
    }
    (tallies, beyond, light)
}
