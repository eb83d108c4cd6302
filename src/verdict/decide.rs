//! Deciding under uncertainty: a limit that lies inside the interval of a value is never called.

use super::targets::{Quantity, Range, Target};
use crate::reading::Reading;

/// A value with the half-width of its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Estimate {
    pub value: f64,
    pub u95: f64,
}

/// Where an interval lies against a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    Inside,
    Across,
    Outside,
}

/// Inside, outside, or across a limit. Touching a limit from inside is inside.
pub(super) fn place(estimate: Estimate, [low, high]: Range) -> Place {
    let (from, to) = (estimate.value - estimate.u95, estimate.value + estimate.u95);
    let (low, high) = (low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY));
    if !from.is_finite() || !to.is_finite() {
        Place::Across
    } else if to < low || from > high {
        Place::Outside
    } else if from >= low && to <= high {
        Place::Inside
    } else {
        Place::Across
    }
}

/// The value a target speaks of; `None` where the piece does not show it.
pub(super) fn estimate(reading: &Reading, surface: &str, quantity: Quantity) -> Option<Estimate> {
    match quantity {
        Quantity::Lightness => {
            reading.surfaces.get(surface).map(|s| Estimate { value: s.lab[0], u95: s.u95[0] })
        }
        Quantity::Chroma => reading.surfaces.get(surface).map(|s| chroma(s.lab, s.u95)),
        Quantity::Hue => reading.surfaces.get(surface).and_then(|s| hue(s.lab, s.u95)),
        Quantity::ReflectanceRatio => reading
            .contrast
            .as_ref()
            .map(|c| Estimate { value: c.reflectance_ratio, u95: c.u95.reflectance_ratio }),
        Quantity::RetainedFraction => {
            reading.paint.as_ref().map(|p| Estimate { value: p.retained_fraction, u95: p.u95 })
        }
        Quantity::AreaFraction => {
            // A cloud's edge is soft, and what looks like one may be a wall that turns from the light:
            // where a blotch was found, a twentieth of the piece may be no cloud at all.
            let share = reading.clouds.area_fraction;
            let u95 = if share > 0.0 { 0.05_f64.hypot(0.3 * share) } else { 0.01 };
            Some(Estimate { value: share, u95 })
        }
    }
}

/// C* with its interval: a* and b* propagated to first order (GUM, JCGM 100:2008, eq. 10).
fn chroma([_, a, b]: [f64; 3], [_, ua, ub]: [f64; 3]) -> Estimate {
    let c = a.hypot(b);
    let u95 = if c > 1e-9 { ((a * ua).powi(2) + (b * ub).powi(2)).sqrt() / c } else { ua.max(ub) };
    Estimate { value: c, u95 }
}

/// Hue angle with its interval in degrees; `None` where the colour is too near grey to have one.
fn hue([_, a, b]: [f64; 3], [_, ua, ub]: [f64; 3]) -> Option<Estimate> {
    let c2 = a * a + b * b;
    let u = ((b * ua).powi(2) + (a * ub).powi(2)).sqrt() / c2;
    (u.is_finite() && u < 0.5)
        .then(|| Estimate { value: b.atan2(a).to_degrees().rem_euclid(360.0), u95: u.to_degrees() })
}

/// How far off a value lies, 0 at the limit of the aim, 1 where the target file says 'fully off'.
pub(super) fn severity(value: f64, target: &Target) -> Option<f64> {
    let off = target.fully_off?;
    let limit = match target.aim {
        [Some(low), _] if off < low => low,
        [_, Some(high)] if off > high => high,
        _ => return None,
    };
    Some(((value - limit) / (off - limit)).clamp(0.0, 1.0))
}

/// `70 to 90`, `at least 70`, `at most 13`; shares in percent.
pub(super) fn range_words(quantity: Quantity, range: Range) -> String {
    let end = |value: f64| match quantity {
        Quantity::RetainedFraction | Quantity::AreaFraction => {
            format!("{} %", (value * 1000.0).round() / 10.0)
        }
        Quantity::Hue => format!("{value}°"),
        _ => value.to_string(),
    };
    match range {
        [Some(low), Some(high)] => format!("{} to {}", end(low), end(high)),
        [Some(low), None] => format!("at least {}", end(low)),
        [None, Some(high)] => format!("at most {}", end(high)),
        [None, None] => "anything".into(),
    }
}

/// `White L* 78.1 ± 3.2`, with as many digits as the value bears.
pub(super) fn value_words(surface: &str, quantity: Quantity, estimate: Estimate) -> String {
    let Estimate { value, u95 } = estimate;
    match quantity {
        Quantity::Lightness => format!("{} L* {value:.1} ± {u95:.1}", capital(surface)),
        Quantity::Chroma => format!("{} chroma C* {value:.1} ± {u95:.1}", capital(surface)),
        Quantity::Hue => format!("{} hue {value:.0}° ± {u95:.0}°", capital(surface)),
        Quantity::ReflectanceRatio => {
            format!("White reflects {value:.1} ± {u95:.1} times as much light as black")
        }
        Quantity::RetainedFraction => {
            format!("{:.0} ± {:.0} % of the paint still reads black", value * 100.0, u95 * 100.0)
        }
        Quantity::AreaFraction => {
            format!("Fire clouds on {:.1} ± {:.1} % of the piece", value * 100.0, u95 * 100.0)
        }
    }
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
