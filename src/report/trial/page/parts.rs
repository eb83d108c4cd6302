//! Fire or material on the page: the farthest levels of each part as a chart, and all of it as a table.

use super::names::ValueName;
use crate::report::charts::{LevelMark, LevelsTold, levels_chart};
use crate::report::trial::lines::{degrees, one_line, range};
use crate::report::trial::parts::said;
use crate::report::words::fixed;
use crate::trial::{Factor, Findings, FiringPair, Source};
use serde::Serialize;

/// The section.
#[derive(Debug, Serialize)]
pub(super) struct PartsView {
    chart: String,
    rows: Vec<PartRow>,
    firings: Vec<FiringRow>,
    notes: Vec<String>,
}

#[derive(Debug, Serialize)]
struct PartRow {
    part: &'static str,
    levels: String,
    spread: String,
    pair: String,
    by: String,
    interval: String,
}

#[derive(Debug, Serialize)]
struct FiringRow {
    pair: String,
    raw: String,
    less: String,
}

pub(super) fn view(findings: &Findings, name: &ValueName) -> PartsView {
    let parts = &findings.parts;
    let digits = name.digits;
    let mark = |source: &Source| {
        let widest = source.widest.as_ref();
        let pair =
            widest.map(|widest| format!(": {} − {}", one_line(&widest.first), one_line(&widest.second)));
        LevelMark {
            name: format!("{}{}", part(source.factor), pair.unwrap_or_default()),
            value: widest.map(|widest| widest.difference),
            interval: widest.map(|widest| widest.interval),
            control: false,
        }
    };
    let marks: Vec<LevelMark> =
        parts.sources.iter().filter(|source| source.factor != Factor::Tile).map(mark).collect();
    let told = LevelsTold {
        title: "Fire or material: how far apart the levels of each lie",
        remark: "The two levels that lie farthest apart, with an interval that holds with 95 % for all pairs of that part at once. \
                 A bar that reaches across 0 may be luck.",
        unit: &format!("difference in {}", name.short),
        digits,
        about_zero: true,
    };
    let mut rows: Vec<PartRow> = parts.sources.iter().map(|source| row(source, digits)).collect();
    rows.push(PartRow {
        part: "rest",
        levels: String::new(),
        spread: parts.rest.map_or_else(|| "not known".into(), |rest| fixed(rest, digits.max(1))),
        pair: "swatches alike in all of these".into(),
        by: String::new(),
        interval: parts.rest_interval.map_or_else(String::new, |interval| {
            format!("sd {}, {}", range(interval, digits.max(1)), degrees(parts.freedom))
        }),
    });
    let firing = |pair: &FiringPair| FiringRow {
        pair: format!("{} − {}", one_line(&pair.first), one_line(&pair.second)),
        raw: said(&pair.raw, digits),
        less: pair
            .less_control
            .as_ref()
            .map_or_else(|| "no tile has a control with a value".into(), |answer| said(answer, digits)),
    };
    PartsView {
        chart: levels_chart("chart-parts", told, &marks),
        rows,
        firings: parts.firings.iter().map(firing).collect(),
        notes: notes(findings),
    }
}

fn notes(findings: &Findings) -> Vec<String> {
    let mut notes = vec![
        "Spread is the standard deviation between levels with the share of mere error taken off; 0 where nothing more is seen. \
         It belongs to the levels of this trial: other slips or fires would give others."
            .to_owned(),
    ];
    if !findings.parts.firings.is_empty() {
        notes.push(
            "A difference of firings that goes when the control is taken off is the fire's on all alike; what stays the materials \
             take otherwise than the control."
                .into(),
        );
    }
    let bare = &findings.parts.without_control;
    if !bare.is_empty() {
        let tiles: Vec<String> = bare.iter().map(|tile| one_line(tile)).collect();
        notes.push(format!(
            "No control was read on tile {}: left out of what is less the control.",
            tiles.join(", ")
        ));
    }
    notes
}

fn part(factor: Factor) -> &'static str {
    match factor {
        Factor::Firing => "fire",
        other => other.name(),
    }
}

fn row(source: &Source, digits: usize) -> PartRow {
    let spread = match (source.spread, source.factor) {
        (Some(spread), _) => fixed(spread, digits.max(1)),
        (None, Factor::Tile) => "not known".into(),
        (None, _) => "cannot be separated".into(),
    };
    let [pair, by, interval] = match &source.widest {
        Some(widest) => [
            format!("{} − {}", one_line(&widest.first), one_line(&widest.second)),
            fixed(widest.difference, digits),
            range(widest.interval, digits),
        ],
        None => Default::default(),
    };
    let levels = source.levels.to_string();
    PartRow { part: part(source.factor), levels, spread, pair, by, interval }
}
