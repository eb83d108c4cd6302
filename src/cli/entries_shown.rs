//! Firings, recipes and pieces as tables and in full, for people and as JSON.

use super::exit::{self, Trouble, say};
use super::ledger_arguments::{ListOptions, ShowOptions};
use super::ledger_file;
use serde::Serialize;
use sherdlight::ledger::temperatures::{Marks, summary};
use sherdlight::ledger::{Correction, Entry, FIRINGS, Glance, Kind, Ledger, Load, Named, PIECES, RECIPES};
use sherdlight::report::heat_words;
use std::io::{self, Write};

pub fn list(kind: &'static Kind, options: &ListOptions) -> Result<u8, Trouble> {
    let ledger = ledger_file::look(&options.place)?;
    let entries = ledger.entries(kind)?;
    let mut out = io::stdout().lock();
    if options.json {
        for entry in &entries {
            writeln!(out, "{}", serde_json::to_string(entry)?)?;
        }
    } else if entries.is_empty() {
        say(&format!(
            "The ledger knows no {} yet. 'sherdlight {} add NAME' enters one.",
            kind.word, kind.word
        ));
    } else {
        write!(out, "{}", columns(&listed(&ledger, kind, &entries)?))?;
    }
    Ok(exit::ALL_MEASURED)
}

/// What a list shows of each entry, with a line of headings.
fn listed(ledger: &Ledger, kind: &'static Kind, entries: &[Entry]) -> Result<Vec<Vec<String>>, Trouble> {
    let shown: &[&str] = match kind.table {
        "firings" => &["date", "fuel", "peak-celsius", "next-change"],
        "recipes" => &["batch", "coats", "date"],
        _ => &["shape", "state", "slip", "red", "paint", "flaws"],
    };
    let mut head: Vec<String> = Vec::new();
    head.extend((kind == &RECIPES).then(|| "kind".to_owned()));
    head.push(kind.word.into());
    head.extend(shown.iter().map(|word| word.replace('-', " ")));
    let counts = kind != &RECIPES;
    if counts {
        head.push(if kind == &FIRINGS { "pieces" } else { "firings" }.into());
    }
    let mut rows = vec![head];
    for entry in entries {
        let mut row: Vec<String> = entry.kind.iter().cloned().collect();
        row.push(entry.name.clone());
        row.extend(shown.iter().map(|word| entry.values.get(word).map_or_else(dash, ToString::to_string)));
        if counts {
            let name = Some(entry.name.as_str());
            let loads =
                if kind == &FIRINGS { ledger.loads(name, None)? } else { ledger.loads(None, name)? };
            row.push(loads.len().to_string());
        }
        rows.push(row);
    }
    Ok(rows)
}

/// All of an entry as JSON.
#[derive(Serialize)]
struct Whole<'a> {
    #[serde(flatten)]
    entry: &'a Entry,
    #[serde(skip_serializing_if = "Option::is_none")]
    loads: Option<&'a [Load]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    readings: Option<&'a [Glance]>,
}

pub fn show(kind: &'static Kind, options: &ShowOptions) -> Result<u8, Trouble> {
    let ledger = ledger_file::look(&options.place)?;
    let entry = ledger.entry(kind, &Named { kind: options.kind.clone(), name: options.name.clone() })?;
    let name = Some(entry.name.as_str());
    let (loads, readings) = match kind.table {
        "firings" => (ledger.loads(name, None)?, ledger.glances(name, None)?),
        "pieces" => (ledger.loads(None, name)?, ledger.glances(None, name)?),
        _ => (Vec::new(), Vec::new()),
    };
    let has_more = kind != &RECIPES;
    let mut out = io::stdout().lock();
    if options.json {
        let (loads, readings) = (has_more.then_some(&loads[..]), has_more.then_some(&readings[..]));
        writeln!(out, "{}", serde_json::to_string(&Whole { entry: &entry, loads, readings })?)?;
        return Ok(exit::ALL_MEASURED);
    }
    let of = entry.kind.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
    writeln!(out, "{}{of} '{}', entered {}\n", kind.word, one_line(&entry.name), entry.entered)?;
    let rows: Vec<Vec<String>> = kind
        .fields
        .iter()
        .map(|field| {
            vec![
                field.word.replace('-', " "),
                entry.values.get(field.word).map_or_else(dash, ToString::to_string),
            ]
        })
        .collect();
    write!(out, "{}", columns(&rows))?;
    say_changes(&mut out, &entry.corrections)?;
    if kind == &PIECES {
        let fired = match loads.len() {
            0 => "In no firing of this ledger.".into(),
            1 => "In one firing of this ledger.".into(),
            n => format!("In {n} firings of this ledger: refired."),
        };
        writeln!(out, "\n{fired}")?;
    }
    if !loads.is_empty() {
        writeln!(out)?;
        write!(out, "{}", columns(&load_rows(kind, &loads)))?;
        loads.iter().try_for_each(|load| say_changes(&mut out, &load.corrections))?;
    }
    if !readings.is_empty() {
        writeln!(out)?;
        write!(out, "{}", columns(&reading_rows(&readings)))?;
    }
    if kind == &FIRINGS {
        for (file, log) in ledger.logs(&entry.name)? {
            write!(out, "\n{}: {}", one_line(&file), heat_words(&summary(&log, &Marks::default())))?;
        }
    }
    Ok(exit::ALL_MEASURED)
}

