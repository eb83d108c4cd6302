//! What a page says of each firing: what its load says about the fire, what to change, what the ledger knows, the curve.

use super::FiringFacts;
use super::context::NameValue;
use super::groups::Group;
use crate::report::charts::heat_chart;
use crate::report::heat_words;
use crate::report::words::{capital, sentence};
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
    /// The figures, a line each.
    figures: Vec<String>,
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
        let curve = |(at, (name, log, figures)): (usize, &(String, _, _))| CurveText {
            name: name.clone(),
            chart: heat_chart(&format!("heat-{}-{}", number + 1, at + 1), log, figures),
            figures: heat_words(figures)
                .lines()
                .map(str::trim)
                .filter(|l| !l.is_empty())
                .map(sentence)
                .collect(),
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
