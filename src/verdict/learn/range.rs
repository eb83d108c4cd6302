//! The two nested ranges of one value, from what was measured on each piece.

use super::LearnedValue;
use crate::verdict::targets::{Quantity, Range, Target};
use crate::verdict::tolerance;

/// Which end of a range is closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    /// More is only better.
    Low,
    /// Less is only better.
    High,
    Both,
}

/// Tolerance factors that were worked out already: most values are seen on the same number of pieces.
#[derive(Default)]
pub(super) struct Factors(Vec<(usize, bool, f64, Option<f64>)>);

impl Factors {
    pub fn get(&mut self, n: usize, side: Side, coverage: f64, confidence: f64) -> Option<f64> {
        let both = side == Side::Both;
        let known = self.0.iter().find(|(m, b, c, _)| (*m, *b, *c) == (n, both, coverage));
        if let Some((.., factor)) = known {
            return *factor;
        }
        let factor = match side {
            Side::Both => tolerance::two_sided(n, coverage, confidence),
            _ => tolerance::one_sided(n, coverage, confidence),
        };
        self.0.push((n, both, coverage, factor));
        factor
    }
}

/// Both ranges of one value, seen on each piece with its standard uncertainty, by the factors of aim and accept; `None` where no end can be closed.
pub(super) fn learned_range(
    surface: &str,
    quantity: Quantity,
    side: Side,
    seen: &[(f64, f64)],
    (aim, accept): (f64, f64),
) -> Option<LearnedValue> {
    // Light and exposure scale a ratio: its logarithm is what scatters evenly. A hue is turned so that its mean
    // direction lies at 180, far from where the circle closes.
    let turn = if quantity == Quantity::Hue { mean_hue(seen) - 180.0 } else { 0.0 };
    let is_ratio = quantity == Quantity::ReflectanceRatio;
    let flat: Vec<(f64, f64)> = seen
        .iter()
        .map(|&(value, u)| match quantity {
            Quantity::ReflectanceRatio => (value.max(1e-3).ln(), u / value.max(1e-3)),
            Quantity::Hue => ((value - turn).rem_euclid(360.0), u),
            _ => (value, u),
        })
        .collect();
    let n = flat.len() as f64;
    let mean = flat.iter().map(|(v, _)| v).sum::<f64>() / n;
    let scatter = (flat.iter().map(|(v, _)| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let measuring = (flat.iter().map(|(_, u)| u * u).sum::<f64>() / n).sqrt();
    // Pieces that agree better than they can be measured do so by chance, or share one error.
    let spread = scatter.max(measuring);
    let back = |v: f64| if is_ratio { v.exp() } else { v + turn };
    let range = |k: f64| -> Option<Range> {
        let low = (side != Side::High).then(|| down(quantity, back(mean - k * spread)));
        let high = (side != Side::Low).then(|| up(quantity, back(mean + k * spread)));
        within(quantity, [low, high])
    };
    let (aim, accept) = (range(aim)?, range(accept)?);
    let centre = back(mean);
    let as_value = |spread: f64| if is_ratio { centre * spread } else { spread };
    Some(LearnedValue {
        target: Target { surface: surface.into(), value: quantity, aim, accept, fully_off: None },
        pieces: seen.len(),
        mean: if quantity == Quantity::Hue { centre.rem_euclid(360.0) } else { centre },
        scatter: as_value(scatter),
        measuring: as_value(measuring),
    })
}

/// Ends beyond what the value can be are open; `None` where that leaves nothing, a single point, or a hue
/// that runs across 0 degrees.
fn within(quantity: Quantity, [low, high]: Range) -> Option<Range> {
    let [least, most] = quantity.bounds();
    if quantity == Quantity::Hue {
        let inside = |end: Option<f64>| end.is_some_and(|v| (least..=most).contains(&v));
        return (inside(low) && inside(high) && low < high).then_some([low, high]);
    }
    let range = [low.filter(|v| *v > least), high.filter(|v| *v < most)];
    let is_point = range[0].is_some() && range[0] == range[1];
    (range != [None, None] && !is_point).then_some(range)
}

/// Steps that limits are written in; they are rounded outward, so that the coverage stays.
fn steps(quantity: Quantity) -> f64 {
    match quantity {
        Quantity::RetainedFraction | Quantity::AreaFraction => 1000.0,
        Quantity::ReflectanceRatio | Quantity::Evenness => 100.0,
        _ => 10.0,
    }
}

fn down(quantity: Quantity, value: f64) -> f64 {
    (value * steps(quantity)).floor() / steps(quantity)
}

fn up(quantity: Quantity, value: f64) -> f64 {
    (value * steps(quantity)).ceil() / steps(quantity)
}

fn mean_hue(seen: &[(f64, f64)]) -> f64 {
    let (x, y) = seen.iter().fold((0.0, 0.0), |(x, y), (h, _)| {
        let h = h.to_radians();
        (x + h.cos(), y + h.sin())
    });
    y.atan2(x).to_degrees()
}
