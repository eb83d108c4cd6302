//! Edges of paint: mixed of both sides, and no better known than the two pictures lie on each other.
//!
//! Comes in: the share of the light of slip, or of the contrast of paint, at each place of a piece's box, and where paint was
//! laid. Goes out: the share of the contrast that is left there.

use super::LOST_BELOW;
use crate::surface::{blur, narrowed, widened};
use rayon::prelude::*;

/// An edge of paint is mixed with slip, and the two pictures lie no better than this on each other, pixels: the edge takes
/// what is left of the paint from inside.
pub(super) const EDGE: usize = 2;

/// Contrasts that differ by more than this from one pixel to the next but one are a sharp border of kept paint and lost: what
/// lies between is mixed of both. What changes more slowly is paint that thins out.
const STEP: f32 = 0.5;

/// The contrast left at each laid place. A border of kept and lost paint is mixed of both, and lightness is no straight measure
/// of the mixture: what has more light than half of either is lost.
pub(super) fn sharpened(
    light: &[f32],
    laid: &[bool],
    width: usize,
    contrast: impl Fn(f32) -> f32 + Sync,
) -> Vec<f32> {
    let height = light.len() / width;
    let at = |i: usize| {
        if !laid[i] {
            return 0.0;
        }
        let (x, y) = (i % width, i / width);
        let within = |reach: usize| {
            let (mut dark, mut pale) = (light[i], light[i]);
            for v in y.saturating_sub(reach)..(y + reach + 1).min(height) {
                for u in x.saturating_sub(reach)..(x + reach + 1).min(width) {
                    if laid[v * width + u] {
                        (dark, pale) = (dark.min(light[v * width + u]), pale.max(light[v * width + u]));
                    }
                }
            }
            [dark, pale]
        };
        let [near_dark, near_pale] = within(1);
        let is_sharp = contrast(near_dark) - contrast(near_pale) > STEP;
        let [dark, pale] = if is_sharp { within(EDGE) } else { [light[i]; 2] };
        let [kept, lost] = [dark, pale].map(&contrast);
        match kept >= LOST_BELOW && lost < LOST_BELOW {
            true if light[i] <= (dark + pale) / 2.0 => kept,
            true => lost,
            false => contrast(light[i]),
        }
    };
    (0..light.len()).into_par_iter().with_min_len(4096).map(at).collect()
}

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

/// Lost paint beside paint that reads is lost where it is three pixels wide: what is narrower is an edge that lies a pixel off,
/// and takes what is left from the paint about it.
pub(super) fn without_slivers(shares: &[f32], laid: &[bool], width: usize) -> Vec<f32> {
    let height = shares.len() / width;
    let lost: Vec<bool> = shares.iter().zip(laid).map(|(share, laid)| *laid && *share < LOST_BELOW).collect();
    let wide = widened(&narrowed(&lost, width, 1), width, 1);
    let about = |i: usize| {
        let span = |at: usize, size: usize| at.saturating_sub(EDGE)..(at + EDGE + 1).min(size);
        let (columns, rows) = (span(i % width, width), span(i / width, height));
        let places = rows.flat_map(|row| columns.clone().map(move |column| row * width + column));
        let reads = places.filter(|&at| laid[at] && !lost[at]);
        let (sum, many) = reads.fold((0.0, 0), |(sum, many), at| (sum + shares[at], many + 1));
        if many > 0 { sum / many as f32 } else { shares[i] }
    };
    (0..shares.len()).map(|i| if lost[i] && !wide[i] { about(i) } else { shares[i] }).collect()
}
