//! `verify`: whether a report, its records and its photographs belong together.

use super::again::Photographs;
use super::arguments::VerifyOptions;
use super::exit::{self, Trouble};
use super::{progress, score, settings};
use rayon::prelude::*;
use serde::Serialize;
use sherdlight::ledger::read_records;
use sherdlight::reading::{Change, Record, changes};
use sherdlight::report::{ReadPage, file_name_of};
use std::collections::BTreeMap;
use std::io::{self, Write};

/// Values that are told of a photograph that reads otherwise; the rest are counted.
const TOLD: usize = 5;

/// What was found, for programs.
#[derive(Serialize)]
struct Verified {
    report_id: String,
    /// Whether the page is letter for letter the one that was given its number.
    page_as_made: bool,
    /// Whether the records told beside it are those of the page; null: none were told.
    records_same: Option<bool>,
    photographs: Vec<Photograph>,
}

/// What became of one photograph.
#[derive(Serialize)]
struct Photograph {
    file: String,
    sha256: Option<String>,
    /// `not-asked`, `missing`, `other-bytes`, `unread-then`, `not-measured`, `same`, `otherwise`.
    found: &'static str,
    said: String,
}

/// Runs the command.
pub fn run(options: &VerifyOptions) -> Result<u8, Trouble> {
    let page = read_page(options)?;
    let Some(records) = &page.records else {
        return Err(Trouble::NoneUsable {
            sentence: format!("the records in '{}' cannot be read", options.report.display()),
            hint: "The page was cut or changed. Ask for it again.".into(),
        });
    };
    let records_same = if options.records.is_empty() { None } else { Some(same_records(options, records)?) };
    let photographs = match options.photos.is_empty() {
        true => photographs_of(records).into_iter().map(not_asked).collect(),
        false => {
            let files = Photographs::below(&options.photos)?;
            let pool = settings::threads(options.pace.threads)?;
            pool.install(|| measured_again(records, &files, options.pace.quiet))
        }
    };
    let found =
        Verified { report_id: page.id.clone(), page_as_made: page.as_made, records_same, photographs };
    let mut out = io::stdout().lock();
    match options.json {
        true => writeln!(out, "{}", serde_json::to_string(&found)?)?,
        false => write!(out, "{}", words(&found, &page.short_id()))?,
    }
    out.flush()?;
    let fits = |photograph: &Photograph| matches!(photograph.found, "same" | "not-asked" | "unread-then");
    let all = found.page_as_made && records_same != Some(false) && found.photographs.iter().all(fits);
    Ok(if all { exit::ALL_MEASURED } else { exit::SOME_FAILED })
}

