//! What can go wrong with a file, one variant per cause.
//!
//! `Display` is a clause that follows the file's name: "{name} {error}. {hint}".

/// A photograph that cannot be measured.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// Nothing lies at the path.
    #[error("does not exist")]
    NotFound,
    /// The file could not be opened or read; the text is the system's own reason.
    #[error("cannot be read: {0}")]
    Unreadable(String),
    /// The path is a directory.
    #[error("is a directory")]
    IsADirectory,
    /// The file holds no bytes.
    #[error("is empty")]
    EmptyFile,
    /// The content is no picture; `looks_like` says what it seems to be.
    #[error("is not a picture but {looks_like}")]
    NotAPicture {
        /// What the first bytes look like, such as "a text file".
        looks_like: &'static str,
    },
    /// The file ends before its picture does.
    #[error("is cut off: the {format} ends before the picture does")]
    Truncated {
        /// The format by content.
        format: &'static str,
    },
    /// A JPEG with a component sampled finer than the first. Decoders give wrong colours for it.
    #[error("is a JPEG whose chroma is finer than its luma; its colours cannot be decoded reliably")]
    ChromaFinerThanLuma,
    /// Ink amounts in place of light.
    #[error("holds CMYK colours (for print), not light")]
    Cmyk,
    /// HEIC or HEIF, by the brand in its `ftyp` box.
    #[error("is a HEIC picture ({brand}), which cannot be read here")]
    Heic {
        /// The major brand: four characters.
        brand: String,
    },
    /// A picture of a kind that is not read.
    #[error("is {format}, which is not read")]
    Unsupported {
        /// The kind, with its article.
        format: &'static str,
        /// What to do.
        remedy: &'static str,
    },
    /// The file has more bytes than [`Limits::max_file_bytes`](super::Limits::max_file_bytes).
    #[error("has {bytes} bytes, more than the limit of {max_bytes}")]
    TooManyBytes {
        /// Bytes of the file.
        bytes: u64,
        /// The limit.
        max_bytes: u64,
    },
    /// The header announces more pixels than the limits allow.
    #[error(
        "says it has {width} x {height} pixels, more than the limit of {max_pixels} in all or {max_side} a side"
    )]
    TooManyPixels {
        /// Columns by the header.
        width: u32,
        /// Rows by the header.
        height: u32,
        /// The limit of pixels.
        max_pixels: u64,
        /// The limit of a side.
        max_side: u32,
    },
    /// Too small to hold a card that can be sampled; 0 x 0 also lands here.
    #[error("has {width} x {height} pixels, fewer than {min_side} a side")]
    TooSmall {
        /// Columns by the header.
        width: u32,
        /// Rows by the header.
        height: u32,
        /// The limit of a side.
        min_side: u32,
    },
    /// The content breaks the rules of its own format.
    #[error("is damaged: {0}")]
    Damaged(String),
    /// The embedded colour description is well formed but cannot be turned into linear light.
    #[error("has a colour profile that cannot be used: {0}")]
    ProfileUnsupported(String),
}

impl PhotoError {
    /// A stable name of the cause, kebab-case, for records and programs.
    pub fn code(&self) -> &'static str {
        match self {
            Self::NotFound => "not-found",
            Self::Unreadable(_) => "unreadable",
            Self::IsADirectory => "is-a-directory",
            Self::EmptyFile => "empty-file",
            Self::NotAPicture { .. } => "not-a-picture",
            Self::Truncated { .. } => "truncated",
            Self::ChromaFinerThanLuma => "chroma-finer-than-luma",
            Self::Cmyk => "cmyk",
            Self::Heic { .. } => "heic",
            Self::Unsupported { .. } => "unsupported",
            Self::TooManyBytes { .. } | Self::TooManyPixels { .. } => "too-large",
            Self::TooSmall { .. } => "too-small",
            Self::Damaged(_) => "damaged",
            Self::ProfileUnsupported(_) => "profile-unsupported",
        }
    }

    /// The next step, a short sentence.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::NotFound => "Check the path.",
            Self::Unreadable(_) => "Check that you may read the file, then try again.",
            Self::IsADirectory => "Name the photographs in it.",
            Self::EmptyFile | Self::Truncated { .. } => "Copy the file from the camera again.",
            Self::NotAPicture { .. } => "Give a JPEG, PNG or TIFF photograph.",
            Self::ChromaFinerThanLuma => "Save it again as a JPEG with usual settings, or as a TIFF.",
            Self::Cmyk => "Export it again as RGB, best from the original photograph.",
            Self::Heic { .. } => {
                "Set the phone's camera to its most compatible format (JPEG), or export the photo as a JPEG."
            }
            Self::Unsupported { remedy, .. } => remedy,
            Self::TooManyBytes { .. } | Self::TooManyPixels { .. } => {
                "Crop it to the piece and the card, or export it smaller."
            }
            Self::TooSmall { .. } => "Give the photograph at full size.",
            Self::Damaged(_) => "Copy the file from the camera again, or export it anew.",
            Self::ProfileUnsupported(_) => "Export it again with an sRGB profile.",
        }
    }
}
