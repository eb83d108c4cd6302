//! What can be typed about files of settings: cards and target ranges.

use super::arguments::ReadOptions;
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Options of `card`.
#[derive(Debug, Args)]
pub struct CardOptions {
    /// What to do.
    #[command(subcommand)]
    pub action: CardAction,
}

/// What can be done with cards.
#[derive(Debug, Subcommand)]
pub enum CardAction {
    /// List the cards built in.
    List,
    /// Show all about one card.
    Show(CardShowOptions),
    /// Check a card's file, JSON or CGATS text: what is assumed, or every fault.
    Check(CardCheckOptions),
    /// Learn the colours of a home-made card from photographs in which it lies beside a known card.
    Learn(CardLearnOptions),
}

/// Options of `card show`.
#[derive(Debug, Args)]
pub struct CardShowOptions {
    /// The card: an id that 'card list' names, or a file.
    #[arg(value_name = "ID|FILE")]
    pub card: String,
    /// Print the definition itself, as a file that can be loaded again.
    #[arg(long)]
    pub json: bool,
}

/// Options of `card check`.
#[derive(Debug, Args)]
pub struct CardCheckOptions {
    /// The card's file.
    #[arg(value_name = "FILE")]
    pub file: String,
    /// Where the patches lie, for CGATS text: a JSON file with `layout`, or the id of a built-in card.
    #[arg(long, value_name = "FILE")]
    pub layout: Option<String>,
    /// Write the definition to this file (JSON).
    #[arg(long, value_name = "FILE.json")]
    pub out: Option<PathBuf>,
    /// Replace the file of --out if there is one.
    #[arg(long)]
    pub replace: bool,
}

/// Options of `card learn`.
#[derive(Debug, Args)]
pub struct CardLearnOptions {
    /// Photographs with both cards side by side in the same light; three or more are best.
    #[arg(required = true, value_name = "PHOTO")]
    pub photographs: Vec<PathBuf>,
    /// Where the patches of the new card lie: a JSON file with `layout` and, if wanted, `patches` with id,
    /// name and about what colour.
    #[arg(long, value_name = "FILE")]
    pub layout: String,
    /// The known card beside it: an id that 'card list' names, or a file.
    #[arg(long, value_name = "ID|FILE")]
    pub beside: String,
    /// Write the definition to this file (JSON).
    #[arg(long, value_name = "FILE.json")]
    pub out: PathBuf,
    /// Id of the new card. Unset: the name of the file of --out.
    #[arg(long, value_name = "NAME")]
    pub id: Option<String>,
    /// Outer corners of the new card's patches in pixels, in its reading order; once for each photograph
    /// in order, `find` for those to be found.
    #[arg(long, value_name = "x,y,x,y,x,y,x,y|find", allow_hyphen_values = true)]
    pub corners: Vec<String>,
    /// Replace the file of --out if there is one.
    #[arg(long)]
    pub replace: bool,
    /// Say nothing but errors.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `targets`.
#[derive(Debug, Args)]
pub struct TargetsOptions {
    /// What to do.
    #[command(subcommand)]
    pub action: TargetsAction,
}

/// What can be done with target ranges.
#[derive(Debug, Subcommand)]
pub enum TargetsAction {
    /// List the sets built in.
    List,
    /// Show the ranges of one set.
    Show(TargetsShowOptions),
    /// Check a file: what is assumed, or every fault with its field. Values are counted from 1.
    Check(TargetsCheckOptions),
    /// Learn ranges from photographs of pieces you trust, three or more.
    Learn(Box<TargetsLearnOptions>),
    /// Add the ranges about a Munsell notation, such as that of a piece in a collection, for one surface.
    Add(TargetsAddOptions),
}

/// Options of `targets show`.
#[derive(Debug, Args)]
pub struct TargetsShowOptions {
    /// The set: an id that 'targets list' names, or a file.
    #[arg(value_name = "ID|FILE")]
    pub targets: String,
    /// Print the file itself.
    #[arg(long)]
    pub json: bool,
}

/// Options of `targets check`.
#[derive(Debug, Args)]
pub struct TargetsCheckOptions {
    /// The file, with an ending such as .json.
    #[arg(value_name = "FILE")]
    pub file: String,
}

/// Options of `targets learn`.
#[derive(Debug, Args)]
pub struct TargetsLearnOptions {
    /// Photographs of the pieces, each with the card; of each the largest piece counts.
    #[arg(required = true, value_name = "PHOTO")]
    pub photographs: Vec<PathBuf>,
    /// Write the ranges to this file (JSON).
    #[arg(long, value_name = "FILE.json")]
    pub out: PathBuf,
    /// Id of the new set. Unset: the name of the file of --out.
    #[arg(long, value_name = "NAME")]
    pub id: Option<String>,
    /// Share of all such pieces that the accept range must hold, percent.
    #[arg(long, value_name = "PERCENT", default_value_t = 95.0, value_parser = percent)]
    pub coverage: f64,
    /// Share of all such pieces that the aim range must hold, percent; less than --coverage. With three in four
    /// the aim is what most good pieces reach, and what only some of them do is still accepted.
    #[arg(long, value_name = "PERCENT", default_value_t = 75.0, value_parser = percent)]
    pub aim_coverage: f64,
    /// How sure it must be that the ranges hold those shares, percent. Surer ranges are wider, most of all with
    /// few pieces.
    #[arg(long, value_name = "PERCENT", default_value_t = 90.0, value_parser = percent)]
    pub confidence: f64,
    /// Replace the file of --out if there is one.
    #[arg(long)]
    pub replace: bool,
    /// How to read the photographs.
    #[command(flatten)]
    pub read: ReadOptions,
}

/// Options of `targets add`.
#[derive(Debug, Args)]
pub struct TargetsAddOptions {
    /// The set to add to: a file, or an id that 'targets list' names with --out.
    #[arg(value_name = "FILE|ID")]
    pub targets: String,
    /// The surface that has this colour.
    #[arg(long, value_name = "NAME", value_parser = ["white", "red", "black", "body", "smudged"])]
    pub surface: String,
    /// Its Munsell notation, dry: '10YR 8/2', '7.5YR 7.5/1.5' or 'N 3/'.
    #[arg(long, value_name = "NOTATION")]
    pub munsell: String,
    /// Write to this file instead (JSON).
    #[arg(long, value_name = "FILE.json")]
    pub out: Option<PathBuf>,
    /// Replace the file of --out, or without it the file itself.
    #[arg(long)]
    pub replace: bool,
}

/// A share in percent that a range can be asked to hold.
fn percent(text: &str) -> Result<f64, String> {
    match text.trim_end_matches('%').trim().parse::<f64>() {
        Ok(share) if (50.0..=99.9).contains(&share) => Ok(share),
        _ => Err("a share between 50 and 99.9 percent is wanted, such as 95".into()),
    }
}
