//! `trial`: planned trials on test tiles, laid out and compared.

use super::exit::{self, Trouble, say};
use super::outputs::make_folder;
use super::trial_arguments::{CompareOptions, PartsOptions, PlanOptions, TrialAction};
use sherdlight::report::{comparison_table, parts_table, plan_csv, plan_pages, write_file};
use sherdlight::trial::{Comparison, Factor, Factors, Layout, Parts, Plan, Readings, TrialError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Runs the command.
pub fn run(action: &TrialAction) -> Result<u8, Trouble> {
    match action {
        TrialAction::Plan(options) => plan(options),
        TrialAction::Read(options) => super::trial_read::run(options),
        TrialAction::Compare(options) => compare(options),
        TrialAction::Parts(options) => parts(options),
    }
}

fn plan(options: &PlanOptions) -> Result<u8, Trouble> {
    let file = &options.factors;
    let factors = Factors::read(&bytes(file)?).map_err(|error| of(file, &error))?;
    let [rows, columns] = options.grid;
    let (tiles, repeats, seed) = (options.tiles, usize::from(options.repeats), options.seed);
    let plan = Plan::new(&factors, Layout { rows, columns, tiles, repeats, seed })?;
    let page_name = |number: usize| match number {
        0 => "plan.svg".to_owned(),
        later => format!("plan-{}.svg", later + 1),
    };
    let mut files = vec![("plan.csv".to_owned(), plan_csv(&plan)?)];
    let pages = plan_pages(&plan).into_iter().enumerate();
    files.extend(pages.map(|(number, page)| (page_name(number), page.into_bytes())));
    let files: Vec<(PathBuf, Vec<u8>)> =
        files.into_iter().map(|(name, bytes)| (options.out.join(name), bytes)).collect();
    for (path, _) in &files {
        if path.symlink_metadata().is_ok() {
            let sentence = format!("'{}' is there already and is not replaced", path.display());
            return Err(Trouble::settings(sentence, "Name another folder with --out."));
        }
    }
    make_folder(&options.out)?;
    for (path, bytes) in &files {
        write_file(path, bytes)?;
    }
    let firings = factors.firing.len().max(1);
    say(&format!(
        "{} combinations, {repeats} of each in {firings} firing{}: {} swatches on {} tiles, with control and blank on each.",
        plan.combinations,
        if firings == 1 { "" } else { "s" },
        plan.swatches.len(),
        plan.tiles
    ));
    if plan.tiles == firings && firings > 1 {
        say(
            "Each firing has one tile only: firings cannot be compared, for tiles differ too. Take --tiles with more.",
        );
    }
    if repeats == 1 {
        say("Each combination is laid once a firing: with few levels little is left to tell the scatter.");
    }
    say(&format!("The plan is in {}.", options.out.display()));
    Ok(exit::ALL_MEASURED)
}

fn compare(options: &CompareOptions) -> Result<u8, Trouble> {
    let file = &options.file;
    let readings = Readings::read(&bytes(file)?, &options.value).map_err(|error| of(file, &error))?;
    // The name comes from the list of the option.
    let by = Factor::from_name(&options.by).unwrap_or(Factor::Slip);
    let comparison = Comparison::new(&readings, by).map_err(|error| of(file, &error))?;
    print(&if options.json {
        serde_json::to_string(&comparison)? + "\n"
    } else {
        comparison_table(&comparison)
    })
}

fn parts(options: &PartsOptions) -> Result<u8, Trouble> {
    let file = &options.file;
    let readings = Readings::read(&bytes(file)?, &options.value).map_err(|error| of(file, &error))?;
    let parts = Parts::new(&readings).map_err(|error| of(file, &error))?;
    print(&if options.json { serde_json::to_string(&parts)? + "\n" } else { parts_table(&parts) })
}

fn print(text: &str) -> Result<u8, Trouble> {
    let mut out = io::stdout().lock();
    write!(out, "{text}")?;
    out.flush()?;
    Ok(exit::ALL_MEASURED)
}

/// The bytes of a file that was named.
pub fn bytes(file: &Path) -> Result<Vec<u8>, Trouble> {
    std::fs::read(file).map_err(|error| {
        Trouble::settings(
            format!("'{}' cannot be read: {error}", file.display()),
            "Check its name and rights.",
        )
    })
}

/// A cause with the file it lies in.
pub fn of(file: &Path, error: &TrialError) -> Trouble {
    Trouble::settings(format!("'{}' cannot be used: {error}", file.display()), error.hint())
}
