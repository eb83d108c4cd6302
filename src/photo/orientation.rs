//! EXIF orientation (CIPA DC-008, tag 274), applied here and nowhere else.

use rayon::prelude::*;

/// Rows of the turned picture written together: their lines stay in the cache.
const BAND: usize = 32;

/// Turns samples (`channels` values a pixel, 1 or 3, row by row) upright and gives the new columns
/// and rows.
///
/// Value 1 returns the samples untouched, 2 to 4 work in place, 5 to 8 need a second buffer.
/// Anything else counts as 1.
pub(super) fn upright<T: Copy + Default + Send + Sync>(
    mut samples: Vec<T>,
    size: (usize, usize),
    channels: usize,
    orientation: u8,
) -> (Vec<T>, (usize, usize)) {
    match orientation {
        2..=4 if channels == 3 => mirrored(samples.as_chunks_mut::<3>().0, size, orientation),
        2..=4 => mirrored(&mut samples, size, orientation),
        5..=8 => {
            let mut turned_samples = vec![T::default(); samples.len()];
            if channels == 3 {
                let (from, to) = (samples.as_chunks::<3>().0, turned_samples.as_chunks_mut::<3>().0);
                turned(from, to, size, orientation);
            } else {
                turned(&samples, &mut turned_samples, size, orientation);
            }
            return (turned_samples, (size.1, size.0));
        }
        _ => {}
    }
    (samples, size)
}

/// 2: left to right; 3: half a turn, which is all pixels in reverse; 4: top to bottom.
fn mirrored<P: Copy + Send>(pixels: &mut [P], (width, height): (usize, usize), orientation: u8) {
    match orientation {
        2 => pixels.par_chunks_mut(width).for_each(<[P]>::reverse),
        3 => pixels.reverse(),
        _ => {
            for y in 0..height / 2 {
                let (top, bottom) = pixels.split_at_mut((height - 1 - y) * width);
                top[y * width..(y + 1) * width].swap_with_slice(&mut bottom[..width]);
            }
        }
    }
}

/// The turned picture has `height` columns. Its column is the stored row (from below for 6 and 7),
/// its row the stored column (from the right for 7 and 8).
fn turned<P: Copy + Send + Sync>(from: &[P], to: &mut [P], (width, height): (usize, usize), orientation: u8) {
    let from_below = matches!(orientation, 6 | 7);
    let from_right = matches!(orientation, 7 | 8);
    to.par_chunks_mut(height * BAND).enumerate().for_each(|(band, rows)| {
        let (first, count) = (band * BAND, rows.len() / height);
        for x in 0..height {
            let stored_row = if from_below { height - 1 - x } else { x };
            let stored = &from[stored_row * width..(stored_row + 1) * width];
            for y in 0..count {
                let stored_column = if from_right { width - 1 - (first + y) } else { first + y };
                rows[y * height + x] = stored[stored_column];
            }
        }
    });
}
