//! The definition of a home-made card, from photographs in which it lies beside a known one.
//!
//! Comes in: photographs, the layout of the new card and the definition of the known one. Goes out: a
//! [`CardDefinition`] whose patches have their colours and half-widths of 95 % intervals in CIELAB. Each
//! photograph is corrected by the known card ([`view()`]); the views are then brought the same way round
//! and pooled ([`learn`]).

mod pool;
mod turn;
mod view;

pub use pool::{Learned, LearnedPatch, ViewUsed, learn};
pub use turn::TurnFrom;
pub use view::{LearnView, view};

use super::{CardDefinition, CardError, CardLayout, DefinitionError};

/// What is learned, and beside what.
#[derive(Debug, Clone)]
pub struct LearnSettings {
    /// Id of the new card.
    pub id: String,
    /// Its layout; colours of its patches are about right or missing.
    pub layout: CardLayout,
    /// The known card beside it.
    pub beside: CardDefinition,
}

/// Why no definition can be made.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum LearnError {
    /// There is no photograph to learn from.
    #[error("there is no photograph to learn from")]
    NoViews,
    /// Which way round the new card lies in a view cannot be told.
    #[error(
        "which way round the new card lies cannot be told: turned round, its patches agree as well ({best:.1} and {second:.1} CIEDE2000)"
    )]
    Turn {
        /// Number of the view, counted from 0.
        view: usize,
        /// Mean CIEDE2000 of the best turn from the first view.
        best: f64,
        /// The same of the next best.
        second: f64,
    },
    /// Patches that can be used in no photograph.
    #[error("no photograph shows these patches well (clipped, too dark or covered): {}", ids.join(", "))]
    Unseen {
        /// Their ids.
        ids: Vec<String>,
    },
    /// What was learned makes no usable card.
    #[error(transparent)]
    Definition(#[from] DefinitionError),
    /// A photograph cannot be used.
    #[error(transparent)]
    Card(#[from] CardError),
}

impl LearnError {
    /// What to do next, one sentence.
    pub fn hint(&self) -> &'static str {
        match self {
            LearnError::NoViews => "Take a photograph with both cards side by side.",
            LearnError::Turn { .. } => "Give the corners of the new card with --corners.",
            LearnError::Unseen { .. } => {
                "Shoot again with another exposure, in soft light, nothing on the cards."
            }
            LearnError::Definition(_) => "Choose patches that differ more, or put the layout file right.",
            LearnError::Card(error) => match error {
                CardError::NotFound { .. } => {
                    "Show both cards whole, side by side in the same light, or give the corners of the new one with --corners."
                }
                other => other.hint(),
            },
        }
    }
}
