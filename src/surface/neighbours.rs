//! Sums, extremes and blurs over the neighbourhood of each cell of a grid.

use super::grid::Grid;

/// Blurs in place, about a Gaussian of that standard deviation. Beyond the edge lies nothing (zero): blur weights
/// alike and divide. Wide blurs are made on a reduced grid.
pub(crate) fn blur(values: &mut [f32], width: usize, height: usize, sigma: f64) {
    let factor = (sigma / 4.0) as usize;
    if factor < 2 {
        return blur_by_means(values, width, height, sigma);
    }
    let (w, h) = (width.div_ceil(factor), height.div_ceil(factor));
    let mut small = vec![0f32; w * h];
    for (y, row) in values.chunks_exact(width).enumerate() {
        let sums = &mut small[y / factor * w..(y / factor + 1) * w];
        row.chunks(factor).zip(sums).for_each(|(cells, sum)| *sum += cells.iter().sum::<f32>());
    }
    let share = 1.0 / (factor * factor) as f32;
    small.iter_mut().for_each(|v| *v *= share);
    blur_by_means(&mut small, w, h, sigma / factor as f64);
    let grid = Grid { width: w, height: h, step: factor, tint: Vec::new() };
    for (y, row) in values.chunks_exact_mut(width).enumerate() {
        grid.row_between(&small, y, row);
    }
}

/// Three running means each way (Wells 1986, IEEE PAMI 8(2)).
fn blur_by_means(values: &mut [f32], width: usize, height: usize, sigma: f64) {
    let radius = (((4.0 * sigma * sigma + 1.0).sqrt() - 1.0) / 2.0).round().max(1.0) as usize;
    let share = 1.0 / (2 * radius + 1) as f64;
    let mut source = vec![0f32; values.len()];
    for _ in 0..3 {
        source.copy_from_slice(values);
        for (from, to) in source.chunks_exact(width).zip(values.chunks_exact_mut(width)) {
            let mut sum: f64 = from[..radius.min(width)].iter().map(|&v| f64::from(v)).sum();
            for x in 0..width {
                if x + radius < width {
                    sum += f64::from(from[x + radius]);
                }
                to[x] = (sum * share) as f32;
                if x >= radius {
                    sum -= f64::from(from[x - radius]);
                }
            }
        }
    }
    // Columns are walked side by side: one running sum a column.
    let mut sums = vec![0f64; width];
    for _ in 0..3 {
        source.copy_from_slice(values);
        sums.fill(0.0);
        for row in source.chunks_exact(width).take(radius) {
            sums.iter_mut().zip(row).for_each(|(s, &v)| *s += f64::from(v));
        }
        for y in 0..height {
            if let Some(row) = source.chunks_exact(width).nth(y + radius) {
                sums.iter_mut().zip(row).for_each(|(s, &v)| *s += f64::from(v));
            }
            let to = &mut values[y * width..(y + 1) * width];
            to.iter_mut().zip(&sums).for_each(|(v, s)| *v = (s * share) as f32);
            if y >= radius {
                let row = &source[(y - radius) * width..(y - radius + 1) * width];
                sums.iter_mut().zip(row).for_each(|(s, &v)| *s -= f64::from(v));
            }
        }
    }
}

/// Smallest (or, with `largest`, greatest) value within `radius` both ways; square window.
pub(super) fn extreme(values: &[f32], width: usize, height: usize, radius: usize, largest: bool) -> Vec<f32> {
    if largest {
        extreme_by(values, width, height, radius, f32::max)
    } else {
        extreme_by(values, width, height, radius, f32::min)
    }
}

/// A mask grown by `radius` both ways, corners as well.
pub(crate) fn widened(mask: &[bool], width: usize, radius: usize) -> Vec<bool> {
    extreme_by(mask, width, mask.len() / width, radius, |a, b| a | b)
}

