//! `card`: list, show and check card definitions. `card learn` has a file of its own.

use super::exit::{self, Trouble, say};
use super::file_arguments::{CardAction, CardCheckOptions, CardShowOptions};
use super::table;
use sherdlight::card::{CardDefinition, CardFile, CardLayout, Layout, LengthUnit};
use sherdlight::colour::nearest_munsell;
use sherdlight::report::write_file;
use std::io::{self, Write};
use std::path::Path;

/// Runs the command.
pub fn run(action: &CardAction) -> Result<u8, Trouble> {
    match action {
        CardAction::List => list(),
        CardAction::Show(options) => show(options),
        CardAction::Check(options) => check(options),
        CardAction::Learn(options) => super::learn::run(options),
    }
}

fn list() -> Result<u8, Trouble> {
    let mut rows = vec![["id", "layout", "what", "source"].map(str::to_owned).to_vec()];
    for id in CardDefinition::ids() {
        let card = CardDefinition::load(id)?;
        rows.push(vec![card.id, grid(&card.layout), card.name, card.source]);
    }
    let mut out = io::stdout().lock();
    write!(out, "{}", table::align(&rows, &[]))?;
    out.flush()?;
    Ok(exit::ALL_MEASURED)
}

fn show(options: &CardShowOptions) -> Result<u8, Trouble> {
    let file = CardFile::load(&options.card, None)?;
    let mut out = io::stdout().lock();
    if options.json {
        write!(out, "{}", file.definition.to_json())?;
    } else {
        write!(out, "{}", description(&file.definition))?;
        for remark in &file.remarks {
            writeln!(out, "remark: {remark}")?;
        }
    }
    out.flush()?;
    Ok(exit::ALL_MEASURED)
}

fn check(options: &CardCheckOptions) -> Result<u8, Trouble> {
    let layout = options.layout.as_deref().map(CardLayout::load).transpose()?;
    let file = match CardFile::load(&options.file, layout.as_ref()) {
        Ok(file) => file,
        Err(error) => {
            error.faults.iter().for_each(|fault| say(&format!("{}: {fault}", error.name)));
            let count = match error.faults.len() {
                1 => "1 fault".to_owned(),
                many => format!("{many} faults"),
            };
            return Err(Trouble::settings(
                format!("{}: {count}, the card cannot be used", error.name),
                "Put the file right and check it again.",
            ));
        }
    };
    let card = &file.definition;
    let mut out = io::stdout().lock();
    writeln!(out, "good: card '{}', {}, {}", card.id, grid(&card.layout), card.name)?;
    for remark in &file.remarks {
        writeln!(out, "remark: {remark}")?;
    }
    if let Some(path) = &options.out {
        write_definition(card, path, options.replace)?;
        writeln!(out, "written: {}", path.display())?;
    }
    out.flush()?;
    Ok(exit::ALL_MEASURED)
}

/// Writes a definition as a whole; a file that is there stays unless it may be replaced.
pub fn write_definition(card: &CardDefinition, path: &Path, replace: bool) -> Result<(), Trouble> {
    may_write(path, replace)?;
    write_file(path, card.to_json().as_bytes())?;
    Ok(())
}

/// Refuses a file that is there already.
pub fn may_write(path: &Path, replace: bool) -> Result<(), Trouble> {
    if !replace && path.symlink_metadata().is_ok() {
        return Err(Trouble::settings(
            format!("'{}' is there already", path.display()),
            "Name another file, or say --replace.",
        ));
    }
    Ok(())
}

fn grid(layout: &Layout) -> String {
    let size = match layout.unit {
        LengthUnit::Patch => "size not told".into(),
        LengthUnit::Mm => format!("patches {} x {} mm", layout.patch[0], layout.patch[1]),
    };
    format!("{} rows of {}, {size}", layout.rows, layout.columns)
}

/// All about a card, for people.
fn description(card: &CardDefinition) -> String {
    let layout = &card.layout;
    let unit = match layout.unit {
        LengthUnit::Patch => "patch widths",
        LengthUnit::Mm => "mm",
    };
    let short = |v: f64| (v * 1e4).round() / 1e4;
    let pair = |[across, down]: [f64; 2]| format!("{} x {} {unit}", short(across), short(down));
    let outer = layout.outer.unwrap_or_else(|| layout.outer_size());
    let mut facts = vec![
        ["id", card.id.as_str()].map(str::to_owned),
        ["what", card.name.as_str()].map(str::to_owned),
        ["source", card.source.as_str()].map(str::to_owned),
        ["layout".into(), format!("{} rows of {} patches", layout.rows, layout.columns)],
        ["patch".into(), pair(layout.patch)],
        ["gap".into(), pair(layout.gap)],
        ["frame".into(), pair(layout.frame)],
        ["whole card".into(), pair(outer)],
        ["observer".into(), card.observer.clone()],
        ["white".into(), format!("{}: X, Y, Z = {:?}", card.illuminant, card.white).replace(['[', ']'], "")],
    ];
    facts.extend(layout.neutral_row.map(|row| ["grey scale".into(), format!("row {row}")]));
    facts.extend((!layout.note.is_empty()).then(|| ["note".into(), layout.note.clone()]));
    let facts: Vec<Vec<String>> = facts.into_iter().map(|fact| fact.to_vec()).collect();
    format!("{}\n{}", table::align(&facts, &[]), patches(card))
}

/// The patches as a table, with the nearest Munsell notation and, where known, the plus-or-minus.
pub fn patches(card: &CardDefinition) -> String {
    let with_u95 = card.patches.iter().any(|p| p.u95.is_some());
    let mut titles = vec!["patch", "name", "L*", "a*", "b*", "C*"];
    titles.extend(with_u95.then_some("± L*, a*, b*"));
    titles.push("Munsell, about");
    let mut rows = vec![titles.into_iter().map(str::to_owned).collect::<Vec<_>>()];
    for patch in &card.patches {
        let number = |v: f64| format!("{v:.2}");
        let mut row = vec![
            patch.id.clone(),
            patch.name.clone(),
            number(patch.lab.l),
            number(patch.lab.a),
            number(patch.lab.b),
            number(patch.lab.a.hypot(patch.lab.b)),
        ];
        let spread = |u: [f64; 3]| format!("{:.2}, {:.2}, {:.2}", u[0], u[1], u[2]);
        row.extend(with_u95.then(|| patch.u95.map_or_else(|| "-".into(), spread)));
        row.push(nearest_munsell(patch.lab).first().map_or_else(|| "-".into(), |m| m.notation.clone()));
        rows.push(row);
    }
    table::align(&rows, &[2, 3, 4, 5])
}
