//! Whether factors add up, or one changes what another does.
//!
//! Source: NIST/SEMATECH e-Handbook (doi 10.18434/M32189), 7.4.3.7 and 8, the two-way layout: the columns of two factors
//! together against those of each, by the F ratio of the squares that they take from the rest.

use super::model::Model;
use super::{Factor, Readings};
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

/// Most combinations of two factors that are looked at.
const MOST: usize = 400;

/// Whether the effect of the compared factor depends on another one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Interaction {
    /// The other factor.
    pub with: Factor,
    /// F ratio.
    pub f: f64,
    /// Degrees of freedom of the interaction and of the rest.
    pub freedom: [usize; 2],
    /// Probability of such an F or a larger one where the two add up; of this one alone.
    pub p: f64,
}

/// The interactions of `by` that the readings tell, with every other factor that varies; those of more
/// than 400 combinations are passed over.
pub(super) fn interactions(readings: &Readings, by: Factor) -> Vec<Interaction> {
    let varies = |factor: &Factor| readings.levels(*factor).len() > 1;
    let all: Vec<Factor> = Factor::ALL.into_iter().filter(varies).collect();
    let plain = Model::fit(readings, &all);
    let others = all.iter().copied().filter(|factor| *factor != by && *factor != Factor::Tile);
    let of = |with: Factor| {
        if readings.levels(by).len() * readings.levels(with).len() > MOST {
            return None;
        }
        let crossed = Model::fit_crossed(readings, &all, Some([by, with]));
        let freedom = [crossed.rank() - plain.rank(), crossed.freedom()];
        if freedom.contains(&0) || crossed.rest <= 0.0 {
            return None;
        }
        let [more, left] = freedom.map(|count| count as f64);
        let f = ((plain.rest - crossed.rest).max(0.0) / more) / (crossed.rest / left);
        let p = FisherSnedecor::new(more, left).ok()?.sf(f);
        Some(Interaction { with, f, freedom, p })
    };
    others.filter_map(of).collect()
}
