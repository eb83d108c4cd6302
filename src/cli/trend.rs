//! `trend`: one surface across readings.

use super::arguments::TrendOptions;
use super::exit::{self, Trouble, say};
use sherdlight::ledger::read_records;
use sherdlight::report::{Trend, TrendBands, write_file};
use sherdlight::verdict::{Quantity, Targets};
use std::io::{self, Write};

/// Runs the command.
pub fn run(options: &TrendOptions) -> Result<u8, Trouble> {
    let mut records = Vec::new();
    for path in &options.records {
        records.extend(read_records(path)?);
    }
    let trend = Trend::new(&records, &options.surface)?;
    let mut out = io::stdout().lock();
    write!(out, "{}", trend.table())?;
    out.flush()?;
    if let Some(file) = &options.svg {
        write_file(file, trend.svg(&bands(&options.surface, &options.targets)?).as_bytes())?;
        say(&format!("The chart is in {}.", file.display()));
    }
    Ok(exit::ALL_MEASURED)
}

/// The aim of the target file, drawn behind the points.
fn bands(surface: &str, targets: &str) -> Result<TrendBands, Trouble> {
    let targets = Targets::load(targets)?;
    let lightness = targets.get(surface, Quantity::Lightness).map(|t| t.aim);
    Ok(TrendBands {
        l: lightness.map(|[low, high]| [low.unwrap_or(0.0), high.unwrap_or(100.0)]),
        ..TrendBands::default()
    })
}
