//! What can be typed.

use super::file_arguments::{CardOptions, TargetsOptions};
use super::ledger_arguments::{FiringOptions, LedgerOptions, LedgerPlace, PieceOptions, RecipeOptions};
use super::tile_arguments::TilesOptions;
use super::trial_arguments::TrialOptions;
use clap::{Args, Parser, Subcommand};
use sherdlight::ledger::FileNames;
use std::path::PathBuf;

/// Colour-corrected readings and grades of fired slip-painted pottery, from photographs taken beside a colour card.
#[derive(Debug, Parser)]
#[command(name = "sherdlight", version, max_term_width = 100)]
pub struct CommandLine {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What the advice after a firing rests on.
const FIRING: &str = "Makers fire this ware at about 680 to 750 degrees C with a short hold, about 700 as the aim (common \
                      practice, no published source). Air and minutes count as much as degrees, and no temperature can \
                      be read from a colour. Open fire burns and gives off carbon monoxide: fire outdoors, stay upwind, \
                      follow the local rules.";

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Measure photographs and grade the pieces in them.
    #[command(after_help = FIRING)]
    Score(ScoreOptions),
    /// Compare a replica with photographs of its reference, surface by surface.
    Match(MatchOptions),
    /// Read the swatches of test tiles and test cylinders: colours, contrast to the slip, ranks, and which differ.
    Tiles(TilesOptions),
    /// One page of a load that was read before, to read, print and send.
    #[command(after_help = FIRING)]
    Report(ReportOptions),
    /// Tell whether a report, its records and its photographs belong together, and measure these again.
    Verify(VerifyOptions),
    /// Follow a surface across readings, in the order the photographs were taken, and tell whether it drifted.
    Trend(TrendOptions),
    /// Trials of slips, paints, coats and firings on test tiles: lay one out, compare what was measured.
    Trial(TrialOptions),
    /// Firings: enter, list, show and correct them, read their temperature logs.
    #[command(after_help = FIRING)]
    Firing(FiringOptions),
    /// Recipes of clay, slip, red and paint: enter, list, show and correct them.
    Recipe(RecipeOptions),
    /// Pieces: enter, list, show and correct them.
    Piece(PieceOptions),
    /// The ledger as a whole: export, import, check, backup.
    Ledger(LedgerOptions),
    /// Tell one record in full: each number, where it comes from, its uncertainty by part, and how the grade followed.
    Reasons(ReasonsOptions),
    /// Card definitions: list, show and check them, or learn that of a card of your own.
    Card(CardOptions),
    /// Target ranges: list, show and check them, learn them from pieces you trust, or add those of a Munsell notation.
    Targets(TargetsOptions),
}

