//! What is said of the photographs: by the sheet, by the names of the files, by the command line.

use super::arguments::ScoreOptions;
use super::exit::{Trouble, say};
use sherdlight::ledger::{FileNames, Sheet};
use sherdlight::reading::SheetRow;
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
        if let Some(sheet) = &said.sheet {
            faults.extend(sheet.faults.iter().map(ToString::to_string));
            remarks.extend(sheet.remarks.iter().cloned());
            let strange = sheet.without_photograph(photographs);
            let told = strange.iter().map(ToString::to_string);
            let keeps = options.firing.is_some() || options.place.ledger.is_some();
            if keeps {
                faults.extend(told)
            } else {
                remarks.extend(told)
            }
            let unnamed = photographs
                .iter()
                .filter(|path| said.row(path).is_none_or(|row| row.piece.is_none()))
                .map(|path| {
                    let name =
                        path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
                    format!("{name}: the sheet names no piece for this photograph")
                });
            if keeps {
                faults.extend(unnamed);
            }
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
        faults.iter().for_each(|line| say(&format!("Left out: {line}.")));
        Ok(said)
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
