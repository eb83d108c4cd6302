//! The levels of one factor compared, all else adjusted for.
//!
//! Sources: NIST/SEMATECH e-Handbook (doi 10.18434/M32189), 7.4.3 (analysis of variance), 5.5.5 (split plots: what
//! whole tiles share is judged by the scatter of tiles); Searle, Speed and Milliken 1980 (doi
//! 10.1080/00031305.1980.10483031), adjusted means; Holm 1979 (Scand. J. Statist. 6, 65-70), many comparisons.

use super::additivity::{Interaction, interactions};
use super::confounding::Suspects;
use super::model::{Combination, Model};
use super::{Factor, LeftOut, Readings, TrialError, detectable, swatches_needed};
use crate::ledger::trend::t_quantile;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, StudentsT};
use std::cell::OnceCell;

/// Share of trials in which a true null is called a difference, at most.
pub(super) const RISK: f64 = 0.05;

/// What a difference is judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Scatter {
    /// Swatches: the level changes within tiles.
    Swatches,
    /// Tiles: each has one level only, as each goes into one firing.
    Tiles,
}

/// One level.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelMean {
    /// Its name.
    pub level: String,
    /// Swatches with a reading.
    pub swatches: usize,
    /// Mean with all other factors at the average of their levels, unit of the value; none where it is not told.
    pub mean: Option<f64>,
    /// 95 % interval of the mean, by Student's t; none where the scatter is not told either.
    pub interval: Option<[f64; 2]>,
}

/// Two levels told from each other as far as can be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    /// First level less second, all else alike, unit of the value.
    pub difference: f64,
    /// Standard error of the difference.
    pub standard_error: f64,
    /// 95 % interval of this difference alone, by Student's t.
    pub interval: [f64; 2],
    /// Two-sided p of this difference alone.
    pub p: f64,
    /// p adjusted for the number of pairs, by Holm's way.
    pub p_holm: f64,
    /// Whether the adjusted p is 0.05 or less.
    pub told_apart: bool,
    /// The smallest true difference that about 80 of 100 such trials would tell apart at 95 %, for one pair alone.
    pub detectable: f64,
    /// Where not told apart: how many more of each level a trial would take that tells apart a true difference as large
    /// as this one, in units of [`Scatter`]; none for more than 1000.
    pub more_of_each: Option<usize>,
}

/// What can be said of two levels.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "answer", rename_all = "kebab-case")]
pub enum Answer {
    /// A difference with its interval.
    Estimated(Difference),
    /// The difference as it stands; nothing was left over to tell the scatter.
    NoScatter {
        /// First level less second, unit of the value.
        difference: f64,
    },
    /// Something else changes with the levels.
    CannotBeSeparated {
        /// What, in words.
        reason: String,
    },
}

/// A pair of levels.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pair {
    /// The first level.
    pub first: String,
    /// The second one.
    pub second: String,
    /// What can be said.
    #[serde(flatten)]
    pub answer: Answer,
}

/// The levels of one factor compared.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The factor.
    pub by: Factor,
    /// The column of readings.
    pub value: String,
    /// Swatches with a reading.
    pub swatches: usize,
    /// What the model holds besides `by`.
    pub adjusted_for: Vec<Factor>,
    /// What differences are judged by.
    pub scatter: Scatter,
    /// Standard deviation of swatches about the model, or of tiles on the scale of one swatch; none where not told.
    pub sigma: Option<f64>,
    /// Degrees of freedom of `sigma`.
    pub freedom: usize,
    /// Sum of squares of what the model leaves.
    pub rest_squares: f64,
    /// The levels in their order.
    pub levels: Vec<LevelMean>,
    /// All pairs of levels.
    pub pairs: Vec<Pair>,
    /// Where tiles are the scatter: fewest and most readings on a tile, if the most are more than twice the fewest. The
    /// intervals are then somewhat too narrow, more so the more tiles differ (`examples/trials`: 93.6 % of them hold
    /// the truth with two of six tiles mostly lost).
    pub unequal_tiles: Option<[usize; 2]>,
    /// Whether the other factors change what `by` does, as far as the readings tell.
    pub interactions: Vec<Interaction>,
    /// Rows that were not used.
    pub left_out: Vec<LeftOut>,
}

