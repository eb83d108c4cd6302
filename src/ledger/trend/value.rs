//! The value of a reading with its 95 % interval.

use super::point::{TrendPoint, TrendValue};
use crate::colour::{IndexIlluminant, LabD50, ciede2000, whiteness};

/// Half-width of a 95 % interval in standard deviations, normal.
const SDS_95: f64 = 1.96;
/// The 95 % region of three normal quantities in standard deviations (JCGM 102:2011): root of the quantile of chi-square.
const REGION_95: f64 = 2.795_483_482_915_108;

/// The value and its interval; `None` where there is no value. The interval is `None` where a `u95` is not known.
pub(super) fn value_of(
    point: &TrendPoint,
    value: TrendValue,
    centre: Option<[f64; 3]>,
) -> Option<(f64, Option<[f64; 2]>)> {
    let [l, a, b] = point.lab;
    let [u_l, u_a, u_b] = point.u95;
    let about = |value: f64, u95: f64| (value, Some([value - u95, value + u95]));
    let (value, interval) = match value {
        TrendValue::Lightness => about(l, u_l),
        TrendValue::Yellow => about(b, u_b),
        TrendValue::Chroma => {
            let chroma = a.hypot(b);
            // To first order (GUM, JCGM 100:2008, 5.1.2); a grey has no direction.
            let u95 = if chroma > 1e-9 { (a * u_a).hypot(b * u_b) / chroma } else { u_a.max(u_b) };
            (chroma, Some([(chroma - u95).max(0.0), chroma + u95]))
        }
        TrendValue::Whiteness => {
            let value = point.whiteness?;
            let at = |lab: [f64; 3]| whiteness(LabD50::from(lab), IndexIlluminant::D65).value;
            let here = at(point.lab);
            let steps = [0, 1, 2].map(|i| {
                let mut lab = point.lab;
                lab[i] += 0.01;
                (at(lab) - here) / 0.01 * point.u95[i]
            });
            about(value, steps.iter().map(|s| s * s).sum::<f64>().sqrt())
        }
        TrendValue::Distance => {
            let centre = centre?;
            let distance = ciede2000(centre.into(), point.lab.into());
            (distance, Some(distance_interval(centre, point.lab, point.u95, distance)))
        }
    };
    let interval = interval.filter(|ends| ends.iter().all(|end| end.is_finite()));
    value.is_finite().then_some((value, interval))
}

/// Least and largest CIEDE2000 from `centre` over the 95 % region of a colour.
///
/// A distance near 0 is biased upward by any doubt, so the region of the colour is carried, not the doubt of the distance;
/// it holds 0 where the region holds the centre. The places of the rim that are nearest and farthest are sought with the
/// weights of CIEDE2000 held fixed, where the region is an ellipsoid and a distance is a length; the formula itself is
/// asked at these places only. `plain` is the distance of the colour itself. A test holds it against 2000 places of the rim.
pub(super) fn distance_interval(centre: [f64; 3], lab: [f64; 3], u95: [f64; 3], plain: f64) -> [f64; 2] {
    if u95.iter().any(|u| !u.is_finite()) {
        return [f64::NAN; 2];
    }
    let reach = u95.map(|u| u.max(0.0) / SDS_95 * REGION_95);
    let away = [0, 1, 2].map(|i| lab[i] - centre[i]);
    let outside: f64 = (0..3).map(|i| if away[i] == 0.0 { 0.0 } else { (away[i] / reach[i]).powi(2) }).sum();
    let metric = Metric::between(centre, lab);
    let at = |place: [f64; 3]| {
        ciede2000(
            centre.into(),
            LabD50 { l: centre[0] + place[0], a: centre[1] + place[1], b: centre[2] + place[2] },
        )
    };
    let [nearest, farthest] = metric.rim(away, reach);
    let least = if outside <= 1.0 { 0.0 } else { at(nearest).min(plain) };
    // The weights change on the way to the farthest place: it is sought once more with those half way there, and across
    // in lightness and in tint, where a region about the centre can reach farther.
    let there = |place: [f64; 3]| [centre[0] + place[0], centre[1] + place[1], centre[2] + place[2]];
    let [_, again] = Metric::between(centre, there(farthest)).rim(away, reach);
    let mut most = at(farthest).max(at(again)).max(plain);
    let [l, a, b] = farthest;
    if away[0].abs() < reach[0] {
        most = most.max(at([2.0 * away[0] - l, a, b]));
    }
    if away[1].abs() < reach[1] && away[2].abs() < reach[2] {
        most = most.max(at([l, 2.0 * away[1] - a, 2.0 * away[2] - b]));
    }
    [least, most]
}

