//! What goes where: every combination on the tiles, in random places.
//!
//! Sources: NIST/SEMATECH e-Handbook of Statistical Methods (doi 10.18434/M32189), 5.3.3.2 randomized block designs;
//! a tile is a block and goes into one firing (5.5.5, split-plot designs).

use super::factors::short;
use super::{Factor, Factors, Lots, TrialError};
use crate::ledger::table::plain_name;
use serde::Serialize;

/// Most rows of a tile.
const MOST_ROWS: usize = 20;
/// Most columns of a tile: what a printed page has room for.
const MOST_COLUMNS: usize = 11;
/// Most tiles.
const MOST_TILES: usize = 400;
/// Most swatches of a plan.
const MOST_SWATCHES: usize = 10_000;

/// How the swatches are to lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// Rows of swatches on a tile, 1 to 20.
    pub rows: usize,
    /// Columns of swatches on a tile, 1 to 11.
    pub columns: usize,
    /// Tiles of the whole trial, a multiple of the firings; none for as few as hold it.
    pub tiles: Option<usize>,
    /// Swatches of each combination in each firing; 0 counts as 1.
    pub repeats: usize,
    /// The same seed gives the same places.
    pub seed: u64,
}

/// What a swatch is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// One of the combinations on trial.
    Trial,
    /// The known control.
    Control,
    /// The control's slip without paint.
    Blank,
}

impl Role {
    /// The role of this name, whatever its case.
    pub fn from_name(name: &str) -> Option<Self> {
        [Self::Trial, Self::Control, Self::Blank].into_iter().find(|role| role.name() == plain_name(name))
    }

    /// What is said of a cell that is none.
    pub(super) fn unknown(cell: &str) -> String {
        format!("'{}' is no role; known: trial, control, blank", short(cell))
    }

    /// Its name, as it stands in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Trial => "trial",
            Self::Control => "control",
            Self::Blank => "blank",
        }
    }
}

/// One swatch of the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Swatch {
    /// Tile, from 1.
    pub tile: usize,
    /// Row on the tile, from 1 at the top.
    pub row: usize,
    /// Column on the tile, from 1 at the left.
    pub column: usize,
    /// Its name, `T2R1C4`: where it lies, not what it is.
    pub id: String,
    /// What it is for.
    pub role: Role,
    /// Its slip.
    pub slip: String,
    /// Its paint; none of a blank.
    pub paint: Option<String>,
    /// Its coats; none of a blank.
    pub coats: Option<String>,
    /// The firing of its tile; none where there is one firing only.
    pub firing: Option<String>,
}

/// A plan: swatches in the order of tile, row and column. Places without a swatch stay free.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// How it was asked for.
    pub layout: Layout,
    /// Tiles, numbered from 1.
    pub tiles: usize,
    /// Combinations of slip, paint and coats.
    pub combinations: usize,
    /// All swatches.
    pub swatches: Vec<Swatch>,
}

impl Plan {
    /// Lays the trial out: every combination of slip, paint and coats `repeats` times in every firing, one control and
    /// one blank on every tile. The repeats of a combination lie on as many tiles of the firing as can be, tiles hold
    /// equally many swatches (to within one), and levels are spread over them. Which tile goes into which firing and
    /// where a swatch lies on its tile is drawn by lot.
    ///
    /// # Errors
    /// Tiles too few or too small, tiles that the firings cannot share equally, more than a plan can hold, and what
    /// [`Factors::control`] refuses.
    pub fn new(factors: &Factors, layout: Layout) -> Result<Self, TrialError> {
        let control = [Factor::Slip, Factor::Paint, Factor::Coats].map(|factor| factors.control(factor));
        let [slip, paint, coats] = control;
        let control = [slip?, paint?, coats?];
        let combinations = combinations(factors)?;
        let (tiles, firings) = size(factors, &layout, combinations.len())?;
        let mut lots = Lots::new(layout.seed);
        let mut order: Vec<usize> = (0..tiles).collect();
        lots.shuffle(&mut order);
        let mut swatches = Vec::new();
        for (number, members) in order.chunks(tiles / firings).enumerate() {
            let firing = factors.firing.get(number).map(|level| level.name.clone());
            let dealt = deal(&combinations, members.len(), layout.repeats.max(1), &mut lots);
            for (tile, on_it) in members.iter().zip(dealt) {
                let trial = on_it.into_iter().map(|c| (Role::Trial, combinations[c]));
                let own = [(Role::Control, control), (Role::Blank, control)];
                let mut places: Vec<usize> = (0..layout.rows * layout.columns).collect();
                lots.shuffle(&mut places);
                for ((role, [slip, paint, coats]), place) in own.into_iter().chain(trial).zip(places) {
                    let (tile, row, column) =
                        (tile + 1, place / layout.columns + 1, place % layout.columns + 1);
                    let painted = |name: &str| (role != Role::Blank).then(|| name.to_owned());
                    swatches.push(Swatch {
                        tile,
                        row,
                        column,
                        id: format!("T{tile}R{row}C{column}"),
                        role,
                        slip: slip.to_owned(),
                        paint: painted(paint),
                        coats: painted(coats),
                        firing: firing.clone(),
                    });
                }
            }
        }
        swatches.sort_by_key(|swatch| (swatch.tile, swatch.row, swatch.column));
        Ok(Self { layout, tiles, combinations: combinations.len(), swatches })
    }
}

