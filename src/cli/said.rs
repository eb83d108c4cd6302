//! What is said of the photographs: by the sheet, by the names of the files, by the command line.

use super::arguments::ScoreOptions;
use super::exit::{Trouble, say};
use super::outputs;
use sherdlight::ledger::{FileNames, Sheet};
use sherdlight::reading::SheetRow;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Three sources; what the first says counts.
#[derive(Debug, Default)]
pub struct Said {
    /// The sheet.
    pub sheet: Option<Sheet>,
    names: Option<FileNames>,
    firing: Option<String>,
}

impl Said {
    /// Reads the sheet and holds it against the photographs. Where readings are kept, every photograph must have its piece and
    /// every row its photograph: what does not fit is told, and nothing is begun unless --partial is said.
    pub fn read(options: &ScoreOptions, photographs: &[PathBuf]) -> Result<Self, Trouble> {
        let sheet = options.sheet.as_deref().map(Sheet::read).transpose()?;
        let said = Self { sheet, names: options.file_names.clone(), firing: options.firing.clone() };
        let mut faults: Vec<String> = Vec::new();
        let mut remarks: Vec<String> = Vec::new();
        let keeps = options.firing.is_some() || options.place.ledger.is_some();
        if let Some(sheet) = &said.sheet {
            faults.extend(sheet.faults.iter().map(ToString::to_string));
            remarks.extend(sheet.remarks.iter().cloned());
            let strange = sheet.without_photograph(photographs);
            let told = strange.iter().map(ToString::to_string);
            if keeps {
                faults.extend(told)
            } else {
                remarks.extend(told)
            }
            if keeps {
                let nameless =
                    photographs.iter().filter(|path| said.row(path).is_none_or(|row| row.piece.is_none()));
                faults.extend(
                    nameless.map(|path| {
                        format!("{}: the sheet names no piece for this photograph", path.display())
                    }),
                );
            }
        }
        if keeps {
            faults.extend(said.doubled(photographs));
        }
        if let (Some(names), None) = (&said.names, &said.sheet) {
            let strange = photographs.iter().filter(|path| names.row(path).is_none());
            faults.extend(strange.map(|path| format!("{}: the name does not fit {names}", path.display())));
        }
        if !faults.is_empty() && !options.partial {
            let what = match &options.sheet {
                Some(file) => format!("the sheet '{}' does not fit: {}", file.display(), shortened(&faults)),
                None => shortened(&faults),
            };
            return Err(Trouble::settings(what, "Put it right, or say --partial to take the rest."));
        }
        if !options.read.quiet {
            remarks.iter().for_each(|line| say(&format!("The sheet: {line}.")));
        }
        faults.iter().for_each(|line| say(&format!("Does not fit: {line}.")));
        let names_firing = |path: &PathBuf| said.row(path).is_some_and(|row| row.firing.is_some());
        if !keeps && !options.read.quiet && said.names.is_some() && photographs.iter().any(names_firing) {
            say("Nothing is kept in the ledger: say --firing NAME or --ledger FILE for that.");
        }
        Ok(said)
    }

    /// Photographs that are the same picture under two names and are said to show different things.
    fn doubled(&self, photographs: &[PathBuf]) -> Vec<String> {
        let mut seen: BTreeMap<String, &PathBuf> = BTreeMap::new();
        let mut faults = Vec::new();
        for path in photographs {
            let Some(hash) = outputs::hash_of(path) else { continue };
            let Some(first) = seen.get(&hash) else {
                seen.insert(hash, path);
                continue;
            };
            let belongs = |path: &Path| self.row(path).map(|row| (row.piece, row.firing));
            if belongs(path) != belongs(first) {
                let (one, other) = (path.display(), first.display());
                faults.push(format!(
                    "{one} is the same picture as {other}, and they are said to show different pieces"
                ));
            }
        }
        faults
    }

    /// What is known of a photograph; `None` where nothing is.
    pub fn row(&self, path: &Path) -> Option<SheetRow> {
        let by_sheet = self.sheet.as_ref().and_then(|sheet| sheet.row(path)).cloned();
        let by_name = self.names.as_ref().and_then(|names| names.row(path));
        let mut row = match (by_sheet, by_name) {
            (Some(sheet), Some(name)) => Some(SheetRow {
                piece: sheet.piece.or(name.piece),
                firing: sheet.firing.or(name.firing),
                clay: sheet.clay.or(name.clay),
                slip: sheet.slip.or(name.slip),
                red: sheet.red.or(name.red),
                paint: sheet.paint.or(name.paint),
                place: sheet.place.or(name.place),
                ..sheet
            }),
            (sheet, name) => sheet.or(name),
        };
        if let Some(firing) = &self.firing {
            let row = row.get_or_insert_default();
            row.firing.get_or_insert_with(|| firing.clone());
        }
        row
    }
}

/// The first few, and how many more there are.
fn shortened(faults: &[String]) -> String {
    const SHOWN: usize = 12;
    let mut text = faults.iter().take(SHOWN).cloned().collect::<Vec<_>>().join("; ");
    if faults.len() > SHOWN {
        text.push_str(&format!("; and {} more", faults.len() - SHOWN));
    }
    text
}