/// A mask less what lies within `radius` of what is off it, both ways. The edge of the grid takes nothing away.
pub(crate) fn narrowed(mask: &[bool], width: usize, radius: usize) -> Vec<bool> {
    extreme_by(mask, width, mask.len() / width, radius, |a, b| a & b)
}

fn extreme_by<T: Copy>(
    values: &[T],
    width: usize,
    height: usize,
    radius: usize,
    pick: impl Fn(T, T) -> T,
) -> Vec<T> {
    let join = |to: &mut [T], from: &[T]| to.iter_mut().zip(from).for_each(|(t, v)| *t = pick(*t, *v));
    let mut rows = values.to_vec();
    for (from, to) in values.chunks_exact(width).zip(rows.chunks_exact_mut(width)) {
        for d in 1..=radius.min(width - 1) {
            join(&mut to[d..], &from[..width - d]);
            join(&mut to[..width - d], &from[d..]);
        }
    }
    let mut out = rows.clone();
    for (y, to) in out.chunks_exact_mut(width).enumerate() {
        for yy in (y.saturating_sub(radius)..(y + radius + 1).min(height)).filter(|&yy| yy != y) {
            join(to, &rows[yy * width..(yy + 1) * width]);
        }
    }
    out
}

/// The sums over each cell and the eight about it, as far as there are.
pub(super) fn sums_of_nine(of: Vec<[f32; 4]>, width: usize) -> Vec<[f32; 4]> {
    let add = |to: &mut [[f32; 4]], from: &[[f32; 4]]| {
        to.as_flattened_mut().iter_mut().zip(from.as_flattened()).for_each(|(t, v)| *t += v);
    };
    let mut rows = of.clone();
    for (to, from) in rows.chunks_exact_mut(width).zip(of.chunks_exact(width)) {
        add(&mut to[1..], from);
        add(to, &from[1..]);
    }
    let mut sums = rows.clone();
    add(&mut sums[width..], &rows);
    add(&mut sums, &rows[width..]);
    sums
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn extremes_agree_with_the_plain_way() {
        let (width, height) = (13, 7);
        let values: Vec<f32> = (0..width * height).map(|i| ((i * 29) % 17) as f32).collect();
        for radius in [1, 2, 20] {
            for largest in [false, true] {
                let found = extreme(&values, width, height, radius, largest);
                for (i, found) in found.iter().enumerate() {
                    let (x, y) = (i % width, i / width);
                    let near = (0..values.len())
                        .filter(|j| (j % width).abs_diff(x) <= radius && (j / width).abs_diff(y) <= radius)
                        .map(|j| values[j]);
                    let plain =
                        if largest { near.fold(f32::MIN, f32::max) } else { near.fold(f32::MAX, f32::min) };
                    assert_eq!(*found, plain, "{radius} {largest} at {x} {y}");
                }
            }
            let mask: Vec<bool> = values.iter().map(|&v| v > 8.0).collect();
            let as_numbers: Vec<f32> = mask.iter().map(|&m| f32::from(u8::from(m))).collect();
            for (found, largest) in
                [(widened(&mask, width, radius), true), (narrowed(&mask, width, radius), false)]
            {
                let plain = extreme(&as_numbers, width, height, radius, largest);
                assert!(found.iter().zip(plain).all(|(f, p)| *f == (p > 0.5)), "{radius} {largest}");
            }
        }
    }

    #[test]
    fn sums_of_nine_agree_with_the_plain_way() {
        let (width, height) = (7, 5);
        let values: Vec<[f32; 4]> =
            (0..width * height).map(|i| [i as f32, ((i * 29) % 17) as f32, 1.0, 0.5]).collect();
        for (i, found) in sums_of_nine(values.clone(), width).iter().enumerate() {
            let near = (0..values.len())
                .filter(|j| (j % width).abs_diff(i % width) <= 1 && (j / width).abs_diff(i / width) <= 1);
            let plain = near.fold([0f32; 4], |s, j| std::array::from_fn(|k| s[k] + values[j][k]));
            assert_eq!(*found, plain, "at {i}");
        }
    }
}
