//! How well patches agree once a camera's mixing of the channels is allowed for: the last word on a
//! placement, stricter than what placements are ranked by.

use nalgebra::{Matrix4, Vector4};

/// Part of all patches that must agree; the others may be covered.
const KEPT: f64 = 0.7;
/// How far the mixing of channels is believed to be from one gain and offset a channel: weight of that
/// belief, in patches.
const BELIEF: f64 = 0.3;

/// Distance of every patch from its reference after the best straight map from the colours seen,
/// root-encoded, root mean square over the channels; infinite where nothing is seen. `None` where there
/// is too little to go by.
fn distances(seen: &[Option<[f64; 3]>], reference: &[[f64; 3]]) -> Option<Vec<f64>> {
    let pairs: Vec<([f64; 3], [f64; 3])> =
        seen.iter().zip(reference).filter_map(|(s, r)| s.map(|s| (s, *r))).collect();
    let keep = ((KEPT * reference.len() as f64).ceil() as usize).min(pairs.len());
    if keep < 6 {
        return None;
    }
    let mut used: Vec<usize> = (0..pairs.len()).collect();
    let mut errors = vec![0.0; pairs.len()];
    for _ in 0..8 {
        let rows = [0, 1, 2].map(|k| row(k, used.iter().map(|&i| &pairs[i])));
        let [Some(r), Some(g), Some(b)] = rows else { return None };
        for (error, (s, t)) in errors.iter_mut().zip(&pairs) {
            let s = Vector4::new(s[0], s[1], s[2], 1.0);
            let off = [r.dot(&s) - t[0], g.dot(&s) - t[1], b.dot(&s) - t[2]];
            *error = (off.iter().map(|v| v * v).sum::<f64>() / 3.0).sqrt();
        }
        let before = used.clone();
        used = (0..pairs.len()).collect();
        used.sort_by(|&a, &b| errors[a].total_cmp(&errors[b]).then(a.cmp(&b)));
        used.truncate(keep);
        used.sort_unstable();
        if used == before {
            break;
        }
    }
    let mut errors = errors.into_iter();
    Some(seen.iter().map(|s| s.and_then(|_| errors.next()).unwrap_or(f64::INFINITY)).collect())
}

/// How far off the farthest is of the part of all patches that must agree, root-encoded.
pub(super) fn farthest(seen: &[Option<[f64; 3]>], reference: &[[f64; 3]]) -> f64 {
    let Some(mut distances) = distances(seen, reference) else { return f64::INFINITY };
    distances.sort_by(f64::total_cmp);
    let kept = (KEPT * reference.len() as f64).ceil() as usize;
    distances.get(kept.saturating_sub(1)).copied().unwrap_or(f64::INFINITY)
}

/// Weights of the three channels and a constant that give channel `k` of the reference: least squares,
/// drawn towards the channel alone.
fn row<'a>(k: usize, pairs: impl Iterator<Item = &'a ([f64; 3], [f64; 3])> + Clone) -> Option<Vector4<f64>> {
    // The channel alone first: its gain is what the others are drawn to zero beside.
    let n = pairs.clone().count() as f64;
    let mean = pairs.clone().fold(0.0, |sum, (s, _)| sum + s[k]) / n;
    let spread = pairs.clone().fold(0.0, |sum, (s, _)| sum + (s[k] - mean).powi(2)) / n;
    let mut normal = Matrix4::zeros();
    let mut right = Vector4::zeros();
    for (s, t) in pairs {
        let s = Vector4::new(s[0], s[1], s[2], 1.0);
        normal += s * s.transpose();
        right += s * t[k];
    }
    for j in (0..3).filter(|&j| j != k) {
        normal[(j, j)] += BELIEF * spread;
    }
    let row = normal.cholesky()?.solve(&right);
    // No camera takes a channel mostly from the others.
    let own = row[k];
    let others = (0..3).filter(|&j| j != k).map(|j| row[j].abs()).fold(0.0, f64::max);
    (own > 0.1 && others < own).then_some(row)
}
