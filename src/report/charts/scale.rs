//! Scales from values to pixels.

use crate::report::words::fixed;

/// Values beyond this are drawn at it: no chart means them.
const MOST: f64 = 1e6;

/// A straight scale from values to pixels, with round ticks.
pub(in crate::report) struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
    /// Distance of the ticks in values.
    pub(in crate::report) step: f64,
}

impl Scale {
    /// Covers all finite values and ends on ticks; `from` and `to` are the pixels of its ends.
    /// Ticks are 1, 2 or 5 times a power of ten apart, about `count` of them.
    pub(in crate::report) fn covering(
        values: impl Iterator<Item = f64>,
        from: f64,
        to: f64,
        count: usize,
    ) -> Self {
        let (low, high) = values
            .filter(|v| v.is_finite())
            .map(|v| v.clamp(-MOST, MOST))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
        // One value alone still gets a scale of about one unit to either side.
        let (low, high) = if high - low < 1.0 {
            ((low + high) / 2.0 - 0.75, (low + high) / 2.0 + 0.75)
        } else {
            (low, high)
        };
        let step = round_step((high - low) / count.max(1) as f64);
        Self { low: (low / step).floor() * step, high: (high / step).ceil() * step, from, to, step }
    }

    /// As far to either side of zero, with one or two ticks on each.
    pub(in crate::report) fn about_zero(farthest: f64, from: f64, to: f64) -> Self {
        let farthest = farthest.clamp(0.1, MOST);
        let half = 1.06 * farthest;
        // The largest round step that is still in view.
        let power = 10f64.powf(farthest.log10().floor());
        let step = [5.0, 2.0, 1.0].map(|m| m * power).into_iter().find(|step| *step <= farthest);
        Self { low: -half, high: half, from, to, step: step.unwrap_or(farthest) }
    }

    /// From `low` to `high` as they are, the one below the other, without ticks between.
    pub(in crate::report) fn plain([low, high]: [f64; 2], from: f64, to: f64) -> Self {
        Self { low, high, from, to, step: high - low }
    }

    /// The pixel of a value.
    pub(in crate::report) fn at(&self, value: f64) -> f64 {
        self.from + (value - self.low) / (self.high - self.low) * (self.to - self.from)
    }

    /// The pixel of a value, of one beyond the scale its end.
    pub(in crate::report) fn within(&self, value: f64) -> f64 {
        self.at(value.clamp(self.low, self.high))
    }

    /// All ticks: value and text.
    pub(in crate::report) fn ticks(&self) -> Vec<(f64, String)> {
        let decimals = (-self.step.log10().floor()).max(0.0) as usize;
        // Ends that are ticks stay ticks though rounding moved them.
        let first = (self.low / self.step - 1e-6).ceil();
        let count = (self.high / self.step + 1e-6).floor() - first;
        (0..=count.max(0.0) as usize)
            .map(|i| (first + i as f64) * self.step)
            .map(|value| (value, fixed(value, decimals)))
            .collect()
    }
}

/// The next of 1, 2 and 5 times a power of ten.
fn round_step(rough: f64) -> f64 {
    let power = 10f64.powf(rough.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power);
    steps.into_iter().find(|step| *step >= rough * 0.999).unwrap_or(rough)
}
