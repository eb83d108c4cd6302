//! Draws the field tight: small patches of the signal are compared, and the field follows where they agree.

use super::field::{Field, Pull, smoothed};
use super::picture::Picture;
use rayon::prelude::*;

/// Half the side of a patch, piece units, and never fewer pixels than the second.
const PATCH: f64 = 0.045;
const LEAST_PATCH: i32 = 5;
/// Patches whose signals agree less than this (correlation) pull nothing.
const LEAST_CORRELATION: f64 = 0.25;
/// Share of a patch that must be known in both pictures.
const LEAST_KNOWN: f32 = 0.4;
/// Mean square of a signal added to both before the correlation: what is even agrees with nothing.
const EVEN: f32 = 0.05;
/// Bending against pulling: a patch's pull is its correlation times the curvature of the peak, about 0.1.
const STIFFNESS: f64 = 0.6;
/// Residual that halves the weight of a pull, pixels.
const LOOSE: f64 = 0.7;

/// How patches about a node agree.
#[derive(Clone, Copy, Debug)]
pub(super) struct Match {
    /// Where they agree best, pixels of the fired piece's picture; `None` at the end of the search.
    pub shift: Option<[f64; 2]>,
    /// How sharply, symmetric matrix [xx, xy, yy].
    pub curve: [f64; 3],
    /// Correlation there.
    pub best: f64,
    /// Correlation without a shift.
    pub here: f64,
}

/// The signal of the unfired piece laid over the picture of the fired one: signal and how far it is known.
pub(super) fn warped(field: &Field, after: &Picture, before: &Picture) -> Vec<[f32; 2]> {
    let place = |i: usize| {
        if after.known[i] == 0.0 {
            return [0.0; 2];
        }
        before.sample(field.at(after.place(i)))
    };
    (0..after.known.len()).into_par_iter().with_min_len(4096).map(place).collect()
}

/// The field after `rounds` rounds of looking up to `reach` pixels about each node.
pub(super) fn refined(field: &Field, after: &Picture, before: &Picture, reach: i32, rounds: usize) -> Field {
    let mut field = field.clone();
    for _ in 0..rounds {
        let matches = matches(&field, after, before, reach);
        let pulls: Vec<Option<Pull>> = matches
            .iter()
            .map(|found| {
                let found = found.filter(|m| m.best > LEAST_CORRELATION)?;
                let weight = found.best * found.best;
                Some(Pull { shift: found.shift?, hold: found.curve.map(|c| c * weight) })
            })
            .collect();
        let shifts = smoothed([field.columns, field.rows], &pulls, STIFFNESS, LOOSE);
        let by: Vec<[f64; 2]> = shifts.iter().map(|s| s.map(|v| v / after.scale)).collect();
        field = field.moved(&by);
    }
    field
}

/// How patches about each node agree; `None` off the piece and where too little is known.
pub(super) fn matches(field: &Field, after: &Picture, before: &Picture, reach: i32) -> Vec<Option<Match>> {
    let laid = warped(field, after, before);
    let radius = ((PATCH * after.scale).round() as i32).max(LEAST_PATCH);
    let at_node = |i: usize| {
        let [u, v] = after.raster(field.node(i)).map(|v| v.round() as i32);
        let inside = u >= 0 && v >= 0 && u < after.width as i32 && v < after.height as i32;
        let on_piece = inside && after.known[v as usize * after.width + u as usize] > 0.0;
        on_piece.then(|| match_at(after, &laid, [u, v], radius, reach)).flatten()
    };
    (0..field.to.len()).into_par_iter().map(at_node).collect()
}

fn match_at(after: &Picture, laid: &[[f32; 2]], at: [i32; 2], radius: i32, reach: i32) -> Option<Match> {
    let side = 2 * reach + 1;
    let found: Vec<f64> = (0..side * side)
        .map(|k| correlation(after, laid, at, radius, [k % side - reach, k / side - reach]).unwrap_or(-1.0))
        .collect();
    let here = found[(reach * side + reach) as usize];
    let top = (0..found.len()).max_by(|&i, &j| found[i].total_cmp(&found[j]).then(j.cmp(&i)))?;
    let (best, [x, y]) = (found[top], [top as i32 % side, top as i32 / side]);
    if best <= -1.0 {
        return None;
    }
    let rim = x == 0 || y == 0 || x == side - 1 || y == side - 1;
    if rim {
        return Some(Match { shift: None, curve: [0.0; 3], best, here });
    }
    // The peak as a paraboloid through the nine values about it.
    let near = |dx: i32, dy: i32| found[((y + dy) * side + x + dx) as usize];
    let slope = [(near(1, 0) - near(-1, 0)) / 2.0, (near(0, 1) - near(0, -1)) / 2.0];
    let xx = (2.0 * best - near(1, 0) - near(-1, 0)).max(1e-4);
    let yy = (2.0 * best - near(0, 1) - near(0, -1)).max(1e-4);
    let most = 0.95 * (xx * yy).sqrt();
    let xy = (-(near(1, 1) - near(1, -1) - near(-1, 1) + near(-1, -1)) / 4.0).clamp(-most, most);
    let area = xx * yy - xy * xy;
    let part = [(yy * slope[0] - xy * slope[1]) / area, (xx * slope[1] - xy * slope[0]) / area];
    let shift = [x - reach, y - reach];
    let shift = [0, 1].map(|c| f64::from(shift[c]) + part[c].clamp(-0.7, 0.7));
    Some(Match { shift: Some(shift), curve: [xx, xy, yy], best, here })
}

/// Correlation of a patch of the fired piece with one of the unfired piece that lies `by` off.
fn correlation(after: &Picture, laid: &[[f32; 2]], at: [i32; 2], radius: i32, by: [i32; 2]) -> Option<f64> {
    let (width, height) = (after.width as i32, after.height as i32);
    let span = |c: usize, size: i32| {
        let low = (at[c] - radius).max(0).max(-by[c]);
        let high = (at[c] + radius).min(size - 1).min(size - 1 - by[c]);
        low..high + 1
    };
    let (columns, rows) = (span(0, width), span(1, height));
    if columns.is_empty() || rows.is_empty() {
        return None;
    }
    let (mut n, mut a, mut b, mut aa, mut bb, mut ab) = (0f32, 0f32, 0f32, 0f32, 0f32, 0f32);
    for y in rows {
        let own = (y * width + columns.start) as usize..(y * width + columns.end) as usize;
        let start = ((y + by[1]) * width + columns.start + by[0]) as usize;
        let other = &laid[start..start + own.len()];
        for ((&p, &known), &[q, also]) in after.signal[own.clone()].iter().zip(&after.known[own]).zip(other) {
            let w = known * also;
            n += w;
            a += w * p;
            b += w * q;
            aa += w * p * p;
            bb += w * q * q;
            ab += w * p * q;
        }
    }
    let full = ((2 * radius + 1) * (2 * radius + 1)) as f32;
    if n < LEAST_KNOWN * full {
        return None;
    }
    let (mean_a, mean_b) = (a / n, b / n);
    let (va, vb) = (aa / n - mean_a * mean_a, bb / n - mean_b * mean_b);
    let both = ab / n - mean_a * mean_b;
    Some(f64::from(both / ((va.max(0.0) + EVEN) * (vb.max(0.0) + EVEN)).sqrt()))
}
