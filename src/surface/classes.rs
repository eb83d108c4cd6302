//! From light and tints to a label for each pixel.

use super::Label;
use super::field::{BLACK, BODY, Field, RED, TintModel, log_luminance};
use super::grid::{Tint, extreme};
use super::seeds::{Group, Kind};
use rayon::prelude::*;

/// A window of the map with one piece.
pub(super) struct Window<'a> {
    pub width: usize,
    pub height: usize,
    pub tint: &'a [Tint],
    pub inside: &'a [bool],
}

/// Paint paler than this share of the soundest contrast is lost (design.md, label 6).
const LOST_BELOW: f32 = 0.5;
/// Gloss above this share of the diffuse light is glare (design.md, label 7).
const GLARE_ABOVE: f64 = 0.25;
/// Glare is brighter than the red about it by at least this, log scale.
const GLARE_BRIGHTER: f32 = 0.12;
/// Contrast that cannot be told from texture.
const UNSEEN_BELOW: f32 = 0.12;

/// Labels of the window; `white` is the field brought to its size.
pub(super) fn label(
    window: &Window,
    groups: &[Group],
    tints: &TintModel,
    white: &[f32],
    field: &Field,
) -> Vec<Label> {
    let (w, h) = (window.width, window.height);
    let n = w * h;
    let mut kind = vec![Kind::Neutral; n];
    // Reflectance relative to white at each neutral pixel; 1 elsewhere, so that edges against red do not count as paint.
    let mut share = vec![1f32; n];
    let ratio = field.log_ratio.map(|r| r as f32);
    kind.par_chunks_mut(w).zip(share.par_chunks_mut(w)).enumerate().for_each(|(y, (kinds, shares))| {
        for x in (0..w).filter(|&x| window.inside[y * w + x]) {
            let t = window.tint[y * w + x];
            let k = tints.log_density(t);
            let below = log_luminance(t.l) - white[y * w + x];
            let lit = |r: usize, s: f32| -0.5 * ((below - ratio[r]) / s).powi(2);
            let scores = [k[0] + neutral_lit(below), k[1] + lit(RED, 0.5), k[2] + lit(BODY, 0.4)];
            kinds[x] = if scores[0] >= scores[1] && scores[0] >= scores[2] {
                shares[x] = below.exp();
                Kind::Neutral
            } else if scores[1] >= scores[2] {
                Kind::Red
            } else {
                Kind::Body
            };
        }
    });
    let radius = (w.max(h) / 500).max(1);
    let darkest = extreme(&share, w, h, radius, false);
    let sound = soundest(window, &kind, &share, field);
    let red = main_red(groups);
    (0..n)
        .map(|i| {
            if !window.inside[i] {
                return Label::Background;
            }
            if kind[i] == Kind::Red && gloss(window.tint[i], red) > GLARE_ABOVE {
                let brighter = log_luminance(window.tint[i].l) - white[i] - ratio[RED];
                if brighter > GLARE_BRIGHTER {
                    return Label::Glare;
                }
            }
            match kind[i] {
                Kind::Red => Label::Red,
                Kind::Body => Label::Body,
                Kind::Neutral => {
                    // On an edge a pixel shares two surfaces by area: half way in linear light parts them.
                    if share[i] > (1.0 + darkest[i]) / 2.0 {
                        return Label::White;
                    }
                    match contrast(darkest[i], sound) {
                        c if c >= LOST_BELOW => Label::Black,
                        c if c >= UNSEEN_BELOW => Label::LostPaint,
                        _ => Label::White,
                    }
                }
            }
        })
        .collect()
}

/// Tint of the piece's own red: the purest group that is not rare.
fn main_red(groups: &[Group]) -> Option<[f64; 2]> {
    let pure = |g: &Group| g.mean[0].hypot(g.mean[1]);
    groups
        .iter()
        .filter(|g| g.kind == Kind::Red && g.share > 0.01)
        .max_by(|p, q| pure(p).total_cmp(&pure(q)))
        .map(|g| g.mean)
}

/// Neutral light added to a red, as a share of its own diffuse light, from how much paler its tint is. X/Y and Z/Y of a
/// mixture lie between those of its parts in proportion to their Y.
fn gloss(tint: Tint, red: Option<[f64; 2]>) -> f64 {
    let Some([a, b]) = red else { return 0.0 };
    let x = |a: f64| (1.0 + a / 284.48).powi(3);
    let z = |b: f64| (1.0 - b / 113.79).powi(3);
    let (xr, zr, xp, zp) = (x(a), z(b), x(f64::from(tint.a)), z(f64::from(tint.b)));
    let by_x = (xr - xp) / (xp - 1.0).max(0.01);
    let by_z = (zp - zr) / (1.0 - zp).max(0.01);
    by_x.min(by_z)
}

/// Log density of lightness for white and black together.
fn neutral_lit(below: f32) -> f32 {
    if below > 0.1 {
        -0.5 * ((below - 0.1) / 0.12).powi(2)
    } else if below < -3.0 {
        -(below + 3.0).powi(2)
    } else {
        0.0
    }
}

/// Share of the soundest paint's contrast, on the L* scale of a white at L* 80.
fn contrast(share: f32, sound: f32) -> f32 {
    let l = |s: f32| 116.0 * (s * 0.567).max(0.009).cbrt() - 16.0;
    (l(1.0) - l(share)) / (l(1.0) - l(sound)).max(10.0)
}

/// Reflectance of the soundest paint relative to white: the darkest tenth of what is surely paint.
fn soundest(window: &Window, kind: &[Kind], share: &[f32], field: &Field) -> f32 {
    let mut dark: Vec<f32> = (0..share.len())
        .step_by(3)
        .filter(|&i| window.inside[i] && kind[i] == Kind::Neutral && share[i] < 0.5)
        .map(|i| share[i])
        .collect();
    if dark.len() < 30 {
        return (field.log_ratio[BLACK] as f32).exp();
    }
    let at = dark.len() / 5;
    let (_, v, _) = dark.select_nth_unstable_by(at, f32::total_cmp);
    v.clamp(0.04, 0.4)
}
