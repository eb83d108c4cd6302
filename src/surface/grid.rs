//! A reduced picture to think on, and small sums over grids.

use crate::card::CorrectedImage;

/// Lightness, and the colour apart from the light on it.
///
/// `l` is L*. `a` and `b` are a* and b* of the same chromaticity brought to L* 50, so that they do not change
/// with the light on a surface; in near darkness they fade to 0 because noise rules there.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Tint {
    pub l: f32,
    pub a: f32,
    pub b: f32,
}

/// X, Y, Z relative to the D50 white of ISO 15076-1, one over each.
const PER_WHITE: [f32; 3] = [1.0 / 0.9642, 1.0, 1.0 / 0.8249];
/// Cube root of Y at L* 50: (50 + 16) / 116.
const ROOT_50: f32 = 66.0 / 116.0;
/// Light added before roots are taken: about the noise of an 8-bit photograph in the dark.
const DARK: f32 = 0.002;

impl Tint {
    /// From X, Y, Z for D50.
    #[inline]
    pub fn of(xyz: [f32; 3]) -> Self {
        let lit = |k: usize| xyz[k].max(0.0) * PER_WHITE[k] + DARK;
        let [x, y, z, _] = cube_roots([lit(0), lit(1), lit(2), 1.0]);
        Self { l: 116.0 * y - 16.0, a: 500.0 * ROOT_50 * (x / y - 1.0), b: 200.0 * ROOT_50 * (1.0 - z / y) }
    }

    /// The luminance it was made of, as `luminance` gives it.
    pub fn luminance(self) -> f32 {
        ((self.l.max(1.0) + 16.0) / 116.0).powi(3)
    }

    pub fn array(self) -> [f32; 3] {
        [self.l, self.a, self.b]
    }
}

/// Luminance with the light that is added before roots are taken; not below L* 1.
#[inline]
pub(super) fn luminance(y: f32) -> f32 {
    (y.max(0.0) + DARK).max(LEAST)
}

/// Luminance at L* 1, cube root held down to the dark.
const LEAST: f32 = 17.0 * 17.0 * 17.0 / (116.0 * 116.0 * 116.0);

/// Cube roots of positive numbers: a first guess from the exponent, then two steps of Halley's method. Right to 1e-6,
/// several times faster than the general function, and four at a time.
#[inline]
fn cube_roots(v: [f32; 4]) -> [f32; 4] {
    let mut r = v.map(|v| f32::from_bits(v.to_bits() / 3 + 709_921_077));
    for _ in 0..2 {
        for (r, v) in r.iter_mut().zip(v) {
            let cube = *r * *r * *r;
            *r *= (cube + 2.0 * v) / (2.0 * cube + v);
        }
    }
    r
}

/// The picture in cells of `step * step` map pixels.
pub(super) struct Grid {
    pub width: usize,
    pub height: usize,
    /// Map pixels per cell, both ways.
    pub step: usize,
    pub tint: Vec<Tint>,
}

impl Grid {
    /// Reduces a window (x0, y0, x1, y1) of the picture: means of XYZ over cells.
    pub fn of(image: &CorrectedImage, window: [usize; 4], step: usize) -> Self {
        Self::of_some(image, window, step, |_, _| true)
    }

    /// The same, of those cells only that are wanted; the others are left black.
    pub fn of_some(
        image: &CorrectedImage,
        window: [usize; 4],
        step: usize,
        wanted: impl Fn(usize, usize) -> bool,
    ) -> Self {
        let [x0, y0, x1, y1] = window;
        let (width, height) = ((x1 - x0).div_ceil(step), (y1 - y0).div_ceil(step));
        // Every second row is enough of a large cell.
        let skip = if step >= 8 { 2 } else { 1 };
        let mut tint = Vec::with_capacity(width * height);
        for cy in 0..height {
            let rows = y0 + cy * step..(y0 + (cy + 1) * step).min(y1);
            for cx in 0..width {
                if !wanted(cx, cy) {
                    tint.push(Tint::default());
                    continue;
                }
                let (from, to) = (x0 + cx * step, (x0 + (cx + 1) * step).min(x1));
                let mut sum = [0f32; 3];
                for y in rows.clone().step_by(skip) {
                    for p in &image.xyz[y * image.width + from..y * image.width + to] {
                        (0..3).for_each(|k| sum[k] += p[k]);
                    }
                }
                let n = (rows.len().div_ceil(skip) * (to - from)) as f32;
                tint.push(Tint::of(sum.map(|s| s / n)));
            }
        }
        Self { width, height, step, tint }
    }

