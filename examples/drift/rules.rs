//! The rule in use and those tried and left: values and the number of pieces taken for the baseline go in; the pieces at
//! which a drift is called, and whether upward, come out. After a call all begin anew.

use super::Rule;
use sherdlight::ledger::trend::{
    EWMA_WEIGHT, LEAST_BASELINE, NEWEST, drifts, individuals_limits, mean, normal_score, standard_deviation,
    t_of_score,
};

pub const ALL: [(&str, Rule); 4] = [
    ("in use", in_use),
    ("handbook limits", handbook),
    ("widened limits", widened),
    ("self-starting", self_starting),
];

/// Piece, counted from 1, at which any rule can call first; the rule in use may call before `baseline` ends.
pub fn first_watched(baseline: usize) -> usize {
    baseline.min(LEAST_BASELINE + NEWEST)
}

pub fn in_use(values: &[f64], _: usize, firings: &[usize]) -> Vec<(usize, bool)> {
    drifts(values, firings).iter().map(|drift| (drift.called_at, drift.rose)).collect()
}

/// Individuals limits and EWMA limits of the first pieces, as in the handbook (6.3.2.2, 6.3.2.4).
fn handbook(values: &[f64], baseline: usize, _: &[usize]) -> Vec<(usize, bool)> {
    anew(values, baseline, |known, later| {
        let Some(limits) = individuals_limits(known) else { return vec![] };
        let sigma = (limits.upper - limits.centre) / 3.0;
        let mut level = 0.0;
        let long = (EWMA_WEIGHT / (2.0 - EWMA_WEIGHT)).sqrt();
        later
            .iter()
            .map(|value| {
                let step = (value - limits.centre) / sigma;
                level += EWMA_WEIGHT * (step - level);
                [step / 3.0, level / long / 3.0]
            })
            .collect()
    })
}

/// The same limits through Student's t, wider by the doubt of the baseline's mean.
fn widened(values: &[f64], baseline: usize, _: &[usize]) -> Vec<(usize, bool)> {
    anew(values, baseline, |known, later| {
        let (centre, sd) = (mean(known), standard_deviation(known).unwrap_or(1.0));
        let (count, freedom) = (known.len() as f64, (known.len() - 1) as f64);
        let single = t_of_score(3.0, freedom) * (1.0 + 1.0 / count).sqrt();
        let mut level = 0.0;
        later
            .iter()
            .enumerate()
            .map(|(at, value)| {
                let step = (value - centre) / sd;
                level += EWMA_WEIGHT * (step - level);
                let kept = (1.0 - EWMA_WEIGHT).powi(at as i32 + 1);
                let variance =
                    EWMA_WEIGHT / (2.0 - EWMA_WEIGHT) * (1.0 - kept * kept) + (1.0 - kept).powi(2) / count;
                [step / single, level / variance.sqrt() / t_of_score(WIDENED_SCORE, freedom)]
            })
            .collect()
    })
}

/// Limit of the widened EWMA in normal scores: the least with about one false call in 200 normal pieces.
const WIDENED_SCORE: f64 = 2.45;
/// The same of the self-starting EWMA.
const SELF_STARTING_SCORE: f64 = 2.75;

/// Each piece against all before it as an exact normal score (Quesenberry 1991; Hawkins 1987, The Statistician
/// 36:299-315), on an individuals chart and an EWMA.
fn self_starting(values: &[f64], baseline: usize, _: &[usize]) -> Vec<(usize, bool)> {
    anew(values, baseline, |known, later| {
        let all: Vec<f64> = known.iter().chain(later).copied().collect();
        let (mut sum, mut squares, mut level) = (0.0, 0.0, 0.0);
        let mut found = Vec::new();
        for (at, value) in all.iter().enumerate() {
            let count = at as f64;
            if at > 1 {
                let centre = sum / count;
                let sd = ((squares - sum * centre) / (count - 1.0)).sqrt();
                let score = normal_score((value - centre) / sd * (count / (count + 1.0)).sqrt(), count - 1.0);
                level += EWMA_WEIGHT * (score - level);
                if at >= known.len() {
                    let long = (EWMA_WEIGHT / (2.0 - EWMA_WEIGHT)).sqrt();
                    found.push([score / 3.2, level / long / SELF_STARTING_SCORE]);
                }
            }
            sum += value;
            squares += value * value;
        }
        found
    })
}

/// Runs a chart whose signals are 1 at the limit; after a call the next pieces are a new baseline.
fn anew(
    values: &[f64],
    baseline: usize,
    chart: impl Fn(&[f64], &[f64]) -> Vec<[f64; 2]>,
) -> Vec<(usize, bool)> {
    let (mut calls, mut start) = (Vec::new(), 0);
    while start + baseline < values.len() {
        let signals = chart(&values[start..start + baseline], &values[start + baseline..]);
        let called = signals.iter().enumerate().find_map(|(at, signal)| {
            signal.iter().find(|s| s.abs() > 1.0).map(|s| (start + baseline + at, *s > 0.0))
        });
        let Some(call) = called else { break };
        calls.push(call);
        start = call.0 + 1;
    }
    calls
}