/// How photographs are read; the same for every command that reads any.
#[derive(Debug, Clone, Default, Args)]
pub struct ReadOptions {
    /// The card in the photographs: chart24-a (made before November 2014), chart24-b (made since),
    /// chart24-iso, or a file of your own. Unset: the edition counts as not known.
    #[arg(long, value_name = "ID|FILE")]
    pub card: Option<String>,
    /// Width of one patch of the card in mm, measured with a ruler: lengths are then given in mm.
    #[arg(long, value_name = "MM", value_parser = patch_mm)]
    pub patch_mm: Option<f64>,
    /// Outer corners of the patch grid in pixels: first patch, end of first row, last patch, start of last row.
    #[arg(long, value_name = "x,y,x,y,x,y,x,y", allow_hyphen_values = true)]
    pub card_corners: Option<String>,
    /// Patches that must not be used, such as 1,7,8.
    #[arg(long, value_name = "LIST")]
    pub skip_patches: Option<String>,
    /// Take the colours from the card in another photograph of the session, scaled by the exposure of both.
    /// Corners and patches to skip are then those of that photograph.
    #[arg(long, value_name = "PHOTO")]
    pub card_from: Option<PathBuf>,
    /// With --card-from: take it that both were exposed alike where the files do not tell.
    #[arg(long, requires = "card_from")]
    pub same_exposure: bool,
    /// Where the piece lies, in pixels: a box, or a file with one x,y a line.
    #[arg(long, value_name = "x,y,w,h|FILE", allow_hyphen_values = true)]
    pub outline: Option<String>,
    /// What was meant: smudged, a surface blackened as a whole on purpose, such as a bowl's inside. What is black all
    /// over is then not measured as paint.
    #[arg(long, value_name = "KIND", value_parser = ["smudged"])]
    pub surface: Option<String>,
    /// Where the light ball lies, where it is not found: middle and radius in pixels.
    #[arg(long, value_name = "x,y,r", allow_hyphen_values = true)]
    pub ball: Option<String>,
    /// Form of the pieces, for the light on them: a vessel turned about an axis, or flat and in the card's plane. Unset:
    /// round where the outline is symmetric and the shading agrees.
    #[arg(long, value_name = "FORM", value_parser = ["round", "flat"])]
    pub form: Option<String>,
    /// Target ranges: a built-in name or a file of your own.
    #[arg(long, value_name = "ID|FILE", default_value = "three-colour-low-fired")]
    pub targets: String,
    /// Most that a decision may be wrong, in percent. Unset: 5. Less makes more pieces 'cannot tell'.
    #[arg(long, value_name = "PERCENT", value_parser = risk)]
    pub risk: Option<f64>,
    /// Write one record a line (JSON) to standard output and nothing else there.
    #[arg(long)]
    pub json: bool,
    /// How many photographs to work on at once. Unset: one a core.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub threads: Option<u16>,
    /// Say nothing but errors.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `score`.
#[derive(Debug, Args)]
pub struct ScoreOptions {
    /// Photographs, or folders of them.
    #[arg(required = true, value_name = "PATH")]
    pub paths: Vec<PathBuf>,
    /// Folder for pictures of the map, corrected pictures, records (JSON Lines) and a table (CSV).
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// One self-contained page of the load; its tables (CSV) are written beside it.
    #[arg(long, value_name = "FILE.html")]
    pub report: Option<PathBuf>,
    /// A photograph of the same piece before the fire, painted: what became of the paint, stroke by stroke. With one photograph
    /// of the fired piece only, taken from the same side.
    #[arg(long, value_name = "PHOTO")]
    pub before: Option<PathBuf>,
    /// Folder for the surface maps as 8-bit grey PNG.
    #[arg(long, value_name = "DIR")]
    pub labels: Option<PathBuf>,
    /// Folder for the light on the pieces as 8-bit grey PNG: 127 is the card's light, 0 is no piece.
    #[arg(long, value_name = "DIR")]
    pub light: Option<PathBuf>,
    /// A table (CSV) with one row a photograph: file, piece, firing, clay, slip, red, paint, place, shape, size, state, soak
    /// test, flaws, notes. Only file is needed.
    #[arg(long, value_name = "FILE.csv")]
    pub sheet: Option<PathBuf>,
    /// Keep the readings in the ledger, under this firing where the sheet names none.
    #[arg(long, value_name = "NAME", value_parser = name)]
    pub firing: Option<String>,
    /// What the names of the files tell, such as '{firing}-{piece}-*'. In braces: firing, piece, clay, slip, red, paint,
    /// place; * is anything. The sheet goes before.
    #[arg(long, value_name = "PATTERN")]
    pub file_names: Option<FileNames>,
    /// Read photographs again that the ledger holds already, read with the same settings.
    #[arg(long)]
    pub again: bool,
    /// Take the rows of the sheet that are right where others cannot be used.
    #[arg(long)]
    pub partial: bool,
    /// The ledger; its readings are kept where it or --firing is given.
    #[command(flatten)]
    pub place: LedgerPlace,
    /// Stop at the first photograph that cannot be measured.
    #[arg(long)]
    pub fail_fast: bool,
    /// Leave with 6 where a piece is graded below this: sound, marginal, cannot-tell, faulty.
    #[arg(long, value_name = "GRADE", value_parser = ["sound", "marginal", "cannot-tell", "faulty"])]
    pub fail_under: Option<String>,
    /// How to read the photographs.
    #[command(flatten)]
    pub read: ReadOptions,
}

/// Options of `match`.
#[derive(Debug, Args)]
pub struct MatchOptions {
    /// Photograph of the replica.
    #[arg(value_name = "REPLICA")]
    pub replica: PathBuf,
    /// Photographs of the reference. One without a card is compared in what needs none.
    #[arg(long, required = true, num_args = 1.., value_name = "SHOT")]
    pub reference: Vec<PathBuf>,
    /// Folder for a picture of both side by side, `REPLICA.match.jpg`.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How to read the photographs.
    #[command(flatten)]
    pub read: ReadOptions,
}

/// How a run goes about its photographs.
#[derive(Debug, Clone, Default, Args)]
pub struct PaceOptions {
    /// How many photographs to work on at once. Unset: one a core.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub threads: Option<u16>,
    /// Say nothing but errors.
    #[arg(long)]
    pub quiet: bool,
}

/// Options of `report`.
#[derive(Debug, Args)]
pub struct ReportOptions {
    /// Records (JSON Lines), as `score --json`, `score --out` or `match --json` write them.
    #[arg(value_name = "RECORDS.jsonl", conflicts_with_all = ["firing", "since"])]
    pub records: Vec<PathBuf>,
    /// The pieces of this firing of the ledger.
    #[arg(long, value_name = "NAME", value_parser = name, conflicts_with = "since")]
    pub firing: Option<String>,
    /// The pieces of all firings of the ledger since this day, such as 2026-05-03.
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub since: Option<String>,
    /// The page; its tables (CSV) are written beside it.
    #[arg(long, value_name = "FILE.html")]
    pub out: PathBuf,
    /// Folders in which the photographs lie, with all below. Where one is not found its piece has no picture.
    #[arg(long, value_name = "DIR", num_args = 1..)]
    pub photos: Vec<PathBuf>,
    /// What the page is called. Unset: after its firings.
    #[arg(long, value_name = "WORDS")]
    pub title: Option<String>,
    /// Write all that the page says to this file as JSON, for a page of your own.
    #[arg(long, value_name = "FILE.json")]
    pub context: Option<PathBuf>,
    /// The ledger, with --firing or --since.
    #[command(flatten)]
    pub place: LedgerPlace,
    /// How to go about it.
    #[command(flatten)]
    pub pace: PaceOptions,
}

/// Options of `verify`.
#[derive(Debug, Args)]
pub struct VerifyOptions {
    /// The page of a report.
    #[arg(value_name = "REPORT.html")]
    pub report: PathBuf,
    /// Folders in which its photographs lie, with all below: each is measured again with the settings that were recorded.
    #[arg(long, value_name = "DIR", num_args = 1..)]
    pub photos: Vec<PathBuf>,
    /// Files of records (JSON Lines) that should be those of the page.
    #[arg(long, value_name = "RECORDS.jsonl", num_args = 1..)]
    pub records: Vec<PathBuf>,
    /// Print what was found as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// How to go about it.
    #[command(flatten)]
    pub pace: PaceOptions,
}

/// Options of `reasons`.
#[derive(Debug, Args)]
pub struct ReasonsOptions {
    /// Records (JSON Lines), as `score --json` or `score --out` writes them. None: the ledger, with --photo.
    #[arg(value_name = "RECORDS.jsonl", required_unless_present = "photo")]
    pub record: Option<PathBuf>,
    /// The ledger, where no records are named.
    #[command(flatten)]
    pub place: LedgerPlace,
    /// Only the records of this photograph.
    #[arg(long, value_name = "NAME")]
    pub photo: Option<String>,
    /// Only the piece of this number.
    #[arg(long, value_name = "N")]
    pub piece: Option<usize>,
}

/// Options of `trend`.
#[derive(Debug, Args)]
pub struct TrendOptions {
    /// Records (JSON Lines), as `score --json` or `score --out` writes them. None: the readings of the ledger.
    #[arg(value_name = "RECORDS.jsonl")]
    pub records: Vec<PathBuf>,
    /// The ledger, where no records are named.
    #[command(flatten)]
    pub place: LedgerPlace,
    /// The surface to follow.
    #[arg(long, default_value = "white", value_parser = ["white", "red", "black", "body", "smudged"])]
    pub surface: String,
    /// What to follow: distance (CIEDE2000 to the centre of the target's aim), L, b, C or whiteness (ASTM E313, only where
    /// its formula holds).
    #[arg(long, value_name = "VALUE", default_value = "distance", value_parser = ["distance", "L", "b", "C", "whiteness"])]
    pub value: String,
    /// One point a reading (date) or one a firing, the mean of its pieces (firing). Pieces of one firing share its luck:
    /// by firing the limits are those of firings.
    #[arg(long, value_name = "HOW", default_value = "date", value_parser = ["date", "firing"])]
    pub by: String,
    /// Only readings of this batch: the slip of white, the red, the paint of black, by its name in the sheet.
    #[arg(long, value_name = "NAME")]
    pub recipe: Option<String>,
    /// Target ranges to whose aim the distance is taken: a built-in name or a file of your own.
    #[arg(long, value_name = "ID|FILE", default_value = "three-colour-low-fired")]
    pub targets: String,
    /// Write the chart to this file.
    #[arg(long, value_name = "FILE.svg")]
    pub svg: Option<PathBuf>,
    /// Print the trend as one JSON object instead of the table.
    #[arg(long)]
    pub json: bool,
}

/// A name with at least one letter; spaces about it do not count.
pub fn name(text: &str) -> Result<String, String> {
    match text.trim() {
        "" => Err("a name is wanted".into()),
        name => Ok(name.into()),
    }
}

/// A day of the calendar, `2026-05-03`.
fn day(text: &str) -> Result<String, String> {
    match sherdlight::ledger::is_day(text.trim()) {
        true => Ok(text.trim().into()),
        false => Err("a day is wanted, such as 2026-05-03".into()),
    }
}

/// A width in mm that a patch can have.
fn patch_mm(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(mm) if (1.0..=500.0).contains(&mm) => Ok(mm),
        _ => Err("a width between 1 and 500 mm is wanted, such as 40 or 12.5".into()),
    }
}

/// A risk in percent that a decision can bear.
fn risk(text: &str) -> Result<f64, String> {
    match text.trim_end_matches('%').trim().parse::<f64>() {
        Ok(percent) if (0.1..=50.0).contains(&percent) => Ok(percent),
        _ => Err("a number of percent between 0.1 and 50 is wanted, such as 5".into()),
    }
}
