//! Readings put in order, and readings of a firing put together.

use super::point::TrendPoint;
use super::statistics::{mean, mean_u95};
use rayon::slice::ParallelSliceMut;
use std::cmp::Ordering;
use std::collections::HashMap;

/// A reading with its value and interval.
pub(super) type Valued = (TrendPoint, Option<(f64, Option<[f64; 2]>)>);

/// Sorts by time where every reading has one; true if so. Ties are broken by what the readings hold, so that the order
/// given does not matter.
pub(super) fn sort(readings: &mut [Valued]) -> bool {
    let timed = readings.iter().all(|(point, _)| point.time().is_some());
    if timed {
        readings.par_sort_by(|(one, _), (other, _)| before(one, other));
    }
    timed
}

fn before(one: &TrendPoint, other: &TrendPoint) -> Ordering {
    let names = |p: &TrendPoint| (p.firing.clone(), p.piece.clone(), p.photo.clone(), p.batch.clone());
    one.time().cmp(&other.time()).then_with(|| names(one).cmp(&names(other))).then_with(|| {
        let numbers =
            |p: &TrendPoint| [p.lab[0], p.lab[1], p.lab[2], p.u95[0], p.u95[1], p.u95[2], p.area_fraction];
        let pairs = numbers(one).into_iter().zip(numbers(other));
        pairs.map(|(a, b)| a.total_cmp(&b)).find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
    })
}

/// Readings of one firing.
pub(super) struct Firing<'a> {
    /// Its name.
    pub(super) name: &'a str,
    /// Its readings, in order.
    pub(super) readings: Vec<&'a Valued>,
}

impl Firing<'_> {
    /// Mean of the values and half-width of its 95 % interval by Student's t; `None` where no reading has a value.
    pub(super) fn value(&self) -> Option<(f64, Option<f64>)> {
        let values: Vec<f64> = self.readings.iter().filter_map(|(_, value)| Some((*value)?.0)).collect();
        (!values.is_empty()).then(|| (mean(&values), mean_u95(&values)))
    }

    /// Mean of what a function reads, and half-width by Student's t; NaN where one reading tells no scatter.
    pub(super) fn of(&self, read: impl Fn(&TrendPoint) -> f64) -> (f64, f64) {
        let values: Vec<f64> = self.readings.iter().map(|(point, _)| read(point)).collect();
        (mean(&values), mean_u95(&values).unwrap_or(f64::NAN))
    }

    /// The batch that all its readings share.
    pub(super) fn batch(&self) -> Option<&str> {
        let first = self.readings.first()?.0.batch.as_deref()?;
        self.readings.iter().all(|(point, _)| point.batch.as_deref() == Some(first)).then_some(first)
    }
}

/// The firings in the order of their first readings; readings that name none are left away.
pub(super) fn firings(readings: &[Valued]) -> Vec<Firing<'_>> {
    let mut found: Vec<Firing> = Vec::new();
    let mut places: HashMap<&str, usize> = HashMap::new();
    for reading in readings {
        let Some(name) = reading.0.firing.as_deref() else { continue };
        let place = *places.entry(name).or_insert(found.len());
        if place == found.len() {
            found.push(Firing { name, readings: Vec::new() });
        }
        found[place].readings.push(reading);
    }
    found
}

/// A number a firing, one a reading; a reading that names none has a number of its own.
pub(super) fn firing_numbers(readings: &[Valued]) -> Vec<usize> {
    let mut numbers: HashMap<&str, usize> = HashMap::new();
    readings
        .iter()
        .enumerate()
        .map(|(at, (point, _))| match point.firing.as_deref() {
            // Even numbers for firings, odd ones for single readings.
            Some(name) => {
                let next = numbers.len();
                2 * *numbers.entry(name).or_insert(next)
            }
            None => 2 * at + 1,
        })
        .collect()
}
