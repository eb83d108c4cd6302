//! `trend`: one surface across readings, and whether it drifted.

use super::arguments::TrendOptions;
use super::exit::{self, Trouble, say};
use super::ledger_file;
use sherdlight::ledger::read_records;
use sherdlight::ledger::trend::{Trend, TrendBy, TrendLeftOut, TrendValue, points_of};
use sherdlight::reading::to_json_line;
use sherdlight::report::{ReportError, trend_chart, trend_table, write_file};
use sherdlight::verdict::Targets;
use std::io::{self, Write};

/// Runs the command.
pub fn run(options: &TrendOptions) -> Result<u8, Trouble> {
    let targets = Targets::load(&options.targets)?;
    let (mut points, without) = if options.records.is_empty() {
        ledger_file::look(&options.place)?.points(&options.surface)?
    } else {
        let mut records = Vec::new();
        for path in &options.records {
            records.extend(read_records(path)?);
        }
        points_of(&records, &options.surface)
    };
    let mut left_out = vec![TrendLeftOut { reason: "without this surface".into(), count: without }];
    if let Some(recipe) = &options.recipe {
        let all = points.len();
        points.retain(|point| point.batch.as_ref() == Some(recipe));
        left_out
            .push(TrendLeftOut { reason: format!("not of the batch '{recipe}'"), count: all - points.len() });
    }
    // Both names come from the lists of the options.
    let value = TrendValue::from_name(&options.value).unwrap_or_default();
    let by = if options.by == "firing" { TrendBy::Firing } else { TrendBy::Date };
    let trend = Trend::new(points, &options.surface, value, by, &targets, left_out);
    if trend.points.is_empty() {
        for left in &trend.left_out {
            say(&format!("{} left out, {}.", left.count, left.reason));
        }
        return Err(ReportError::NothingToDraw { surface: options.surface.clone() }.into());
    }
    let mut out = io::stdout().lock();
    match options.json {
        true => writeln!(out, "{}", to_json_line(&trend)?)?,
        false => write!(out, "{}", trend_table(&trend))?,
    }
    out.flush()?;
    if let Some(file) = &options.svg {
        write_file(file, trend_chart(&trend).as_bytes())?;
        say(&format!("The chart is in {}.", file.display()));
    }
    Ok(exit::ALL_MEASURED)
}
