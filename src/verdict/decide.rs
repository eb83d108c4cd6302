//! Deciding under uncertainty: how likely a value lies in a range, and what may be said of it.

use super::targets::Range;
use statrs::distribution::{ContinuousCDF, Normal};

/// A value with the half-width of its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Half-width of its 95 % interval, 0 or more.
    pub u95: f64,
    /// Half-widths downward and upward, where the value is not as likely too high as too low.
    pub sides: Option<[f64; 2]>,
}

impl Estimate {
    /// As likely higher as lower.
    pub const fn even(value: f64, u95: f64) -> Self {
        Self { value, u95, sides: None }
    }
}

/// Half-width of a 95 % interval of a normal distribution over its standard deviation.
const COVERAGE_FACTOR: f64 = 1.959_964;

/// Where a value lies against a range, as far as can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// So likely inside that saying so is wrong at most as often as the risk taken.
    Inside,
    /// Neither can be said.
    Across,
    /// So likely outside that saying so is wrong at most as often as the risk taken.
    Outside,
}

/// Probability that the value lies in the range, 0 to 1, for a normal state of knowledge and nothing else known
/// (JCGM 106:2012, clause 7: Phi((TU - y) / u) - Phi((TL - y) / u)); with half-widths of their own downward and upward, for
/// two halves of normal distributions that meet at the value (Fechner 1897; Wallis 2014, Statistical Science 29(1)). `None`
/// where value or interval is no number.
pub fn conformance(estimate: Estimate, [low, high]: Range) -> Option<f64> {
    let Estimate { value, u95, sides } = estimate;
    let [below, above] = sides.unwrap_or([u95; 2]);
    if !value.is_finite() || ![above, below].iter().all(|u| u.is_finite() && *u >= 0.0) {
        return None;
    }
    let (low, high) = (low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY));
    if above == 0.0 && below == 0.0 {
        return Some(f64::from(u8::from((low..=high).contains(&value))));
    }
    let standard = Normal::standard();
    // Chance of less than a limit: what of its half lies there, each half as likely as it is wide.
    let less = |limit: f64| {
        let half = if limit < value { below } else { above };
        let share = 2.0 * half / (below + above);
        let within = if half > 0.0 {
            standard.cdf((limit - value) * COVERAGE_FACTOR / half)
        } else {
            f64::from(u8::from(limit >= value))
        };
        if limit < value { share * within } else { 1.0 - share * (1.0 - within) }
    };
    Some((less(high) - less(low)).clamp(0.0, 1.0))
}

/// How far beyond the nearer limit a value lies, in half-widths of its interval; negative inside, endless without doubt.
pub(super) fn beyond(estimate: Estimate, [low, high]: Range) -> f64 {
    let below = low.map_or(f64::NEG_INFINITY, |low| low - estimate.value);
    let above = high.map_or(f64::NEG_INFINITY, |high| estimate.value - high);
    below.max(above) / estimate.u95.max(1e-9)
}

/// How a decision is taken: on the probability itself, not on limits moved by a multiple of the uncertainty. Those let
/// a value pass a two-sided range narrower than four standard uncertainties although too much of it lies outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DecisionRule {
    /// Most that 'inside' or 'outside' may be wrong, 0.001 to 0.5.
    pub risk: f64,
}

impl Default for DecisionRule {
    /// 5 %.
    fn default() -> Self {
        Self { risk: 0.05 }
    }
}

impl DecisionRule {
    /// Inside where the range holds the value with a probability of at least 1 - risk; outside where it holds it with at
    /// most the risk and the value itself lies outside (an interval far wider than the range proves nothing); else
    /// across.
    pub fn place(self, estimate: Estimate, range: Range) -> Place {
        let [low, high] = range;
        let beyond =
            low.is_some_and(|low| estimate.value < low) || high.is_some_and(|high| estimate.value > high);
        match conformance(estimate, range) {
            Some(inside) if inside >= 1.0 - self.risk => Place::Inside,
            Some(inside) if inside <= self.risk && beyond => Place::Outside,
            _ => Place::Across,
        }
    }
}
