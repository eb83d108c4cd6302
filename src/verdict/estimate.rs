//! The value that a target speaks of, read from a record, with its interval.

use super::decide::Estimate;
use super::targets::Quantity;
use crate::reading::{Measure, Reading, Surface, of_spread};

/// The value a target speaks of; `None` where the piece does not show it.
pub(crate) fn estimate(reading: &Reading, surface: &str, quantity: Quantity) -> Option<Estimate> {
    let seen = || reading.surfaces.get(surface);
    let contrast = || reading.contrast.as_ref();
    match quantity {
        Quantity::Lightness => seen().map(|s| Estimate { value: s.lab[0], u95: s.u95[0] }),
        Quantity::Chroma => seen().map(|s| chroma(s.lab, s.u95)),
        Quantity::Hue => seen().and_then(|s| hue(s.lab, s.u95)),
        Quantity::Evenness if surface == "white" => reading.piece.white_unevenness.map(of_measure),
        Quantity::Evenness => seen().and_then(spread),
        Quantity::DeltaLightness => contrast().map(|c| Estimate { value: c.delta_l, u95: c.u95.delta_l }),
        Quantity::Ciede2000 => contrast().map(|c| Estimate { value: c.de00, u95: c.u95.de00 }),
        Quantity::ReflectanceRatio => {
            contrast().map(|c| Estimate { value: c.reflectance_ratio, u95: c.u95.reflectance_ratio })
        }
        Quantity::RetainedFraction => {
            reading.paint.as_ref().map(|p| Estimate { value: p.retained_fraction, u95: p.u95 })
        }
        Quantity::AreaFraction => Some(clouds(reading)),
    }
}

/// What is proven, and half of what may be cloud or shade: an even chance for every share between none and all of it
/// (rectangular distribution, JCGM 100:2008, 4.3.7).
fn clouds(reading: &Reading) -> Estimate {
    let clouds = &reading.clouds;
    let rest = clouds.area_fraction - clouds.proven_fraction;
    Estimate { value: clouds.proven_fraction + rest / 2.0, u95: clouds.u95 }
}

fn of_measure(measure: Measure) -> Estimate {
    Estimate { value: measure.value, u95: measure.u95 }
}

/// Share of a spread that stays in doubt, since it holds what the light field does not follow (common practice).
const UNFOLLOWED: f64 = 0.25;

/// Scatter of L* over a surface, with the interval of sampling and what stays in doubt beside it.
fn spread(surface: &Surface) -> Option<Estimate> {
    let sd = surface.l_spread?.sd;
    Some(Estimate { value: sd, u95: of_spread(sd, surface.area_px).hypot(UNFOLLOWED * sd) })
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
