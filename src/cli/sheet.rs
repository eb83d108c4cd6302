//! The sheet: one row a photograph, in the potter's own words.

use super::exit::Trouble;
use sherdlight::reading::SheetRow;
use std::collections::BTreeMap;
use std::path::Path;

/// Rows by the photograph's file name.
#[derive(Debug, Default)]
pub struct Sheet {
    rows: BTreeMap<String, SheetRow>,
}

impl Sheet {
    /// Reads a sheet.
    ///
    /// # Errors
    /// A file that cannot be read, without a column `file`, with a column that is none of ours, or with
    /// two rows for one file.
    pub fn read(path: &Path) -> Result<Self, Trouble> {
        let unusable = |why: String| {
            Trouble::settings(
                format!("the sheet '{}' cannot be used: {why}", path.display()),
                "Its first line names the columns: file,piece,firing,slip,red,paint,place,notes.",
            )
        };
        let text = std::fs::read_to_string(path).map_err(|e| unusable(e.to_string()))?;
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .flexible(true)
            .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
        let headers = reader.headers().map_err(|e| unusable(e.to_string()))?.clone();
        let columns: Vec<String> = headers.iter().map(str::to_lowercase).collect();
        if !columns.iter().any(|c| c == "file") {
            return Err(unusable("no column is called 'file'".into()));
        }
        let mut rows = BTreeMap::new();
        for record in reader.records() {
            let record = record.map_err(|e| unusable(e.to_string()))?;
            let (mut row, mut file) = (SheetRow::default(), String::new());
            for (column, value) in columns.iter().zip(&record) {
                // Unknown stays empty.
                let value = (!value.is_empty()).then(|| value.to_owned());
                match column.as_str() {
                    "file" => file = value.unwrap_or_default(),
                    "piece" => row.piece = value,
                    "firing" => row.firing = value,
                    "slip" => row.slip = value,
                    "red" => row.red = value,
                    "paint" => row.paint = value,
                    "place" | "place in the fire" => row.place = value,
                    "notes" => row.notes = value,
                    other => return Err(unusable(format!("the column '{other}' is not known"))),
                }
            }
            if file.is_empty() {
                continue;
            }
            if rows.insert(file.clone(), row).is_some() {
                return Err(unusable(format!("'{file}' stands in two rows")));
            }
        }
        Ok(Self { rows })
    }

    /// The row for a photograph: by its path as written, else by its file name.
    pub fn row(&self, path: &Path) -> Option<&SheetRow> {
        let name = path.file_name()?.to_string_lossy();
        self.rows.get(path.to_string_lossy().as_ref()).or_else(|| self.rows.get(name.as_ref()))
    }

    /// Files of the sheet that are none of the photographs, so that a slip of the pen is seen.
    pub fn unmatched(&self, paths: &[std::path::PathBuf]) -> Vec<&str> {
        let known = |file: &str| {
            paths.iter().any(|p| {
                p.to_string_lossy() == file || p.file_name().is_some_and(|n| n.to_string_lossy() == file)
            })
        };
        self.rows.keys().filter(|file| !known(file)).map(String::as_str).collect()
    }
}
