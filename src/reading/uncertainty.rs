//! Half-widths of 95 % intervals, by part.

use super::record::Surface;
use crate::colour::{LabD50, XyzD50, ciede2000};

/// Root of the sum of squares, channel by channel (GUM, JCGM 100:2008, eq. 11a, independent parts).
pub(super) fn quadrature<'a>(parts: impl Iterator<Item = &'a [f64; 3]>) -> [f64; 3] {
    let sum = parts.fold([0.0; 3], |sum: [f64; 3], part| [0, 1, 2].map(|c| sum[c] + part[c] * part[c]));
    sum.map(f64::sqrt)
}

/// Half the difference of two colours, channel by channel, unsigned.
pub(super) fn half_difference(one: LabD50, other: LabD50) -> [f64; 3] {
    [one.l - other.l, one.a - other.a, one.b - other.b].map(|d| d.abs() / 2.0)
}

/// Of a colour whose light is known to within a relative half-width, 0 to 0.8 (more counts as 0.8).
pub(super) fn of_scale(XyzD50 { x, y, z }: XyzD50, relative: f64) -> [f64; 3] {
    let relative = relative.clamp(0.0, 0.8);
    let at = |scale: f64| XyzD50 { x: x / scale, y: y / scale, z: z / scale }.to_lab();
    half_difference(at(1.0 + relative), at(1.0 - relative))
}

/// A half-width about one colour made so wide that it reaches another.
pub(super) fn reaching(half_width: [f64; 3], from: LabD50, to: LabD50) -> [f64; 3] {
    let away = half_difference(from, to).map(|half| 2.0 * half);
    [0, 1, 2].map(|c| half_width[c].max(away[c]))
}

/// From a standard deviation to the half-width of a 95 % interval, normal scatter.
pub(super) const COVERAGE: f64 = 1.96;

/// Neighbouring pixels share grain, slip and brush strokes: about this many make one independent look.
const PIXELS_A_LOOK: f64 = 100.0;

/// Of a surface's mean, from the standard deviations of L*, a*, b* over its pixels.
pub(super) fn of_mean(deviations: [f64; 3], count: usize) -> [f64; 3] {
    let looks = (count as f64 / PIXELS_A_LOOK).max(2.0);
    deviations.map(|sd| COVERAGE * sd / looks.sqrt())
}

/// Of a CIEDE2000 between two surfaces: the largest change when each colour moves along its own
/// interval, L* by `u_delta_l` in all.
pub(super) fn of_difference(one: &Surface, other: &Surface, u_delta_l: f64) -> f64 {
    let (from, to) = (LabD50::from(one.lab), LabD50::from(other.lab));
    let plain = ciede2000(from, to);
    let moved = |l: f64, a: f64, b: f64| {
        ciede2000(LabD50 { l: from.l + l, a: from.a + a, b: from.b + b }, to) - plain
    };
    let chroma = |c: usize| one.u95[c].hypot(other.u95[c]);
    [moved(u_delta_l, 0.0, 0.0), moved(0.0, chroma(1), 0.0), moved(0.0, 0.0, chroma(2))]
        .iter()
        .map(|d| d * d)
        .sum::<f64>()
        .sqrt()
}

/// The label of a painted place can be wrong even where it is plain: this much of a share never goes away.
pub(super) const WRONG_LABELS: f64 = 0.05;

/// Of a share counted over `count` map pixels: the binomial part over independent looks.
pub(super) fn of_count(share: f64, count: usize) -> f64 {
    let looks = (count as f64 / PIXELS_A_LOOK).max(1.0);
    1.96 * (share * (1.0 - share) / looks).sqrt()
}

/// Of a standard deviation over `count` map pixels: that of a sample of the independent looks among them
/// (normal scatter, JCGM 100:2008 E.4.3).
pub(crate) fn of_spread(sd: f64, count: usize) -> f64 {
    let looks = (count as f64 / PIXELS_A_LOOK).max(2.0);
    1.96 * sd / (2.0 * (looks - 1.0)).sqrt()
}
