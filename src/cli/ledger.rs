//! `ledger`: export, import, check, backup.

use super::exit::{self, Trouble, say};
use super::ledger_arguments::{BackupOptions, CheckOptions, ExportOptions, ImportOptions, LedgerAction};
use super::ledger_file;
use sherdlight::ledger::{LedgerError, Private};
use std::fs::OpenOptions;
use std::io::{self, BufWriter, Write};
use std::path::Path;

/// Runs the command.
pub fn run(action: &LedgerAction) -> Result<u8, Trouble> {
    match action {
        LedgerAction::Export(options) => export(options),
        LedgerAction::Import(options) => import(options),
        LedgerAction::Check(options) => check(options),
        LedgerAction::Backup(options) => back_up(options),
    }
}

fn export(options: &ExportOptions) -> Result<u8, Trouble> {
    let told = |word: &str| options.with.iter().any(|known| known == word);
    let private = Private { folders: told("folders"), places: told("places"), exif: told("exif") };
    let ledger = ledger_file::look(&options.place)?;
    if let Some(folder) = &options.csv {
        let files = ledger.export_tables(folder, private)?;
        say(&format!("Written to {}: {}.", folder.display(), files.join(", ")));
    }
    match options.lines.as_deref() {
        None => {}
        Some(file) if file == Path::new("-") => {
            let mut out = BufWriter::new(io::stdout().lock());
            ledger.export_lines(private, |line| out.write_all(line.as_bytes()).map_err(Trouble::from))?;
            out.flush()?;
        }
        Some(file) => {
            let unwritable =
                |error: io::Error| LedgerError::Unwritable { path: file.into(), reason: error.to_string() };
            let new =
                OpenOptions::new().write(true).create_new(true).open(file).map_err(|error| {
                    match error.kind() {
                        io::ErrorKind::AlreadyExists => LedgerError::Exists { path: file.into() },
                        _ => unwritable(error),
                    }
                })?;
            let mut out = BufWriter::new(new);
            ledger.export_lines(private, |line| out.write_all(line.as_bytes()).map_err(unwritable))?;
            out.flush().map_err(unwritable)?;
            say(&format!("Written to {}.", file.display()));
        }
    }
    let left_out: Vec<&str> = ["folders", "places", "exif"].into_iter().filter(|word| !told(word)).collect();
    if !left_out.is_empty() {
        say(&format!("Left out: {}. --with {} tells them as well.", left_out.join(", "), left_out.join(",")));
    }
    Ok(exit::ALL_MEASURED)
}

fn import(options: &ImportOptions) -> Result<u8, Trouble> {
    let mut ledger = ledger_file::open(&options.place)?;
    let imported = ledger.import(&options.file, options.partial)?;
    imported.left_out.iter().for_each(|line| say(&format!("Left out: {line}.")));
    imported.differences.iter().for_each(|line| say(&format!("Different: {line}.")));
    if options.json {
        writeln!(io::stdout().lock(), "{}", serde_json::to_string(&imported)?)?;
    } else {
        let words = |counts: &std::collections::BTreeMap<&str, usize>| {
            let each: Vec<String> = counts.iter().map(|(what, count)| format!("{count} {what}")).collect();
            if each.is_empty() { "nothing".into() } else { each.join(", ") }
        };
        writeln!(
            io::stdout().lock(),
            "new: {}\nhere already: {}",
            words(&imported.new),
            words(&imported.known)
        )?;
    }
    Ok(if imported.left_out.is_empty() { exit::ALL_MEASURED } else { exit::SOME_FAILED })
}

fn check(options: &CheckOptions) -> Result<u8, Trouble> {
    let ledger = ledger_file::look(&options.place)?;
    let checked = ledger.check(options.photos.as_deref())?;
    let mut out = io::stdout().lock();
    if options.json {
        writeln!(out, "{}", serde_json::to_string(&checked)?)?;
    } else {
        writeln!(out, "{}, layout {}", checked.ledger, checked.layout)?;
        for (table, count) in &checked.rows {
            writeln!(out, "{count:>9} {}", table.replace('_', " "))?;
        }
        if options.photos.is_some() {
            let all = checked.rows.get("photographs").copied().unwrap_or(0);
            writeln!(
                out,
                "{:>9} of {all} photographs found there as they were read",
                checked.photographs_found
            )?;
        }
        let end = if checked.problems.is_empty() {
            "All of it holds together."
        } else {
            "It does not hold together:"
        };
        writeln!(out, "{end}")?;
        checked.problems.iter().try_for_each(|problem| writeln!(out, "- {problem}"))?;
    }
    out.flush()?;
    Ok(if checked.problems.is_empty() { exit::ALL_MEASURED } else { exit::SETTINGS })
}

fn back_up(options: &BackupOptions) -> Result<u8, Trouble> {
    let ledger = ledger_file::look(&options.place)?;
    ledger.back_up(&options.file)?;
    say(&format!("Copied to {}.", options.file.display()));
    Ok(exit::ALL_MEASURED)
}
