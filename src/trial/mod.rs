//! Planned trials of slips, paints, coats and firings on test tiles: what goes where, and what the swatches tell.
//!
//! Comes in: a table of factors and levels ([`Factors`]) with the size of the tiles ([`Layout`]), a plan's sheet to be filled
//! ([`Sheet`]), or a table of swatches with measured values ([`Readings`]). Goes out: a [`Plan`] with every combination, a control and a blank on
//! every tile, in random places by a stated seed; or a [`Comparison`] of the levels of one factor, in the unit of the
//! value, with 95 % intervals, and *cannot be separated* where the swatches do not tell; or [`Parts`], how much of the
//! spread goes to fire, slip, paint, coats, tile and the rest; or [`Findings`], all of it, and the tiles as they lie
//! ([`TrialTile`]), for a page. The model adds the factors up (no interactions). A tile
//! goes into one firing, so that firings are judged by the scatter of tiles. Same table and seed, same answer.

mod additivity;
mod compare;
mod confounding;
mod control;
mod error;
mod factors;
mod findings;
mod lots;
mod model;
mod needed;
mod parts;
mod plan;
mod readings;
mod sheet;
mod tiles;

pub use additivity::Interaction;
pub use compare::{Answer, Comparison, Difference, LevelMean, Pair, Scatter};
pub use error::TrialError;
pub use factors::{Factor, Factors, Level, in_words};
pub use findings::Findings;
pub use lots::Lots;
pub use needed::{detectable, swatches_needed};
pub use parts::{FiringPair, Parts, Source, Widest};
pub use plan::{Layout, Plan, Role, Swatch};
pub use readings::{LeftOut, Readings};
pub use sheet::{Sheet, SheetLine, SheetPlace};
pub use tiles::{TilePlace, TrialTile};
