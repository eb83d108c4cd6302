//! How sharp the card's outer borders are.

use super::{Shown, luminance};
use crate::card::choose::median;
use crate::photo::Photo;

/// Half of the window across a border: a share of the patch, and at most so many pixels.
const BORDER: (f64, f64) = (0.3, 40.0);
/// Fewest profiles that give a width.
const LEAST_PROFILES: usize = 8;

/// Median width of the outer borders of the grid, where patches meet the frame: nothing narrow lies there. The
/// larger of those across rows and those across columns, as a camera that moves blurs along one way only.
pub(super) fn edge_px(shown: &Shown) -> Option<f64> {
    let grid = shown.grid;
    let [w, h] = grid.extent();
    let half = BORDER.0.min(BORDER.1 / shown.place.patch_side_px.max(1.0));
    let mut widths: [Vec<f64>; 2] = Default::default();
    for index in 0..grid.rows * grid.columns {
        let [u, v] = grid.centre(index);
        let (row, column) = (index / grid.columns, index % grid.columns);
        let sides = [
            (column == 0, [0.0, v], [-1.0, 0.0]),
            (column + 1 == grid.columns, [w, v], [1.0, 0.0]),
            (row == 0, [u, 0.0], [0.0, -1.0]),
            (row + 1 == grid.rows, [u, h], [0.0, 1.0]),
        ];
        for (_, middle, out) in sides.into_iter().filter(|(at_rim, ..)| *at_rim) {
            for line in [-0.2, -0.1, 0.0, 0.1, 0.2] {
                let from = [middle[0] + line * out[1], middle[1] + line * out[0]];
                let at = |t: f64| grid.to_px.apply([from[0] + t * out[0], from[1] + t * out[1]]);
                widths[usize::from(out[0] == 0.0)].extend(profile_width(shown.photo, at, half));
            }
        }
    }
    let read = widths.iter().filter(|w| w.len() >= LEAST_PROFILES).map(|w| median(w));
    read.reduce(f64::max)
}

/// Width from 10 % to 90 % of the one step on a line, in full-size pixels, as that of a step blurred by a normal
/// distribution: the area between profile and sharp step is 0.798 standard deviations, the width 2.563 of them.
/// Areas, unlike the crossings of a noisy profile, average over its pixels. A second look, close about the step,
/// leaves slopes of light on both sides out. `at` gives the place (full-size pixels) of -`half` to `half` along the
/// line, the step near 0. `None` where no step stands out of the scatter, or the line leaves the picture.
pub(crate) fn profile_width(photo: &Photo, at: impl Fn(f64) -> [f64; 2], half: f64) -> Option<f64> {
    let (start, end) = (at(-half), at(half));
    let px = (end[0] - start[0]).hypot(end[1] - start[1]) / (2.0 * half);
    let (middle, width) = step_width(photo, &at, [-half, half], px)?;
    let near = (3.0 * width).max(4.0 / px).min(half);
    let (_, width) = step_width(photo, &at, [middle - near, middle + near], px)?;
    Some(width * px)
}

/// Place and width of the one step between two ends of a line, both in the units of the line; `px` is the length
/// of such a unit.
fn step_width(
    photo: &Photo,
    at: impl Fn(f64) -> [f64; 2],
    [from, to]: [f64; 2],
    px: f64,
) -> Option<(f64, f64)> {
    let count = (((to - from) * px / 0.5) as usize).clamp(12, 160);
    let step = (to - from) / count as f64;
    let values: Option<Vec<f64>> =
        (0..count).map(|k| photo.between(at(from + step * (k as f64 + 0.5))).map(luminance)).collect();
    let values = values?;
    let tail = count / 4;
    let level = |part: &[f64]| {
        let mean = part.iter().sum::<f64>() / part.len() as f64;
        let variance = part.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / part.len() as f64;
        (mean, variance.sqrt())
    };
    let ((inner, inner_sd), (outer, outer_sd)) = (level(&values[..tail]), level(&values[count - tail..]));
    let rise = outer - inner;
    if rise.abs() < 0.02 || rise.abs() < 5.0 * inner_sd.max(outer_sd) {
        return None;
    }
    let share: Vec<f64> = values.iter().map(|v| (v - inner) / rise).collect();
    // Where a sharp step of the same area would stand.
    let middle = count as f64 - share.iter().sum::<f64>();
    let area: f64 = share
        .iter()
        .enumerate()
        .map(|(k, p)| {
            let before = (middle - k as f64).clamp(0.0, 1.0);
            before * p + (1.0 - before) * (1.0 - p)
        })
        .sum();
    let width = (2.563 / 0.798 * area * step).max(0.0);
    width.is_finite().then_some((from + middle * step, width))
}
