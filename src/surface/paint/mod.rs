//! Paint and slip: which neutral places are bare slip, black paint, or paint that has burned out.
//!
//! Comes in: the corrected picture, a map that tells neutral places from red and clay, and a smooth light on the
//! piece. Goes out: the same map with white, black and lost paint told apart anew, and what bare slip gives back at
//! each place. Light, form, soot and the brush change over wide places; paint begins and ends at once. So neutral
//! places are split by what differs across short distances (`trace`), which holds for sound black and for what is
//! left of a burned-out stroke, a few hundredths darker than the slip. How dark a painted place is against the slip
//! about it then says whether it is black or lost, and a lost stroke must prove itself (`proof`).

mod cells;
mod decision;
mod levels;
mod proof;
mod trace;

use super::neighbours::{extreme, narrowed, widened};
use super::{Label, SurfaceMap};
use crate::card::CorrectedImage;
use cells::{Cells, STEP, is_neutral};
use decision::{Decision, LOST_BELOW};
use levels::mean_about;

/// The light that bare slip shows over the box of a piece: the smooth light times what slip gives back there, as a
/// share of its median over the piece.
pub struct BareSlip {
    /// Pixels across the box, and down.
    size: [usize; 2],
    /// Of each cell, row by row.
    light: Vec<f32>,
}

impl BareSlip {
    /// At every `step`th pixel both ways of the box, row by row.
    pub fn places(&self, step: usize) -> impl Iterator<Item = f32> {
        let ([w, h], across) = (self.size, self.size[0].div_ceil(STEP));
        (0..h).step_by(step).flat_map(move |y| {
            let line = &self.light[y / STEP * across..];
            (0..w).step_by(step).map(move |x| line[x / STEP])
        })
    }
}

/// Tells white, black and lost paint apart on all pieces. Goes out: what bare slip shows on each; `None` for a piece with
/// hardly any slip, which stays as it is.
pub fn tell_paint(image: &CorrectedImage, map: &mut SurfaceMap, smooth: &[f32]) -> Vec<Option<BareSlip>> {
    let pieces = (0..map.pieces.len()).zip(1..=u8::MAX);
    pieces
        .map(|(index, number)| {
            let cells = Cells::of(image, map, index, number, smooth)?;
            let told = Told { cells: &cells, decision: &Decision::of(&cells), index, number };
            Some(told.write(image, map, smooth))
        })
        .collect()
}

/// Width of the neighbourhood whose lost paint a place is compared with, cells.
const GHOST_NEAR: f64 = 4.0;

/// At its edge, what is darker than slip by this share of what lost paint nearby is, is lost paint. Half would part two
/// even surfaces; what is left of paint is thinner at its rim (a judgement, made on rendered pieces).
const FADED: f32 = 0.25;

/// One piece and what was decided on it.
struct Told<'a> {
    cells: &'a Cells,
    decision: &'a Decision,
    index: usize,
    number: u8,
}

