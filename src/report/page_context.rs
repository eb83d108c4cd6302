//! What the page of a load says: records turned into ready strings.

use super::page::PageEntry;
use super::page_piece::{PieceText, piece_text};
use super::words::{grade_words, plain, sentence};
use super::{file_name_of, stem_of};
use crate::reading::{Failure, Grade, Reading, Record, Verdict};
use serde::Serialize;
use std::collections::BTreeSet;
use std::path::Path;

/// The whole page.
#[derive(Debug, Serialize)]
pub(super) struct PageContext {
    title: String,
    /// Firing, dates, number of pieces: one line each.
    about: Vec<NameValue>,
    /// One sentence that sums the load up.
    summary: String,
    counts: Vec<Count>,
    /// Whether any sheet says where pieces stood in the fire.
    has_places: bool,
    pieces: Vec<PieceText>,
    failures: Vec<FailureText>,
    versions: String,
}

/// A name and what belongs to it.
#[derive(Debug, Clone, Serialize)]
pub(super) struct NameValue {
    pub(super) name: String,
    pub(super) value: String,
}

impl NameValue {
    pub(super) fn new(name: &str, value: impl Into<String>) -> Self {
        Self { name: name.into(), value: value.into() }
    }
}

#[derive(Debug, Serialize)]
struct Count {
    /// `sound`, `marginal`, `faulty`, `cannot-tell`, `not-measured`.
    key: &'static str,
    words: &'static str,
    number: String,
}

#[derive(Debug, Serialize)]
struct FailureText {
    file: String,
    code: String,
    text: String,
}

/// Builds all strings of the page.
pub(super) fn build(title: &str, entries: &[PageEntry]) -> PageContext {
    let mut measured: Vec<(&Reading, &PageEntry)> =
        entries.iter().filter_map(|entry| Some((entry.record.reading()?, entry))).collect();
    measured.sort_by(|(one, _), (other, _)| {
        one.grade.cmp(&other.grade).then(worst_severity(other).total_cmp(&worst_severity(one)))
    });
    let failures: Vec<FailureText> = entries
        .iter()
        .filter_map(|entry| match entry.record {
            Record::Failed(failure) => Some(failure_text(failure)),
            Record::Measured(_) => None,
        })
        .collect();
    let count_of = |grade: Grade| measured.iter().filter(|(reading, _)| reading.grade == grade).count();
    let grades = [Grade::Sound, Grade::Marginal, Grade::Faulty, Grade::CannotTell];
    let mut counts: Vec<Count> = grades
        .into_iter()
        .map(|grade| Count {
            key: grade.name(),
            words: grade_words(grade),
            number: count_of(grade).to_string(),
        })
        .collect();
    counts.push(Count { key: "not-measured", words: "Not measured", number: failures.len().to_string() });
    let readings: Vec<&Reading> = measured.iter().map(|(reading, _)| *reading).collect();
    PageContext {
        title: if title.trim().is_empty() { "A load of fired pottery".into() } else { title.into() },
        about: about(&readings, entries),
        summary: summary(&grades.map(|grade| (grade, count_of(grade))), failures.len()),
        counts,
        has_places: readings.iter().any(|reading| place_of(reading).is_some()),
        pieces: measured
            .iter()
            .enumerate()
            .map(|(number, (reading, entry))| piece_text(number + 1, reading, entry.pictures))
            .collect(),
        failures,
        versions: listed(entries.iter().map(|entry| match entry.record {
            Record::Failed(failure) => failure.made_by.version.as_str(),
            Record::Measured(reading) => reading.made_by.version.as_str(),
        })),
    }
}

/// The piece's name: from the sheet, else the file's; with its number where the photograph holds
/// several.
pub(super) fn piece_name(reading: &Reading) -> String {
    let named = reading.sheet.as_ref().and_then(|row| row.piece.clone()).filter(|name| !name.is_empty());
    let name = named.unwrap_or_else(|| stem_of(Path::new(file_name_of(&reading.photo.path))));
    match reading.piece.count {
        0 | 1 => name,
        count => format!("{name}, piece {} of {count}", reading.piece.number),
    }
}

/// Where the piece stood in the fire, if the sheet says.
pub(super) fn place_of(reading: &Reading) -> Option<&str> {
    reading.sheet.as_ref()?.place.as_deref().filter(|place| !place.is_empty())
}

fn worst_severity(reading: &Reading) -> f64 {
    let present = reading.faults.iter().filter(|fault| fault.verdict == Verdict::Present);
    present.filter_map(|fault| fault.severity).filter(|s| s.is_finite()).fold(0.0, f64::max)
}

fn failure_text(failure: &Failure) -> FailureText {
    FailureText {
        file: file_name_of(&failure.photo.path).into(),
        code: plain(&failure.error.code),
        text: sentence(&failure.error.text),
    }
}

fn about(readings: &[&Reading], entries: &[PageEntry]) -> Vec<NameValue> {
    let mut about = Vec::new();
    let firings = listed(readings.iter().filter_map(|r| r.sheet.as_ref()?.firing.as_deref()));
    if !firings.is_empty() {
        about.push(NameValue::new("Firing", firings));
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
    about.push(NameValue::new("Pieces", readings.len().to_string()));
    about.push(NameValue::new("Photographs", photos.len().to_string()));
    let targets = listed(readings.iter().map(|r| r.targets.as_str()));
    if !targets.is_empty() {
        about.push(NameValue::new("Judged against", targets));
    }
    about
}

/// Each text once, in order, with commas.
fn listed<'a>(texts: impl Iterator<Item = &'a str>) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for text in texts.filter(|text| !text.is_empty()) {
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen.join(", ")
}

fn summary(counts: &[(Grade, usize); 4], failures: usize) -> String {
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