/// Squared CIEDE2000 as a quadratic form of a step, the weights held fixed.
struct Metric {
    l: f64,
    aa: f64,
    ab: f64,
    bb: f64,
}

impl Metric {
    /// The form half way between two colours: Sharma, Wu & Dalal 2005, Color Res. Appl. 30:21-30, eq. 2 to 22, without
    /// the rotation of blue.
    fn between(one: [f64; 3], other: [f64; 3]) -> Self {
        let [l, a, b] = [0, 1, 2].map(|i| (one[i] + other[i]) / 2.0);
        let seventh = a.hypot(b).powi(7);
        let stretch = 1.0 + 0.5 * (1.0 - (seventh / (seventh + 25f64.powi(7))).sqrt());
        let (a, chroma) = (a * stretch, (a * stretch).hypot(b));
        let hue = b.atan2(a);
        let turned = |times: f64, degrees: f64| (times * hue + degrees.to_radians()).cos();
        let t = 1.0 - 0.17 * turned(1.0, -30.0) + 0.24 * turned(2.0, 0.0) + 0.32 * turned(3.0, 6.0)
            - 0.20 * turned(4.0, -63.0);
        let dark = (l - 50.0).powi(2);
        let s_l = 1.0 + 0.015 * dark / (20.0 + dark).sqrt();
        let (s_c, s_h) = (1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma * t);
        let (c, s) = if chroma > 1e-9 { (a / chroma, b / chroma) } else { (1.0, 0.0) };
        let (along, across) = (s_c.powi(-2), s_h.powi(-2));
        Self {
            l: s_l.powi(-2),
            aa: stretch * stretch * (c * c * along + s * s * across),
            ab: stretch * c * s * (along - across),
            bb: s * s * along + c * c * across,
        }
    }

    /// The places of the rim that are nearest and farthest, as steps from the centre, for a centre outside.
    ///
    /// With the rim as the unit sphere, the length is a quadratic form with gradient g at its middle; on the axes of the
    /// form the places are -g / (w + m) and g / (n - w), w the form's own values, with the m above 0 and the n above all
    /// w that make the length 1 (More & Sorensen 1983, SIAM J. Sci. Stat. Comput. 4:553-572).
    fn rim(&self, away: [f64; 3], reach: [f64; 3]) -> [[f64; 3]; 2] {
        // L* stands alone; a* and b* are turned onto the axes of their part.
        let (p, q, r) =
            (self.aa * reach[1] * reach[1], self.bb * reach[2] * reach[2], self.ab * reach[1] * reach[2]);
        let turn = 0.5 * (2.0 * r).atan2(p - q);
        let (s, c) = turn.sin_cos();
        let own = [
            self.l * reach[0] * reach[0],
            p * c * c + 2.0 * r * s * c + q * s * s,
            p * s * s - 2.0 * r * s * c + q * c * c,
        ];
        let (g_a, g_b) = (
            (self.aa * away[1] + self.ab * away[2]) * reach[1],
            (self.ab * away[1] + self.bb * away[2]) * reach[2],
        );
        let pull = [self.l * away[0] * reach[0], c * g_a + s * g_b, c * g_b - s * g_a];
        let place = |unit: [f64; 3]| {
            let (a, b) = (c * unit[1] - s * unit[2], s * unit[1] + c * unit[2]);
            [away[0] + reach[0] * unit[0], away[1] + reach[1] * a, away[2] + reach[2] * b]
        };
        let near = solve(pull, own, 0.0);
        let far = solve(
            pull,
            [-own[0], -own[1], -own[2]],
            (0..3).map(|i| own[i] + pull[i].abs()).fold(0.0, f64::max),
        );
        [place([-near[0], -near[1], -near[2]]), place(far)]
    }
}

