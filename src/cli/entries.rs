//! `firing`, `recipe`, `piece`: entered, listed, shown, corrected.

use super::entries_shown::{changed, list, show};
use super::exit::{self, Trouble, say};
use super::keeper::say_new_firing;
use super::ledger_arguments::{AddOptions, EditOptions, EntryAction, FiringAction};
use super::told::{Fields, Told};
use super::{ledger_file, temperatures};
use sherdlight::ledger::{FIRINGS, Field, LOADS, LedgerError, Named, PIECES, RECIPES, Values};
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
        if named.name.is_empty() || named.name.chars().any(char::is_control) {
            return Err(Trouble::usage("the name is empty or holds a line end", "Give it a plain name."));
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
        if ledger.entry(&FIRINGS, &Named::new(firing)).is_err() {
            say_new_firing(firing);
        }
        ledger.load_piece(firing, &given.named.name, &given.here)?;
    }
    say(&format!("The {} '{}' is in {}.", kind.word, given.named.name, ledger.path().display()));
    Ok(exit::ALL_MEASURED)
}

fn edit<K: Fields>(options: &EditOptions<K>) -> Result<u8, Trouble> {
    let kind = K::KIND;
    let given = Given::new(&options.name, &options.told)?;
    let (mut clear, mut clear_here) = (Vec::new(), Vec::new());
    for word in &options.clear {
        match (given.firing.and_then(|_| LOADS.field(word)), kind.field(word)) {
            (Some(field), _) => clear_here.push(field.column),
            (None, Some(field)) => clear.push(field.column),
            (None, None) => {
                let words: Vec<&str> = kind.fields.iter().map(|f| f.word).collect();
                return Err(Trouble::usage(
                    format!("--clear: a {} has no field '{word}'", kind.word),
                    format!("Its fields are {}.", words.join(", ")),
                ));
            }
        }
    }
    if given.own.is_empty()
        && given.here.is_empty()
        && clear.is_empty()
        && clear_here.is_empty()
        && options.rename.is_none()
    {
        return Err(Trouble::usage("nothing to correct was given", "Name a field, such as --notes WORDS."));
    }
    // Looked at first: where there is no ledger, none is made for a correction.
    ledger_file::look(&options.place)?;
    let mut ledger = ledger_file::open(&options.place)?;
    // Of a recipe the kind may be left out where one alone bears the name.
    let entry = ledger.entry(kind, &given.named)?;
    let named = Named { kind: entry.kind, name: entry.name };
    let because = options.because.as_deref();
    // The place in a firing first: where there is none, nothing at all is changed.
    let mut changes = match given.firing {
        Some(firing) => ledger.correct_load(firing, &named.name, &given.here, &clear_here, because)?,
        None => Vec::new(),
    };
    changes.extend(ledger.correct(kind, &named, &given.own, &clear, because)?);
    if let Some(name) = &options.rename {
        changes.extend(ledger.rename(kind, &named, name, because)?);
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

fn counted(count: usize, word: &str) -> String {
    if count == 1 { format!("1 {word}") } else { format!("{count} {word}s") }
}