impl Told<'_> {
    /// What lost paint nearby gives back as a share of slip, for cells at its edge on either side.
    fn ghosts(&self) -> Vec<Option<f32>> {
        let Self { cells, decision, .. } = self;
        let (w, n) = (cells.width, cells.neutral.len());
        if !decision.lost.contains(&true) {
            return vec![None; n];
        }
        let side =
            |is: bool| -> Vec<bool> { (0..n).map(|i| cells.neutral[i] && decision.lost[i] == is).collect() };
        let [near_lost, near_bare] = [true, false].map(|is| widened(&side(is), w, 1));
        let lost: Vec<f32> = side(true).iter().map(|&l| f32::from(u8::from(l))).collect();
        let given: Vec<f32> = (0..n)
            .map(|i| if lost[i] > 0.0 { decision.levels.share(cells, i).min(1.0) } else { 0.0 })
            .collect();
        let mean = mean_about(&given, &lost, w, GHOST_NEAR);
        (0..n).map(|i| (near_lost[i] && near_bare[i]).then(|| mean[i][0])).collect()
    }

    /// Brings what was decided on cells to the pixels. Goes out: the light that slip shows.
    fn write(&self, image: &CorrectedImage, map: &mut SurfaceMap, smooth: &[f32]) -> BareSlip {
        let [x0, y0, x1, y1] = map.pieces[self.index].bounds;
        let (w, h) = (x1 - x0, y1 - y0);
        let Decision { levels, near_dark, sure, lost, clay, doubt } = self.decision;
        let (given, middle) =
            (levels.slip.iter().map(|s| s.exp()).collect::<Vec<f32>>(), levels.middle.exp());
        let ghost = self.ghosts();
        let plain: Vec<bool> = (0..self.cells.neutral.len())
            .map(|i| {
                let told = near_dark[i] || sure[i] || lost[i] || clay[i] || doubt[i] || ghost[i].is_some();
                self.cells.neutral[i] && !told
            })
            .collect();
        let radius = (w.max(h) / 500).max(1);
        let all_plain = narrowed(&plain, self.cells.width, radius.div_ceil(STEP));
        // What a pixel gives back as a share of slip; 1 off the neutral ones, so that edges against red are not paint,
        // and where nothing asks for it.
        let mut share = vec![1f32; w * h];
        for (y, shares) in share.chunks_exact_mut(w).enumerate() {
            let row = (y0 + y) * map.width + x0..(y0 + y) * map.width + x1;
            let line = y / STEP * self.cells.width;
            let (pixels, light) = (&image.xyz[row.clone()], &smooth[row.clone()]);
            let labels = map.labels[row.clone()].iter().zip(&map.piece_of[row]);
            for (x, (label, piece)) in labels.enumerate() {
                let cell = line + x / STEP;
                if !all_plain[cell] && *piece == self.number && is_neutral(*label) {
                    // What slip gives back changes over many cells.
                    shares[x] = pixels[x][1] / (light[x].max(0.02) * given[cell] * middle);
                }
            }
        }
        let darkest = extreme(&share, w, h, radius, false);
        let black_below = levels.share_at(LOST_BELOW);
        let is_lost = |i: usize, ghost: f32| mean_of_nine(&share, w, i) <= 1.0 - FADED * (1.0 - ghost);
        for y in 0..h {
            let row = (y0 + y) * map.width + x0..(y0 + y) * map.width + x1;
            let line = y / STEP * self.cells.width;
            let labels = map.labels[row.clone()].iter_mut().zip(&map.piece_of[row]).enumerate();
            let own = labels.filter(|(_, (label, piece))| **piece == self.number && is_neutral(**label));
            for (x, (label, _)) in own {
                let (i, cell) = (y * w + x, line + x / STEP);
                if plain[cell] {
                    *label = Label::White;
                    continue;
                }
                let dark = darkest[i] <= black_below || levels.is_dirty(cell);
                let by_paint = near_dark[cell] || !self.cells.neutral[cell];
                // On an edge a pixel shares two surfaces by area: half way in linear light parts them.
                let half_way = (1.0 + darkest[i]) / 2.0;
                *label = if sure[cell] || dark && by_paint && share[i] <= half_way {
                    Label::Black
                } else if clay[cell] {
                    Label::Body
                } else if ghost[cell].map_or(lost[cell], |ghost| is_lost(i, ghost)) {
                    Label::LostPaint
                } else if doubt[cell] && *label == Label::White {
                    Label::Unclear
                } else {
                    Label::White
                };
            }
        }
        let across = self.cells.width;
        let light = |i: usize| smooth[(y0 + i / across * STEP) * map.width + x0 + i % across * STEP];
        BareSlip {
            size: [w, h],
            light: given.iter().enumerate().map(|(i, given)| light(i) * given).collect(),
        }
    }
}

/// Mean of a value and its eight neighbours: less grain.
fn mean_of_nine(values: &[f32], width: usize, i: usize) -> f32 {
    let (x, y) = (i % width, i / width);
    let columns = x.saturating_sub(1)..(x + 2).min(width);
    let rows = y.saturating_sub(1)..(y + 2).min(values.len() / width);
    let count = (columns.len() * rows.len()) as f32;
    rows.map(|y| values[y * width..][columns.clone()].iter().sum::<f32>()).sum::<f32>() / count
}
