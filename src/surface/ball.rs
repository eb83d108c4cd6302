//! A pale matte ball laid beside the piece to show the light: told from a piece by its form and its plainness.

use super::grid::{Grid, Tint};
use super::refine::Blob;
use crate::card::CorrectedImage;
use nalgebra::{SMatrix, SVector};

/// At most this share of a round blob lies outside the circle of its area.
const OUTSIDE: f64 = 0.03;
/// Cells across the ball's radius.
const ACROSS: f64 = 12.0;
/// The edge of a ball is seen too flat to tell: this share of the radius is looked at.
const CORE: f64 = 0.9;
/// Strongest chroma of a pale ball, L* 50 units.
const PALE: f64 = 12.0;
/// Least mean L* of a pale ball: clay that gives back a quarter, in half of the card's light.
const LEAST_LIGHTNESS: f64 = 40.0;
/// Farthest tint from the mean that is still plain, and the share of cells that may be farther.
const PLAIN: (f64, f64) = (4.0, 0.05);
/// Root mean square residual of the shading, as a share of the mean: nine harmonics hold 98 % of what a matte ball
/// shows; the rest, grain and noise come on top.
const SHADING: f64 = 0.06;
/// Light and dark sides of a ball differ at least by this share of the mean; a flat disc is even.
const RELIEF: f64 = 0.2;

/// Whether a blob is such a ball.
///
/// The shading of a matte convex body is a mixture of the first nine spherical harmonics of its normals (Ramamoorthi &
/// Hanrahan 2001, "On the relationship between radiance and irradiance", JOSA A 18(10)); a painted piece or a
/// dish is not.
pub(super) fn is_ball(image: &CorrectedImage, blob: &Blob) -> bool {
    let [x0, y0, x1, y1] = blob.bounds;
    let width = x1 - x0;
    let radius = (blob.area as f64 / std::f64::consts::PI).sqrt();
    let across = [width, y1 - y0].map(|side| side as f64 / (2.0 * radius));
    if across.iter().any(|side| (side - 1.0).abs() > 0.1) {
        return false;
    }
    let inside = || blob.mask.iter().enumerate().filter(|(_, own)| **own).map(|(i, _)| i);
    let place = |i: usize| [(i % width) as f64 + 0.5, (i / width) as f64 + 0.5];
    let sum = inside().map(place).fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
    let middle = sum.map(|s| s / blob.area as f64);
    let far = |p: [f64; 2]| (p[0] - middle[0]).hypot(p[1] - middle[1]);
    let outside = inside().filter(|&i| far(place(i)) > radius + 1.0).count();
    if outside as f64 > OUTSIDE * blob.area as f64 {
        return false;
    }
    let step = (radius / ACROSS).round().max(1.0) as usize;
    let grid = Grid::of(image, blob.bounds, step);
    let core: Vec<([f64; 2], Tint)> = (0..grid.tint.len())
        .map(|i| ([i % grid.width, i / grid.width].map(|v| (v as f64 + 0.5) * step as f64), grid.tint[i]))
        .filter(|(p, _)| far(*p) + step as f64 * 0.7 < CORE * radius)
        .map(|(p, tint)| ([(p[0] - middle[0]) / radius, (p[1] - middle[1]) / radius], tint))
        .collect();
    let n = core.len() as f64;
    if n < 40.0 {
        return false;
    }
    let mean = |of: fn(&Tint) -> f32| core.iter().map(|(_, t)| f64::from(of(t))).sum::<f64>() / n;
    let (a, b) = (mean(|t| t.a), mean(|t| t.b));
    let off = |t: &Tint| (f64::from(t.a) - a).hypot(f64::from(t.b) - b) > PLAIN.0;
    let strange = core.iter().filter(|(_, t)| off(t)).count() as f64;
    let is_pale = a.hypot(b) < PALE && mean(|t| t.l) > LEAST_LIGHTNESS;
    is_pale && strange < PLAIN.1 * n && is_shaded_as_a_ball(&core)
}

/// Whether luminance over the disc follows nine harmonics of a ball's normals, and is not even.
fn is_shaded_as_a_ball(core: &[([f64; 2], Tint)]) -> bool {
    let n = core.len() as f64;
    let rows: Vec<(SVector<f64, 9>, f64)> = core
        .iter()
        .map(|([x, y], tint)| {
            let z = (1.0 - x * x - y * y).max(0.0).sqrt();
            let light = ((f64::from(tint.l) + 16.0) / 116.0).powi(3);
            (SVector::from([1.0, *x, *y, z, x * y, x * z, y * z, x * x - y * y, 3.0 * z * z - 1.0]), light)
        })
        .collect();
    let mut square = SMatrix::<f64, 9, 9>::identity() * 1e-6;
    let mut right = SVector::<f64, 9>::zeros();
    for (row, light) in &rows {
        square += row * row.transpose();
        right += row * *light;
    }
    let Some(fit) = square.cholesky().map(|c| c.solve(&right)) else { return false };
    let mean = rows.iter().map(|(_, light)| light).sum::<f64>() / n;
    let left = (rows.iter().map(|(row, light)| (light - row.dot(&fit)).powi(2)).sum::<f64>() / n).sqrt();
    let mut shaded: Vec<f64> = rows.iter().map(|(row, _)| row.dot(&fit)).collect();
    shaded.sort_by(f64::total_cmp);
    let range = shaded[shaded.len() * 95 / 100] - shaded[shaded.len() * 5 / 100];
    left < SHADING * mean && range > RELIEF * mean
}
