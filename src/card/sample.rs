//! What the patches show: robust centre and spread of the inner half of each, at full size.

use super::geometry::Grid;
use crate::photo::Photo;

/// One patch before any correction.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct PatchLight {
    pub centre_px: [f64; 2],
    /// Mean of the middle half of the values of each channel, linear light.
    pub light: [f64; 3],
    /// Spread of the green channel over the patch, relative to its centre: the distance of its
    /// quartiles.
    pub spread: f64,
    /// Share of the pixels with a channel at the top of the encoding.
    pub high: f64,
    /// Share of the pixels with two channels or more at the top.
    pub high_two: f64,
    /// Share of the pixels with a channel at the bottom.
    pub low: f64,
    /// Pixels looked at; 0 where the patch lies outside the picture.
    pub count: usize,
}

/// Below this a channel of an 8-bit file holds nothing but 0 and 1 (sRGB curve, IEC 61966-2-1).
const BOTTOM: f32 = (1.5 / 255.0 / 12.92) as f32;
/// Pixels read across a patch, at most.
const ACROSS: f64 = 40.0;

/// Samples every patch of a grid.
pub(crate) fn sample(photo: &Photo, grid: &Grid) -> Vec<PatchLight> {
    (0..grid.rows * grid.columns).map(|index| sample_patch(photo, grid, index)).collect()
}

fn sample_patch(photo: &Photo, grid: &Grid, index: usize) -> PatchLight {
    let [u, v] = grid.centre(index);
    let centre_px = grid.to_px.apply([u, v]);
    let side = (grid.tall * grid.to_px.area([u, v]).abs()).sqrt();
    // The inner half of the side, on a lattice no finer than the pixels.
    let across = (side * 0.5).clamp(4.0, ACROSS) as usize;
    let mut values: [Vec<f32>; 3] = Default::default();
    let (mut high, mut high_two, mut low) = (0usize, 0usize, 0usize);
    for j in 0..across {
        for i in 0..across {
            let at = |k: usize| (k as f64 + 0.5) / across as f64 * 0.5 - 0.25;
            let [x, y] = grid.to_px.apply([u + at(i), v + grid.tall * at(j)]);
            if !(x >= 0.0 && y >= 0.0 && x < photo.width() as f64 && y < photo.height() as f64) {
                continue;
            }
            let (x, y) = (x as usize, y as usize);
            let light = photo.linear(x, y).0;
            (0..3).for_each(|c| values[c].push(light[c]));
            let clipped = photo.clipped_channels(x, y);
            high += usize::from(clipped > 0);
            high_two += usize::from(clipped > 1);
            low += usize::from(light.iter().any(|&v| v <= BOTTOM));
        }
    }
    let count = values[0].len();
    if count * 2 < across * across {
        return PatchLight { centre_px, ..PatchLight::default() };
    }
    let quarter = count / 4;
    let mut range = 0.0;
    let light = std::array::from_fn(|c| {
        let (middle, quartiles) = middle_half(&mut values[c], quarter);
        if c == 1 {
            range = f64::from(quartiles[1] - quartiles[0]);
        }
        middle.iter().map(|&v| f64::from(v)).sum::<f64>() / middle.len() as f64
    });
    PatchLight {
        centre_px,
        light,
        spread: range / f64::max(light[1], 1e-3),
        high: high as f64 / count as f64,
        high_two: high_two as f64 / count as f64,
        low: low as f64 / count as f64,
        count,
    }
}

/// The values without the lowest and the highest quarter, and the lowest and highest of them.
fn middle_half(values: &mut [f32], quarter: usize) -> (&[f32], [f32; 2]) {
    let last = values.len() - 1 - quarter;
    let (_, &mut low, _) = values.select_nth_unstable_by(quarter, f32::total_cmp);
    let (_, &mut high, _) = values[quarter..].select_nth_unstable_by(last - quarter, f32::total_cmp);
    (&values[quarter..=last], [low, high])
}
