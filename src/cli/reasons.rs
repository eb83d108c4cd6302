//! `reasons`: one record told in full.

use super::arguments::ReasonsOptions;
use super::exit::{self, Trouble};
use super::ledger_file;
use sherdlight::ledger::{Choice, read_records};
use sherdlight::reading::Record;
use sherdlight::report::{file_name_of, reasons};
use std::io::{self, Write};
use std::path::Path;

/// Runs the command. A file of several records is told one after the other unless one is chosen.
pub fn run(options: &ReasonsOptions) -> Result<u8, Trouble> {
    let (records, source) = match (&options.record, &options.photo) {
        (None, Some(photo)) => {
            let ledger = ledger_file::look(&options.place)?;
            (ledger.records_of_choice(Choice::Photograph(photo))?, ledger.path().display().to_string())
        }
        (file, _) => {
            let file = file.as_deref().unwrap_or(Path::new(""));
            (read_records(file)?, file.display().to_string())
        }
    };
    let chosen: Vec<&Record> = records
        .iter()
        .filter(|record| {
            let path = &record.photo().path;
            options.photo.as_deref().is_none_or(|name| path == name || file_name_of(path) == name)
                && options.piece.is_none_or(|n| record.reading().is_some_and(|r| r.piece.number == n))
        })
        .collect();
    if chosen.is_empty() {
        return Err(Trouble::NoneUsable {
            sentence: format!("'{source}' holds no such record"),
            hint: "Name a photograph as the record names it, or leave --photo and --piece away.".into(),
        });
    }
    let mut out = io::stdout().lock();
    for (at, record) in chosen.iter().enumerate() {
        if at > 0 {
            writeln!(out)?;
        }
        match record {
            Record::Measured(reading) => write!(out, "{}", reasons(reading))?,
            Record::Failed(failure) => {
                writeln!(out, "{}: not measured. {}", failure.photo.path, failure.error.text)?;
            }
        }
    }
    out.flush()?;
    Ok(exit::ALL_MEASURED)
}
