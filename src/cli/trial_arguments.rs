//! What can be typed about planned trials.

use super::arguments::ReadOptions;
use super::ledger_arguments::LedgerPlace;
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Options of `trial`.
#[derive(Debug, Args)]
pub struct TrialOptions {
    /// What to do.
    #[command(subcommand)]
    pub action: TrialAction,
}

/// What can be done with trials.
#[derive(Debug, Subcommand)]
pub enum TrialAction {
    /// Lay a trial out on test tiles: every combination, a control and a blank on every tile, in random places.
    Plan(PlanOptions),
    /// Read photographs of the tiles into the sheet of their plan, the ledger, or both.
    Read(Box<TrialReadOptions>),
    /// Compare slips, paints, coats or firings over measured swatches, all else adjusted for.
    Compare(CompareOptions),
    /// Fire or material: how much of the spread goes to firing, slip, paint, coats, tile and the rest.
    Parts(PartsOptions),
    /// One page of it all, to print or send: what is told apart, the tiles in their measured colours, fire or material.
    Report(TrialReportOptions),
    /// The trials that the ledger holds tiles of.
    List(TrialListOptions),
}

/// Options of `trial plan`.
#[derive(Debug, Args)]
pub struct PlanOptions {
    /// A table (CSV) with the columns factor (slip, paint, coats, firing), level (any name) and control ('yes' beside the slip,
    /// the paint and the coats of your known control). One row a level; firing may be left out.
    #[arg(long, value_name = "FILE")]
    pub factors: PathBuf,
    /// Rows and columns of swatches on a tile, such as 3x4; two of the places are for the control and the blank.
    #[arg(long, value_name = "ROWSxCOLUMNS", value_parser = grid)]
    pub grid: [usize; 2],
    /// Tiles of the whole trial, a multiple of the firings. Unset: as few as hold it.
    #[arg(long, value_name = "N")]
    pub tiles: Option<usize>,
    /// Swatches of each combination in each firing. With one alone nothing tells how much swatches scatter by themselves.
    #[arg(long, value_name = "N", default_value_t = 2, value_parser = clap::value_parser!(u16).range(1..=1000))]
    pub repeats: u16,
    /// Any whole number; the same one gives the same places. It is printed on the plan.
    #[arg(long, value_name = "N")]
    pub seed: u64,
    /// Folder for plan.csv, to fill the readings in, and plan.svg, to print. Further pages are plan-2.svg and so on.
    #[arg(long, value_name = "FOLDER")]
    pub out: PathBuf,
}

/// Options of `trial read`.
#[derive(Debug, Args)]
pub struct TrialReadOptions {
    /// The plan, plan.csv as 'trial plan' wrote it.
    #[arg(value_name = "PLAN")]
    pub plan: PathBuf,
    /// Photographs of the tiles, one each, upright as on the printed plan, in the order of the tiles' numbers.
    #[arg(required = true, value_name = "PHOTO")]
    pub photographs: Vec<PathBuf>,
    /// Which tiles the photographs show, such as 2,5. Unset: all of the plan in their order.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub tiles: Vec<usize>,
    /// File for the plan with its readings (CSV). May be left out where they are kept in the ledger.
    #[arg(long, value_name = "FILE.csv")]
    pub out: Option<PathBuf>,
    /// Keep the readings in the ledger under this name. Tiles of one trial may come in bit by bit; two trials need two names.
    /// Unset, with --ledger or --firing: the name of the plan's file, of plan.csv that of its folder.
    #[arg(long, value_name = "NAME")]
    pub trial: Option<String>,
    /// Where these tiles were fired, by the name it has in the ledger. Unset: the firing that the plan says.
    #[arg(long, value_name = "NAME")]
    pub firing: Option<String>,
    /// Read photographs again that were read before by this plan.
    #[arg(long)]
    pub again: bool,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
    /// How the photographs are read.
    #[command(flatten)]
    pub read: ReadOptions,
}

/// Where the swatches come from: a table, or the ledger.
#[derive(Debug, Args)]
#[group(skip)]
#[command(group = clap::ArgGroup::new("source").args(["file", "trial"]).required(true))]
pub struct TrialSource {
    /// A table (CSV) with the columns of the plan and one or more columns of readings. An empty reading is a lost swatch.
    #[arg(value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// Take the readings that count of this trial from the ledger instead; may be given several times.
    #[arg(long, value_name = "NAME")]
    pub trial: Vec<String>,
    /// Of these, only tiles of this firing; may be given several times.
    #[arg(long, value_name = "NAME", requires = "trial", conflicts_with = "file")]
    pub firing: Vec<String>,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// Options of `trial compare`.
#[derive(Debug, Args)]
pub struct CompareOptions {
    /// Where the swatches come from.
    #[command(flatten)]
    pub source: TrialSource,
    /// What to compare.
    #[arg(long, value_name = "FACTOR", value_parser = ["slip", "paint", "coats", "firing"])]
    pub by: String,
    /// The column of readings, such as l, b or contrast_delta_l.
    #[arg(long, value_name = "COLUMN")]
    pub value: String,
    /// Print one JSON object instead of the table.
    #[arg(long)]
    pub json: bool,
}

/// Options of `trial parts`.
#[derive(Debug, Args)]
pub struct PartsOptions {
    /// Where the swatches come from.
    #[command(flatten)]
    pub source: TrialSource,
    /// The column of readings, such as l, b or contrast_delta_l.
    #[arg(long, value_name = "COLUMN")]
    pub value: String,
    /// Print one JSON object instead of the table.
    #[arg(long)]
    pub json: bool,
}

/// Options of `trial report`.
#[derive(Debug, Args)]
pub struct TrialReportOptions {
    /// Where the swatches come from.
    #[command(flatten)]
    pub source: TrialSource,
    /// The column of readings, such as l, b or contrast_delta_l.
    #[arg(long, value_name = "COLUMN")]
    pub value: String,
    /// Which end of it is wanted: the best stands first. Unset: the highest stands first.
    #[arg(long, value_name = "END", value_parser = ["higher", "lower"])]
    pub better: Option<String>,
    /// What the page is called. Unset: the trials, or the table's name.
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
    /// The page, such as trial.html. An earlier page of a trial is replaced, any other file is not.
    #[arg(long, value_name = "FILE.html")]
    pub out: PathBuf,
}

/// Options of `trial list`.
#[derive(Debug, Args)]
pub struct TrialListOptions {
    /// Print one JSON object a trial instead of the table.
    #[arg(long)]
    pub json: bool,
    /// Where the ledger lies.
    #[command(flatten)]
    pub place: LedgerPlace,
}

/// `3x4` as rows and columns.
fn grid(text: &str) -> Result<[usize; 2], String> {
    let sides = text.split_once(['x', 'X', '×']).map(|(rows, columns)| [rows, columns].map(str::trim));
    match sides.map(|sides| sides.map(str::parse::<usize>)) {
        Some([Ok(rows), Ok(columns)]) if rows > 0 && columns > 0 => Ok([rows, columns]),
        _ => Err("rows and columns are wanted, such as 3x4".into()),
    }
}