/// pull / (own + m) with the m from `from` on that makes its length 1: Newton's rule on 1 / length, which is nearly
/// straight and is neared from below. Where no m does, what is missing goes along the axis with the least `own`.
fn solve(pull: [f64; 3], own: [f64; 3], from: f64) -> [f64; 3] {
    let part = |i: usize, m: f64| if pull[i] == 0.0 { 0.0 } else { pull[i] / (own[i] + m).max(1e-12) };
    let mut m = from;
    for _ in 0..STEPS {
        let unit = [part(0, m), part(1, m), part(2, m)];
        let squared = unit[0] * unit[0] + unit[1] * unit[1] + unit[2] * unit[2];
        if squared <= 1.0 + 1e-6 {
            break;
        }
        let slope: f64 = (0..3).map(|i| unit[i] * unit[i] / (own[i] + m).max(1e-12)).sum();
        m += squared / slope * (squared.sqrt() - 1.0);
    }
    let mut unit = [part(0, m), part(1, m), part(2, m)];
    let missing = 1.0 - (unit[0] * unit[0] + unit[1] * unit[1] + unit[2] * unit[2]);
    if missing > 1e-5 {
        let axis = if own[0] <= own[1].min(own[2]) {
            0
        } else if own[1] <= own[2] {
            1
        } else {
            2
        };
        unit[axis] += (unit[axis] * unit[axis] + missing).sqrt().copysign(unit[axis]) - unit[axis];
    }
    unit
}

/// Most steps of Newton's rule.
const STEPS: usize = 20;

#[cfg(test)]
mod tests {
    use super::*;

    fn quick_interval(centre: [f64; 3], lab: [f64; 3], u95: [f64; 3]) -> [f64; 2] {
        distance_interval(centre, lab, u95, ciede2000(centre.into(), lab.into()))
    }

    /// The slow form: 2000 even places on the rim along a golden spiral (Swinbank & Purser 2006, Q. J. R. Meteorol. Soc.
    /// 132:1769-1793), as the comparison of pieces does it.
    fn over_the_rim(centre: [f64; 3], lab: [f64; 3], u95: [f64; 3]) -> [f64; 2] {
        let plain = ciede2000(centre.into(), lab.into());
        let reach = u95.map(|u| u / SDS_95 * REGION_95);
        let turn = std::f64::consts::PI * (3.0 - 5f64.sqrt());
        let rim = (0..2000).map(|i| {
            let z = 1.0 - (2 * i + 1) as f64 / 2000.0;
            let (ring, angle) = ((1.0 - z * z).sqrt(), turn * i as f64);
            let unit = [ring * angle.cos(), ring * angle.sin(), z];
            ciede2000(centre.into(), [0, 1, 2].map(|k| lab[k] + reach[k] * unit[k]).into())
        });
        let [least, most] = rim.fold([plain; 2], |[least, most], d| [least.min(d), most.max(d)]);
        let outside: f64 = (0..3).map(|i| ((lab[i] - centre[i]) / reach[i]).powi(2)).sum();
        [if outside <= 1.0 { 0.0 } else { least }, most]
    }

    #[test]
    fn the_quick_interval_is_that_over_the_rim() {
        let mut seed = 7u64;
        let mut even = || {
            seed = seed.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            (seed >> 11) as f64 / (1u64 << 53) as f64
        };
        let mut at_zero = 0;
        for [l, a, b] in
            [[84.0, 2.0, 11.0], [42.0, 28.0, 26.0], [26.0, 1.0, 2.0], [56.0, 11.0, 22.0], [50.0, 0.0, 0.0]]
        {
            for _ in 0..60 {
                let lab = [l + 16.0 * (even() - 0.5), a + 10.0 * (even() - 0.5), b + 10.0 * (even() - 0.5)];
                let u95 = [0.3 + 6.0 * even(), 0.2 + 2.5 * even(), 0.2 + 2.5 * even()];
                let (quick, slow) = (quick_interval([l, a, b], lab, u95), over_the_rim([l, a, b], lab, u95));
                at_zero += usize::from(slow[0] == 0.0);
                assert_eq!(quick[0] == 0.0, slow[0] == 0.0, "{lab:?} {u95:?}: {quick:?} {slow:?}");
                for end in 0..2 {
                    let off = (quick[end] - slow[end]).abs() / (0.1 + slow[1] - slow[0]);
                    // Of the interval's length; the rim's own places lie up to 0.3 % of it apart.
                    assert!(off < 0.03, "{lab:?} {u95:?}: {quick:?} {slow:?}");
                }
            }
        }
        assert!((20..280).contains(&at_zero), "both kinds are tried: {at_zero}");
    }

    #[test]
    fn what_is_known_well_has_no_interval_to_speak_of() {
        let [least, most] = quick_interval([84.0, 2.0, 11.0], [80.0, 2.0, 11.0], [0.0; 3]);
        assert!(most - least < 1e-9 && least > 2.0);
        assert_eq!(quick_interval([84.0, 2.0, 11.0], [84.0, 2.0, 11.0], [0.0; 3]), [0.0; 2]);
        assert!(quick_interval([84.0, 2.0, 11.0], [80.0, 2.0, 11.0], [f64::NAN; 3])[0].is_nan());
    }
}
