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
            (
                ciede2000(centre.into(), point.lab.into()),
                Some(distance_interval(centre, point.lab, point.u95)),
            )
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
/// asked at these two places only. A test holds it against 2000 places of the rim.
pub(super) fn distance_interval(centre: [f64; 3], lab: [f64; 3], u95: [f64; 3]) -> [f64; 2] {
    let plain = ciede2000(centre.into(), lab.into());
    if u95.iter().any(|u| !u.is_finite()) {
        return [f64::NAN; 2];
    }
    let reach = u95.map(|u| u.max(0.0) / SDS_95 * REGION_95);
    let away = [0, 1, 2].map(|i| lab[i] - centre[i]);
    let outside: f64 = (0..3).map(|i| if away[i] == 0.0 { 0.0 } else { (away[i] / reach[i]).powi(2) }).sum();
    let metric = Metric::between(centre, lab);
    let at = |turn: f64| {
        let place = metric.rim(away, reach, turn);
        ciede2000(centre.into(), [0, 1, 2].map(|i| centre[i] + place[i]).into())
    };
    let least = if outside <= 1.0 { 0.0 } else { at(-1.0).min(plain) };
    [least, at(1.0).max(plain)]
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

    /// The place of the rim that is farthest (`turn` 1) or nearest (-1), as a step from the centre: the rim's normal
    /// there points along the gradient. Found step by step, each half way, until it stands.
    fn rim(&self, away: [f64; 3], reach: [f64; 3], turn: f64) -> [f64; 3] {
        let widest = if reach[0] >= reach[1].max(reach[2]) {
            [1.0, 0.0, 0.0]
        } else if reach[1] >= reach[2] {
            [0.0, 1.0, 0.0]
        } else {
            [0.0, 0.0, 1.0]
        };
        let mut unit = self.normal(away, reach, turn).unwrap_or(widest);
        for _ in 0..STEPS {
            let aim = self.normal(at(away, reach, unit), reach, turn).unwrap_or(widest);
            let [l, a, b] = [unit[0] + aim[0], unit[1] + aim[1], unit[2] + aim[2]];
            let length = (l * l + a * a + b * b).sqrt().max(1e-12);
            let next = [l / length, a / length, b / length];
            let still = unit[0] * next[0] + unit[1] * next[1] + unit[2] * next[2];
            unit = next;
            if still > 1.0 - 1e-5 {
                break;
            }
        }
        at(away, reach, unit)
    }

    /// Where the rim faces the gradient of a place; `None` at the centre itself, from where every way leads outward.
    fn normal(&self, [l, a, b]: [f64; 3], reach: [f64; 3], turn: f64) -> Option<[f64; 3]> {
        let pull = [
            self.l * l * reach[0],
            (self.aa * a + self.ab * b) * reach[1],
            (self.ab * a + self.bb * b) * reach[2],
        ];
        let length = (pull[0] * pull[0] + pull[1] * pull[1] + pull[2] * pull[2]).sqrt();
        let scale = turn / length;
        (length > 1e-12).then(|| [pull[0] * scale, pull[1] * scale, pull[2] * scale])
    }
}

/// The place of the rim in a direction.
fn at(away: [f64; 3], reach: [f64; 3], unit: [f64; 3]) -> [f64; 3] {
    [away[0] + reach[0] * unit[0], away[1] + reach[1] * unit[1], away[2] + reach[2] * unit[2]]
}

/// Most steps of the search for a place of the rim.
const STEPS: usize = 12;

#[cfg(test)]
mod tests {
    use super::*;

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
        let (mut at_zero, mut worst) = (0, [0.0f64; 2]);
        for [l, a, b] in
            [[84.0, 2.0, 11.0], [42.0, 28.0, 26.0], [26.0, 1.0, 2.0], [56.0, 11.0, 22.0], [50.0, 0.0, 0.0]]
        {
            for _ in 0..60 {
                let lab = [l + 16.0 * (even() - 0.5), a + 10.0 * (even() - 0.5), b + 10.0 * (even() - 0.5)];
                let u95 = [0.3 + 6.0 * even(), 0.2 + 2.5 * even(), 0.2 + 2.5 * even()];
                let (quick, slow) =
                    (distance_interval([l, a, b], lab, u95), over_the_rim([l, a, b], lab, u95));
                at_zero += usize::from(slow[0] == 0.0);
                assert_eq!(quick[0] == 0.0, slow[0] == 0.0, "{lab:?} {u95:?}: {quick:?} {slow:?}");
                for end in 0..2 {
                    worst[end] = worst[end].max((quick[end] - slow[end]).abs() / (0.1 + slow[1] - slow[0]));
                }
            }
        }
        assert!((20..280).contains(&at_zero), "both kinds are tried: {at_zero}");
        // Of the interval's length; the rim's own places lie up to 0.3 % of it apart.
        assert!(worst.iter().all(|off| *off < 0.03), "{worst:?}");
    }

    #[test]
    fn what_is_known_well_has_no_interval_to_speak_of() {
        let [least, most] = distance_interval([84.0, 2.0, 11.0], [80.0, 2.0, 11.0], [0.0; 3]);
        assert!(most - least < 1e-9 && least > 2.0);
        assert_eq!(distance_interval([84.0, 2.0, 11.0], [84.0, 2.0, 11.0], [0.0; 3]), [0.0; 2]);
        assert!(distance_interval([84.0, 2.0, 11.0], [80.0, 2.0, 11.0], [f64::NAN; 3])[0].is_nan());
    }
}
