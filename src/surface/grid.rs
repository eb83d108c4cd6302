//! A reduced picture to think on.

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
        // Four rows or five are enough of a large cell.
        let skip = (step / 4).max(1);
        let mut tint = vec![Tint::default(); width * height];
        let mut columns: Vec<[f32; 3]> = Vec::new();
        for (cy, line) in tint.chunks_exact_mut(width).enumerate() {
            let rows = y0 + cy * step..(y0 + (cy + 1) * step).min(y1);
            let looked_at = rows.len().div_ceil(skip);
            // Cells that lie side by side: columns of pixels are summed first, which is fast.
            let mut cx = 0;
            while cx < width {
                let many = (cx..width).take_while(|&x| wanted(x, cy)).count();
                let (from, to) = (x0 + cx * step, (x0 + (cx + many) * step).min(x1));
                if many > 0 {
                    columns.clear();
                    columns.resize(to - from, [0.0; 3]);
                    for y in rows.clone().step_by(skip) {
                        let pixels = &image.xyz[y * image.width + from..y * image.width + to];
                        columns
                            .as_flattened_mut()
                            .iter_mut()
                            .zip(pixels.as_flattened())
                            .for_each(|(s, p)| *s += p);
                    }
                    for (tint, cell) in line[cx..cx + many].iter_mut().zip(columns.chunks(step)) {
                        let n = (looked_at * cell.len()) as f32;
                        let sum = cell.iter().fold([0f32; 3], |s, p| [s[0] + p[0], s[1] + p[1], s[2] + p[2]]);
                        *tint = Tint::of(sum.map(|s| s / n));
                    }
                }
                cx += many + 1;
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

    /// Cells summed by columns against the plain way; for cells of eight pixels or more rows are left out.
    #[test]
    fn cells_are_means_of_their_pixels() {
        let (width, height) = (23, 17);
        let image = CorrectedImage {
            width,
            height,
            factor: 1,
            xyz: (0..width * height)
                .map(|i| [0, 1, 2].map(|k| 0.1 + ((i * (7 + k)) % 13) as f32 / 20.0))
                .collect(),
            light: vec![[0.5; 3]; width * height],
            clipped: vec![false; width * height],
        };
        let wanted = |x: usize, y: usize| (x + 2 * y) % 3 != 1;
        for (step, [x0, y0, x1, y1]) in [(1, [0, 0, 23, 17]), (3, [2, 1, 22, 17]), (5, [0, 3, 23, 9])] {
            let grid = Grid::of_some(&image, [x0, y0, x1, y1], step, wanted);
            for (i, found) in grid.tint.iter().enumerate() {
                let (cx, cy) = (i % grid.width, i / grid.width);
                let rows = y0 + cy * step..(y0 + (cy + 1) * step).min(y1);
                let own: Vec<[f32; 3]> = rows
                    .flat_map(|y| {
                        (x0 + cx * step..(x0 + (cx + 1) * step).min(x1)).map(move |x| y * width + x)
                    })
                    .map(|at| image.xyz[at])
                    .collect();
                let mean = |k: usize| own.iter().map(|p| p[k]).sum::<f32>() / own.len() as f32;
                let plain = if wanted(cx, cy) { Tint::of([0, 1, 2].map(mean)) } else { Tint::default() };
                let off =
                    found.array().iter().zip(plain.array()).map(|(f, p)| (f - p).abs()).fold(0.0, f32::max);
                assert!(off < 1e-3, "{step} at {cx} {cy}: {found:?} for {plain:?}");
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