impl Comparison {
    /// Compares the levels of `by`. The model holds slip, paint and coats as far as they vary, and tiles, which stand
    /// for their firings. Where each tile has one level of `by` only, it holds firings instead of tiles, and the scatter
    /// is that of tiles: mean square of tiles within all else.
    ///
    /// # Errors
    /// [`TrialError::OneLevel`] where there is nothing to compare.
    pub fn new(readings: &Readings, by: Factor) -> Result<Self, TrialError> {
        let names = readings.levels(by);
        if names.len() < 2 || by == Factor::Tile {
            return Err(TrialError::OneLevel { factor: by.name(), level: names.first().cloned() });
        }
        let bench = Bench::new(readings, by);
        let levels = (0..names.len()).map(|level| bench.level(level)).collect();
        let mut pairs = Vec::new();
        for first in 0..names.len() {
            for second in first + 1..names.len() {
                let answer = bench.pair(first, second);
                pairs.push(Pair { first: names[first].clone(), second: names[second].clone(), answer });
            }
        }
        adjust(&mut pairs);
        for pair in &mut pairs {
            if let Answer::Estimated(difference) = &mut pair.answer {
                bench.need(difference);
            }
        }
        Ok(Self {
            by,
            value: readings.value.clone(),
            swatches: bench.model.count,
            adjusted_for: bench.factors.iter().copied().filter(|factor| *factor != by).collect(),
            scatter: bench.scatter,
            sigma: bench.square.map(f64::sqrt),
            freedom: bench.freedom,
            rest_squares: bench.model.rest,
            levels,
            pairs,
            unequal_tiles: bench.unequal_tiles(),
            interactions: interactions(readings, by),
            left_out: readings.left_out.clone(),
        })
    }
}

/// The model with the scatter that differences are judged by.
pub(super) struct Bench<'a> {
    readings: &'a Readings,
    by: Factor,
    factors: Vec<Factor>,
    model: Model,
    scatter: Scatter,
    /// Mean square; none without degrees of freedom.
    square: Option<f64>,
    pub(super) freedom: usize,
    /// Fitted where something cannot be separated.
    suspects: OnceCell<Suspects<'a>>,
}

impl<'a> Bench<'a> {
    pub(super) fn new(readings: &'a Readings, by: Factor) -> Self {
        let varies = |factor: &Factor| readings.levels(*factor).len() > 1;
        let all: Vec<Factor> = Factor::ALL.into_iter().filter(varies).collect();
        let without = |left: Factor| -> Vec<Factor> { all.iter().copied().filter(|f| *f != left).collect() };
        let tiled = all.contains(&Factor::Tile);
        let whole = tiled && readings.is_of_whole_tiles(by);
        let factors = if tiled && !whole { without(Factor::Firing) } else { without(Factor::Tile) };
        let model = Model::fit(readings, &factors);
        let (squares, freedom) = if whole {
            let finer = Model::fit(readings, &all);
            ((model.rest - finer.rest).max(0.0), finer.rank() - model.rank())
        } else {
            (model.rest, model.freedom())
        };
        let square = (freedom > 0).then(|| squares / freedom as f64);
        let scatter = if whole { Scatter::Tiles } else { Scatter::Swatches };
        Self { readings, by, factors, model, scatter, square, freedom, suspects: OnceCell::new() }
    }

    fn unequal_tiles(&self) -> Option<[usize; 2]> {
        let loads = self.readings.tile_loads();
        let (fewest, most) = (*loads.iter().min()?, *loads.iter().max()?);
        (self.scatter == Scatter::Tiles && most > 2 * fewest).then_some([fewest, most])
    }

