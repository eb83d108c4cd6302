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
    // Most steps are free: cells reached for the cost at hand wait in a plain stack, dearer ones in the heap.
    let mut heap = BinaryHeap::new();
    let mut at_hand: Vec<usize> = (0..w * h).filter(|&i| start[i] && !barred[i]).collect();
    at_hand.iter().for_each(|&i| least[i] = 0);
    let mut cost = 0;
    loop {
        let i = if let Some(i) = at_hand.pop() {
            i
        } else if let Some(Reverse((dearer, i))) = heap.pop() {
            cost = dearer;
            i as usize
        } else {
            break;
        };
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
                if total == cost {
                    at_hand.push(j);
                } else {
                    heap.push(Reverse((total, j as u32)));
                }
            }
        }
    }
    least.iter().map(|&v| if v == u32::MAX { f32::INFINITY } else { (f64::from(v) / SCALE) as f32 }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the plain way, cell by cell until nothing changes (Bellman 1958), on seeded hills with free places.
    #[test]
    fn least_effort_agrees_with_the_plain_way() {
        let (width, height) = (19, 13);
        let mut state = 7u32;
        let mut random = |below: u32| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 16) % below
        };
        let tint = (0..width * height).map(|_| Tint { l: random(6) as f32, a: 0.0, b: 0.0 }).collect();
        let start: Vec<bool> = (0..width * height).map(|_| random(40) == 0).collect();
        let barred: Vec<bool> = (0..width * height).map(|_| random(5) == 0).collect();
        let grid = Grid { width, height, step: 1, tint };
        let step = |p: Tint, q: Tint| f64::from((p.l - q.l).abs()) - 2.0;
        let found = effort_by(&grid, &start, &barred, step);
        let mut plain: Vec<f32> =
            (0..found.len()).map(|i| if start[i] && !barred[i] { 0.0 } else { f32::INFINITY }).collect();
        for _ in 0..found.len() {
            for i in 0..found.len() {
                let beside = |j: &usize| {
                    (i % width).abs_diff(j % width) + (i / width).abs_diff(j / width) == 1 && !barred[*j]
                };
                let ways = (0..found.len())
                    .filter(beside)
                    .map(|j| plain[j] + step(grid.tint[j], grid.tint[i]).max(0.0) as f32);
                let best = ways.fold(plain[i], f32::min);
                plain[i] = if barred[i] { plain[i] } else { best };
            }
        }
        assert!(plain.iter().any(|v| v.is_finite() && *v > 0.0) && plain.contains(&f32::INFINITY));
        assert_eq!(found, plain);
    }
}
