//! `targets`: list, show and check target ranges. `targets learn` and `targets add` have files of their own.

use super::exit::{self, Trouble, say};
use super::file_arguments::{TargetsAction, TargetsCheckOptions, TargetsShowOptions};
use super::table;
use sherdlight::colour::{LabD50, MunsellNotation, lab_to_munsell};
use sherdlight::verdict::{Quantity, Range, TargetError, Targets};
use std::io::{self, Write};

/// Runs the command.
pub fn run(action: &TargetsAction) -> Result<u8, Trouble> {
    match action {
        TargetsAction::List => list(),
        TargetsAction::Show(options) => show(options),
        TargetsAction::Check(options) => check(options),
        TargetsAction::Learn(options) => super::learn_targets::run(options),
        TargetsAction::Add(options) => super::add_target::run(options),
    }
}

fn list() -> Result<u8, Trouble> {
    let mut rows = vec![["id", "ranges", "what"].map(str::to_owned).to_vec()];
    for id in Targets::ids() {
        let targets = Targets::load(id)?;
        rows.push(vec![targets.id, targets.values.len().to_string(), targets.name]);
    }
    print(&table::align(&rows, &[1]))
}

fn show(options: &TargetsShowOptions) -> Result<u8, Trouble> {
    let targets = Targets::load(&options.targets)?;
    print(&if options.json { Targets::text(&options.targets)? } else { description(&targets) })
}

fn check(options: &TargetsCheckOptions) -> Result<u8, Trouble> {
    let targets = match Targets::load(&options.file) {
        Err(TargetError::Invalid { name, faults }) => {
            faults.iter().for_each(|fault| say(&format!("{name}: {fault}")));
            let count = match faults.len() {
                1 => "1 fault".to_owned(),
                many => format!("{many} faults"),
            };
            return Err(Trouble::settings(
                format!("{name}: {count}, the target ranges cannot be used"),
                "Put the file right and check it again.",
            ));
        }
        loaded => loaded?,
    };
    let mut text =
        format!("good: targets '{}', {} ranges, {}\n", targets.id, targets.values.len(), targets.name);
    for remark in targets.remarks() {
        text.push_str(&format!("remark: {remark}\n"));
    }
    print(&text)
}

fn print(text: &str) -> Result<u8, Trouble> {
    let mut out = io::stdout().lock();
    write!(out, "{text}")?;
    out.flush()?;
    Ok(exit::ALL_MEASURED)
}

/// All about a set, for people.
fn description(targets: &Targets) -> String {
    let facts = [
        ["id", &targets.id],
        ["what", &targets.name],
        ["note", &targets.note],
        ["colours for", &format!("{}, {}", targets.illuminant, targets.observer)],
    ];
    let facts: Vec<Vec<String>> = facts.iter().map(|fact| fact.map(str::to_owned).to_vec()).collect();
    let mut text = format!("{}\n{}", table::align(&facts, &[]), ranges(targets));
    if !targets.aim_colours.is_empty() {
        text.push_str(&format!("\n{}", colours(targets)));
    }
    text
}

/// The ranges as a table.
pub fn ranges(targets: &Targets) -> String {
    let titles = ["surface", "value", "unit", "aim", "accept", "fully off at"];
    let mut rows = vec![titles.map(str::to_owned).to_vec()];
    rows.extend(targets.values.iter().map(|t| {
        vec![
            t.surface.clone(),
            t.value.name().into(),
            t.value.unit().into(),
            words(t.aim),
            words(t.accept),
            t.fully_off.map_or_else(|| "-".into(), |v| v.to_string()),
        ]
    }));
    table::align(&rows, &[])
}

/// `30 to 52`, `72 and more`, `13 and less`.
pub fn words(range: Range) -> String {
    match range {
        [Some(low), Some(high)] => format!("{low} to {high}"),
        [Some(low), None] => format!("{low} and more"),
        [None, Some(high)] => format!("{high} and less"),
        [None, None] => "anything".into(),
    }
}

fn colours(targets: &Targets) -> String {
    let titles = ["centre of the aim", "L*", "a*", "b*", "C*", "h", "Munsell, about"];
    let mut rows = vec![titles.map(str::to_owned).to_vec()];
    for (surface, &lab) in &targets.aim_colours {
        let colour = LabD50::from(lab);
        let lch = colour.to_lch();
        let numbers = [lab[0], lab[1], lab[2], lch.c].map(|v| format!("{v:.1}"));
        let mut row = vec![surface.clone()];
        row.extend(numbers);
        row.push(if targets.get(surface, Quantity::Hue).is_some() || lch.c >= 2.0 {
            format!("{:.0}°", lch.h)
        } else {
            "-".into()
        });
        row.push(lab_to_munsell(colour).map_or_else(|| "-".into(), |notation| rounded(notation).to_string()));
        rows.push(row);
    }
    table::align(&rows, &[1, 2, 3, 4, 5])
}

/// To a tenth of a step, as far as an eye could tell.
fn rounded(notation: MunsellNotation) -> MunsellNotation {
    let tenth = |v: f64| (v * 10.0).round() / 10.0;
    MunsellNotation {
        hue: notation.hue.map(|hue| tenth(hue).max(0.1)),
        value: tenth(notation.value),
        chroma: tenth(notation.chroma),
    }
}
