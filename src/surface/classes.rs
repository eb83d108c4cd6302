//! From light and tints to a label for each pixel.

use super::Label;
use super::contrast::{share_at, soundest};
use super::field::{BLACK, BODY, Field, RED, TintModel};
use super::grid::{Tint, luminance};
use super::neighbours::{extreme, narrowed, widened};
use super::seeds::Kind;
use crate::card::CorrectedImage;
use rayon::prelude::*;

/// A window of the map with one piece.
pub(super) struct Window<'a> {
    pub image: &'a CorrectedImage,
    /// x0, y0, x1, y1 (past the end).
    pub bounds: [usize; 4],
    /// Its pixels that belong to the piece.
    pub inside: &'a [bool],
}

/// What reads as dark as half of the soundest paint's contrast is black for now (`paint` tells it anew).
const DARK_ABOVE: f32 = 0.5;
/// What is paler than that and darker than the texture of slip is not counted among the slip for now.
const PALE_ABOVE: f32 = 0.12;
/// Tints that nothing on the piece explains are unclear where they lie closer together than edges do: this far from
/// any other, map pixels.
const UNCLEAR_DEPTH: usize = 2;

/// Labels of the window; `white` is the luminance that white slip would have at each of its pixels.
pub(super) fn label(window: &Window, tints: &TintModel, white: &[f32], field: &Field) -> Vec<Label> {
    let [x0, y0, x1, y1] = window.bounds;
    let (w, h) = (x1 - x0, y1 - y0);
    let n = w * h;
    let told = Told { window, tints, white, ratio: field.log_ratio.map(|r| r as f32) };
    let blocks = told.even_blocks();
    let across = w.div_ceil(BLOCK);
    let mut kind = vec![Kind::Neutral; n];
    // Reflectance relative to white at each neutral pixel; 1 elsewhere, so that edges against red do not count as paint.
    let mut share = vec![1f32; n];
    // Where nothing on the piece explains the tint.
    let mut strange = vec![false; n];
    let rows = kind.par_chunks_mut(w).zip(share.par_chunks_mut(w)).zip(strange.par_chunks_mut(w));
    rows.enumerate().for_each(|(y, ((kinds, shares), stranges))| {
        let even = &blocks[y / BLOCK * across..];
        let pixels = &window.image.xyz[(y0 + y) * window.image.width + x0..];
        for x in (0..w).filter(|&x| window.inside[y * w + x]) {
            let white = white[y * w + x];
            (kinds[x], stranges[x]) = even[x / BLOCK].unwrap_or_else(|| told.kind(pixels[x], white));
            if kinds[x] == Kind::Neutral {
                shares[x] = luminance(pixels[x][1]) / white;
            }
        }
    });
    let radius = (w.max(h) / 500).max(1);
    let darkest = extreme(&share, w, h, radius, false);
    let painted =
        (0..n).step_by(3).filter(|&i| window.inside[i] && kind[i] == Kind::Neutral && share[i] < 0.5);
    let sound =
        soundest(painted.map(|i| share[i]).collect()).unwrap_or((field.log_ratio[BLACK] as f32).exp());
    let [dark, pale] = [DARK_ABOVE, PALE_ABOVE].map(|contrast| share_at(contrast, sound));
    let unclear = unclear(&strange, w);
    (0..n)
        .map(|i| match kind[i] {
            _ if !window.inside[i] => Label::Background,
            _ if unclear.as_ref().is_some_and(|u| u[i]) => Label::Unclear,
            Kind::Red => Label::Red,
            Kind::Body => Label::Body,
            // On an edge a pixel shares two surfaces by area: half way in linear light parts them.
            Kind::Neutral if share[i] > (1.0 + darkest[i]) / 2.0 => Label::White,
            Kind::Neutral if darkest[i] <= dark => Label::Black,
            Kind::Neutral if darkest[i] <= pale => Label::LostPaint,
            Kind::Neutral => Label::White,
        })
        .collect()
}

/// Side of the blocks that are told as one where all about them are of one kind, pixels: a line of three pixels holds a
/// whole block wherever it runs.
const BLOCK: usize = 2;