fn read_page(options: &VerifyOptions) -> Result<ReadPage, Trouble> {
    let name = options.report.display();
    let none = |why: String| Trouble::NoneUsable {
        sentence: format!("'{name}' is no report of ours: {why}"),
        hint: "Name the HTML file that 'score --report' or 'report' wrote.".into(),
    };
    let bytes = std::fs::read(&options.report).map_err(|error| none(error.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|_| none("it is no text".into()))?;
    ReadPage::new(&text).ok_or_else(|| none("it bears no report number".into()))
}

/// Whether each record of the page has one among those told that says the same, and the other way round.
fn same_records(options: &VerifyOptions, inside: &[Record]) -> Result<bool, Trouble> {
    let mut told = Vec::new();
    for path in &options.records {
        told.extend(read_records(path)?);
    }
    let same = |one: &Record, other: &Record| {
        one.photo().sha256 == other.photo().sha256 && changes(one, other).is_empty()
    };
    let all_in = |these: &[Record], those: &[Record]| {
        these.iter().all(|one| those.iter().any(|other| same(one, other)))
    };
    Ok(all_in(inside, &told) && all_in(&told, inside))
}

/// The records of each photograph as it was read with one set of settings, in the order of the page.
fn photographs_of(records: &[Record]) -> Vec<Vec<&Record>> {
    let mut order: Vec<Vec<&Record>> = Vec::new();
    let mut places: BTreeMap<(Option<&str>, &str, &str), usize> = BTreeMap::new();
    for record in records {
        let photo = record.photo();
        let settings = match record {
            Record::Measured(reading) => &reading.made_by.settings_sha256,
            Record::Failed(failure) => &failure.made_by.settings_sha256,
        };
        let at = *places.entry((photo.sha256.as_deref(), &photo.path, settings)).or_insert_with(|| {
            order.push(Vec::new());
            order.len() - 1
        });
        order[at].push(record);
    }
    order
}

fn photograph(records: &[&Record], found: &'static str, said: String) -> Photograph {
    let photo = records[0].photo();
    Photograph { file: file_name_of(&photo.path).into(), sha256: photo.sha256.clone(), found, said }
}

fn not_asked(records: Vec<&Record>) -> Photograph {
    photograph(&records, "not-asked", String::new())
}

fn measured_again(records: &[Record], files: &Photographs, quiet: bool) -> Vec<Photograph> {
    let all = photographs_of(records);
    let bar = progress::counting(all.len(), quiet);
    let one = |records: &Vec<&Record>| {
        let found = measured(records, files);
        bar.inc(1);
        found
    };
    let found = all.par_iter().map(one).collect();
    bar.finish_and_clear();
    found
}

fn measured(records: &[&Record], files: &Photographs) -> Photograph {
    let photo = records[0].photo();
    let Some(hash) = &photo.sha256 else {
        return photograph(
            records,
            "unread-then",
            "it could not be read then, so there is nothing to compare".into(),
        );
    };
    let Some(file) = files.find(file_name_of(&photo.path), hash) else {
        let (found, said) = match files.namesakes(&photo.path).first() {
            Some(_) => ("other-bytes", "a file of this name is there, and it is another picture"),
            None => ("missing", "not among the photographs"),
        };
        return photograph(records, found, said.into());
    };
    let settings = match files.settings(records[0]) {
        Ok(settings) => settings,
        Err(reason) => return photograph(records, "not-measured", reason),
    };
    let again: Vec<Record> = match score::measure(&file, &settings) {
        Ok(measured) => measured.readings.into_iter().map(|r| Record::Measured(Box::new(r))).collect(),
        Err(stopped) => vec![Record::Failed(Box::new(stopped.record))],
    };
    let number = |record: &Record| record.reading().map_or(0, |reading| reading.piece.number);
    let mut differ: Vec<Change> = Vec::new();
    for record in records {
        match again.iter().find(|other| number(other) == number(record)) {
            Some(other) => differ.extend(changes(record, other)),
            None => differ.push(Change {
                field: format!("piece {}", number(record)),
                was: "measured".into(),
                is: "not found".into(),
            }),
        }
    }
    if differ.is_empty() {
        return photograph(records, "same", "the same numbers".into());
    }
    let one = |change: &Change| format!("{} was {}, is {}", change.field, change.was, change.is);
    let told: Vec<String> = differ.iter().take(TOLD).map(one).collect();
    let more = match differ.len().saturating_sub(TOLD) {
        0 => String::new(),
        more => format!("; and {more} more"),
    };
    let values =
        if differ.len() == 1 { "1 value differs".into() } else { format!("{} values differ", differ.len()) };
    let said = format!("{values}: {}{more}", told.join("; "));
    photograph(records, "otherwise", said)
}

fn words(found: &Verified, short_id: &str) -> String {
    let mut lines = vec![format!(
        "Report {short_id}: {}",
        match found.page_as_made {
            true => "the page is letter for letter as it was made.",
            false => "the page was CHANGED since it was made. Do not rely on what it shows.",
        }
    )];
    lines.extend(found.records_same.map(|same| match same {
        true => "Records: those of the page and those told are the same.".to_owned(),
        false => "Records: those told are NOT those of the page.".to_owned(),
    }));
    let asked = found.photographs.iter().any(|photograph| photograph.found != "not-asked");
    if !asked {
        let count = match found.photographs.len() {
            1 => "1 photograph".into(),
            count => format!("{count} photographs"),
        };
        lines.push(format!("{count}. Say --photos DIR to look for them and measure them again."));
    }
    for photograph in found.photographs.iter().filter(|_| asked) {
        lines.push(format!("{}: {}.", photograph.file, photograph.said));
    }
    if asked {
        let same = found.photographs.iter().filter(|photograph| photograph.found == "same").count();
        lines.push(format!("{same} of {} photographs give the same numbers.", found.photographs.len()));
    }
    lines.push("This proves what belongs together. It does not prove who made it.".into());
    lines.join("\n") + "\n"
}
