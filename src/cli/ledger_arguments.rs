//! What can be typed about the ledger: firings, recipes, pieces, and the file itself.

use super::arguments::name;
use super::told::{Fields, Firings, Pieces, Recipes, Told};
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Where the ledger lies.
#[derive(Debug, Clone, Default, Args)]
pub struct LedgerPlace {
    /// The ledger. Unset: the file that the environment variable SHERDLIGHT_LEDGER names, else ledger.sqlite in the
    /// system's folder for the data of programs.
    #[arg(long, value_name = "FILE")]
    pub ledger: Option<PathBuf>,
}

/// Options of `firing`.
#[derive(Debug, Args)]
pub struct FiringOptions {
    /// What to do.
    #[command(subcommand)]
    pub action: FiringAction,
}

/// What can be done with firings.
#[derive(Debug, Subcommand)]
pub enum FiringAction {
    /// Enter a firing, or a table of them.
    Add(Box<AddOptions<Firings>>),
    /// List all firings.
    List(ListOptions),
    /// Show a firing: what is known of it, its pieces and its temperatures.
    Show(ShowOptions),
    /// Correct a firing. The first values are kept and shown.
    Edit(Box<EditOptions<Firings>>),
    /// Read a temperature log (CSV): peak, minutes above marks and inside the window, rates, gaps, broken probes.
    Temperatures(TemperaturesOptions),
}

/// Options of `recipe`.
#[derive(Debug, Args)]
pub struct RecipeOptions {
    /// What to do.
    #[command(subcommand)]
    pub action: EntryAction<Recipes>,
}

/// Options of `piece`.
#[derive(Debug, Args)]
pub struct PieceOptions {
    /// What to do.
    #[command(subcommand)]
    pub action: EntryAction<Pieces>,
}

/// What can be done with recipes and pieces.
#[derive(Debug, Subcommand)]
pub enum EntryAction<K: Fields> {
    /// Enter a new one, or a table of them.
    Add(Box<AddOptions<K>>),
    /// List all.
    List(ListOptions),
    /// Show one in full, with its corrections.
    Show(ShowOptions),
    /// Correct one. The first values are kept and shown.
    Edit(Box<EditOptions<K>>),
}

/// Options of `add`.
#[derive(Debug, Args)]
pub struct AddOptions<K: Fields> {
    /// Its name.
    #[arg(value_name = "NAME", required_unless_present = "from")]
    pub name: Option<String>,
    /// Enter every row of a table (CSV) with a column `name` and columns named like the options.
    #[arg(long, value_name = "FILE.csv", conflicts_with = "name")]
    pub from: Option<PathBuf>,
    /// With --from: take the rows that are right where others cannot be used.
    #[arg(long, requires = "from")]
    pub partial: bool,
    /// What is known of it.
    #[command(flatten)]
    pub told: Told<K>,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// Options of `edit`.
#[derive(Debug, Args)]
pub struct EditOptions<K: Fields> {
    /// Its name.
    #[arg(value_name = "NAME")]
    pub name: String,
    /// Why it is corrected.
    #[arg(long, value_name = "WORDS")]
    pub because: Option<String>,
    /// Give it another name.
    #[arg(long, value_name = "NAME", value_parser = name)]
    pub rename: Option<String>,
    /// Take back what was entered: the value of this field is not known.
    #[arg(long, value_name = "FIELD")]
    pub clear: Vec<String>,
    /// The values that are right.
    #[command(flatten)]
    pub told: Told<K>,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// Options of `list`.
#[derive(Debug, Args)]
pub struct ListOptions {
    /// One entry a line as JSON.
    #[arg(long)]
    pub json: bool,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// Options of `show`.
#[derive(Debug, Args)]
pub struct ShowOptions {
    /// Its name.
    #[arg(value_name = "NAME")]
    pub name: String,
    /// Of recipes that share a name: which kind is meant.
    #[arg(long, value_name = "KIND", value_parser = ["clay", "slip", "red", "paint"])]
    pub kind: Option<String>,
    /// All of it as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// Options of `firing temperatures`.
#[derive(Debug, Args)]
pub struct TemperaturesOptions {
    /// The log (CSV): a column of times and one or several of temperatures.
    #[arg(value_name = "FILE.csv")]
    pub file: PathBuf,
    /// Keep it with this firing in the ledger. Unset: it is only read.
    #[arg(long, value_name = "NAME", value_parser = name)]
    pub firing: Option<String>,
    /// Degrees C or F, where the file does not tell.
    #[arg(long, value_name = "C|F", value_parser = ["C", "F"], ignore_case = true)]
    pub unit: Option<String>,
    /// What elapsed times count, where the file does not tell.
    #[arg(long, value_name = "UNIT", value_parser = ["hours", "minutes", "seconds"])]
    pub time_unit: Option<String>,
    /// Temperatures, degrees C, above which the minutes are counted.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub marks: Vec<f64>,
    /// The window, degrees C, in which the minutes are counted. Unset: 680,750 (common practice, no published source).
    #[arg(long, value_name = "LOW,HIGH", value_delimiter = ',', num_args = 1)]
    pub window: Vec<f64>,
    /// Take the rows that are right where others cannot be used.
    #[arg(long)]
    pub partial: bool,
    /// Draw the curve with the window.
    #[arg(long, value_name = "FILE.svg")]
    pub svg: Option<PathBuf>,
    /// The figures as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// Options of `ledger`.
#[derive(Debug, Args)]
pub struct LedgerOptions {
    /// What to do.
    #[command(subcommand)]
    pub action: LedgerAction,
}

/// What can be done with the ledger as a whole.
#[derive(Debug, Subcommand)]
pub enum LedgerAction {
    /// Write all of it as tables (CSV) or as lines of JSON that another ledger can take in.
    Export(ExportOptions),
    /// Take in an export of another ledger or a file of records. What is there already is not entered twice.
    Import(ImportOptions),
    /// Check that it holds together: the file, its links, the hash of every record.
    Check(CheckOptions),
    /// Copy it to a new file, also while another program writes to it.
    Backup(BackupOptions),
}

/// Options of `ledger export`.
#[derive(Debug, Args)]
#[group(id = "form", required = true, multiple = false, args = ["csv", "lines"])]
pub struct ExportOptions {
    /// A folder for the tables.
    #[arg(long, value_name = "DIR")]
    pub csv: Option<PathBuf>,
    /// A file for the lines of JSON; `-` for standard output.
    #[arg(long = "json", value_name = "FILE")]
    pub lines: Option<PathBuf>,
    /// Tell also what is left out unless asked for: folders of photographs, places of firings, exif (time and exposure).
    #[arg(long, value_name = "LIST", value_delimiter = ',', value_parser = ["folders", "places", "exif"])]
    pub with: Vec<String>,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// Options of `ledger import`.
#[derive(Debug, Args)]
pub struct ImportOptions {
    /// An export of another ledger, or records as `score --json` and `score --out` write them.
    #[arg(value_name = "FILE.jsonl")]
    pub file: PathBuf,
    /// Take the lines that are right where others cannot be used.
    #[arg(long)]
    pub partial: bool,
    /// What was taken in as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// Options of `ledger check`.
#[derive(Debug, Args)]
pub struct CheckOptions {
    /// Compare the photographs in this folder with those that were read.
    #[arg(long, value_name = "DIR")]
    pub photos: Option<PathBuf>,
    /// What was found as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// Options of `ledger backup`.
#[derive(Debug, Args)]
pub struct BackupOptions {
    /// The new file.
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}
