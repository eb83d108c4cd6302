//! What can be typed after `tiles`.

use super::arguments::ReadOptions;
use clap::Args;
use std::path::PathBuf;

/// Options of `tiles`.
#[derive(Debug, Args)]
pub struct TilesOptions {
    /// Photographs of test tiles or test cylinders, one piece each. Several turns of one cylinder are joined by the names of
    /// their swatches.
    #[arg(required = true, value_name = "PHOTO")]
    pub paths: Vec<PathBuf>,
    /// Rows and columns of the swatches, such as 4x6. Unset: as many as are seen; a single row or column must be
    /// told.
    #[arg(long, value_name = "RxC", value_parser = grid)]
    pub grid: Option<[usize; 2]>,
    /// So many bands one behind the other, around a cylinder or across a tile, with slip between them.
    #[arg(long, value_name = "N", conflicts_with = "grid", value_parser = clap::value_parser!(u16).range(1..=60))]
    pub bands: Option<u16>,
    /// With --grid: middles of the swatches at the corners of the grid, in pixels: first and last of the first row, last and
    /// first of the last row.
    #[arg(long, value_name = "x,y,x,y,x,y,x,y", requires = "grid", allow_hyphen_values = true)]
    pub grid_corners: Option<String>,
    /// Names of the swatches: a table (CSV) with the columns row, column, name, and file where it tells of several
    /// photographs. Bands need no column.
    #[arg(long, value_name = "FILE.csv")]
    pub names: Option<PathBuf>,
    /// Folder for records (JSON Lines), a table (CSV) and pictures of the grid.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// How the photographs are read.
    #[command(flatten)]
    pub read: ReadOptions,
}

/// `4x6`: rows and columns, 1 to 60 each, three swatches at least.
fn grid(text: &str) -> Result<[usize; 2], String> {
    let mut parts = text.splitn(2, ['x', 'X']).map(|n| n.trim().parse::<usize>().ok());
    match (parts.next().flatten(), parts.next().flatten()) {
        (Some(rows), Some(columns))
            if (1..=60).contains(&rows) && (1..=60).contains(&columns) && rows * columns >= 3 =>
        {
            Ok([rows, columns])
        }
        _ => Err("give rows and columns such as 4x6, 1 to 60 each".into()),
    }
}
