//! The colour card: found in the photograph, sampled, and turned into a correction that makes
//! colour true where the card lies.
//!
//! Comes in: a [`Photo`](crate::photo::Photo) and [`CardSettings`]. Goes out: a [`CardReading`]: where the card lies (full-size
//! pixels), what each patch gave, the [`Correction`] from linear light to XYZ for D50 relative to
//! the card's light, its residuals and how far they can be trusted. [`CardError`] says which step
//! failed and what to do.

mod borrow;
mod capture;
mod choose;
mod correct;
mod definition;
mod error;
mod find;
mod fit;
mod geometry;
mod judge;
mod learn;
mod locate;
mod metric;
mod models;
mod read;
mod reading;
mod sample;
mod tone;
mod uncertainty;

pub use borrow::{BorrowError, Borrowed, CardShot, borrow_card};
pub(crate) use capture::profile_width;
pub use capture::{CARD_OVEREXPOSED, CARD_SMALL, Capture};
pub use correct::{CorrectedImage, Correction};
pub use definition::{
    CardDefinition, CardFile, CardLayout, CgatsCell, CgatsFile, CgatsTable, CgatsWord, DefinitionError,
    DefinitionFault, Layout, LayoutPatch, LengthUnit, PatchDefinition,
};
pub use error::CardError;
pub use find::Search;
pub use geometry::Homography;
pub use learn::{
    LearnError, LearnSettings, LearnView, Learned, LearnedPatch, TurnFrom, ViewUsed, learn as learn_card,
    view as learn_view,
};
pub use locate::{LocatedCard, locate_card};
pub use read::read_card;
pub use reading::{
    CardPlace, CardReading, CardSettings, CardStatus, ModelTried, PatchReading, Residuals, WITHOUT_CARD,
    WhyNot,
};
pub(crate) use uncertainty::coverage_factor;
