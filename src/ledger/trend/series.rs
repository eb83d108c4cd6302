//! Values in order, with sums that tell the mean and scatter of any run of them at once.

use super::statistics::t_quantile;
use std::ops::Range;

/// Scatter is never taken for less than this, in the unit of the value: half of the last digit that is shown. Readings
/// that are all alike neither divide by zero nor call a drift on rounding.
const LEAST_SCATTER: f64 = 0.05;

/// How the mean of later values differs from that of earlier ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Difference {
    /// Later less earlier.
    pub(super) value: f64,
    /// Its standard deviation.
    pub(super) sd: f64,
    /// Degrees of freedom of that.
    pub(super) freedom: f64,
}

impl Difference {
    /// Student's t.
    pub(super) fn t(&self) -> f64 {
        self.value / self.sd
    }

    /// Half-width of the 95 % interval.
    pub(super) fn u95(&self) -> f64 {
        t_quantile(0.975, self.freedom) * self.sd
    }
}

/// Scatter known from earlier baselines.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Earlier {
    /// Sum of squares about the mean of each.
    squares: f64,
    /// Degrees of freedom of that.
    freedom: f64,
}

impl Earlier {
    /// With one baseline more; it holds a value at least.
    pub(super) fn with(self, series: &Series, part: &Range<usize>) -> Self {
        let freedom = self.freedom + part.len() as f64 - 1.0;
        Self { squares: self.squares + series.scatter(part), freedom }
    }
}

/// Values in order and the firing of each.
pub(super) struct Series {
    values: Vec<f64>,
    /// Sums of the values, and of their squares, before each place; about the first value.
    sums: Vec<[f64; 2]>,
    /// Runs of one firing; empty where every firing has one value.
    firings: Firings,
}

/// Runs of neighbours of one firing, with sums over them.
#[derive(Default)]
struct Firings {
    /// Run of each place.
    run_of: Vec<usize>,
    /// First place of each run, and one past the last.
    starts: Vec<usize>,
    /// Before each run: sum of (sum squared / count), sum of count squared.
    before: Vec<[f64; 2]>,
}

/// What a stretch holds of firings: sum of (sum squared / count), sum of count squared, firings.
struct Parts {
    between: f64,
    squared: f64,
    runs: f64,
}

impl Series {
    /// `firings`: a number a firing, one a value; a value whose firing is not known has one of its own.
    pub(super) fn new(values: &[f64], firings: &[usize]) -> Self {
        let first = values.first().copied().unwrap_or(0.0);
        let mut sums = Vec::with_capacity(values.len() + 1);
        let (mut sum, mut squares) = (0.0, 0.0);
        sums.push([0.0; 2]);
        for value in values {
            sum += value - first;
            squares += (value - first).powi(2);
            sums.push([sum, squares]);
        }
        let firings = Firings::new(firings, &sums);
        Self { values: values.to_vec(), sums, firings }
    }

    /// Number of values.
    pub(super) fn len(&self) -> usize {
        self.sums.len() - 1
    }

    /// Sum and sum of squares over a run of values, about the first value of all.
    fn sum(&self, part: &Range<usize>) -> [f64; 2] {
        [0, 1].map(|i| self.sums[part.end][i] - self.sums[part.start][i])
    }

    /// Sum of squares about the run's own mean.
    pub(super) fn scatter(&self, part: &Range<usize>) -> f64 {
        let [sum, squares] = self.sum(part);
        (squares - sum * sum / part.len() as f64).max(0.0)
    }

    /// The difference of two means where all values are independent and scatter alike (two-sample t test, handbook
    /// 7.3.1). Both parts hold a value at least.
    pub(super) fn plain_difference(
        &self,
        before: &Range<usize>,
        after: &Range<usize>,
        known: Earlier,
    ) -> Difference {
        let (n, m) = (before.len() as f64, after.len() as f64);
        let freedom = (n + m - 2.0 + known.freedom).max(1.0);
        let variance = (self.scatter(before) + self.scatter(after) + known.squares) / freedom;
        let sd = variance.sqrt().max(LEAST_SCATTER) * (1.0 / n + 1.0 / m).sqrt();
        Difference { value: self.sum(after)[0] / m - self.sum(before)[0] / n, sd, freedom }
    }

