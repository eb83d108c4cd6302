//! Why no card can be used, by step.

use super::{BorrowError, Search};

/// No usable card, or a definition that cannot be used.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum CardError {
    /// No card was found; `step` is how far the search came, `tried` what was looked at.
    #[error("no colour card found: {step} ({tried})")]
    NotFound {
        /// The step that failed, in plain words.
        step: String,
        /// What was tried, in plain words.
        tried: String,
        /// What was seen, for a picture of the search.
        search: Box<Search>,
    },
    /// Too few patches are left for the smallest model.
    #[error("only {usable} of {total} patches can be used")]
    TooFewPatches {
        /// Patches left.
        usable: usize,
        /// Patches of the card.
        total: usize,
    },
    /// No correction brings the patches nearer to their colours than they came.
    #[error(
        "no correction makes the card's colours better: off by CIEDE2000 {before:.1} as they came, by {after:.1} after it"
    )]
    NoBetter {
        /// Mean CIEDE2000 of the patches as the file gives them.
        before: f64,
        /// Mean CIEDE2000 of patches that the best correction has not seen.
        after: f64,
    },
    /// A card definition cannot be read.
    #[error("card definition {name}: {reason}")]
    Definition {
        /// Id or file name.
        name: String,
        /// What is wrong.
        reason: String,
    },
    /// The correction of another photograph cannot be used for this one.
    #[error(transparent)]
    Borrow(#[from] BorrowError),
}

impl CardError {
    /// What the search for the card has seen, where it was not found.
    pub fn search(&self) -> Option<&Search> {
        match self {
            CardError::NotFound { search, .. } => Some(search),
            _ => None,
        }
    }
    /// Stable, kebab-case.
    pub fn code(&self) -> &'static str {
        match self {
            CardError::NotFound { .. } => "card-not-found",
            CardError::TooFewPatches { .. } => "card-too-few-patches",
            CardError::NoBetter { .. } => "card-no-better",
            CardError::Definition { .. } => "card-definition",
            CardError::Borrow(error) => error.code(),
        }
    }
    /// What to do next, one sentence.
    pub fn hint(&self) -> &'static str {
        match self {
            CardError::NotFound { .. } => {
                "Lay the whole card beside the piece in the same light and shoot again, or give its corners with --card-corners."
            }
            CardError::TooFewPatches { .. } => {
                "Keep shadow, shine and hands off the card and do not over-expose it, then shoot again."
            }
            CardError::NoBetter { .. } => {
                "Check that --card names the card in the photo, clean it, and keep shine and shadow off it."
            }
            CardError::Definition { .. } => "Put the card's file right, or name one of the built-in cards.",
            CardError::Borrow(error) => error.hint(),
        }
    }
}
