//! How dark each painted cell is against the slip about it.

use super::super::grid::blur;
use super::cells::Cells;

/// Width of the neighbourhood whose slip a place is compared with, share of the piece's size.
const NEAR: f64 = 0.03;
/// Slip that weighs less than this nearby is helped by slip further off.
const THIN: f32 = 0.1;
/// Lightness of slip on which contrasts are judged (L* 80, as a luminance).
const SLIP: f32 = 0.567;
/// Soundest paint against slip: no paint is believed darker or paler than this.
const SOUND: [f32; 2] = [0.04, 0.4];

/// What slip and paint give back.
pub(super) struct Levels {
    /// Natural log of what slip gives back at each cell, against `Cells::plane`.
    pub slip: Vec<f32>,
    /// Share of the light of slip that the soundest paint gives back.
    pub sound: f32,
}

impl Levels {
    pub fn of(cells: &Cells, painted: &[bool]) -> Self {
        let (w, h) = (cells.width, cells.height);
        let bare = |i: usize| {
            let (x, y) = (i % w, i / w);
            let beside = [
                (x > 0).then(|| i - 1),
                (x + 1 < w).then_some(i + 1),
                i.checked_sub(w),
                Some(i + w).filter(|_| y + 1 < h),
            ];
            cells.neutral[i] && !painted[i] && !beside.into_iter().flatten().any(|j| painted[j])
        };
        let known: Vec<f32> = (0..w * h).map(|i| f32::from(u8::from(bare(i)))).collect();
        let near = mean_about(&cells.seen, &known, w, NEAR * cells.size);
        let wide = mean_about(&cells.seen, &known, w, 3.0 * NEAR * cells.size);
        let slip: Vec<f32> = near
            .iter()
            .zip(&wide)
            .map(|(n, f)| {
                let share = (n[1] / THIN).min(1.0);
                share * n[0] + (1.0 - share) * f[0]
            })
            .collect();
        let mut dark: Vec<f32> =
            (0..w * h).filter(|&i| painted[i]).map(|i| (cells.seen[i] - slip[i]).exp()).collect();
        dark.retain(|&share| share < 0.5);
        let sound = if dark.len() < 30 {
            SOUND[0]
        } else {
            let at = dark.len() / 5;
            dark.select_nth_unstable_by(at, f32::total_cmp).1.clamp(SOUND[0], SOUND[1])
        };
        Self { slip, sound }
    }

    /// Contrast of a place that gives back this share of the light of slip, as a share of the soundest contrast, on
    /// the scale of L*.
    pub fn contrast(&self, share: f32) -> f32 {
        let l = |share: f32| 116.0 * (share * SLIP).max(0.009).cbrt() - 16.0;
        (l(1.0) - l(share)) / (l(1.0) - l(self.sound)).max(10.0)
    }
}

/// Mean of known values about each cell (Gaussian weights), and how much is known there.
fn mean_about(values: &[f32], known: &[f32], width: usize, sigma: f64) -> Vec<[f32; 2]> {
    let height = values.len() / width;
    let mut above: Vec<f32> = values.iter().zip(known).map(|(v, k)| v * k).collect();
    let mut under = known.to_vec();
    blur(&mut above, width, height, sigma);
    blur(&mut under, width, height, sigma);
    above.iter().zip(under).map(|(a, u)| [a / (u + 1e-4), u]).collect()
}
