//! `firing`, `recipe`, `piece`: entered, listed, shown, corrected.

use super::exit::{self, Trouble, say};
use super::ledger_arguments::{
    AddOptions, EditOptions, EntryAction, Fields, FiringAction, ListOptions, ShowOptions, Told,
};
use super::{ledger_file, temperatures};
use serde::Serialize;
use sherdlight::ledger::temperatures::{Marks, summary};
use sherdlight::ledger::{
    Correction, Entry, FIRINGS, Field, Glance, Kind, LOADS, Ledger, LedgerError, Load, Named, PIECES,
    RECIPES, Values,
};
use sherdlight::report::heat_words;
use std::io::{self, Write};

/// Runs `firing`.
pub fn firing(action: &FiringAction) -> Result<u8, Trouble> {
    match action {
        FiringAction::Add(options) => add(options),
        FiringAction::List(options) => list(&FIRINGS, options),
        FiringAction::Show(options) => show(&FIRINGS, options),
        FiringAction::Edit(options) => edit(options),
        FiringAction::Temperatures(options) => temperatures::run(options),
    }
}

/// Runs `recipe` and `piece`.
pub fn run<K: Fields>(action: &EntryAction<K>) -> Result<u8, Trouble> {
    match action {
        EntryAction::Add(options) => add(options),
        EntryAction::List(options) => list(K::KIND, options),
        EntryAction::Show(options) => show(K::KIND, options),
        EntryAction::Edit(options) => edit(options),
    }
}

/// What was typed, checked: the entry's own values, and of a piece those of its place in a firing.
struct Given<'a> {
    named: Named,
    own: Values,
    firing: Option<&'a str>,
    here: Values,
}

impl<'a> Given<'a> {
    fn new<K: Fields>(name: &str, told: &'a Told<K>) -> Result<Self, Trouble> {
        let mut named = Named::new(name.trim());
        if named.name.is_empty() {
            return Err(Trouble::usage("the name is empty", "Give it a name."));
        }
        if K::KIND == &RECIPES {
            match told.more("kind") {
                Some(kind @ ("clay" | "slip" | "red" | "paint")) => named.kind = Some(kind.into()),
                Some(other) => {
                    return Err(Trouble::usage(
                        format!("--kind: '{other}' is no kind of recipe"),
                        "Say clay, slip, red or paint.",
                    ));
                }
                None => {}
            }
        }
        let firing = if K::KIND == &PIECES { told.more("firing") } else { None };
        let (mut own, mut here) = (Values::new(), Values::new());
        for (field, typed) in &told.fields {
            let Some(value) = field.value(typed).map_err(|e| Trouble::usage(e.to_string(), ""))? else {
                continue;
            };
            let belongs_to_firing = firing.is_some() && LOADS.field(field.word).is_some();
            if belongs_to_firing { &mut here } else { &mut own }.insert(field.column, value);
        }
        if let Some(place) = told.more("place").filter(|_| K::KIND == &PIECES) {
            if firing.is_none() {
                return Err(Trouble::usage(
                    "--place: a place in the fire needs a firing",
                    "Say --firing NAME as well.",
                ));
            }
            here.extend(place_field().value(place)?.map(|value| (place_field().column, value)));
        }
        Ok(Self { named, own, firing, here })
    }
}

fn place_field() -> &'static Field {
    &LOADS.fields[0]
}

fn add<K: Fields>(options: &AddOptions<K>) -> Result<u8, Trouble> {
    let kind = K::KIND;
    if let Some(file) = &options.from {
        let mut ledger = ledger_file::open(&options.place)?;
        let entered = ledger.add_table(kind, file, options.partial)?;
        entered.remarks.iter().for_each(|line| say(line));
        entered.left_out.iter().for_each(|fault| say(&format!("Left out: {fault}.")));
        say(&format!("{} entered in {}.", counted(entered.names.len(), kind.word), ledger.path().display()));
        return Ok(if entered.left_out.is_empty() { exit::ALL_MEASURED } else { exit::SOME_FAILED });
    }
    let given = Given::new(options.name.as_deref().unwrap_or_default(), &options.told)?;
    if kind == &RECIPES && given.named.kind.is_none() {
        return Err(Trouble::usage("a recipe needs a kind", "Say --kind clay, slip, red or paint."));
    }
    let mut ledger = ledger_file::open(&options.place)?;
    let loads_piece = given.firing.is_some() && ledger.entry(kind, &given.named).is_ok();
    if !loads_piece {
        ledger.add(kind, &given.named, &given.own)?;
    } else if !given.own.is_empty() {
        // The piece is known, and more than a new firing is told of it.
        return Err(LedgerError::AlreadyThere { what: kind.word, name: given.named.name }.into());
    }
    if let Some(firing) = given.firing {
        ledger.load_piece(firing, &given.named.name, &given.here)?;
    }
    say(&format!("The {} '{}' is in {}.", kind.word, given.named.name, ledger.path().display()));
    Ok(exit::ALL_MEASURED)
}

fn edit<K: Fields>(options: &EditOptions<K>) -> Result<u8, Trouble> {
    let kind = K::KIND;
    let given = Given::new(&options.name, &options.told)?;
    let mut clear = Vec::new();
    for word in &options.clear {
        match kind.field(word) {
            Some(field) => clear.push(field.column),
            None => {
                let words: Vec<&str> = kind.fields.iter().map(|f| f.word).collect();
                return Err(Trouble::usage(
                    format!("--clear: a {} has no field '{word}'", kind.word),
                    format!("Its fields are {}.", words.join(", ")),
                ));
            }
        }
    }
    if given.own.is_empty() && given.here.is_empty() && clear.is_empty() {
        return Err(Trouble::usage("nothing to correct was given", "Name a field, such as --notes WORDS."));
    }
    let mut ledger = ledger_file::open(&options.place)?;
    // Of a recipe the kind may be left out where one alone bears the name.
    let entry = ledger.entry(kind, &given.named)?;
    let named = Named { kind: entry.kind, name: entry.name };
    let because = options.because.as_deref();
    let mut changes = ledger.correct(kind, &named, &given.own, &clear, because)?;
    if let Some(firing) = given.firing {
        changes.extend(ledger.correct_load(firing, &named.name, &given.here, because)?);
    }
    let mut out = io::stdout().lock();
    for change in &changes {
        writeln!(out, "{}", changed(change))?;
    }
    if changes.is_empty() {
        say("Nothing changed: these values stood there already.");
    }
    Ok(exit::ALL_MEASURED)
}

fn list(kind: &'static Kind, options: &ListOptions) -> Result<u8, Trouble> {
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

fn show(kind: &'static Kind, options: &ShowOptions) -> Result<u8, Trouble> {
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
fn changed(change: &Correction) -> String {
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

fn counted(count: usize, word: &str) -> String {
    if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") }
}

fn dash() -> String {
    "-".into()
}

/// Line ends and control characters would break a terminal's columns.
fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
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
