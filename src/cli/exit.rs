//! Exit codes, and the one place where a cause becomes a sentence, a hint and a code.

use sherdlight::card::{CardError, DefinitionError};
use sherdlight::ledger::LedgerError;
use sherdlight::report::ReportError;
use sherdlight::road::Stopped;
use sherdlight::trial::TrialError;
use sherdlight::verdict::TargetError;
use std::io::{self, Write};
use std::process::ExitCode;

/// All inputs measured, whatever their grade.
pub const ALL_MEASURED: u8 = 0;
/// A fault of ours.
pub const OURS: u8 = 1;
/// The command line cannot be understood.
pub const USAGE: u8 = 2;
/// Some inputs failed.
pub const SOME_FAILED: u8 = 3;
/// No input could be measured.
pub const NONE_USABLE: u8 = 4;
/// Settings, targets, sheet or output folder.
pub const SETTINGS: u8 = 5;
/// A grade below `--fail-under`.
pub const GRADE_BELOW: u8 = 6;

/// Why a command ended early.
#[derive(Debug)]
pub enum Trouble {
    /// The reader of our output closed it: no trouble at all.
    ClosedPipe,
    /// What was typed cannot be used.
    Usage { sentence: String, hint: String },
    /// A file of settings cannot be used.
    Settings { sentence: String, hint: String },
    /// Nothing could be measured; each cause has been said already.
    NoneUsable { sentence: String, hint: String },
    /// A fault of ours.
    Ours(String),
}

impl Trouble {
    /// Something typed that cannot be used.
    pub fn usage(sentence: impl Into<String>, hint: impl Into<String>) -> Self {
        Trouble::Usage { sentence: sentence.into(), hint: hint.into() }
    }
    /// A settings file that cannot be used.
    pub fn settings(sentence: impl Into<String>, hint: impl Into<String>) -> Self {
        Trouble::Settings { sentence: sentence.into(), hint: hint.into() }
    }

    /// Says it on standard error and gives the exit code.
    pub fn report(&self) -> ExitCode {
        let (sentence, hint, code) = match self {
            Trouble::ClosedPipe => return ExitCode::from(ALL_MEASURED),
            Trouble::Usage { sentence, hint } => (sentence.as_str(), hint.as_str(), USAGE),
            Trouble::Settings { sentence, hint } => (sentence.as_str(), hint.as_str(), SETTINGS),
            Trouble::NoneUsable { sentence, hint } => (sentence.as_str(), hint.as_str(), NONE_USABLE),
            Trouble::Ours(what) => (what.as_str(), "Please report it.", OURS),
        };
        say(&format!("{} {hint}", full_stop(sentence)));
        ExitCode::from(code)
    }
}

/// What a panic said.
pub fn panic_words(panic: &(dyn std::any::Any + Send)) -> String {
    let text = panic.downcast_ref::<String>().map(String::as_str);
    text.or_else(|| panic.downcast_ref::<&str>().copied())
        .unwrap_or("the program stopped without a reason")
        .into()
}

/// One line for people. A closed standard error is nobody's trouble.
pub fn say(line: &str) {
    let _ = writeln!(io::stderr().lock(), "{}", line.trim_end());
}

/// Says [`stopped_line`].
pub fn say_stopped(stopped: &Stopped) {
    say(&stopped_line(stopped));
}

/// One line on a photograph that was not measured: name, cause, next step.
pub fn stopped_line(stopped: &Stopped) -> String {
    let name = &stopped.record.photo.path;
    let shown = match stopped.record.outputs.get("search") {
        Some(file) => format!(" What was seen is drawn in {file}."),
        None => String::new(),
    };
    format!("{name}: {} {}{shown}", full_stop(&stopped.fault.to_string()), stopped.fault.hint())
}

fn full_stop(sentence: &str) -> String {
    let sentence = sentence.trim();
    if sentence.ends_with(['.', '!', '?']) { sentence.into() } else { format!("{sentence}.") }
}

impl From<io::Error> for Trouble {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Trouble::ClosedPipe,
            _ => Trouble::Ours(format!("writing failed: {error}")),
        }
    }
}

impl From<TargetError> for Trouble {
    fn from(error: TargetError) -> Self {
        Trouble::settings(error.to_string(), "Name a built-in set or put the file right.")
    }
}

impl From<LedgerError> for Trouble {
    fn from(error: LedgerError) -> Self {
        match error.is_ours() {
            true => Trouble::Ours(error.to_string()),
            false => Trouble::settings(error.to_string(), error.hint()),
        }
    }
}

impl From<TrialError> for Trouble {
    fn from(error: TrialError) -> Self {
        Trouble::settings(error.to_string(), error.hint())
    }
}

impl From<CardError> for Trouble {
    fn from(error: CardError) -> Self {
        Trouble::settings(error.to_string(), error.hint())
    }
}

impl From<DefinitionError> for Trouble {
    fn from(error: DefinitionError) -> Self {
        CardError::from(error).into()
    }
}

impl From<ReportError> for Trouble {
    fn from(error: ReportError) -> Self {
        match error {
            ReportError::NothingToDraw { .. } => {
                Trouble::NoneUsable { sentence: error.to_string(), hint: String::new() }
            }
            ReportError::Write { .. } => Trouble::settings(error.to_string(), ""),
            _ => Trouble::Ours(error.to_string()),
        }
    }
}

impl From<serde_json::Error> for Trouble {
    fn from(error: serde_json::Error) -> Self {
        Trouble::Ours(format!("a record could not be written as JSON: {error}"))
    }
}
