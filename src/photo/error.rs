//! What can go wrong with a file, by who is at fault.

/// A photograph that cannot be measured. The sentence for people is made in one place, `cli`.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// The file could not be opened or read.
    #[error("cannot be read: {0}")]
    Unreadable(String),
}
