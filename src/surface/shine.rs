//! Glare on polished red: neutral light added to its own.
//!
//! Comes in: the corrected picture, the labels and a smooth light. Goes out: the same labels with glare where gloss
//! brings more than a quarter of the diffuse light. What gloss adds is neutral, so it brings X and Z nearer to Y
//! by the same share, and it brightens; bare clay is paler than red as well, but yellower, and brightens only.

use super::{Label, SurfaceMap};
use crate::card::CorrectedImage;

/// Gloss above this share of the diffuse light is glare (design.md, label 7).
const GLARE_ABOVE: f32 = 0.25;
/// Gloss that even the purest red of a piece carries: a skin of refractive index 1.5 mirrors 4 % of what it faces
/// (Fresnel), ochre gives back 13 to 20 %, and away from the lamp a piece faces some two fifths of the mean light.
const EVERYWHERE: f32 = 0.1;
/// X and Z must tell the same gloss, to within a factor of two. Clay beside red is far less red than it is less yellow.
const ALIKE: f32 = 0.5;
/// What brightens must be seen to brighten by this share of what the tint says: the smooth light has taken the rest.
const BRIGHTER: f32 = 0.1;
/// Side of a cell, map pixels.
const STEP: usize = 2;
/// Fewer cells of red than this tell no tint.
const LEAST_CELLS: usize = 200;
/// The piece's own red is the purer part of it: this share is less pure, by gloss and dust.
const LESS_PURE: f32 = 0.7;
/// X and Z of the white of CIE D50 (ISO 15076-1), one over each.
const PER_WHITE: [f32; 2] = [1.0 / 0.9642, 1.0 / 0.8249];

/// Marks glare on all pieces: red, what passed for clay and what was unclear may become glare.
pub fn mark_glare(image: &CorrectedImage, map: &mut SurfaceMap, smooth: &[f32]) {
    for index in 0..map.pieces.len() {
        let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
        mark_piece(image, map, index, number, smooth);
    }
}

/// The red of one cell.
#[derive(Clone, Copy, Default)]
struct Cell {
    xyz: [f32; 3],
    /// Pixels of red, of what may be red in gloss, of all else.
    red: u8,
    maybe: u8,
    other: u8,
    /// Pixels of slip and paint: their light mixes into red at its edge.
    neutral: u8,
}

fn mark_piece(image: &CorrectedImage, map: &mut SurfaceMap, index: usize, number: u8, smooth: &[f32]) {
    let [x0, y0, x1, y1] = map.pieces[index].bounds;
    let (width, height) = ((x1 - x0).div_ceil(STEP), (y1 - y0).div_ceil(STEP));
    let mut cells = vec![Cell::default(); width * height];
    for y in y0..y1 {
        for x in x0..x1 {
            let at = y * map.width + x;
            let cell = &mut cells[(y - y0) / STEP * width + (x - x0) / STEP];
            match map.labels[at] {
                _ if map.piece_of[at] != number => cell.other += 1,
                label @ (Label::Red | Label::Body | Label::Unclear | Label::Glare) => {
                    let light = smooth[at].max(0.02);
                    (0..3).for_each(|c| cell.xyz[c] += image.xyz[at][c] / light);
                    cell.red += u8::from(label == Label::Red);
                    cell.maybe += 1;
                }
                Label::White | Label::Black | Label::LostPaint => cell.neutral += 1,
                _ => cell.other += 1,
            }
        }
    }
    let whole = |c: &Cell| c.neutral + c.other == 0 && c.xyz[1] > 1e-4;
    let tint = |c: &Cell| [c.xyz[0] * PER_WHITE[0] / c.xyz[1], c.xyz[2] * PER_WHITE[1] / c.xyz[1]];
    let red: Vec<&Cell> = cells.iter().filter(|c| whole(c) && c.red == c.maybe).collect();
    if red.len() < LEAST_CELLS {
        return;
    }
    let at = |mut values: Vec<f32>, share: f32| {
        let k = (values.len() as f32 * share) as usize;
        *values.select_nth_unstable_by(k, f32::total_cmp).1
    };
    let x = at(red.iter().map(|c| tint(c)[0]).collect(), LESS_PURE);
    let z = at(red.iter().map(|c| tint(c)[1]).collect(), 1.0 - LESS_PURE);
    let level = at(red.iter().map(|c| c.xyz[1] / f32::from(c.maybe)).collect(), 0.5);
    let told: Vec<Option<bool>> = (0..cells.len())
        .map(|i| {
            (whole(&cells[i]) && !beside_neutral(&cells, width, i)).then(|| {
                let c = &about(&cells, width, i, whole);
                // X/Y and Z/Y of a mixture lie between those of its parts in proportion to their Y.
                let [xc, zc] = tint(c);
                let by = [(x - xc) / (xc - 1.0).max(0.01), (zc - z) / (1.0 - zc).max(0.01)];
                let gloss = (by[0] + by[1]) / 2.0;
                let brighter = c.xyz[1] / f32::from(c.maybe) / level - 1.0;
                (1.0 + gloss) * (1.0 + EVERYWHERE) > 1.0 + GLARE_ABOVE
                    && by[0].min(by[1]) > ALIKE * by[0].max(by[1])
                    && brighter > BRIGHTER * gloss
            })
        })
        .collect();
    let glary: Vec<bool> =
        (0..cells.len()).map(|i| cells[i].maybe > 0 && most_about(&told, width, i)).collect();
    for y in y0..y1 {
        for x in x0..x1 {
            let at = y * map.width + x;
            let cell = (y - y0) / STEP * width + (x - x0) / STEP;
            let label = &mut map.labels[at];
            let red = matches!(label, Label::Red | Label::Body | Label::Unclear);
            if red && map.piece_of[at] == number && glary[cell] {
                *label = Label::Glare;
            }
        }
    }
}

/// Whether most of the cells in three times three that could be told are glare: gloss is smooth, grain is not, and
/// what lies at the edge of red goes with what lies beside it.
fn most_about(told: &[Option<bool>], width: usize, i: usize) -> bool {
    let (x, y) = (i % width, i / width);
    let (mut glare, mut all) = (0, 0);
    for yy in y.saturating_sub(1)..(y + 2).min(told.len() / width) {
        for is in told[yy * width + x.saturating_sub(1)..yy * width + (x + 2).min(width)].iter().flatten() {
            glare += usize::from(*is);
            all += 1;
        }
    }
    2 * glare > all
}

/// A cell and those about it that are red as well, together: less grain.
fn about(cells: &[Cell], width: usize, i: usize, whole: impl Fn(&Cell) -> bool) -> Cell {
    let (x, y) = (i % width, i / width);
    let mut sum = Cell::default();
    for yy in y.saturating_sub(1)..(y + 2).min(cells.len() / width) {
        for cell in &cells[yy * width + x.saturating_sub(1)..yy * width + (x + 2).min(width)] {
            if whole(cell) {
                (0..3).for_each(|k| sum.xyz[k] += cell.xyz[k]);
                sum.maybe += cell.maybe;
            }
        }
    }
    sum
}

/// Whether slip or paint lies in one of the eight cells about a cell.
fn beside_neutral(cells: &[Cell], width: usize, i: usize) -> bool {
    let (x, y) = (i % width, i / width);
    (y.saturating_sub(1)..(y + 2).min(cells.len() / width))
        .any(|yy| (x.saturating_sub(1)..(x + 2).min(width)).any(|xx| cells[yy * width + xx].neutral > 0))
}
