//! Readings against their controls, and with every combination for a level of its own.

use super::factors::in_words;
use super::readings::ReadSwatch;
use super::{Factor, Readings};
use crate::ledger::trend::mean;
use std::collections::BTreeMap;

impl Readings {
    /// The trial swatches with the mean of the controls of their tile taken off; a swatch whose tile has no control with
    /// a reading is lost. None where no tile has one.
    pub(super) fn less_control(&self) -> Option<Self> {
        let mut controls: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
        if self.levels(Factor::Tile).is_empty() {
            return None;
        }
        for (swatch, value) in self.read_swatches().filter(|(swatch, _)| swatch.control) {
            controls.entry(swatch.levels[Factor::Tile as usize]).or_default().push(value);
        }
        let mut less = self.clone();
        less.swatches.retain(|swatch| !swatch.control);
        for swatch in &mut less.swatches {
            let control = controls.get(&swatch.levels[Factor::Tile as usize]).map(|values| mean(values));
            swatch.value = swatch.value.zip(control).map(|(value, control)| value - control);
        }
        less.swatches.iter().any(|swatch| swatch.value.is_some()).then_some(less)
    }

    /// Tiles with a reading, but none of a control, where other tiles have one: the fire of these cannot be set against the
    /// others' by it.
    pub fn without_control(&self) -> Vec<String> {
        let tiles = self.levels(Factor::Tile);
        let mut controlled = vec![None; tiles.len()];
        for (swatch, _) in self.read_swatches().filter(|_| !tiles.is_empty()) {
            let has = controlled[swatch.levels[Factor::Tile as usize]].get_or_insert(false);
            *has |= swatch.control;
        }
        let bare = |(tile, has): (&String, &Option<bool>)| (*has == Some(false)).then(|| tile.clone());
        match controlled.contains(&Some(true)) {
            true => tiles.iter().zip(&controlled).filter_map(bare).collect(),
            false => Vec::new(),
        }
    }

    /// The level that all controls have; none where there are none, they differ, or the factor is the firing, which has its own
    /// control in each.
    pub(super) fn control(&self, factor: Factor) -> Option<String> {
        let mut of: Vec<usize> =
            self.swatches.iter().filter(|s| s.control).map(|s| s.levels[factor as usize]).collect();
        of.sort_unstable();
        of.dedup();
        match of[..] {
            [one] if factor != Factor::Firing => self.levels(factor).get(one).cloned(),
            _ => None,
        }
    }

    /// The same swatches with each combination of slip, paint and coats for a slip of its own, and no other paint and coats.
    pub(super) fn combined(&self) -> Self {
        const PARTS: [Factor; 3] = [Factor::Slip, Factor::Paint, Factor::Coats];
        let varying: Vec<Factor> = PARTS.into_iter().filter(|f| self.levels(*f).len() > 1).collect();
        let of = |swatch: &ReadSwatch| varying.iter().map(|f| swatch.levels[*f as usize]).collect::<Vec<_>>();
        let numbers: BTreeMap<Vec<usize>, usize> = {
            let mut all: Vec<Vec<usize>> = self.swatches.iter().map(of).collect();
            all.sort();
            all.dedup();
            all.into_iter().enumerate().map(|(number, levels)| (levels, number)).collect()
        };
        let name = |levels: &Vec<usize>| {
            let parts = varying.iter().zip(levels).map(|(f, level)| in_words(*f, &self.levels(*f)[*level]));
            parts.collect::<Vec<_>>().join(", ")
        };
        let mut combined = self.clone();
        PARTS.iter().for_each(|factor| combined.levels[*factor as usize].clear());
        combined.levels[Factor::Slip as usize] = numbers.keys().map(name).collect();
        for (swatch, before) in combined.swatches.iter_mut().zip(&self.swatches) {
            PARTS.iter().for_each(|factor| swatch.levels[*factor as usize] = 0);
            swatch.levels[Factor::Slip as usize] = numbers[&of(before)];
        }
        combined
    }
}
