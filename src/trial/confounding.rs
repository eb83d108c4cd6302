//! Why two levels cannot be separated, in words.

use super::factors::short;
use super::model::Model;
use super::{Factor, Readings};
use std::collections::BTreeSet;

/// Levels that are named, at most.
const NAMED: usize = 4;

/// What may stand in for differences between the levels of one factor: models that leave out one other factor each.
pub(super) struct Suspects<'a> {
    readings: &'a Readings,
    by: Factor,
    /// In the order in which they are accused.
    models: Vec<(Factor, Model)>,
}

impl<'a> Suspects<'a> {
    /// For the model of `by` with these factors. A model with tiles holds their firings too: where it tells more with
    /// firings instead of tiles, tiles alone are to blame; where it does without both, firings are.
    pub(super) fn new(readings: &'a Readings, by: Factor, factors: &[Factor]) -> Self {
        let fired = factors.contains(&Factor::Firing)
            || factors.contains(&Factor::Tile) && readings.levels(Factor::Firing).len() > 1;
        let others = || factors.iter().copied().filter(|factor| *factor != Factor::Tile);
        let mut models = Vec::new();
        let mut add =
            |suspect: Factor, rest: Vec<Factor>| models.push((suspect, Model::fit(readings, &rest)));
        if factors.contains(&Factor::Tile) {
            add(Factor::Tile, others().chain(fired.then_some(Factor::Firing)).collect());
        }
        if fired && by != Factor::Firing {
            add(Factor::Firing, others().filter(|factor| *factor != Factor::Firing).collect());
        }
        for suspect in [Factor::Slip, Factor::Paint, Factor::Coats] {
            if suspect != by && factors.contains(&suspect) {
                add(suspect, factors.iter().copied().filter(|factor| *factor != suspect).collect());
            }
        }
        Self { readings, by, models }
    }

    /// What the difference of two levels is confounded with, which the model does not tell.
    pub(super) fn reason(&self, a: usize, b: usize) -> String {
        let Self { readings, by, models } = self;
        let name = |level: usize| format!("{by} '{}'", short(&readings.levels(*by)[level]));
        for level in [a, b] {
            if readings.count(*by, level) == 0 {
                return format!("no swatch of {} has a value", name(level));
            }
        }
        let tells = |model: &Model| model.tells(&model.contrast(*by, a, b));
        let Some(with) = models.iter().find(|(_, model)| tells(model)).map(|(suspect, _)| *suspect) else {
            return format!("{} and {} differ in several other factors at once", name(a), name(b));
        };
        let of = |level: usize| -> BTreeSet<usize> {
            let here = readings.read_swatches().filter(|(swatch, _)| swatch.levels[*by as usize] == level);
            here.map(|(swatch, _)| swatch.levels[with as usize]).collect()
        };
        let [of_a, of_b] = [a, b].map(of);
        if !of_a.is_disjoint(&of_b) {
            return format!(
                "the swatches left do not link {} and {} across the {}",
                name(a),
                name(b),
                plural(with)
            );
        }
        let list = |levels: &BTreeSet<usize>| {
            let named = |level: &usize| format!("'{}'", short(&readings.levels(with)[*level]));
            let mut names: Vec<String> = levels.iter().take(NAMED).map(named).collect();
            if levels.len() > NAMED {
                names.push("others".into());
            }
            names.join(", ")
        };
        let (verb, list_a, list_b) = (verb(with), list(&of_a), list(&of_b));
        format!(
            "confounded with {with}: every swatch of {} {verb} {list_a}, every one of {} {verb} {list_b}",
            name(a),
            name(b)
        )
    }
}

fn verb(factor: Factor) -> &'static str {
    match factor {
        Factor::Slip => "has slip",
        Factor::Paint => "has paint",
        Factor::Coats => "has coats",
        Factor::Firing => "was fired in",
        Factor::Tile => "lies on tile",
    }
}

fn plural(factor: Factor) -> &'static str {
    match factor {
        Factor::Slip => "slips",
        Factor::Paint => "paints",
        Factor::Coats => "numbers of coats",
        Factor::Firing => "firings",
        Factor::Tile => "tiles",
    }
}
