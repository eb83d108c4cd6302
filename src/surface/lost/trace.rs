//! Splitting the slip of a piece into bare slip and traces of paint, by what differs across short distances.
//!
//! Two cells a few steps apart lie in the same light. Where one is a trace of paint and the other is not, their
//! logarithms differ by about the contrast of the trace; where both are slip, or both trace, they differ by grain
//! and brush alone. The likelihood of each difference under either case makes the cost of a split, whose cheapest
//! is found exactly (a cost that depends on which side is which: Kolmogorov & Zabih 2004, IEEE PAMI 26(2)).

use super::super::cut::GridCut;
use super::cells::Cells;

/// Contrast of a trace, natural log: about 7 % less light, or 2 to 3 in L*. Stronger traces are found as well.
const CONTRAST: f32 = 0.07;
/// Cells between the two that are compared: the blur of a photograph is over by then.
const FAR: usize = 3;
/// Most that one comparison may say, log likelihood.
const MOST: f32 = 4.0;
/// Weight of a comparison. Three of them cross each place of a border, and their grain is not independent.
const WEIGHT: f32 = 5.0 / 3.0;
/// What it costs to part neighbours: the longer the border, the dearer.
const PARTING: f32 = 2.0;
/// Cost of calling a cell a trace, and weight of how dark it is against the slip about it: both slight, since the
/// slip about it may hold traces too.
const RARE: f32 = 0.1;
const DARKNESS: f32 = 0.1;
/// Least grain believed, natural log: 8-bit steps and compression.
const GRAIN: f32 = 0.008;
/// The same for the texture of slip over wider places.
const TEXTURE: f32 = 0.015;

/// Cells that are traces of paint.
pub(super) fn trace(cells: &Cells) -> Vec<bool> {
    let (w, h) = (cells.width, cells.height);
    let whole = |i: usize, step: usize| (0..=FAR).all(|k| cells.slip[i + k * step]);
    let fits = |i: usize, along_row: bool| if along_row { i % w + FAR < w } else { i / w + FAR < h };
    let mut differences = Vec::new();
    for i in 0..w * h {
        for (along_row, step) in [(true, 1), (false, w)] {
            if cells.slip[i] && fits(i, along_row) && whole(i, step) {
                differences.push((cells.calm[i] - cells.calm[i + FAR * step]).abs());
            }
        }
    }
    let grain = robust_deviation(&mut differences).max(GRAIN);
    let mut depths: Vec<f32> = (0..w * h).filter(|&i| cells.slip[i]).map(|i| (cells.calm[i]).abs()).collect();
    let texture = robust_deviation(&mut depths).max(TEXTURE);
    // Log likelihood of a difference for 'darker by the contrast' against 'alike', normal distributions.
    let darker = |d: f32, spread: f32| (-2.0 * d * CONTRAST - CONTRAST * CONTRAST) / (2.0 * spread * spread);
    let units = |v: f32| (100.0 * v) as i32;
    let mut cut = GridCut::with_far_bonds(w, h, FAR);
    for i in (0..w * h).filter(|&i| cells.slip[i]) {
        let (x, y) = (i % w, i / w);
        let dark = darker(cells.calm[i], texture).clamp(-2.0, 2.0);
        cut.set_pull(x, y, units(DARKNESS * dark - RARE));
        for (d, along_row, step) in [(0, true, 1), (2, false, w)] {
            let next = if along_row { x + 1 < w } else { y + 1 < h };
            if next && cells.slip[i + step] {
                cut.set_parting(x, y, d, [units(PARTING); 2]);
            }
            if fits(i, along_row) && whole(i, step) {
                let difference = cells.calm[i] - cells.calm[i + FAR * step];
                let says = |d: f32| units(-WEIGHT * darker(d, grain).clamp(-MOST, MOST));
                cut.set_parting(x, y, d + 4, [says(difference), says(-difference)]);
            }
        }
    }
    let mut traces = cut.split();
    traces.iter_mut().zip(&cells.slip).for_each(|(t, s)| *t &= s);
    traces
}

/// Standard deviation from the median of absolute values (1.4826 of it for a normal distribution).
fn robust_deviation(absolute: &mut [f32]) -> f32 {
    if absolute.is_empty() {
        return 0.0;
    }
    let middle = absolute.len() / 2;
    1.4826 * *absolute.select_nth_unstable_by(middle, f32::total_cmp).1
}
