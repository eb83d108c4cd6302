//! Why something cannot be shown or written.

use std::path::PathBuf;

/// A picture, page, table or chart could not be made or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReportError {
    /// The file could not be written: the place is missing, full or closed to us.
    #[error("cannot write {}: {source}; check that the folder exists, has room and may be written to", path.display())]
    Write {
        /// The file that was to be written.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A picture could not be encoded.
    #[error("cannot encode a picture of {width} x {height} pixels: {reason}")]
    Encode {
        /// Columns asked for.
        width: usize,
        /// Rows asked for.
        height: usize,
        /// Why.
        reason: String,
    },
    /// A table could not be made (a fault of this program).
    #[error("cannot make the table: {0}")]
    Table(String),
    /// The page could not be made (a fault of this program).
    #[error("cannot make the page: {0}")]
    Page(String),
    /// There is nothing to draw.
    #[error("no reading of the surface '{surface}'; name another surface or give more records")]
    NothingToDraw {
        /// The surface asked for.
        surface: String,
    },
}
