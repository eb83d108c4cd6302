//! From patch numbers to patch sides: how wide the gaps between the patches are.

use super::matching::Placement;
use super::work::Work;
use crate::card::CardDefinition;
use crate::card::geometry::{Grid, Homography};

/// Pitch in pixels of the small picture below which the gaps cannot be measured.
const LEAST_PITCH_PX: f64 = 16.0;
/// Steps from the centre of a patch to that of the next.
const STEPS: usize = 80;
/// Widest gap that is believed, of the pitch.
const WIDEST: f64 = 0.35;

/// The grid in full-size pixels.
pub(super) fn refine(work: &Work, best: &Placement, definition: &CardDefinition) -> Grid {
    let layout = &definition.layout;
    let (rows, columns, tall) = (layout.rows, layout.columns, layout.tall());
    // Cards of the same layout differ in their gaps, printed copies most.
    let gap = measured_gap(work, &best.to_px, rows, columns);
    let pitch = match gap {
        Some(gap) => [1.0, tall].map(|side| side / (1.0 - gap)),
        None => layout.pitch(),
    };
    // Patch (c, r) has its centre at (c, r) before, at (c * pitch + 1/2, r * pitch + tall/2) after.
    let to_px = best.to_px.after(
        [-0.5 / pitch[0], -0.5 * tall / pitch[1]],
        [1.0 / pitch[0], 0.0],
        [0.0, 1.0 / pitch[1]],
    );
    Grid { to_px: to_px.then(work.scale, [0.0, 0.0]), pitch, tall, rows, columns }
}

/// Width of the gaps as a share of the pitch: the distance of the two edges between neighbours, in the
/// changes of colour from centre to centre, summed over all pairs.
fn measured_gap(work: &Work, to_px: &Homography, rows: usize, columns: usize) -> Option<f64> {
    let middle = [0.5 * (columns - 1) as f64, 0.5 * (rows - 1) as f64];
    if to_px.area(middle).abs().sqrt() < LEAST_PITCH_PX {
        return None;
    }
    let mut changes = [0.0; STEPS];
    for row in 0..rows {
        for column in 0..columns {
            let from = [column as f64, row as f64];
            if column + 1 < columns {
                add_changes(work, to_px, from, [1.0, 0.0], &mut changes);
            }
            if row + 1 < rows {
                add_changes(work, to_px, from, [0.0, 1.0], &mut changes);
            }
        }
    }
    let half = STEPS / 2;
    let (first, second) = (peak(&changes[half / 2..half])?, peak(&changes[half..half + half / 2])?);
    let gap = (second + (half - half / 2) as f64 - first) / STEPS as f64;
    (0.0..=WIDEST).contains(&gap).then_some(gap)
}

/// Adds the changes of colour on three lines from one patch to the next.
fn add_changes(work: &Work, to_px: &Homography, from: [f64; 2], step: [f64; 2], changes: &mut [f64; STEPS]) {
    for aside in [-0.2, 0.0, 0.2] {
        let at = |i: usize| {
            let t = i as f64 / STEPS as f64;
            let [x, y] = to_px
                .apply([from[0] + t * step[0] + aside * step[1], from[1] + t * step[1] + aside * step[0]]);
            work.at(x, y)
        };
        let colours: Vec<[f64; 3]> = (0..=STEPS).map(at).collect();
        for (change, pair) in changes.iter_mut().zip(colours.windows(2)) {
            *change += (0..3).map(|k| (pair[1][k] - pair[0][k]).abs()).sum::<f64>();
        }
    }
}

/// Place of the highest point, as the centre of what is above half of it around it.
fn peak(values: &[f64]) -> Option<f64> {
    let top = (0..values.len()).max_by(|&a, &b| values[a].total_cmp(&values[b]))?;
    let half = 0.5 * values[top];
    let above = |i: &usize| values[*i] > half;
    let low = (0..=top).rev().take_while(above).last()?;
    let high = (top..values.len()).take_while(above).last()?;
    let (mut sum, mut weights) = (0.0, 0.0);
    for (i, value) in values.iter().enumerate().take(high + 1).skip(low) {
        sum += (value - half) * (i as f64 + 0.5);
        weights += value - half;
    }
    (weights > 0.0).then(|| sum / weights)
}
