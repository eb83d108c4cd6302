//! What stands at the head of a page: names, days, counts, and the orders the pieces can be put in.

use super::PageInput;
use super::name_value::NameValue;
use crate::reading::{Grade, Reading};
use std::collections::BTreeSet;

pub(super) fn about(readings: &[&Reading], input: &PageInput, pieces: usize) -> Vec<NameValue> {
    let entries = input.entries;
    let mut about = Vec::new();
    let firings = listed(readings.iter().filter_map(|r| r.sheet.as_ref()?.firing.as_deref()));
    if !firings.is_empty() {
        about.push(NameValue::new("Firing", firings));
    }
    let dates = input.firings.iter().flat_map(|firing| &firing.facts).filter(|(name, _)| name == "date");
    let fired = listed(dates.map(|(_, date)| date.as_str()));
    if !fired.is_empty() {
        about.push(NameValue::new("Fired", fired));
    }
    let photos: BTreeSet<(&str, Option<&str>)> = entries
        .iter()
        .map(|entry| (entry.record.photo().path.as_str(), entry.record.photo().taken.as_deref()))
        .collect();
    let days: BTreeSet<String> =
        photos.iter().filter_map(|(_, taken)| Some(taken.as_ref()?.chars().take(10).collect())).collect();
    let dated = photos.iter().filter(|(_, taken)| taken.is_some()).count();
    let range = match (days.first(), days.last()) {
        (Some(first), Some(last)) if first == last => first.clone(),
        (Some(first), Some(last)) => format!("{first} to {last}"),
        _ => "the photographs carry no date".into(),
    };
    let undated = match photos.len() - dated {
        0 => String::new(),
        _ if dated == 0 => String::new(),
        1 => " (one photograph carries no date)".into(),
        count => format!(" ({count} photographs carry no date)"),
    };
    about.push(NameValue::new("Photographed", range + &undated));
    about.push(NameValue::new("Pieces", pieces.to_string()));
    about.push(NameValue::new("Photographs", photos.len().to_string()));
    let targets = listed(readings.iter().map(|r| r.targets.as_str()));
    if !targets.is_empty() {
        about.push(NameValue::new("Judged against", targets));
    }
    about
}

/// Each text once, in order, with commas.
pub(super) fn listed<'a>(texts: impl Iterator<Item = &'a str>) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for text in texts.filter(|text| !text.is_empty()) {
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen.join(", ")
}

pub(super) fn summary(counts: &[(Grade, usize); 4], failures: usize) -> String {
    let pieces: usize = counts.iter().map(|(_, count)| count).sum();
    let parts: Vec<String> = counts
        .iter()
        .filter(|(_, count)| *count > 0)
        .map(|(grade, count)| match grade {
            Grade::CannotTell => format!("{count} cannot be told"),
            grade => format!("{count} {}", grade.name()),
        })
        .collect();
    let of = match pieces {
        0 => "No piece was measured.".into(),
        1 => format!("One piece: {}.", parts.join(", ")),
        _ => format!("Of {pieces} pieces: {}.", parts.join(", ")),
    };
    match failures {
        0 => of,
        1 => of + " One photograph could not be measured.",
        count => format!("{of} {count} photographs could not be measured."),
    }
}

/// The orders besides worst first: key and words.
pub(super) fn orders(has_places: bool) -> Vec<NameValue> {
    let mut orders = vec![NameValue::new("name", "by name")];
    orders.extend(has_places.then(|| NameValue::new("place", "by place in the fire")));
    orders.extend([
        NameValue::new("white", "by white, darkest first"),
        NameValue::new("black", "by black, palest first"),
        NameValue::new("kept", "by paint kept, least first"),
    ]);
    orders
}
