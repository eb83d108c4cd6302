//! Fire or material: how much of the spread goes to each factor, to tiles and to the rest.
//!
//! Of the levels of a factor the mean over all pairs of (d^2 - s^2) / 2, with d the difference and s its standard error,
//! is what is left of the variance between the levels when the error's share is off: its expectation is that variance
//! (method of moments; Searle, Casella and McCulloch 1992, Variance Components). Below zero it counts as zero.
//! The interval of the rest is NIST/SEMATECH e-Handbook (doi 10.18434/M32189), 7.2.3.1, by chi-squared.

use super::compare::{Bench, RISK};
use super::model::Model;
use super::{Answer, Comparison, Factor, LeftOut, Readings, TrialError};
use crate::ledger::trend::t_quantile;
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// The two levels of a factor that lie farthest apart.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Widest {
    /// The higher level.
    pub first: String,
    /// The lower one.
    pub second: String,
    /// Higher less lower, unit of the value.
    pub difference: f64,
    /// Interval that holds with 95 % for all pairs of the factor at once (Bonferroni's way), as the pair was picked.
    pub interval: [f64; 2],
}

/// What goes to one factor or to tiles.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Source {
    /// The factor; tiles are those within a firing.
    pub factor: Factor,
    /// Levels.
    pub levels: usize,
    /// Standard deviation between its levels without the error's share, unit of the value, 0 and more; none where some
    /// pair cannot be separated or the scatter is not told.
    pub spread: Option<f64>,
    /// The pair farthest apart; none of tiles, and none without a spread.
    pub widest: Option<Widest>,
}

/// The difference of two firings, raw and against the control.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FiringPair {
    /// The first firing.
    pub first: String,
    /// The second one.
    pub second: String,
    /// As [`Comparison`] gives it.
    pub raw: Answer,
    /// The same of trial swatches with the mean of their tile's controls taken off: what remains is what the fire did to
    /// the materials on trial and not to the control. None where controls or tiles are not told.
    pub less_control: Option<Answer>,
}

/// Where the spread of a trial lies.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Parts {
    /// The column of readings.
    pub value: String,
    /// Swatches with a reading.
    pub swatches: usize,
    /// Firing, slip, paint, coats and tile, as far as they vary.
    pub sources: Vec<Source>,
    /// Standard deviation of swatches that are alike in all of these; none where nothing is repeated.
    pub rest: Option<f64>,
    /// Its 95 % interval.
    pub rest_interval: Option<[f64; 2]>,
    /// Its degrees of freedom.
    pub freedom: usize,
    /// All pairs of firings.
    pub firings: Vec<FiringPair>,
    /// Tiles with a reading, but none of a control, where others have one: their fire is not set against the others' by it.
    pub without_control: Vec<String>,
    /// Rows that were not used.
    pub left_out: Vec<LeftOut>,
}

impl Parts {
    /// Shares the spread out. Each factor is judged as [`Comparison`] does it.
    ///
    /// # Errors
    /// [`TrialError::NothingVaries`].
    pub fn new(readings: &Readings) -> Result<Self, TrialError> {
        let order = [Factor::Firing, Factor::Slip, Factor::Paint, Factor::Coats];
        let varying: Vec<Factor> = order.into_iter().filter(|f| readings.levels(*f).len() > 1).collect();
        if varying.is_empty() {
            return Err(TrialError::NothingVaries);
        }
        let mut sources: Vec<Source> = varying.iter().map(|factor| of_factor(readings, *factor)).collect();
        let all: Vec<Factor> =
            Factor::ALL.into_iter().filter(|factor| readings.levels(*factor).len() > 1).collect();
        let model = Model::fit(readings, &all);
        let freedom = model.freedom();
        let square = (freedom > 0).then(|| model.rest / freedom as f64);
        if all.contains(&Factor::Tile) {
            sources.push(of_tiles(readings, &model, square));
        }
        Ok(Self {
            value: readings.value.clone(),
            swatches: model.count,
            sources,
            rest: square.map(f64::sqrt),
            rest_interval: square.and_then(|square| sigma_interval(square, freedom)),
            freedom,
            firings: if varying.contains(&Factor::Firing) { firings(readings)? } else { Vec::new() },
            without_control: readings.without_control(),
            left_out: readings.left_out.clone(),
        })
    }
}

