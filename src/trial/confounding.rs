//! Why two levels cannot be separated, in words.

use super::factors::short;
use super::model::Model;
use super::{Factor, Readings};
use std::collections::BTreeSet;

/// Levels that are named, at most.
const NAMED: usize = 4;

/// What stands in for the difference of two levels of `by` in the model with these factors, which does not tell it.
pub(super) fn reason(readings: &Readings, by: Factor, factors: &[Factor], a: usize, b: usize) -> String {
    let name = |level: usize| format!("{by} '{}'", short(&readings.levels(by)[level]));
    for level in [a, b] {
        if readings.count(by, level) == 0 {
            return format!("no swatch of {} has a value", name(level));
        }
    }
    let told_with = |factors: &[Factor]| {
        let model = Model::fit(readings, factors);
        model.tells(&model.contrast(by, a, b))
    };
    // Tiles stand for their firings too: with firings instead it shows whether tiles alone are to blame.
    let has_tiles = factors.contains(&Factor::Tile);
    let fired = readings.levels(Factor::Firing).len() > 1;
    let without = |factor: Factor| -> Vec<Factor> {
        let mut rest: Vec<Factor> =
            factors.iter().copied().filter(|f| *f != factor && !(has_tiles && *f == Factor::Tile)).collect();
        if has_tiles && fired && factor == Factor::Tile {
            rest.push(Factor::Firing);
        } else if has_tiles && factor != Factor::Firing && factor != Factor::Tile {
            rest.push(Factor::Tile);
        }
        rest
    };
    let mut suspects = vec![Factor::Tile, Factor::Firing, Factor::Slip, Factor::Paint, Factor::Coats];
    suspects.retain(|s| *s != by && (factors.contains(s) || (has_tiles && fired && *s == Factor::Firing)));
    let Some(with) = suspects.into_iter().find(|suspect| told_with(&without(*suspect))) else {
        return format!("{} and {} differ in several other factors at once", name(a), name(b));
    };
    let of = |level: usize| -> BTreeSet<usize> {
        let here = readings.read_swatches().filter(|(swatch, _)| swatch.levels[by as usize] == level);
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
        let mut names: Vec<String> = levels
            .iter()
            .take(NAMED)
            .map(|level| format!("'{}'", short(&readings.levels(with)[*level])))
            .collect();
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
