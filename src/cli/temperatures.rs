//! `firing temperatures`: a log read, told, drawn, kept.

use super::exit::{self, Trouble, say};
use super::keeper::say_new_firing;
use super::ledger_arguments::TemperaturesOptions;
use super::ledger_file;
use sha2::{Digest, Sha256};
use sherdlight::ledger::temperatures::{LogError, Marks, TemperatureLog, TimeUnit, Told, Unit, summary};
use sherdlight::ledger::{FIRINGS, LedgerError, Named};
use sherdlight::report::{heat_chart, heat_words, write_file};
use std::io::{self, Write};

/// Runs the command.
pub fn run(options: &TemperaturesOptions) -> Result<u8, Trouble> {
    let marks = marks(options)?;
    let file = &options.file;
    let unreadable = |e: io::Error| LedgerError::Unreadable { path: file.clone(), reason: e.to_string() };
    let bytes = std::fs::read(file).map_err(unreadable)?;
    let told = Told {
        temperature: options.unit.as_deref().map(|unit| match unit {
            "F" | "f" => Unit::Fahrenheit,
            _ => Unit::Celsius,
        }),
        time: options.time_unit.as_deref().map(|unit| match unit {
            "hours" => TimeUnit::Hours,
            "minutes" => TimeUnit::Minutes,
            _ => TimeUnit::Seconds,
        }),
    };
    let read = TemperatureLog::read(&bytes, &told).map_err(|error| {
        let hint = match error {
            LogError::UnitUnknown { .. } => "Say --unit C or --unit F.",
            LogError::UnitContradicted { .. } => "Leave --unit away, or put the file right.",
            LogError::TimeUnitUnknown { .. } => "Say --time-unit hours, minutes or seconds.",
            _ => "",
        };
        Trouble::settings(format!("the log '{}' cannot be used: {error}", file.display()), hint)
    })?;
    if !read.faults.is_empty() && !options.partial {
        let what = format!("the log '{}'", file.display());
        return Err(LedgerError::Cells { what, faults: read.faults }.into());
    }
    read.remarks.iter().for_each(|line| say(line));
    read.faults.iter().for_each(|fault| say(&format!("Left out: {fault}.")));
    let figures = summary(&read.log, &marks);
    let mut out = io::stdout().lock();
    match options.json {
        true => writeln!(out, "{}", serde_json::to_string(&figures)?)?,
        false => write!(out, "{}", heat_words(&figures))?,
    }
    out.flush()?;
    if let Some(svg) = &options.svg {
        write_file(svg, heat_chart("temperatures", &read.log, &figures).as_bytes())?;
        say(&format!("The curve is in {}.", svg.display()));
    }
    if let Some(firing) = &options.firing {
        let mut ledger = ledger_file::open(&options.place)?;
        let name = file.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        let sha256 = format!("{:x}", Sha256::digest(&bytes));
        if ledger.entry(&FIRINGS, &Named::new(firing)).is_err() {
            say_new_firing(firing);
        }
        let kept = match ledger.keep_log(firing, &name, &sha256, &read.log)? {
            true => "Kept with",
            false => "It was kept before with",
        };
        say(&format!("{kept} the firing '{firing}' in {}.", ledger.path().display()));
    }
    Ok(if read.faults.is_empty() { exit::ALL_MEASURED } else { exit::SOME_FAILED })
}

/// The marks and the window, as told or the usual ones.
fn marks(options: &TemperaturesOptions) -> Result<Marks, Trouble> {
    let mut marks = Marks::default();
    if !options.marks.is_empty() {
        marks.above.clone_from(&options.marks);
    }
    match options.window[..] {
        [] => {}
        [low, high] if low < high => marks.window = [low, high],
        _ => {
            return Err(Trouble::usage(
                "--window: two temperatures in degrees C are wanted, the lower first",
                "Say for instance --window 680,750.",
            ));
        }
    }
    Ok(marks)
}
