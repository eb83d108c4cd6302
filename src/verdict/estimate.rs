//! The value that a target speaks of, read from a record, with its interval.

use super::decide::Estimate;
use super::targets::Quantity;
use crate::reading::{Measure, Paint, Reading, Surface, of_spread};

/// The value a target speaks of; `None` where the piece does not show it.
pub(crate) fn estimate(reading: &Reading, surface: &str, quantity: Quantity) -> Option<Estimate> {
    let seen = || reading.surfaces.get(surface);
    let contrast = || reading.contrast.as_ref();
    match quantity {
        Quantity::Lightness => seen().map(|s| Estimate::even(s.lab[0], s.u95[0])),
        Quantity::Chroma => seen().map(|s| chroma(s.lab, s.u95)),
        Quantity::Hue => seen().and_then(|s| hue(s.lab, s.u95)),
        Quantity::Evenness if surface == "white" => reading.piece.white_unevenness.map(of_measure),
        Quantity::Evenness => seen().and_then(spread),
        Quantity::DeltaLightness => contrast().map(|c| Estimate::even(c.delta_l, c.u95.delta_l)),
        Quantity::Ciede2000 => contrast().map(|c| Estimate::even(c.de00, c.u95.de00)),
        Quantity::ReflectanceRatio => {
            contrast().map(|c| Estimate::even(c.reflectance_ratio, c.u95.reflectance_ratio))
        }
        Quantity::RetainedFraction => reading.paint.as_ref().map(retained),
        Quantity::AreaFraction => Some(clouds(reading)),
    }
}

/// What is proven, and half of what may be cloud or shade: an even chance for every share between none and all of it
/// (rectangular distribution, JCGM 100:2008, 4.3.7).
fn clouds(reading: &Reading) -> Estimate {
    let clouds = &reading.clouds;
    let rest = clouds.area_fraction - clouds.proven_fraction;
    Estimate::even(clouds.proven_fraction + rest / 2.0, clouds.u95)
}

/// What passes for lost paint and is slip makes the share kept too low, never too high; what burned away without a mark
/// makes it too high, never too low.
fn retained(paint: &Paint) -> Estimate {
    let sides = Some([without(paint, &["traces"]), without(paint, &["unseen"])]);
    Estimate { sides, ..Estimate::even(paint.retained_fraction, paint.u95) }
}

/// The share of the paint kept as far as its loss can be seen.
pub(super) fn retained_as_seen(paint: &Paint) -> Estimate {
    let sides = Some([without(paint, &["traces", "unseen"]), without(paint, &["unseen"])]);
    Estimate { sides, ..Estimate::even(paint.retained_fraction, paint.u95) }
}

/// Half-width without some of its parts.
fn without(paint: &Paint, names: &[&str]) -> f64 {
    let part = |name: &&str| paint.u95_parts.get(*name).copied().unwrap_or(0.0);
    let left_out: f64 = names.iter().map(|name| part(name).powi(2)).sum();
    (paint.u95 * paint.u95 - left_out).max(0.0).sqrt()
}

fn of_measure(measure: Measure) -> Estimate {
    Estimate::even(measure.value, measure.u95)
}

/// Share of a spread that stays in doubt, since it holds what the light field does not follow (common practice).
const UNFOLLOWED: f64 = 0.25;

/// Scatter of L* over a surface, with the interval of sampling and what stays in doubt beside it.
fn spread(surface: &Surface) -> Option<Estimate> {
    let sd = surface.l_spread?.sd;
    Some(Estimate::even(sd, of_spread(sd, surface.area_px).hypot(UNFOLLOWED * sd)))
}

/// C* with its interval: a* and b* propagated to first order (GUM, JCGM 100:2008, eq. 10).
fn chroma([_, a, b]: [f64; 3], [_, ua, ub]: [f64; 3]) -> Estimate {
    let c = a.hypot(b);
    let u95 = if c > 1e-9 { ((a * ua).powi(2) + (b * ub).powi(2)).sqrt() / c } else { ua.max(ub) };
    Estimate::even(c, u95)
}

/// Hue angle with its interval in degrees; `None` where the colour is too near grey to have one.
fn hue([_, a, b]: [f64; 3], [_, ua, ub]: [f64; 3]) -> Option<Estimate> {
    let c2 = a * a + b * b;
    let u = ((b * ua).powi(2) + (a * ub).powi(2)).sqrt() / c2;
    (u.is_finite() && u < 0.5)
        .then(|| Estimate::even(b.atan2(a).to_degrees().rem_euclid(360.0), u.to_degrees()))
}
