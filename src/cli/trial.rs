//! `trial`: planned trials on test tiles, laid out and compared.

use super::exit::{self, Trouble, say};
use super::outputs::make_folder;
use super::trial_arguments::{
    CompareOptions, PartsOptions, PlanOptions, TrialAction, TrialListOptions, TrialReportOptions, TrialSource,
};
use super::{ledger_file, table};
use sherdlight::report::{
    Order, TrialPage, comparison_table, parts_table, plan_csv, plan_pages, stem_of, trial_table, write_file,
};
use sherdlight::trial::{
    Comparison, Factor, Factors, Findings, Layout, Parts, Plan, Readings, TrialError, TrialTile,
};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Runs the command.
pub fn run(action: &TrialAction) -> Result<u8, Trouble> {
    match action {
        TrialAction::Plan(options) => plan(options),
        TrialAction::Read(options) => super::trial_read::run(options),
        TrialAction::Compare(options) => compare(options),
        TrialAction::Parts(options) => parts(options),
        TrialAction::Report(options) => report(options),
        TrialAction::List(options) => list(options),
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
    let table = Swatches::of(&options.source)?;
    let readings = table.readings(&options.value)?;
    // The name comes from the list of the option.
    let by = Factor::from_name(&options.by).unwrap_or(Factor::Slip);
    let comparison = Comparison::new(&readings, by).map_err(|error| table.unfit(&error))?;
    print(&if options.json {
        serde_json::to_string(&comparison)? + "\n"
    } else {
        comparison_table(&comparison)
    })
}

fn parts(options: &PartsOptions) -> Result<u8, Trouble> {
    let table = Swatches::of(&options.source)?;
    let readings = table.readings(&options.value)?;
    let parts = Parts::new(&readings).map_err(|error| table.unfit(&error))?;
    print(&if options.json { serde_json::to_string(&parts)? + "\n" } else { parts_table(&parts) })
}

fn report(options: &TrialReportOptions) -> Result<u8, Trouble> {
    check_place(&options.out)?;
    let table = Swatches::of(&options.source)?;
    let readings = table.readings(&options.value)?;
    let unfit = |error: TrialError| table.unfit(&error);
    let findings = Findings::new(&readings).map_err(unfit)?;
    let tiles = TrialTile::read_all(&table.bytes, &options.value).map_err(unfit)?;
    let named = options.source.file.as_deref().map(stem_of);
    let title = options.title.clone().or(named).unwrap_or_else(|| options.source.trial.join(", "));
    let order = match options.better.as_deref() {
        Some("higher") => Order::HigherIsBetter,
        Some("lower") => Order::LowerIsBetter,
        _ => Order::HighestFirst,
    };
    let page = TrialPage { title: &title, findings: &findings, tiles: &tiles, order };
    write_file(&options.out, page.html()?.as_bytes())?;
    say(&format!("The page is in {}.", options.out.display()));
    Ok(exit::ALL_MEASURED)
}

/// An earlier page of a trial may be replaced; anything else that somebody made stays.
fn check_place(file: &Path) -> Result<(), Trouble> {
    let unfit = |what: &str, hint: &str| {
        let sentence = format!("the page cannot be written to '{}': {what}", file.display());
        Err(Trouble::settings(sentence, hint))
    };
    let ending = file.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match std::fs::read(file) {
        _ if !matches!(ending.as_deref(), Some("html" | "htm")) => {
            unfit("its name does not end in .html", "Name a file such as trial.html.")
        }
        Ok(there) if !TrialPage::is_one(&String::from_utf8_lossy(&there)) => {
            unfit("the file is there already and is no page of a trial", "Name another file.")
        }
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            unfit(&error.to_string(), "Name another file.")
        }
        _ => Ok(()),
    }
}

fn list(options: &TrialListOptions) -> Result<u8, Trouble> {
    let trials = ledger_file::look(&options.place)?.trials()?;
    if options.json {
        let lines: Result<Vec<String>, Trouble> =
            trials.iter().map(|trial| Ok(serde_json::to_string(trial)? + "\n")).collect();
        return print(&lines?.concat());
    }
    if trials.is_empty() {
        say("The ledger holds no trial yet: 'sherdlight trial read' with --trial NAME keeps one.");
        return Ok(exit::ALL_MEASURED);
    }
    let mut rows = vec![["trial", "tiles", "firings", "swatches", "read"].map(str::to_owned).to_vec()];
    rows.extend(trials.into_iter().map(|trial| {
        let tiles = runs(&trial.tiles);
        let counts = [trial.swatches, trial.read].map(|count| count.to_string());
        [vec![trial.name, tiles, trial.firings.join(", ")], counts.to_vec()].concat()
    }));
    print(&table::align(&rows, &[3, 4]))
}

/// `1, 2, 5-9`: rising numbers, three and more in a row as from and to.
fn runs(numbers: &[usize]) -> String {
    let run = |run: &[usize]| match run {
        [first, _, .., last] => vec![format!("{first}-{last}")],
        few => few.iter().map(usize::to_string).collect(),
    };
    numbers.chunk_by(|one, next| one + 1 == *next).flat_map(run).collect::<Vec<_>>().join(", ")
}

/// The table of swatches that was asked for, and what it is called when something is wrong with it.
pub struct Swatches {
    /// CSV, as a person may hand it in.
    pub bytes: Vec<u8>,
    file: Option<PathBuf>,
}

impl Swatches {
    /// Reads the file, or takes the swatches from the ledger.
    pub fn of(source: &TrialSource) -> Result<Self, Trouble> {
        if let Some(file) = &source.file {
            return Ok(Self { bytes: bytes(file)?, file: Some(file.clone()) });
        }
        let swatches = ledger_file::look(&source.place)?.trial_swatches(&source.trial, &source.firing)?;
        Ok(Self { bytes: trial_table(&swatches)?, file: None })
    }

    /// The readings of one column. What they cannot answer is said.
    pub fn readings(&self, value: &str) -> Result<Readings, Trouble> {
        let readings = Readings::read(&self.bytes, value).map_err(|error| self.unfit(&error))?;
        for tile in readings.without_control() {
            say(&format!(
                "Tile {tile} has no control with a value: its fire cannot be set against the others by it."
            ));
        }
        Ok(readings)
    }

    /// A cause, with the file it lies in where there is one.
    pub fn unfit(&self, error: &TrialError) -> Trouble {
        match &self.file {
            Some(file) => of(file, error),
            None => Trouble::settings(error.to_string(), error.hint()),
        }
    }
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

#[cfg(test)]
mod tests {
    use super::runs;

    #[test]
    fn tiles_in_a_row_are_told_in_short() {
        assert_eq!(runs(&[1, 2, 5, 6, 7, 8, 12]), "1, 2, 5-8, 12");
        assert_eq!((runs(&[3]), runs(&[])), ("3".into(), String::new()));
    }
}
