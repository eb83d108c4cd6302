//! From a colour to the notation between the chips.

use super::{MunsellNotation, adapt, munsell_value_to_y, nearest_munsell, polar, table};
use crate::colour::LabD50;
use crate::colour::constants::{WHITE_C, WHITE_D50};
use std::f64::consts::PI;

/// Below this distance from the white in x, y a colour is neutral: a chroma of about 0.02.
const NEUTRAL: f64 = 2e-4;
/// How near the notation must come in x, y.
const CLOSE: f64 = 1e-8;
/// Rounds of the search; some ten are needed.
const ROUNDS: usize = 60;

/// The notation of a colour by interpolation of the renotation, the inverse of [`super::munsell_to_lab`], after
/// Centore 2012 (Color Res. Appl. 37(6) 455-464): value by its function of Y, then hue and chroma by turns. The colour is
/// carried from D50 to C by linear Bradford. Computed, for the dry surface. `None` for a chromatic colour of a value below
/// 1 or a chroma beyond the real ones, and for what is no colour.
pub fn lab_to_munsell(lab: LabD50) -> Option<MunsellNotation> {
    let [x, y, z] = adapt(lab.to_xyz().into(), WHITE_D50, WHITE_C);
    let sum = x + y + z;
    if !(sum.is_finite() && sum > 0.0 && (0.0..=munsell_value_to_y(10.0)).contains(&y)) {
        return None;
    }
    let value = value_of(y);
    let [angle, radius] = polar([x / sum, y / sum]);
    if radius < NEUTRAL {
        return Some(MunsellNotation { hue: None, value, chroma: 0.0 });
    }
    let chips = nearest_munsell(lab);
    let start =
        chips.iter().filter_map(|chip| MunsellNotation::parse(&chip.notation)).find(|n| n.hue.is_some());
    let start = start.unwrap_or(MunsellNotation { hue: Some(25.0), value, chroma: 1.0 });
    let mut here = MunsellNotation { value, ..start };
    // One hue step turns by about this much; told anew each round.
    for _ in 0..ROUNDS {
        let at = |n: MunsellNotation| Some(polar(table().xy_between(n.hue?, n.value, n.chroma)?));
        let [is_angle, is_radius] = match at(here) {
            Some(place) => place,
            // The chip may lie beyond the real colours of this value.
            None => {
                here.chroma *= 0.8;
                continue;
            }
        };
        let off = wrapped(angle - is_angle);
        if (off * radius).hypot(radius - is_radius) < CLOSE {
            return Some(here);
        }
        let slope = at(here.turned(0.5)).map_or(1.0, |[there, _]| wrapped(there - is_angle) / 0.5);
        here = here.turned((off / slope.abs().max(0.005)).clamp(-5.0, 5.0));
        here.chroma *= (radius / is_radius).clamp(0.5, 2.0);
    }
    None
}

/// The Munsell value of a luminance factor: the value function rises, so that halving finds it.
fn value_of(y: f64) -> f64 {
    let (mut low, mut high) = (0.0, 10.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if munsell_value_to_y(middle) < y { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

fn wrapped(angle: f64) -> f64 {
    (angle + PI).rem_euclid(2.0 * PI) - PI
}
