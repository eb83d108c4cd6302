//! When a drift is called: a rule with stated rates of being wrong.
//!
//! At each new value the mean of the last 5 is held against that of all before them, back to the last drift: a
//! two-sample t test, its t turned into the normal score of the same probability, so that one limit serves every size of
//! baseline (the idea of the Q charts of Quesenberry 1991, J. Qual. Technol. 23:213-224, and of the change-point charts of
//! Hawkins, Qiu & Kang 2003, J. Qual. Technol. 35:355-366). Mean and scatter are thus never taken for known, and the rate
//! of false calls does not depend on how many values there were. The difference must also hold without the newest value
//! that is farthest out, so that one bad reading is not called. After a call the baseline begins anew at the onset, so
//! a lasting change is told once. While that baseline is still too small, a way back is called where it is plain: the
//! last 5 against the 5 or more before them, with the scatter of all baselines so far. The numbers were settled by
//! simulation (`examples/drift`), not on photographs.

use super::series::{Earlier, Series};
use super::statistics::{normal_score, t_of_score};
use std::ops::Range;

/// Values that a baseline needs before the newest ones are held against it.
pub const LEAST_BASELINE: usize = 15;
/// Values in the newest part.
pub const NEWEST: usize = 5;
/// Baseline from which on a drop by two standard deviations is called within five values in 85 % of cases, whether values
/// are normal, a little skewed or a little heavy-tailed (`examples/drift`).
pub const SURE_BASELINE: usize = 20;
/// Least normal score of a call.
pub const CALL_SCORE: f64 = 2.6;
/// Least t that must be left when the newest value that is farthest out is left away: one bad reading is no drift. Of
/// single values 8 standard deviations off, 2 in 100 bring a call; without this it would be 45.
pub const HELD_T: f64 = 1.9;
/// Values that must lie behind a drift before a way back can be called.
pub const LEAST_BEFORE_BACK: usize = 5;
/// Least normal score of a way back. Values about a false call were picked for being far out, so those after them
/// mostly lie back: a higher limit keeps one false call from bringing another.
pub const BACK_SCORE: f64 = 4.0;
/// Onsets are looked for this many values back.
const ONSET_REACH: usize = 20;
/// Least values behind an onset: one alone is no drift.
const LEAST_AFTER: usize = 2;
/// Onsets whose likelihood is less than the best one's by this in 2 ln are not held possible; by simulation the range
/// then holds the onset in nine of ten cases for drops by two standard deviations and more.
const ONSET_DROP: f64 = 6.0;

/// A lasting change of the mean; places count from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drift {
    /// Where its baseline begins: the first value, or the onset of the drift before.
    pub baseline_from: usize,
    /// The likeliest first value of the new level.
    pub onset: usize,
    /// Where the onset can be: first and last place.
    pub onset_range: [usize; 2],
    /// The value at which it was called.
    pub called_at: usize,
    /// True for a rise, false for a fall.
    pub rose: bool,
    /// True for a way back soon after the drift before.
    pub back: bool,
    /// Normal score at the call; above [`CALL_SCORE`], for a way back above [`BACK_SCORE`].
    pub score: f64,
}

/// All drifts of values in order. `firings` holds a number a firing, one a value: pieces of one firing share its luck, and
/// a firing's luck alone is no drift. A value whose firing is not known has a number of its own.
pub fn drifts(values: &[f64], firings: &[usize]) -> Vec<Drift> {
    drifts_of(&Series::new(values, firings))
}

/// The same of a series made ready.
pub(super) fn drifts_of(series: &Series) -> Vec<Drift> {
    let mut found: Vec<Drift> = Vec::new();
    let (mut start, mut earlier) = (0, Earlier::default());
    for end in NEWEST + LEAST_BEFORE_BACK..=series.len() {
        let split = end - NEWEST;
        let baseline = split.saturating_sub(start);
        // The way back is only asked for while the baseline is too small for a drift of its own.
        let last = found.last().filter(|_| baseline < LEAST_BASELINE);
        if baseline < if last.is_some() { LEAST_BEFORE_BACK } else { LEAST_BASELINE } {
            continue;
        }
        let (limit, known) =
            if last.is_some() { (BACK_SCORE, earlier) } else { (CALL_SCORE, Earlier::default()) };
        let (before, after) = (start..split, split..end);
        let plain = series.plain_difference(&before, &after, known);
        let rose = plain.value > 0.0;
        if plain.t().abs() <= t_of_score(limit, plain.freedom) || last.is_some_and(|drift| drift.rose == rose)
        {
            continue;
        }
        let careful = series.difference(&before, &after, known);
        let score = normal_score(careful.t(), careful.freedom).abs();
        let held = series.without_farthest(&before, &after, rose) / careful.sd;
        if score <= limit || held.abs() < HELD_T || (held > 0.0) != rose {
            continue;
        }
        let (onset, onset_range) = onset(series, start..end, rose, (careful.sd / plain.sd).powi(2));
        let back = last.is_some();
        found.push(Drift { baseline_from: start, onset, onset_range, called_at: end - 1, rose, back, score });
        earlier = earlier.with(series, &(start..onset));
        start = onset;
    }
    found
}

/// The split of `start..end` that leaves the least scatter (maximum likelihood for one step between normal values of one
/// standard deviation), and the range of splits nearly as likely. `shared`: how much more means vary than those of
/// independent values; the likelihood is that much flatter.
fn onset(series: &Series, part: Range<usize>, rose: bool, shared: f64) -> (usize, [usize; 2]) {
    let Range { start, end } = part;
    let first = (start + LEAST_BEFORE_BACK).max(end.saturating_sub(ONSET_REACH));
    let left: Vec<(usize, f64)> = (first..=end - LEAST_AFTER)
        .map(|split| (start..split, split..end))
        .filter(|(before, after)| {
            (series.plain_difference(before, after, Earlier::default()).value > 0.0) == rose
        })
        .map(|(before, after)| (before.end, series.scatter(&before) + series.scatter(&after)))
        .collect();
    // The split of the call itself has the right sign, so there is one.
    let &(best, least) = left.iter().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or(&(end - NEWEST, 0.0));
    // Rounding alone must not part splits that leave the same scatter.
    let most = least * (shared * ONSET_DROP / (end - start) as f64).exp() + 1e-9;
    let possible = || left.iter().filter(|(_, scatter)| *scatter <= most).map(|(split, _)| *split);
    (best, [possible().min().unwrap_or(best), possible().max().unwrap_or(best)])
}
