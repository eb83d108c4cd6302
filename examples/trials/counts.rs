//! How often planted differences lie inside their intervals, and whether confounded trials are told as such.

use super::simulate::{Confounded, crossed};
use sherdlight::trial::{Answer, Comparison, Factor, Readings};
use std::collections::BTreeMap;

/// Of one factor over many trials.
#[derive(Debug, Default, Clone, Copy)]
pub struct Count {
    /// Pairs of levels.
    pub pairs: usize,
    /// Of these, with the planted difference inside the 95 % interval of the pair alone.
    pub inside: usize,
    /// Of these, not answered with an interval.
    pub unanswered: usize,
}

/// Simulated trials with these seeds, even or uneven, counted by factor.
pub fn coverage(seeds: std::ops::Range<u64>, uneven: bool) -> BTreeMap<Factor, Count> {
    let mut counts: BTreeMap<Factor, Count> = BTreeMap::new();
    for seed in seeds {
        let trial = crossed(seed, uneven);
        let readings = Readings::read(trial.table.as_bytes(), "l").unwrap();
        for by in [Factor::Slip, Factor::Paint, Factor::Coats, Factor::Firing] {
            let count = counts.entry(by).or_default();
            for pair in Comparison::new(&readings, by).unwrap().pairs {
                count.pairs += 1;
                let planted = |level: &String| trial.effects[&(by, level.clone())];
                let truth = planted(&pair.first) - planted(&pair.second);
                match pair.answer {
                    Answer::Estimated(told) => {
                        count.inside += usize::from(told.interval[0] <= truth && truth <= told.interval[1]);
                    }
                    _ => count.unanswered += 1,
                }
            }
        }
    }
    counts
}

/// Whether the pair of a confounded trial is answered 'cannot be separated'.
pub fn is_told(trial: &Confounded) -> bool {
    let readings = Readings::read(trial.table.as_bytes(), "l").unwrap();
    let comparison = Comparison::new(&readings, trial.by).unwrap();
    let pair = comparison.pairs.iter().find(|pair| [&*pair.first, &*pair.second] == trial.pair);
    matches!(pair.map(|pair| &pair.answer), Some(Answer::CannotBeSeparated { .. }))
}
