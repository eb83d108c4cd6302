//! Paint and slip: which neutral places are bare slip, black paint, or paint that has burned out.
//!
//! Comes in: the corrected picture, a map that tells neutral places from red and clay, and a smooth light on the
//! piece. Goes out: the same map with white, black and lost paint told apart anew, and the light that bare slip
//! shows at each place. Light, form, soot and the brush change over wide places; paint begins and ends at once. So
//! neutral places are split by what differs across short distances (`trace`), which holds for sound black and for
//! the trace of a burned-out stroke, a few hundredths darker than the slip. How dark a painted place is against
//! the slip about it then says whether it is black or lost, and a lost stroke must prove itself (`proof`).

mod cells;
mod levels;
mod proof;
mod trace;

use super::grid::{Grid, extreme};
use super::{Label, SurfaceMap};
use crate::card::CorrectedImage;
use cells::{Cells, STEP, is_neutral};
use levels::Levels;

/// Paint with less than this share of the soundest contrast is lost (design.md, label 6).
const LOST_BELOW: f32 = 0.5;

/// Tells white, black and lost paint apart on all pieces. Goes out: the light bare slip shows at each place of a
/// piece, as a share of `smooth` times the mean of the piece's slip; 1.0 elsewhere and on pieces without slip.
pub fn tell_paint(image: &CorrectedImage, map: &mut SurfaceMap, smooth: &[f32]) -> Vec<f32> {
    let mut shown = vec![1f32; smooth.len()];
    for index in 0..map.pieces.len() {
        let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
        let Some(cells) = Cells::of(image, map, index, number, smooth) else { continue };
        let painted = trace::DARK.find(&cells, &cells.neutral);
        let levels = Levels::of(&cells, &painted);
        write(image, map, index, number, smooth, &cells, &painted, &levels, &mut shown);
    }
    shown
}

/// Brings what was found on cells to the pixels.
#[allow(clippy::too_many_arguments)]
fn write(
    image: &CorrectedImage,
    map: &mut SurfaceMap,
    index: usize,
    number: u8,
    smooth: &[f32],
    cells: &Cells,
    painted: &[bool],
    levels: &Levels,
    shown: &mut [f32],
) {
    let [x0, y0, x1, y1] = map.pieces[index].bounds;
    let (w, h) = (x1 - x0, y1 - y0);
    let contrast = |i: usize| levels.contrast((cells.seen[i] - levels.slip[i]).exp());
    let flags = |mask: &[bool]| mask.iter().map(|&m| f32::from(u8::from(m))).collect::<Vec<f32>>();
    let near = |mask: &[bool]| extreme(&flags(mask), cells.width, cells.height, 1, true);
    let near_paint = near(painted);
    let bare: Vec<bool> = (0..painted.len()).map(|i| cells.neutral[i] && near_paint[i] == 0.0).collect();
    let faint = trace::TRACE.find(cells, &bare);
    let black: Vec<bool> = (0..painted.len()).map(|i| painted[i] && contrast(i) >= LOST_BELOW).collect();
    let near_black = near(&black);
    let traces: Vec<bool> =
        (0..painted.len()).map(|i| faint[i] || painted[i] && near_black[i] == 0.0).collect();
    let pale: Vec<bool> = (0..painted.len()).map(|i| cells.neutral[i] && near_black[i] == 0.0).collect();
    let lost = near(&proof::proven(cells, &traces, &pale, &black));
    let level: Vec<f32> = cells.plane.iter().zip(&levels.slip).map(|(p, s)| p + s).collect();
    let mut middle: Vec<f32> =
        (0..painted.len()).filter(|&i| cells.neutral[i] && !painted[i]).map(|i| level[i]).collect();
    let at = middle.len() / 2;
    let mean = if middle.is_empty() { 0.0 } else { *middle.select_nth_unstable_by(at, f32::total_cmp).1 };
    let grid = Grid { width: cells.width, height: cells.height, step: STEP, tint: Vec::new() };
    let mut share = vec![1f32; w * h];
    let mut line = vec![0f32; w];
    for y in 0..h {
        grid.row_between(&level, y, &mut line);
        for x in 0..w {
            let at = (y0 + y) * map.width + x0 + x;
            if map.piece_of[at] == number {
                let slip = line[x].exp();
                shown[at] = slip / mean.exp();
                if is_neutral(map.labels[at]) {
                    share[y * w + x] = image.xyz[at][1] / (smooth[at].max(0.02) * slip);
                }
            }
        }
    }
    let darkest = extreme(&share, w, h, (w.max(h) / 500).max(1), false);
    for i in 0..w * h {
        let at = (y0 + i / w) * map.width + x0 + i % w;
        if map.piece_of[at] != number || !is_neutral(map.labels[at]) {
            continue;
        }
        let cell = i / w / STEP * cells.width + i % w / STEP;
        // On an edge a pixel shares two surfaces by area: half way in linear light parts them.
        let strong =
            levels.contrast(darkest[i]) >= LOST_BELOW && (near_paint[cell] > 0.0 || !cells.neutral[cell]);
        map.labels[at] = if strong && share[i] <= (1.0 + darkest[i]) / 2.0 {
            Label::Black
        } else if lost[cell] > 0.0 && (faint[cell] || !bare[cell]) {
            Label::LostPaint
        } else {
            Label::White
        };
    }
}