fn load_rows(kind: &Kind, loads: &[Load]) -> Vec<Vec<String>> {
    let other = if kind == &FIRINGS { "piece" } else { "firing" };
    let mut rows = vec![vec![other.to_owned(), "place".into(), "flaws".into(), "notes".into()]];
    rows.extend(loads.iter().map(|load| {
        let mut row = vec![if kind == &FIRINGS { load.piece.clone() } else { load.firing.clone() }];
        let told = ["place", "flaws", "notes"]
            .map(|word| load.values.get(word).map_or_else(dash, ToString::to_string));
        row.extend(told);
        row
    }));
    rows
}

fn reading_rows(readings: &[Glance]) -> Vec<Vec<String>> {
    let with = |value: &Option<[f64; 2]>, digits: usize| {
        value.map_or_else(dash, |[value, u95]| format!("{value:.digits$} ± {u95:.digits$}"))
    };
    let head = ["photograph", "firing", "piece", "grade", "L* white", "L* black", "paint kept", "faults"];
    let mut rows = vec![head.map(str::to_owned).to_vec()];
    rows.extend(readings.iter().map(|reading| {
        vec![
            reading.photograph.clone(),
            reading.firing.clone().unwrap_or_else(dash),
            reading.piece.clone().unwrap_or_else(|| match reading.piece_number {
                Some(number) => format!("no. {number} in the photo"),
                None => dash(),
            }),
            reading.grade.clone().unwrap_or_else(|| "not measured".into()).replace('-', " "),
            with(&reading.white_l, 1),
            with(&reading.black_l, 1),
            with(&reading.paint_kept, 2),
            reading.remark.clone().unwrap_or_else(dash),
        ]
    }));
    rows
}

fn say_changes(out: &mut impl Write, corrections: &[Correction]) -> io::Result<()> {
    corrections
        .iter()
        .try_for_each(|change| writeln!(out, "corrected: {}, {}", changed(change), change.entered))
}

/// What a correction changed, one line.
pub fn changed(change: &Correction) -> String {
    let shown = |value: &Option<sherdlight::ledger::Value>| match value {
        Some(value) => format!("'{}'", one_line(&value.to_string())),
        None => "unknown".into(),
    };
    let because = change.because.as_ref().map_or_else(String::new, |why| format!(" ({})", one_line(why)));
    format!(
        "{} was {}, now {}{because}",
        change.field.replace('-', " "),
        shown(&change.was),
        shown(&change.now)
    )
}

fn dash() -> String {
    "-".into()
}

/// Letters of a cell that are shown.
const MOST: usize = 200;

/// Line ends, control characters and marks that turn the direction would break a terminal's columns.
fn one_line(text: &str) -> String {
    let breaks = |c: char| {
        c.is_control()
            || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let mut letters = text.chars().map(|c| if breaks(c) { ' ' } else { c });
    let mut line: String = letters.by_ref().take(MOST).collect();
    if letters.next().is_some() {
        line.push('…');
    }
    line
}

/// Rows with aligned columns.
fn columns(rows: &[Vec<String>]) -> String {
    let rows: Vec<Vec<String>> =
        rows.iter().map(|row| row.iter().map(|cell| one_line(cell)).collect()).collect();
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..count).map(width).collect();
    let mut text = String::new();
    for row in &rows {
        let cells: Vec<String> = row
            .iter()
            .zip(&widths)
            .map(|(cell, width)| format!("{cell}{}", " ".repeat(width - cell.chars().count())))
            .collect();
        text.push_str(cells.join("  ").trim_end());
        text.push('\n');
    }
    text
}
