//! Why no card can be used, by step.

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
    },
    /// Too few patches are left for the smallest model.
    #[error("only {usable} of {total} patches can be used")]
    TooFewPatches {
        /// Patches left.
        usable: usize,
        /// Patches of the card.
        total: usize,
    },
    /// A card definition cannot be read.
    #[error("card definition {name}: {reason}")]
    Definition {
        /// Id or file name.
        name: String,
        /// What is wrong.
        reason: String,
    },
}
