//! All that a trial tells of one value, for a page: each factor by itself, every combination, and the parts of the spread.

use super::{Comparison, Factor, Parts, Readings, TrialError};

/// What a trial tells.
#[derive(Debug, Clone)]
pub struct Findings {
    /// The column of readings.
    pub value: String,
    /// Swatches that take part: trial and control.
    pub swatches: usize,
    /// How many of them have a reading.
    pub read: usize,
    /// The factors that vary, in the order slip, paint, coats, firing.
    pub factors: Vec<Comparison>,
    /// Names of the control's levels, for each of `factors`; none where controls are not told or differ.
    pub controls: Vec<Option<String>>,
    /// Every combination of slip, paint and coats, adjusted for tiles or firings alone: no adding up is asked of it. Its levels
    /// are named by what varies. None where at most one of the three does.
    pub combinations: Option<Comparison>,
    /// The control's combination.
    pub control: Option<String>,
    /// Where the spread lies.
    pub parts: Parts,
}

impl Findings {
    /// Asks everything.
    ///
    /// # Errors
    /// [`TrialError::NothingVaries`].
    pub fn new(readings: &Readings) -> Result<Self, TrialError> {
        let parts = Parts::new(readings)?;
        let varies = |factor: &Factor| readings.levels(*factor).len() > 1;
        let by: Vec<Factor> =
            [Factor::Slip, Factor::Paint, Factor::Coats, Factor::Firing].into_iter().filter(varies).collect();
        let factors = by.iter().map(|factor| Comparison::new(readings, *factor)).collect::<Result<_, _>>()?;
        let several = by.iter().filter(|factor| **factor != Factor::Firing).count() > 1;
        let combined = readings.combined();
        let combinations = if several { Some(Comparison::new(&combined, Factor::Slip)?) } else { None };
        Ok(Self {
            value: readings.value.clone(),
            swatches: readings.swatches.len(),
            read: readings.read_swatches().count(),
            factors,
            controls: by.iter().map(|factor| readings.control(*factor)).collect(),
            combinations,
            control: combined.control(Factor::Slip),
            parts,
        })
    }
}