fn of_factor(readings: &Readings, factor: Factor) -> Source {
    let bench = Bench::new(readings, factor);
    let names = readings.levels(factor);
    let mut told: Vec<(usize, usize, f64, f64)> = Vec::new();
    let mut pairs = 0;
    for first in 0..names.len() {
        for second in first + 1..names.len() {
            pairs += 1;
            if let Answer::Estimated(d) = bench.pair(first, second) {
                told.push((first, second, d.difference, d.standard_error));
            }
        }
    }
    let mut source = Source { factor, levels: names.len(), spread: None, widest: None };
    if told.len() < pairs {
        return source;
    }
    source.spread = Some(spread(told.iter().map(|(.., difference, error)| (*difference, *error))));
    let widest = told.into_iter().max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()));
    source.widest = widest.map(|(first, second, difference, error)| {
        let half = t_quantile(1.0 - RISK / (2.0 * pairs as f64), bench.freedom as f64) * error;
        let (first, second) = if difference < 0.0 { (second, first) } else { (first, second) };
        let difference = difference.abs();
        Widest {
            first: names[first].clone(),
            second: names[second].clone(),
            difference,
            interval: [difference - half, difference + half],
        }
    });
    source
}

/// Tiles within firings: those pairs that the readings tell.
fn of_tiles(readings: &Readings, model: &Model, square: Option<f64>) -> Source {
    let tiles = readings.levels(Factor::Tile).len();
    let fired = readings.firing_of_tiles();
    let mut told = Vec::new();
    if let Some(square) = square {
        for first in 0..tiles {
            for second in (first + 1..tiles).filter(|second| fired.get(second) == fired.get(&first)) {
                let weights = model.contrast(Factor::Tile, first, second);
                if model.tells(&weights) {
                    told.push((model.value(&weights), (square * model.variance(&weights)).sqrt()));
                }
            }
        }
    }
    let spread = (!told.is_empty()).then(|| spread(told.into_iter()));
    Source { factor: Factor::Tile, levels: tiles, spread, widest: None }
}

/// Standard deviation between levels from their differences with standard errors.
fn spread(pairs: impl Iterator<Item = (f64, f64)>) -> f64 {
    let (mut sum, mut count) = (0.0, 0.0f64);
    for (difference, error) in pairs {
        sum += (difference.powi(2) - error.powi(2)) / 2.0;
        count += 1.0;
    }
    (sum / count.max(1.0)).max(0.0).sqrt()
}

/// 95 % interval of a standard deviation from the mean square with its degrees of freedom.
fn sigma_interval(square: f64, freedom: usize) -> Option<[f64; 2]> {
    let chi = ChiSquared::new(freedom as f64).ok()?;
    let at = |share: f64| (square * freedom as f64 / chi.inverse_cdf(share)).sqrt();
    Some([at(1.0 - RISK / 2.0), at(RISK / 2.0)])
}

fn firings(readings: &Readings) -> Result<Vec<FiringPair>, TrialError> {
    let raw = Comparison::new(readings, Factor::Firing)?;
    let less = readings.less_control().map(|less| Comparison::new(&less, Factor::Firing)).transpose()?;
    let mut corrected = less.map(|less| less.pairs.into_iter());
    let pair = |raw: super::Pair| FiringPair {
        first: raw.first,
        second: raw.second,
        raw: raw.answer,
        less_control: corrected.as_mut().and_then(Iterator::next).map(|pair| pair.answer),
    };
    Ok(raw.pairs.into_iter().map(pair).collect())
}
