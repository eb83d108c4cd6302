//! What bare slip gives back at each place: how dark paint is against it, and where soot lies on it.

use super::super::contrast::{SOUND, share_at, soundest};
use super::super::neighbours::blur;
use super::cells::{Cells, median};

/// Width of the neighbourhood whose slip a place is compared with, share of the piece's size.
const NEAR: f64 = 0.03;
/// Slip that weighs less than this nearby is helped by slip further off.
const THIN: f32 = 0.1;
/// Slip that gives back this much less than slip does on the whole, natural log, lies in soot, or the smooth light
/// is wrong there: what is left of paint cannot be told from it.
const DIRTY: f32 = -0.12;

/// What slip and paint give back.
pub(super) struct Levels {
    /// Natural log of what bare slip gives back at each cell under the smooth light, against its median. Under
    /// paint, and where red or clay lie, what slip would give back there.
    pub slip: Vec<f32>,
    /// Whether hardly any slip, red or clay is near enough to tell it.
    pub alone: Vec<bool>,
    /// That median.
    pub middle: f32,
    /// Share of the light of slip that the soundest paint gives back.
    pub sound: f32,
}

impl Levels {
    /// From the cells and which of them are painted dark.
    pub fn of(cells: &Cells, painted: &[bool]) -> Self {
        let (w, n) = (cells.width, painted.len());
        let beside = |i: usize| {
            let x = i % w;
            let near = [
                (x > 0).then(|| i - 1),
                (x + 1 < w).then_some(i + 1),
                i.checked_sub(w),
                Some(i + w).filter(|&j| j < n),
            ];
            near.into_iter().flatten()
        };
        let bare: Vec<bool> =
            (0..n).map(|i| cells.neutral[i] && !painted[i] && !beside(i).any(|j| painted[j])).collect();
        let middle = median_log(cells, &bare).unwrap_or(0.0);
        let surfaces = [
            (&bare, middle),
            (&cells.ochre, median_log(cells, &cells.ochre).unwrap_or(0.0)),
            (&cells.clay, median_log(cells, &cells.clay).unwrap_or(0.0)),
        ];
        let (mut known, mut values) = (vec![0f32; n], vec![0f32; n]);
        for (mask, own) in surfaces {
            for i in (0..n).filter(|&i| mask[i]) {
                known[i] = 1.0;
                values[i] = cells.log[i] - own;
            }
        }
        let near = mean_about(&values, &known, w, NEAR * cells.size);
        let wide = mean_about(&values, &known, w, 3.0 * NEAR * cells.size);
        let slip: Vec<f32> = near
            .iter()
            .zip(&wide)
            .map(|(n, f)| {
                let share = (n[1] / THIN).min(1.0);
                share * n[0] + (1.0 - share) * f[0]
            })
            .collect();
        let alone = wide.iter().map(|f| f[1] < THIN).collect();
        let mut levels = Self { slip, alone, middle, sound: SOUND[0] };
        let mut dark: Vec<f32> = (0..n).filter(|&i| painted[i]).map(|i| levels.share(cells, i)).collect();
        dark.retain(|&share| share < 0.5);
        levels.sound = soundest(dark).unwrap_or(levels.sound);
        levels
    }

    /// Share of the light of the slip about it that a neutral cell gives back.
    pub fn share(&self, cells: &Cells, i: usize) -> f32 {
        (cells.log[i] - self.middle - self.slip[i]).exp()
    }

    /// Whether slip is sooty there.
    pub fn is_dirty(&self, i: usize) -> bool {
        self.slip[i] < DIRTY
    }

    /// Share of the light of slip at which the contrast is this share of the soundest; above it there is less.
    pub fn share_at(&self, contrast: f32) -> f32 {
        share_at(contrast, self.sound)
    }
}

/// Median of `log` over the cells of a mask.
fn median_log(cells: &Cells, mask: &[bool]) -> Option<f32> {
    median(cells.log.iter().zip(mask).filter(|(_, m)| **m).map(|(v, _)| *v).collect())
}

/// Mean of known values about each cell (Gaussian weights), and how much is known there.
pub(super) fn mean_about(values: &[f32], known: &[f32], width: usize, sigma: f64) -> Vec<[f32; 2]> {
    let height = values.len() / width;
    let mut above: Vec<f32> = values.iter().zip(known).map(|(v, k)| v * k).collect();
    let mut under = known.to_vec();
    blur(&mut above, width, height, sigma);
    blur(&mut under, width, height, sigma);
    above.iter().zip(under).map(|(a, u)| [a / (u + 1e-4), u]).collect()
}
