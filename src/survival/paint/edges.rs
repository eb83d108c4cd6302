//! Edges of paint: mixed of both sides, and no better known than the two pictures lie on each other.
//!
//! Comes in: the share of the contrast of paint that is left at each place of a piece's box, and where paint was laid. Goes out:
//! the same, edges taking after the paint inside.

use super::LOST_BELOW;
use crate::surface::{blur, narrowed, widened};

/// An edge of paint is mixed with slip, and the two pictures lie no better than this on each other, pixels: the edge takes
/// what is left of the paint from inside.
pub(super) const EDGE: usize = 2;

/// Shares of laid paint, those at its edges from the paint inside nearby where there is any.
pub(super) fn from_inside(shares: &[f32], laid: &[bool], width: usize) -> Vec<f32> {
    let height = shares.len() / width;
    let inside: Vec<f32> = narrowed(laid, width, EDGE).iter().map(|&i| f32::from(u8::from(i))).collect();
    let mut sum: Vec<f32> = shares.iter().zip(&inside).map(|(s, i)| s * i).collect();
    let mut under = inside.clone();
    blur(&mut sum, width, height, EDGE as f64);
    blur(&mut under, width, height, EDGE as f64);
    (0..shares.len())
        .map(|i| if inside[i] > 0.0 || under[i] < 0.01 { shares[i] } else { sum[i] / under[i] })
        .collect()
}

/// Lost paint at the edge of a stroke, beside paint that reads, is lost where it is three pixels wide: what is narrower is an edge
/// that lies a pixel off, and takes what is left from the paint about it. Inside a stroke the smallest spot may be lost.
pub(super) fn without_slivers(shares: &[f32], laid: &[bool], width: usize) -> Vec<f32> {
    let height = shares.len() / width;
    let lost: Vec<bool> = shares.iter().zip(laid).map(|(share, laid)| *laid && *share < LOST_BELOW).collect();
    let wide = widened(&narrowed(&lost, width, 1), width, 1);
    let inside = narrowed(laid, width, EDGE);
    let about = |i: usize| {
        let span = |at: usize, size: usize| at.saturating_sub(EDGE)..(at + EDGE + 1).min(size);
        let (columns, rows) = (span(i % width, width), span(i / width, height));
        let places = rows.flat_map(|row| columns.clone().map(move |column| row * width + column));
        let reads = places.filter(|&at| laid[at] && !lost[at]);
        let (sum, many) = reads.fold((0.0, 0), |(sum, many), at| (sum + shares[at], many + 1));
        if many > 0 { sum / many as f32 } else { shares[i] }
    };
    let is_sliver = |i: usize| lost[i] && !wide[i] && !inside[i];
    (0..shares.len()).map(|i| if is_sliver(i) { about(i) } else { shares[i] }).collect()
}