    /// Half-width of the 95 % interval of a combination.
    fn half(&self, weights: &Combination) -> Option<f64> {
        let error = (self.square? * self.model.variance(weights)).sqrt();
        Some(t_quantile(1.0 - RISK / 2.0, self.freedom as f64) * error)
    }

    fn level(&self, level: usize) -> LevelMean {
        let weights = self.model.adjusted_mean(self.readings, self.by, level);
        let mean = self.model.tells(&weights).then(|| self.model.value(&weights));
        LevelMean {
            level: self.readings.levels(self.by)[level].clone(),
            swatches: self.readings.count(self.by, level),
            mean,
            interval: mean.and_then(|m| self.half(&weights).map(|half| [m - half, m + half])),
        }
    }

    pub(super) fn pair(&self, first: usize, second: usize) -> Answer {
        let weights = self.model.contrast(self.by, first, second);
        if !self.model.tells(&weights) {
            let suspects = || Suspects::new(self.readings, self.by, &self.factors);
            let reason = self.suspects.get_or_init(suspects).reason(first, second);
            return Answer::CannotBeSeparated { reason };
        }
        let difference = self.model.value(&weights);
        let Some(square) = self.square else {
            return match self.scatter {
                Scatter::Swatches => Answer::NoScatter { difference },
                Scatter::Tiles => {
                    let by = self.by;
                    let reason =
                        format!("confounded with tile: each {by} has one tile only, and tiles differ too");
                    Answer::CannotBeSeparated { reason }
                }
            };
        };
        let standard_error = (square * self.model.variance(&weights)).sqrt();
        let half = t_quantile(1.0 - RISK / 2.0, self.freedom as f64) * standard_error;
        let p = two_sided(difference, standard_error, self.freedom);
        Answer::Estimated(Difference {
            difference,
            standard_error,
            interval: [difference - half, difference + half],
            p,
            p_holm: p,
            told_apart: false,
            detectable: detectable(standard_error, self.freedom),
            more_of_each: None,
        })
    }

    /// Fills in how many more it takes. A difference with the variance v of one reading is worth that of two samples of 2 / v
    /// each; what is compared by tiles is counted in tiles.
    fn need(&self, difference: &mut Difference) {
        let Some(square) = self.square.filter(|square| *square > 0.0 && !difference.told_apart) else {
            return;
        };
        let worth = 2.0 * square / difference.standard_error.powi(2);
        let swatches_a_unit = match self.scatter {
            Scatter::Swatches => 1.0,
            Scatter::Tiles => self.model.count as f64 / self.readings.tile_loads().len() as f64,
        };
        let sigma = (square / swatches_a_unit).sqrt();
        let wanted = swatches_needed(difference.difference.abs(), sigma);
        difference.more_of_each =
            // What rounding leaves of a whole number is not one more.
            wanted.map(|n| (n as f64 - worth / swatches_a_unit - 1e-9).ceil().max(1.0) as usize);
    }
}

/// p of a difference by Student's t; 1 of no difference at all.
fn two_sided(difference: f64, standard_error: f64, freedom: usize) -> f64 {
    if difference == 0.0 {
        return 1.0;
    }
    let t = (difference / standard_error).abs();
    StudentsT::new(0.0, 1.0, freedom as f64).map_or(1.0, |student| (2.0 * student.cdf(-t)).min(1.0))
}

/// Holm's adjustment over the pairs that were estimated: the smallest p times the number of pairs, the next times one
/// fewer, and none under one before it.
fn adjust(pairs: &mut [Pair]) {
    let mut all: Vec<&mut Difference> = pairs
        .iter_mut()
        .filter_map(|pair| match &mut pair.answer {
            Answer::Estimated(difference) => Some(difference),
            _ => None,
        })
        .collect();
    all.sort_by(|a, b| a.p.total_cmp(&b.p));
    let (count, mut least) = (all.len(), 0.0f64);
    for (place, difference) in all.into_iter().enumerate() {
        least = least.max(difference.p * (count - place) as f64).min(1.0);
        difference.p_holm = least;
        difference.told_apart = least <= RISK;
    }
}
