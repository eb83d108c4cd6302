//! From relative light to light relative to the card's.
//!
//! A card fixes the light where the card lies. A piece that shows little shading lies much as the
//! card does, so its brightest part gets about the card's light. A piece whose walls turn away
//! shows by how much light falls off with direction: the place that faces as the card does may be
//! any of those seen, so the brightest part may get more than the card or, where the card faces
//! the light better than every wall in view, less. Nothing in one photograph without a ball tells
//! which. The estimate is therefore centred on equality and its range grows with the shading seen.

/// Light on the brightest part of the piece relative to the card's light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anchor {
    /// The estimate.
    pub brightest: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end of its 95 % interval.
    pub high: f64,
    /// Light on the darkest measured part relative to the brightest, 0 to 1.
    pub darkest: f64,
}

/// What no photograph lets us know better: light over the table is rarely even to 5 %.
const UNEVEN_TABLE: f64 = 0.05;

/// Anchors a relative light field by the share `darkest` (5th percentile over the piece, brightest
/// part = 1; clamped to 0.05..1) that its shaded walls get.
///
/// The brightest part is taken to get the card's light times the root of nothing but one: the
/// interval reaches down to the middle between 1 and `darkest` (the card faces the light better
/// than any wall) and up by a quarter of the fall-off (a wall faces the light better than the card).
pub fn anchor(darkest: f64) -> Anchor {
    let darkest = if darkest.is_finite() { darkest.clamp(0.05, 1.0) } else { 0.05 };
    let fall = 1.0 - darkest;
    Anchor {
        brightest: 1.0,
        low: 1.0 - UNEVEN_TABLE - fall / 2.0,
        high: 1.0 + UNEVEN_TABLE + fall / 4.0,
        darkest,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_shading_means_less_is_known() {
        let widths: Vec<f64> =
            (1..=20).map(|i| anchor(f64::from(i) / 20.0)).map(|a| a.high - a.low).collect();
        assert!(widths.windows(2).all(|w| w[0] > w[1]), "{widths:?}");
        assert!(anchor(f64::NAN).low.is_finite());
    }
}