    /// The same where pieces of one firing share its luck. How alike they are (intraclass correlation) is told by the
    /// earlier part, in which nothing has changed: analysis of variance, one way (handbook, 7.4.3), drawn towards 1
    /// as if two more firings had told so, since few firings tell little (ours). The variance of a mean grows by
    /// 1 + r (sum m^2 / n - 1) for firings of m values (Kish 1965, Survey Sampling, 5.4), and the degrees of freedom go
    /// from those of values to those of firings as r goes from 0 to 1 (ours). Fewer than three firings tell nothing.
    pub(super) fn difference(
        &self,
        before: &Range<usize>,
        after: &Range<usize>,
        known: Earlier,
    ) -> Difference {
        let plain = self.plain_difference(before, after, known);
        let (Some(earlier), Some(later)) =
            (self.firings.parts(self, before), self.firings.parts(self, after))
        else {
            return plain;
        };
        let (n, m) = (before.len() as f64, after.len() as f64);
        if earlier.runs >= n && later.runs >= m {
            return plain;
        }
        let alike = self.alikeness(before, &earlier);
        let grown = |parts: &Parts, count: f64| (1.0 + alike * (parts.squared / count - 1.0)) / count;
        let by_values = 1.0 / n + 1.0 / m;
        let sd = plain.sd * ((grown(&earlier, n) + grown(&later, m)) / by_values).sqrt();
        let freedom = (alike * (earlier.runs - 1.0) + (1.0 - alike) * plain.freedom).max(1.0);
        Difference { sd, freedom, ..plain }
    }

    /// The difference of means without the later value that is farthest out in its direction, in a form that a standard
    /// deviation of the whole difference fits: scaled by how much less sure the mean of one value fewer is.
    pub(super) fn without_farthest(&self, before: &Range<usize>, after: &Range<usize>, rose: bool) -> f64 {
        let (n, m) = (before.len() as f64, after.len() as f64);
        let later = &self.values[after.clone()];
        let farthest = match rose {
            true => later.iter().fold(f64::NEG_INFINITY, |most, v| most.max(*v)),
            false => later.iter().fold(f64::INFINITY, |least, v| least.min(*v)),
        };
        // Sums stand about the first value of all.
        let [rest, base] = [self.sum(after)[0] - (farthest - self.values[0]), self.sum(before)[0] / n];
        let difference = rest / (m - 1.0) - base;
        difference * ((1.0 / n + 1.0 / m) / (1.0 / n + 1.0 / (m - 1.0))).sqrt()
    }

    /// Share of the scatter that lies between firings, 0 to 1.
    fn alikeness(&self, part: &Range<usize>, parts: &Parts) -> f64 {
        let (n, runs) = (part.len() as f64, parts.runs);
        if runs < 3.0 {
            return 1.0;
        }
        let [sum, squares] = self.sum(part);
        let between = ((parts.between - sum * sum / n) / (runs - 1.0)).max(0.0);
        let within = if runs < n { ((squares - parts.between) / (n - runs)).max(0.0) } else { between };
        let typical = (n - parts.squared / n) / (runs - 1.0);
        let total = between + (typical - 1.0) * within;
        let told = if total > 0.0 { ((between - within) / total).clamp(0.0, 1.0) } else { 0.0 };
        (told * (runs - 1.0) + 2.0) / (runs - 1.0 + 2.0)
    }
}

impl Firings {
    fn new(firings: &[usize], sums: &[[f64; 2]]) -> Self {
        let mut found = Self { run_of: Vec::with_capacity(firings.len()), starts: vec![], before: vec![] };
        for (at, firing) in firings.iter().enumerate() {
            if at == 0 || firings[at - 1] != *firing {
                found.starts.push(at);
            }
            found.run_of.push(found.starts.len() - 1);
        }
        if found.starts.len() == firings.len() {
            return Self::default();
        }
        found.starts.push(firings.len());
        let mut total = [0.0; 2];
        for ends in found.starts.windows(2) {
            found.before.push(total);
            let [sum, count] = [sums[ends[1]][0] - sums[ends[0]][0], (ends[1] - ends[0]) as f64];
            total = [total[0] + sum * sum / count, total[1] + count * count];
        }
        found
    }

    /// `None` where every firing has one value.
    fn parts(&self, series: &Series, part: &Range<usize>) -> Option<Parts> {
        let (first, last) = (*self.run_of.get(part.start)?, *self.run_of.get(part.end - 1)?);
        let clipped = |from: usize, to: usize| {
            let ([sum, _], count) = (series.sum(&(from..to)), (to - from) as f64);
            [sum * sum / count, count * count]
        };
        let runs = (last - first + 1) as f64;
        if first == last {
            let [between, squared] = clipped(part.start, part.end);
            return Some(Parts { between, squared, runs });
        }
        let (head, tail) =
            (clipped(part.start, self.starts[first + 1]), clipped(self.starts[last], part.end));
        let [between, squared] =
            [0, 1].map(|i| head[i] + tail[i] + self.before[last][i] - self.before[first + 1][i]);
        Some(Parts { between, squared, runs })
    }
}
