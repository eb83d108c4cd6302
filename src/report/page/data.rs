//! The records inside a page, for programs: what the page was made from, without folders.

use super::PageEntry;
use crate::reading::{Record, from_json_line, to_json_line};
use crate::report::ReportError;
use crate::report::names::file_name_of;

/// The element that holds them.
const OPEN: &str = "<script type=\"application/json\" id=\"records\">";
const CLOSE: &str = "</script>";

/// The records as a JSON array, one a line, fit for a script element: no `<` in it can begin a tag.
pub(super) fn records_json(entries: &[PageEntry]) -> Result<String, ReportError> {
    let line = |entry: &PageEntry| {
        to_json_line(&without_folders(entry.record)).map(|line| line.replace('<', "\\u003c"))
    };
    let lines: Result<Vec<String>, _> = entries.iter().map(line).collect();
    let lines = lines.map_err(|error| ReportError::Page(error.to_string()))?;
    Ok(format!("[\n{}\n]", lines.join(",\n")))
}

/// The records of a page. `None`: it holds none that can be read.
pub(super) fn records_of(page: &str) -> Option<Vec<Record>> {
    let (_, rest) = page.split_once(OPEN)?;
    let (text, _) = rest.split_once(CLOSE)?;
    let lines = text.trim().strip_prefix('[')?.strip_suffix(']')?.lines();
    let lines =
        lines.map(|line| line.strip_suffix(',').unwrap_or(line)).filter(|line| !line.trim().is_empty());
    lines.map(|line| from_json_line(line).ok()).collect()
}

/// The record with file names in the places of paths: fit to be sent to others.
pub fn without_folders(record: &Record) -> Record {
    let mut record = record.clone();
    let bare = |path: &mut String| *path = file_name_of(path).to_owned();
    match &mut record {
        Record::Failed(failure) => {
            bare(&mut failure.photo.path);
            failure
                .card
                .iter_mut()
                .filter_map(|card| card.borrowed_from.as_mut())
                .for_each(|from| bare(&mut from.path));
        }
        Record::Measured(reading) => {
            bare(&mut reading.photo.path);
            reading.card.borrowed_from.iter_mut().for_each(|from| bare(&mut from.path));
            reading.survival.iter_mut().for_each(|survival| bare(&mut survival.before.path));
            if let Some(found) = &mut reading.comparison {
                found.references.iter_mut().chain(&mut found.without_card).for_each(bare);
            }
        }
    }
    record
}
