//! Lost paint: strokes that were laid and have burned out, seen by what is left of them.
//!
//! Comes in: the corrected picture and a map whose slip, black paint and fire clouds are found. Goes out: the same
//! map with label 6 where paint was laid and is lost. A burned-out stroke leaves a trace a few hundredths darker
//! than the slip, less than light and brush make over the piece; but it begins and ends at once, along the
//! outline of the stroke. So the piece is split by what differs across short distances (`trace`), and every patch
//! must then prove itself: darker all around, with a sharp edge, as broad as painted strokes are (`proof`).

mod cells;
mod proof;
mod trace;

use super::{Label, SurfaceMap};
use crate::card::CorrectedImage;
use cells::{Cells, STEP};
use std::collections::VecDeque;

/// Marks the lost paint of all pieces.
pub fn mark_lost_paint(image: &CorrectedImage, map: &mut SurfaceMap) {
    for index in 0..map.pieces.len() {
        let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
        let Some(cells) = Cells::of(image, map, &map.pieces[index], number) else { continue };
        let lost = proof::proven(&cells, trace::trace(&cells));
        write(map, index, number, &cells, &lost);
    }
}

/// How far, in map pixels, a decided cell speaks for the mixed pixels at its side.
const REACH: u8 = 6;

/// Brings the decision on cells to the pixels: those of slip at the edge of other surfaces follow the nearest cell.
fn write(map: &mut SurfaceMap, index: usize, number: u8, cells: &Cells, lost: &[bool]) {
    let [x0, y0, x1, y1] = map.pieces[index].bounds;
    let w = x1 - x0;
    let mut decided: Vec<Option<bool>> = vec![None; w * (y1 - y0)];
    let mut wave = VecDeque::new();
    for (i, decision) in decided.iter_mut().enumerate() {
        let cell = i / w / STEP * cells.width + i % w / STEP;
        if cells.slip[cell] {
            *decision = Some(lost[cell]);
        }
    }
    let at = |i: usize| (y0 + i / w) * map.width + x0 + i % w;
    let open = |i: usize| {
        map.piece_of[at(i)] == number && matches!(map.labels[at(i)], Label::White | Label::LostPaint)
    };
    let beside = |i: usize| {
        [
            (i % w > 0).then(|| i - 1),
            (i % w + 1 < w).then_some(i + 1),
            i.checked_sub(w),
            Some(i + w).filter(|&j| j < w * (y1 - y0)),
        ]
    };
    for i in 0..decided.len() {
        if decided[i].is_some() && beside(i).into_iter().flatten().any(|j| decided[j].is_none() && open(j)) {
            wave.push_back((i, 0));
        }
    }
    while let Some((i, steps)) = wave.pop_front() {
        for j in beside(i).into_iter().flatten() {
            if decided[j].is_none() && open(j) && steps < REACH {
                decided[j] = decided[i];
                wave.push_back((j, steps + 1));
            }
        }
    }
    for (i, decision) in decided.iter().enumerate() {
        let at = (y0 + i / w) * map.width + x0 + i % w;
        let slip = map.piece_of[at] == number && matches!(map.labels[at], Label::White | Label::LostPaint);
        if let (true, Some(lost)) = (slip, decision) {
            map.labels[at] = if *lost { Label::LostPaint } else { Label::White };
        }
    }
}
