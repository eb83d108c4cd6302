//! EXIF orientation (CIPA DC-008, tag 274), applied here and nowhere else.

use rayon::prelude::*;

/// Rows of the turned picture written together: their lines stay in the cache.
const BAND: usize = 32;

/// Turns samples (`channels` values a pixel, row by row) upright and gives the new columns and rows.
///
/// Value 1 returns the samples untouched, 2 to 4 work in place, 5 to 8 need a second buffer.
/// Anything else counts as 1.
pub(super) fn upright<T: Copy + Default + Send + Sync>(
    mut samples: Vec<T>,
    (width, height): (usize, usize),
    channels: usize,
    orientation: u8,
) -> (Vec<T>, (usize, usize)) {
    let row = width * channels;
    match orientation {
        // Mirrored left to right.
        2 => samples.par_chunks_mut(row).for_each(|row| reverse_pixels(row, channels)),
        // Half a turn: all pixels in reverse order.
        3 => reverse_pixels(&mut samples, channels),
        // Mirrored top to bottom.
        4 => {
            for y in 0..height / 2 {
                let (top, bottom) = samples.split_at_mut((height - 1 - y) * row);
                top[y * row..(y + 1) * row].swap_with_slice(&mut bottom[..row]);
            }
        }
        5..=8 => return (turned(&samples, (width, height), channels, orientation), (height, width)),
        _ => {}
    }
    (samples, (width, height))
}

fn reverse_pixels<T: Copy>(samples: &mut [T], channels: usize) {
    if let (true, pixels) = (channels == 3, samples.as_chunks_mut::<3>().0) {
        pixels.reverse();
    } else {
        samples.reverse();
    }
}

/// The turned picture has `height` columns. Its column is the stored row (from below for 6 and 7),
/// its row the stored column (from the right for 7 and 8).
fn turned<T: Copy + Default + Send + Sync>(
    samples: &[T],
    (width, height): (usize, usize),
    channels: usize,
    orientation: u8,
) -> Vec<T> {
    let from_below = matches!(orientation, 6 | 7);
    let from_right = matches!(orientation, 7 | 8);
    let mut out = vec![T::default(); samples.len()];
    out.par_chunks_mut(height * channels * BAND).enumerate().for_each(|(band, rows)| {
        let first = band * BAND;
        let count = rows.len() / (height * channels);
        for x in 0..height {
            let stored_row = if from_below { height - 1 - x } else { x };
            for y in 0..count {
                let stored_column = if from_right { width - 1 - (first + y) } else { first + y };
                let from = (stored_row * width + stored_column) * channels;
                let to = (y * height + x) * channels;
                rows[to..to + channels].copy_from_slice(&samples[from..from + channels]);
            }
        }
    });
    out
}
