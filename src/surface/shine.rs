//! Glare on polished red: neutral light added to its own.
//!
//! Comes in: the corrected picture, the labels and a smooth light. Goes out: the same labels with glare where gloss
//! brings more than a quarter of the diffuse light. What gloss adds is neutral, so it brings X and Z nearer to Y
//! by the same share, and it brightens; bare clay is paler than red as well, but yellower, and brightens only.

use super::neighbours::{sums_of_nine, widened};
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
/// One cell of red in so many tells its tint.
const SOME: usize = 4;
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
    /// Pixels of slip and paint.
    neutral: u8,
}

impl Cell {
    /// X, Y, Z, pixels.
    fn sums(&self) -> [f32; 4] {
        let [x, y, z] = self.xyz;
        [x, y, z, self.maybe.into()]
    }
}

fn mark_piece(image: &CorrectedImage, map: &mut SurfaceMap, index: usize, number: u8, smooth: &[f32]) {
    let [x0, y0, x1, y1] = map.pieces[index].bounds;
    let (width, height) = ((x1 - x0).div_ceil(STEP), (y1 - y0).div_ceil(STEP));
    let mut cells = vec![Cell::default(); width * height];
    for y in y0..y1 {
        let line = &mut cells[(y - y0) / STEP * width..][..width];
        let row = y * map.width + x0..y * map.width + x1;
        let (pixels, light) = (&image.xyz[row.clone()], &smooth[row.clone()]);
        let labels = map.labels[row.clone()].iter().zip(&map.piece_of[row]);
        for (x, (label, piece)) in labels.enumerate() {
            let cell = &mut line[x / STEP];
            match label {
                _ if *piece != number => cell.other += 1,
                Label::Red | Label::Body | Label::Unclear | Label::Glare => {
                    let share = 1.0 / light[x].max(0.02);
                    (0..3).for_each(|c| cell.xyz[c] += pixels[x][c] * share);
                    cell.red += u8::from(*label == Label::Red);
                    cell.maybe += 1;
                }
                Label::White | Label::Black | Label::LostPaint => cell.neutral += 1,
                _ => cell.other += 1,
            }
        }
    }
    let whole = |c: &Cell| c.neutral + c.other == 0 && c.xyz[1] > 1e-4;
    let tint = |c: &Cell| [c.xyz[0] * PER_WHITE[0] / c.xyz[1], c.xyz[2] * PER_WHITE[1] / c.xyz[1]];
    let red: Vec<&Cell> = cells.iter().filter(|c| whole(c) && c.red == c.maybe).step_by(SOME).collect();
    if red.len() < LEAST_CELLS / SOME {
        return;
    }
    let at = |mut values: Vec<f32>, share: f32| {
        let k = (values.len() as f32 * share) as usize;
        *values.select_nth_unstable_by(k, f32::total_cmp).1
    };
    let x = at(red.iter().map(|c| tint(c)[0]).collect(), LESS_PURE);
    let z = at(red.iter().map(|c| tint(c)[1]).collect(), 1.0 - LESS_PURE);
    let level = at(red.iter().map(|c| c.xyz[1] / f32::from(c.maybe)).collect(), 0.5);
    // Light of slip and paint mixes into red at its edge: these cells are not asked.
    let neutral: Vec<bool> = cells.iter().map(|c| c.neutral > 0).collect();
    let near_neutral = widened(&neutral, width, 1);
    let nines =
        sums_of_nine(cells.iter().map(|c| if whole(c) { c.sums() } else { [0.0; 4] }).collect(), width);
    let told: Vec<Option<bool>> = (0..cells.len())
        .map(|i| {
            (whole(&cells[i]) && !near_neutral[i]).then(|| {
                // X/Y and Z/Y of a mixture lie between those of its parts in proportion to their Y.
                let [sum_x, sum_y, sum_z, pixels] = nines[i];
                let (xc, zc) = (sum_x * PER_WHITE[0] / sum_y, sum_z * PER_WHITE[1] / sum_y);
                let by = [(x - xc) / (xc - 1.0).max(0.01), (zc - z) / (1.0 - zc).max(0.01)];
                let gloss = (by[0] + by[1]) / 2.0;
                let brighter = sum_y / pixels / level - 1.0;
                (1.0 + gloss) * (1.0 + EVERYWHERE) > 1.0 + GLARE_ABOVE
                    && by[0].min(by[1]) > ALIKE * by[0].max(by[1])
                    && brighter > BRIGHTER * gloss
            })
        })
        .collect();
    if !told.contains(&Some(true)) {
        return;
    }
    for i in (0..cells.len()).filter(|&i| cells[i].maybe > 0 && most_about(&told, width, i)) {
        let (x, y) = (x0 + i % width * STEP, y0 + i / width * STEP);
        for row in y..(y + STEP).min(y1) {
            for at in row * map.width + x..row * map.width + (x + STEP).min(x1) {
                let label = &mut map.labels[at];
                let red = matches!(label, Label::Red | Label::Body | Label::Unclear);
                if red && map.piece_of[at] == number {
                    *label = Label::Glare;
                }
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
