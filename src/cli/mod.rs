//! The command line: what is typed comes in; tables, files and an exit code go out.
//!
//! One file a command. Data goes to standard output, everything for people to standard error.
//! `exit.rs` holds the one table from causes to sentences, hints and exit codes.

mod add_target;
mod again;
mod arguments;
mod card;
mod entries;
mod entries_shown;
mod exit;
mod file_arguments;
mod inputs;
mod keeper;
mod learn;
mod learn_targets;
mod ledger;
mod ledger_arguments;
mod ledger_file;
mod match_pieces;
mod match_table;
mod outputs;
mod page;
mod progress;
mod reasons;
mod report;
mod said;
mod score;
mod settings;
mod table;
mod targets;
mod temperatures;
mod tile_arguments;
mod tiles;
mod told;
mod trend;
mod trial;
mod trial_arguments;
mod trial_kept;
mod trial_read;
mod verify;

use arguments::{Command, CommandLine};
use clap::Parser;
use exit::Trouble;
use std::process::ExitCode;

/// Parses the command line, runs the command and maps its end to an exit code.
pub fn run() -> ExitCode {
    let command = match CommandLine::try_parse() {
        Ok(line) => line.command,
        // Help and version are no trouble: clap prints them to standard output and leaves with 0.
        Err(usage) => {
            let code = if usage.use_stderr() { exit::USAGE } else { exit::ALL_MEASURED };
            return match usage.print() {
                Ok(()) => ExitCode::from(code),
                Err(error) => Trouble::from(error).report(),
            };
        }
    };
    // A panic is a fault of ours: it gets one sentence and a code like any other cause.
    std::panic::set_hook(Box::new(|_| {}));
    let end = std::panic::catch_unwind(|| match command {
        Command::Score(options) => score::run(&options),
        Command::Match(options) => match_pieces::run(&options),
        Command::Tiles(options) => tiles::run(&options),
        Command::Report(options) => report::run(&options),
        Command::Verify(options) => verify::run(&options),
        Command::Reasons(options) => reasons::run(&options),
        Command::Trend(options) => trend::run(&options),
        Command::Trial(options) => trial::run(&options.action),
        Command::Firing(options) => entries::firing(&options.action),
        Command::Recipe(options) => entries::run(&options.action),
        Command::Piece(options) => entries::run(&options.action),
        Command::Ledger(options) => ledger::run(&options.action),
        Command::Card(options) => card::run(&options.action),
        Command::Targets(options) => targets::run(&options.action),
    });
    match end {
        Ok(Ok(code)) => ExitCode::from(code),
        Ok(Err(trouble)) => trouble.report(),
        Err(panic) => Trouble::Ours(exit::panic_words(&*panic)).report(),
    }
}