type Combination<'a> = [&'a str; 3];

fn combinations(factors: &Factors) -> Result<Vec<Combination<'_>>, TrialError> {
    let counts = [&factors.slip, &factors.paint, &factors.coats].map(Vec::len);
    if counts.iter().fold(1usize, |all, count| all.saturating_mul(*count)) > MOST_SWATCHES {
        return Err(too_large());
    }
    let mut all = Vec::new();
    for slip in &factors.slip {
        for paint in &factors.paint {
            all.extend(
                factors.coats.iter().map(|c| [slip.name.as_str(), paint.name.as_str(), c.name.as_str()]),
            );
        }
    }
    Ok(all)
}

fn too_large() -> TrialError {
    TrialError::TooLarge { what: format!("it has more than {MOST_SWATCHES} swatches") }
}

/// Tiles and firings.
fn size(factors: &Factors, layout: &Layout, combinations: usize) -> Result<(usize, usize), TrialError> {
    let Layout { rows, columns, repeats, .. } = *layout;
    let places = rows.saturating_mul(columns);
    if places < 3 {
        return Err(TrialError::SmallTile { rows, columns });
    }
    if rows > MOST_ROWS || columns > MOST_COLUMNS {
        let what = format!("a tile has {MOST_ROWS} rows and {MOST_COLUMNS} columns at most");
        return Err(TrialError::TooLarge { what });
    }
    let firings = factors.firing.len().max(1);
    let swatches = combinations.saturating_mul(repeats.max(1));
    if swatches.saturating_mul(firings) > MOST_SWATCHES {
        return Err(too_large());
    }
    let wanted = swatches.div_ceil(places - 2);
    let tiles = layout.tiles.unwrap_or(wanted * firings);
    if tiles > MOST_TILES {
        return Err(TrialError::TooLarge {
            what: format!("it has {tiles} tiles, {MOST_TILES} are the most"),
        });
    }
    if tiles < wanted * firings {
        return Err(TrialError::DoesNotFit { swatches, wanted, places, firings, tiles });
    }
    if !tiles.is_multiple_of(firings) {
        return Err(TrialError::UnequalFirings { tiles, firings });
    }
    Ok((tiles, firings))
}

/// Which combinations lie on which tile of one firing. Each swatch goes where its combination is rarest, then where the
/// fewest swatches are, then where its own levels are rarest, then by lot; so loads never differ by more than one.
fn deal(combinations: &[Combination], tiles: usize, repeats: usize, lots: &mut Lots) -> Vec<Vec<usize>> {
    let mut dealt: Vec<Vec<usize>> = vec![Vec::new(); tiles];
    let mut order: Vec<usize> = (0..combinations.len()).collect();
    lots.shuffle(&mut order);
    let mut by_lot: Vec<usize> = (0..tiles).collect();
    for combination in order {
        for _ in 0..repeats {
            lots.shuffle(&mut by_lot);
            let cost = |tile: &usize| {
                let on_it = &dealt[*tile];
                let alike = |other: &usize| {
                    (0..3).filter(|f| combinations[*other][*f] == combinations[combination][*f]).count()
                };
                let same = on_it.iter().filter(|other| **other == combination).count();
                (same, on_it.len(), on_it.iter().map(alike).sum::<usize>())
            };
            if let Some(tile) = by_lot.iter().copied().min_by_key(cost) {
                dealt[tile].push(combination);
            }
        }
    }
    dealt
}
