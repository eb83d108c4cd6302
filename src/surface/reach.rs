//! How hard it is to come to a cell from the rim of the picture without crossing edges.
//!
//! Shadows and gradients of light have soft edges and cost nothing; what stands on the ground is fenced by
//! sharp ones all around, whatever its colour.

use super::grid::{Grid, Tint};
use super::steps::Steps;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Steps below this are soft on any ground, units of [`Steps`].
const SOFT: f64 = 3.0;
/// Whole-number costs, so that the order of equal ways is the same everywhere.
const SCALE: f64 = 64.0;

/// Least sum of edge steps from any `start` cell, beyond the ground's own texture. Barred cells are walls; what cannot
/// be reached is infinitely far. Units of [`Steps`].
pub(super) fn effort(grid: &Grid, steps: &Steps, start: &[bool], barred: &[bool]) -> Vec<f32> {
    let step = |p: Tint, q: Tint| steps.squared(p, q).sqrt();
    let mut usual: Vec<f64> = (0..start.len())
        .filter(|&i| i % grid.width + 1 < grid.width && start[i] && start[i + 1])
        .map(|i| step(grid.tint[i], grid.tint[i + 1]))
        .collect();
    let mut free = SOFT;
    if usual.len() >= 20 {
        let at = usual.len() * 97 / 100;
        free = usual.select_nth_unstable_by(at, f64::total_cmp).1.max(SOFT);
    }
    effort_by(grid, start, barred, |p, q| step(p, q) - free)
}

/// The same with the caller's own cost of a step; below 0 counts as 0.
pub(super) fn effort_by(
    grid: &Grid,
    start: &[bool],
    barred: &[bool],
    step: impl Fn(Tint, Tint) -> f64,
) -> Vec<f32> {
    let (w, h) = (grid.width, grid.height);
    let mut least = vec![u32::MAX; w * h];
    let mut heap = BinaryHeap::new();
    for i in 0..w * h {
        if start[i] && !barred[i] {
            least[i] = 0;
            heap.push(Reverse((0u32, i as u32)));
        }
    }
    while let Some(Reverse((cost, i))) = heap.pop() {
        let i = i as usize;
        if cost > least[i] {
            continue;
        }
        let (x, y) = (i % w, i / w);
        let next = [
            (x > 0).then(|| i - 1),
            (x + 1 < w).then_some(i + 1),
            (y > 0).then(|| i - w),
            (y + 1 < h).then_some(i + w),
        ];
        for j in next.into_iter().flatten().filter(|&j| !barred[j]) {
            let total = cost + (step(grid.tint[i], grid.tint[j]).max(0.0) * SCALE) as u32;
            if total < least[j] {
                least[j] = total;
                heap.push(Reverse((total, j as u32)));
            }
        }
    }
    least.iter().map(|&v| if v == u32::MAX { f32::INFINITY } else { (f64::from(v) / SCALE) as f32 }).collect()
}
