//! From relative light to light relative to the card's.
//!
//! A card fixes the light where the card lies. A piece that shows little shading lies much as the
//! card does, so its brightest part gets about the card's light. A piece whose walls turn away shows
//! by how much light falls off with direction. Its brightest part may face the light better than the
//! card does, or the card may face it better than every wall in view: nothing in one photograph
//! without a ball tells which. The estimate is therefore equality, and its range grows both ways with
//! the shading seen.

use super::Level;
use crate::surface::Label;

/// Light on the brightest part of the piece (all of a shallow piece, the brighter half of one that turns away) relative to the card's light.
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
    /// Relative half-widths by label number where ball and form told the light, for the places of each surface.
    by_label: Option<[f64; Label::ALL.len()]>,
}

/// What no photograph lets us know better: light over the table is rarely even to 5 %.
const UNEVEN_TABLE: f64 = 0.05;

/// Share of the fall-off over the piece by which the anchored part may differ from the card. A judgement, not a
/// publication: on eight rendered round pieces with known light it ran from 0.88 to 1.27 of the card's.
const FALL_SHARE: f64 = 1.0 / 3.0;

/// Anchors a relative light field by the share `darkest` (5th percentile over the piece, brightest
/// part = 1; clamped to 0.05..1) that its shaded walls get.
pub fn anchor(darkest: f64) -> Anchor {
    let darkest = if darkest.is_finite() { darkest.clamp(0.05, 1.0) } else { 0.05 };
    let either_way = UNEVEN_TABLE + FALL_SHARE * (1.0 - darkest);
    Anchor { brightest: 1.0, low: 1.0 - either_way, high: 1.0 + either_way, darkest, by_label: None }
}

impl Anchor {
    /// The same piece with its level told by ball and form.
    #[must_use]
    pub fn told(self, level: &Level) -> Self {
        let [low, high] = [1.0 - level.u95.min(0.8), 1.0 + level.u95].map(|share| share * level.factor);
        Self { brightest: level.factor, low, high, by_label: Some(level.apart_u95), ..self }
    }

    /// Relative half-width of the 95 % interval of the light on a surface where the field stands at `light` (brightest
    /// part = 1): the anchor's own, and how sure the light is there. The field alone is less sure the further it falls;
    /// with ball and form it is their distance.
    pub fn relative_u95(&self, label: Label, light: f64) -> f64 {
        let anchor = (self.high - self.low) / 2.0 / self.brightest;
        let there = self.by_label.map_or(FALL_SHARE * (1.0 - light.clamp(0.0, 1.0)), |by| by[label as usize]);
        anchor.hypot(there)
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
