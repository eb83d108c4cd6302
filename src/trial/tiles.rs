//! Tiles as they lie, for showing: what was laid at each place, and what was read there.

use super::readings::{key, unguarded};
use super::{Role, TrialError};
use crate::ledger::Table;
use crate::ledger::table::{Columns, Row, plain_name};

/// Most rows and columns of a tile.
const MOST: usize = 60;

/// A tile of a trial.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TrialTile {
    /// Its trial, where the table tells.
    pub trial: Option<String>,
    /// Its number, as written.
    pub number: String,
    /// Where it was fired.
    pub firing: Option<String>,
    /// Seed by which its places were drawn.
    pub seed: Option<u64>,
    /// File name of its photograph.
    pub photograph: Option<String>,
    /// Its places in the order of rows and columns.
    pub places: Vec<TilePlace>,
}

/// A place of a tile on which something was laid.
#[derive(Debug, Clone, PartialEq)]
pub struct TilePlace {
    /// Row from 1.
    pub row: usize,
    /// Column from 1.
    pub column: usize,
    /// Its name in the plan.
    pub name: Option<String>,
    /// What it is for.
    pub role: Role,
    /// Its slip.
    pub slip: Option<String>,
    /// Its paint.
    pub paint: Option<String>,
    /// Its coats.
    pub coats: Option<String>,
    /// The reading that was asked for.
    pub value: Option<f64>,
    /// Half-width of its 95 % interval.
    pub u95: Option<f64>,
    /// L*, a*, b* for D50 and the 2 degree observer.
    pub lab: Option<[f64; 3]>,
    /// Why it was not read, by the code of the table.
    pub left_out: Option<String>,
}

impl TrialTile {
    /// The tiles of a table that [`Readings`](super::Readings) takes, in the order in which they first stand there; none where
    /// it does not tell tile, row and column. The half-width of a reading `x` stands in a column `u95_x`. Rows without a place
    /// and colours that are no numbers are passed over.
    ///
    /// # Errors
    /// No table, or a tile of more than 60 rows or columns.
    pub fn read_all(bytes: &[u8], value: &str) -> Result<Vec<Self>, TrialError> {
        let table = Table::read(bytes)?;
        let names: Vec<&str> = table.header.iter().map(String::as_str).filter(|n| !n.is_empty()).collect();
        let (columns, _) = table.columns(&names);
        let half = format!("u95 {}", plain_name(value));
        let mut tiles: Vec<Self> = Vec::new();
        for row in &table.rows {
            let told = |name: &str| columns.cell(row, name).map(|cell| unguarded(cell).to_owned());
            let whole = |name: &str| columns.cell(row, name)?.parse::<usize>().ok().filter(|n| *n > 0);
            let (Some(number), Some(at), Some(column)) = (told("tile"), whole("row"), whole("column")) else {
                continue;
            };
            if at.max(column) > MOST {
                let what = format!("a tile has {MOST} rows and columns at most, and tile {number} more");
                return Err(TrialError::TooLarge { what });
            }
            let lab = ["l", "a", "b"].map(|name| figure(&columns, row, name));
            let place = TilePlace {
                row: at,
                column,
                name: told("swatch"),
                role: columns.cell(row, "role").and_then(Role::from_name).unwrap_or(Role::Trial),
                slip: told("slip"),
                paint: told("paint"),
                coats: told("coats"),
                value: figure(&columns, row, value),
                u95: figure(&columns, row, &half),
                lab: if let [Some(l), Some(a), Some(b)] = lab { Some([l, a, b]) } else { None },
                left_out: told("left_out"),
            };
            let trial = told("trial");
            // As the comparison tells tiles apart.
            let own = |trial: Option<&str>, number: &str| (trial.map(key), key(number));
            let is_known =
                |tile: &Self| own(tile.trial.as_deref(), &tile.number) == own(trial.as_deref(), &number);
            let known = tiles.iter().position(is_known);
            let known = known.unwrap_or_else(|| {
                tiles.push(Self { trial, number, ..Self::default() });
                tiles.len() - 1
            });
            let tile = &mut tiles[known];
            tile.firing = tile.firing.take().or_else(|| told("firing"));
            tile.seed = tile.seed.or_else(|| columns.cell(row, "seed")?.parse().ok());
            tile.photograph = tile.photograph.take().or_else(|| told("photo"));
            tile.places.push(place);
        }
        tiles.iter_mut().for_each(|tile| tile.places.sort_by_key(|place| (place.row, place.column)));
        Ok(tiles)
    }

    /// Rows and columns of the tile, from the first place to the last.
    pub fn size(&self) -> [usize; 2] {
        let most = |get: fn(&TilePlace) -> usize| self.places.iter().map(get).max().unwrap_or(0);
        [most(|place| place.row), most(|place| place.column)]
    }
}

fn figure(columns: &Columns, row: &Row, name: &str) -> Option<f64> {
    columns.number(row, name).ok().flatten().filter(|value| value.is_finite())
}
