//! What a page says of each firing: what its load says about the fire, what to change, what the ledger knows, the curve.

use super::FiringFacts;
use super::groups::Group;
use super::name_value::NameValue;
use crate::ledger::temperatures::{ProbeSummary, Summary, TemperatureLog};
use crate::report::charts::heat_chart;
use crate::report::heat_words::{heat_notes, least, unknown};
use crate::report::words::{capital, fixed, sentence};
use crate::verdict::{LoadPiece, fire};
use serde::Serialize;

/// One firing.
#[derive(Debug, Serialize)]
pub(super) struct FireText {
    name: String,
    /// `5 pieces`.
    pieces: String,
    findings: Vec<String>,
    /// The one change.
    change: String,
    /// What goes with it.
    #[serde(skip)]
    pub(super) beside: Vec<String>,
    facts: Vec<NameValue>,
    curves: Vec<CurveText>,
}

/// One temperature log.
#[derive(Debug, Serialize)]
struct CurveText {
    name: String,
    chart: String,
    /// Heads of the columns after the probe's name.
    heads: Vec<String>,
    probes: Vec<ProbeText>,
    /// Spread, gaps, broken readings, remarks.
    notes: Vec<String>,
}

/// One probe: its name and a cell for each head.
#[derive(Debug, Serialize)]
struct ProbeText {
    name: String,
    cells: Vec<String>,
}

/// A text for each firing that the pieces name, in the order of the pieces, then for each that only the ledger names.
pub(super) fn fires(groups: &[Group], known: &[FiringFacts]) -> Vec<FireText> {
    let mut names: Vec<Option<&str>> = Vec::new();
    for group in groups {
        if !names.contains(&group.firing()) {
            names.push(group.firing());
        }
    }
    for firing in known {
        if !names.contains(&Some(firing.name.as_str())) {
            names.push(Some(&firing.name));
        }
    }
    // Pieces of no firing say something only where nothing else speaks.
    let alone = names.len() == 1;
    names.sort_by_key(Option::is_none);
    let of = |(number, name): (usize, &Option<&str>)| {
        let pieces: Vec<LoadPiece> =
            groups.iter().filter(|group| group.firing() == *name).map(Group::load_piece).collect();
        let facts = known.iter().find(|firing| Some(firing.name.as_str()) == *name);
        fire_text(number, name.unwrap_or(if alone { "" } else { "No firing named" }), &pieces, facts)
    };
    names.iter().enumerate().map(of).collect()
}

fn fire_text(number: usize, name: &str, pieces: &[LoadPiece], facts: Option<&FiringFacts>) -> FireText {
    let verdict = if pieces.is_empty() { Default::default() } else { fire(pieces) };
    let mut next = verdict.next.iter().map(|text| sentence(text));
    let curves = facts.map_or_else(Vec::new, |firing| {
        let curve = |(at, (name, log, figures)): (usize, &(String, _, _))| {
            curve_text(&format!("heat-{}-{}", number + 1, at + 1), name, log, figures)
        };
        firing.logs.iter().enumerate().map(curve).collect()
    });
    FireText {
        name: name.into(),
        pieces: match pieces.len() {
            1 => "1 piece".into(),
            count => format!("{count} pieces"),
        },
        findings: verdict.findings.iter().map(|text| capital(&sentence(text))).collect(),
        change: next.next().unwrap_or_default(),
        beside: next.collect(),
        facts: facts.map_or_else(Vec::new, |firing| {
            firing.facts.iter().map(|(name, value)| NameValue::new(&capital(name), value.clone())).collect()
        }),
        curves,
    }
}

fn curve_text(id: &str, name: &str, log: &TemperatureLog, figures: &Summary) -> CurveText {
    let [low, high] = figures.marks.window;
    let mut heads: Vec<String> = ["Peak, °C", "after, minutes"].map(str::to_owned).into();
    heads.push(format!("Minutes at {} to {} °C", fixed(low, 0), fixed(high, 0)));
    heads.extend(figures.marks.above.iter().map(|mark| format!("at or above {} °C", fixed(*mark, 0))));
    heads.extend(["Heating, °C a minute", "First cooling, °C a minute"].map(str::to_owned));
    let rate = |rate: Option<f64>| rate.map_or_else(unknown, |rate| fixed(rate, 1));
    let probe = |probe: &ProbeSummary| {
        let minutes = |known: Option<f64>| known.map_or_else(unknown, |m| least(probe, m).trim().to_owned());
        let above = |at: usize| probe.above.get(at).map(|above| above.minutes);
        let peak = probe.peak.as_ref();
        let mut cells = vec![
            rate(peak.map(|peak| peak.celsius)),
            rate(peak.map(|peak| peak.at.minutes)),
            minutes(probe.window_minutes),
        ];
        cells.extend((0..figures.marks.above.len()).map(|at| minutes(above(at))));
        cells.extend([rate(probe.heating_celsius_per_minute), rate(probe.cooling_first_celsius_per_minute)]);
        ProbeText { name: probe.name.clone(), cells }
    };
    CurveText {
        name: name.into(),
        chart: heat_chart(id, log, figures),
        heads,
        probes: figures.probes.iter().map(probe).collect(),
        notes: heat_notes(figures).iter().map(|note| sentence(note)).collect(),
    }
}