    /// Values of one row of map pixels of the window, each between the four cells about it.
    pub fn row_between(&self, values: &[f32], y: usize, row: &mut [f32]) {
        let per_step = 1.0 / self.step as f32;
        let place = |v: usize, n: usize| ((v as f32 + 0.5) * per_step - 0.5).clamp(0.0, n as f32 - 1.0);
        let below = |p: f32, n: usize| (p as usize).min(n.saturating_sub(2));
        let p = place(y, self.height);
        let (j0, v) = (below(p, self.height), p - below(p, self.height) as f32);
        let j1 = (j0 + 1).min(self.height - 1);
        let line = |j: usize| &values[j * self.width..(j + 1) * self.width];
        let mixed: Vec<f32> = line(j0).iter().zip(line(j1)).map(|(p, q)| p * (1.0 - v) + q * v).collect();
        // Pixels between the same two cells lie side by side.
        let mut x = 0;
        while x < row.len() {
            let i0 = below(place(x, self.width), self.width);
            let last = i0 + 2 >= self.width;
            let past =
                if last { row.len() } else { ((i0 + 1) * self.step + self.step.div_ceil(2)).min(row.len()) };
            let (here, next) = (mixed[i0], mixed[(i0 + 1).min(self.width - 1)]);
            let first = x;
            for (k, out) in row[first..past.max(first + 1)].iter_mut().enumerate() {
                let u = place(first + k, self.width) - i0 as f32;
                *out = here * (1.0 - u) + next * u;
                x += 1;
            }
        }
    }
}

/// Blurs in place, about a Gaussian of that standard deviation. Beyond the edge lies nothing (zero): blur weights
/// alike and divide. Wide blurs are made on a reduced grid.
pub(super) fn blur(values: &mut [f32], width: usize, height: usize, sigma: f64) {
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

fn extreme_by(
    values: &[f32],
    width: usize,
    height: usize,
    radius: usize,
    pick: impl Fn(f32, f32) -> f32,
) -> Vec<f32> {
    let join = |to: &mut [f32], from: &[f32]| to.iter_mut().zip(from).for_each(|(t, v)| *t = pick(*t, *v));
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows between cells against the plain way, pixel by pixel, for even and odd steps and narrow grids.
    #[test]
    fn rows_between_agree_with_the_plain_way() {
        for (width, height, step) in [(1, 1, 3), (2, 3, 2), (7, 5, 4), (9, 4, 5), (6, 2, 1)] {
            let values: Vec<f32> = (0..width * height).map(|i| ((i * 37) % 11) as f32).collect();
            let grid = Grid { width, height, step, tint: Vec::new() };
            let at = |v: usize, n: usize| {
                let p = ((v as f32 + 0.5) / step as f32 - 0.5).clamp(0.0, n as f32 - 1.0);
                let i = (p as usize).min(n.saturating_sub(2));
                (i, (i + 1).min(n - 1), p - i as f32)
            };
            for y in 0..height * step {
                let mut row = vec![0f32; width * step - (step - 1) / 2];
                grid.row_between(&values, y, &mut row);
                let (j0, j1, v) = at(y, height);
                for (x, found) in row.iter().enumerate() {
                    let (i0, i1, u) = at(x, width);
                    let mixed = |i: usize| values[j0 * width + i] * (1.0 - v) + values[j1 * width + i] * v;
                    let plain = mixed(i0) * (1.0 - u) + mixed(i1) * u;
                    assert!((found - plain).abs() < 1e-4, "{width} {height} {step} at {x} {y}");
                }
            }
        }
    }

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
        }
    }

    #[test]
    fn cube_roots_agree_with_the_standard_library() {
        for k in 1..2000 {
            let v = (k as f32 / 1000.0).powi(3) + 1e-4;
            let [first, ..] = cube_roots([v; 4]);
            assert!((first / v.cbrt() - 1.0).abs() < 2e-6, "{v}");
        }
    }

    #[test]
    fn tint_does_not_change_with_light() {
        let bright = Tint::of([0.5, 0.45, 0.25]);
        let dim = Tint::of([0.25, 0.225, 0.125]);
        assert!((bright.a - dim.a).abs() < 0.3 && (bright.b - dim.b).abs() < 0.3);
        assert!(bright.l > dim.l + 15.0);
    }
}