/// What tells the kind of a place: neutral, red or body, and whether nothing on the piece has its tint.
struct Told<'a> {
    window: &'a Window<'a>,
    tints: &'a TintModel,
    white: &'a [f32],
    ratio: [f32; 4],
}

impl Told<'_> {
    #[inline]
    fn kind(&self, xyz: [f32; 3], white: f32) -> (Kind, bool) {
        let k = self.tints.log_density(Tint::of(xyz));
        let strange = self.tints.is_strange(&k);
        let of_white = luminance(xyz[1]) / white;
        // Where the tint says neutral and the lightness is not strange, light need not be asked.
        if k[0] >= k[1].max(k[2]) && EVEN_HANDED.contains(&of_white) {
            return (Kind::Neutral, strange);
        }
        let below = of_white.ln();
        let lit = |r: usize, s: f32| -0.5 * ((below - self.ratio[r]) / s).powi(2);
        let scores = [k[0] + neutral_lit(below), k[1] + lit(RED, 0.5), k[2] + lit(BODY, 0.4)];
        if scores[0] >= scores[1] && scores[0] >= scores[2] {
            (Kind::Neutral, strange)
        } else if scores[1] >= scores[2] {
            (Kind::Red, strange)
        } else {
            (Kind::Body, strange)
        }
    }

    /// Of each block that lies wholly on the piece, row by row; `None` elsewhere.
    fn blocks(&self) -> Vec<Option<(Kind, bool)>> {
        let [x0, y0, x1, y1] = self.window.bounds;
        let (w, across) = (x1 - x0, (x1 - x0).div_ceil(BLOCK));
        let mut blocks = vec![None; across * (y1 - y0).div_ceil(BLOCK)];
        blocks.par_chunks_mut(across).take((y1 - y0) / BLOCK).enumerate().for_each(|(by, row)| {
            for (bx, block) in row.iter_mut().enumerate().take(w / BLOCK) {
                let places = || (0..BLOCK * BLOCK).map(|k| (bx * BLOCK + k % BLOCK, by * BLOCK + k / BLOCK));
                if !places().all(|(x, y)| self.window.inside[y * w + x]) {
                    continue;
                }
                let mut sum = [0f32; 3];
                for (x, y) in places() {
                    let pixel = self.window.image.xyz[(y0 + y) * self.window.image.width + x0 + x];
                    (0..3).for_each(|c| sum[c] += pixel[c]);
                }
                let mean = sum.map(|v| v / (BLOCK * BLOCK) as f32);
                *block = Some(self.kind(mean, self.white[by * BLOCK * w + bx * BLOCK]));
            }
        });
        blocks
    }

    /// Of each block: what all nine about it agree on; `None` where they do not.
    fn even_blocks(&self) -> Vec<Option<(Kind, bool)>> {
        let blocks = self.blocks();
        let across = (self.window.bounds[2] - self.window.bounds[0]).div_ceil(BLOCK);
        let down = blocks.len() / across;
        let line = |y: usize| &blocks[y * across..(y + 1) * across];
        let even = |y: usize, x: usize| {
            let own = line(y)[x];
            let near = x.saturating_sub(1)..(x + 2).min(across);
            let mut rows = y.saturating_sub(1)..(y + 2).min(down);
            own.filter(|_| rows.all(|y| line(y)[near.clone()].iter().all(|&b| b == own)))
        };
        (0..down).flat_map(|y| (0..across).map(move |x| (y, x))).map(|(y, x)| even(y, x)).collect()
    }
}

/// Places of a tint that no surface of the piece has: a label, glaze, a leaf. `None` where there are none.
fn unclear(strange: &[bool], width: usize) -> Option<Vec<bool>> {
    if !strange.contains(&true) {
        return None;
    }
    let deep = narrowed(strange, width, UNCLEAR_DEPTH);
    let back = widened(&deep, width, UNCLEAR_DEPTH);
    Some(strange.iter().zip(back).map(|(&s, b)| s && b).collect())
}

/// Shares of the light of white for which `neutral_lit` is nothing.
const EVEN_HANDED: std::ops::Range<f32> = 0.05..1.1;

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
