//! Everything the page says, as strings that the template sets.

use super::TrialPage;
use super::conclusion::conclusion;
use super::factors::{FactorView, combinations, factors};
use super::names::{ValueName, reason};
use super::parts::{self, PartsView};
use super::tiles::{self, TileView};
use crate::report::trial::lines::{NO_SCATTER, degrees, one_line};
use crate::report::words::fixed;
use crate::trial::{Factor, Role, Scatter, TrialTile};
use serde::Serialize;
use std::collections::BTreeMap;

/// The page.
#[derive(Debug, Serialize)]
pub(super) struct TrialContext {
    title: String,
    conclusion: [String; 2],
    about: Vec<Fact>,
    value: String,
    tiles: Vec<TileView>,
    factors: Vec<FactorView>,
    combinations: Option<FactorView>,
    parts: PartsView,
    rests: Vec<Fact>,
    cautions: Vec<String>,
}

#[derive(Debug, Serialize)]
struct Fact {
    name: &'static str,
    value: String,
}

pub(super) fn build(page: &TrialPage) -> TrialContext {
    let TrialPage { title, findings, tiles, order } = *page;
    let name = ValueName::of(findings);
    let fact = |name, value: String| Fact { name, value };
    let firings = findings.factors.iter().find(|comparison| comparison.by == Factor::Firing);
    let mut about = vec![
        fact("Value", name.long.clone()),
        fact("Swatches read", format!("{} of {}", findings.read, findings.swatches)),
    ];
    if !tiles.is_empty() {
        about.push(fact("Tiles", tiles.len().to_string()));
    }
    if let Some(firings) = firings {
        about.push(fact("Firings", firings.levels.len().to_string()));
    }
    TrialContext {
        title: one_line(title),
        conclusion: conclusion(findings, &name, order),
        about,
        value: name.long.clone(),
        tiles: tiles::views(tiles, &name),
        factors: factors(findings, &name, order),
        combinations: combinations(findings, &name, order),
        parts: parts::view(findings, &name),
        rests: rests(page, &name),
        cautions: cautions(page),
    }
}

/// What the answers rest on.
fn rests(page: &TrialPage, name: &ValueName) -> Vec<Fact> {
    let TrialPage { findings, tiles, .. } = *page;
    let fact = |name, value: String| Fact { name, value };
    let mut rests = vec![fact(
        "Swatches",
        format!("{} on trial or control, {} of them read", findings.swatches, findings.read),
    )];
    let left_out: Vec<String> = findings
        .parts
        .left_out
        .iter()
        .map(|left| format!("{} {}", left.count, one_line(&left.reason)))
        .collect();
    if !left_out.is_empty() {
        rests.push(fact("Left out", left_out.join("; ")));
    }
    let lost = lost(tiles);
    if !lost.is_empty() {
        rests.push(fact("Why not read", lost));
    }
    rests.push(fact("Places drawn by lot", seeds(tiles)));
    if let Some(sigma) = findings.parts.rest {
        let freedom = degrees(findings.parts.freedom);
        rests.push(fact(
            "Scatter of like swatches",
            format!("{} ({freedom})", fixed(sigma, name.digits.max(1))),
        ));
    }
    let split = match findings.factors.iter().any(|comparison| comparison.scatter == Scatter::Tiles) {
        true => "; firings are judged by the scatter of tiles, not of swatches (split plot)",
        false => "",
    };
    rests.push(fact(
        "Method",
        format!(
            "least squares of a model that adds slip, paint, coats and tile or firing up; a pair differs where its p by Student's t, \
             adjusted by Holm's way for all pairs of its table, is 0.05 or less{split}; the intervals of the first sentence hold for all pairs of a factor at once (Bonferroni's way); \
             combinations are not added up"
        ),
    ));
    rests.push(fact("Colours", "CIELAB for D50 and the CIE 1931 2 degree observer, shown in sRGB".into()));
    rests
}

/// `3 in shine, 1 in shade`: places without a value, blanks not counted.
fn lost(tiles: &[TrialTile]) -> String {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    let places = tiles.iter().flat_map(|tile| &tile.places);
    for place in places.filter(|place| place.value.is_none() && place.role != Role::Blank) {
        *counts.entry(reason(place.left_out.as_deref())).or_default() += 1;
    }
    counts.iter().map(|(why, count)| format!("{count} {why}")).collect::<Vec<_>>().join(", ")
}

fn seeds(tiles: &[TrialTile]) -> String {
    let mut seeds: Vec<u64> = tiles.iter().filter_map(|tile| tile.seed).collect();
    seeds.sort_unstable();
    seeds.dedup();
    match &seeds[..] {
        [] => "not known, the table names no seed".into(),
        [one] => format!("seed {one}"),
        several => {
            format!("seeds {}", several.iter().map(u64::to_string).collect::<Vec<_>>().join(", "))
        }
    }
}

fn cautions(page: &TrialPage) -> Vec<String> {
    let mut cautions = vec![
        "A trial speaks of these batches, these fires and these test tiles. Pots stand otherwise in the fire.".to_owned(),
        "Not told apart does not mean alike. In each table the chance of even one false difference is 5 % at most; over several \
         tables it is more."
            .to_owned(),
    ];
    if page.findings.parts.rest == Some(0.0) {
        cautions.push(NO_SCATTER.into());
    }
    let readings = "The ± of a swatch holds card and light, which all swatches of a tile share; differences rest on the scatter alone.";
    if page.tiles.iter().flat_map(|tile| &tile.places).any(|place| place.u95.is_some()) {
        cautions.push(readings.into());
    }
    cautions
}
