//! Why the ledger cannot do what was asked: whose fault it is, a sentence and what to do next.

use super::table::CellFault;
use std::path::{Path, PathBuf};

/// What stopped the ledger.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum LedgerError {
    /// A file of records, an export or a table cannot be opened or is no text.
    #[error("'{}' cannot be read: {reason}", path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        reason: String,
    },
    /// A line is no record of this schema, and no line of an export.
    #[error("'{}' cannot be used: line {line}: {reason}", path.display())]
    NotARecord {
        /// The file.
        path: PathBuf,
        /// Its line, from 1.
        line: usize,
        /// What is wrong with it.
        reason: String,
    },
    /// Cells of a table that cannot be used.
    #[error("{} cannot be used: {}", .what, listed(.faults))]
    Cells {
        /// Which table, in words.
        what: String,
        /// The cells, in the order of the file.
        faults: Vec<CellFault>,
    },
    /// There is no ledger yet.
    #[error("there is no ledger at '{}'", path.display())]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// The system names no folder for the data of programs.
    #[error("this system names no folder for a program's data")]
    NoPlace,
    /// Another file lies there.
    #[error("'{}' is no ledger: {what}", path.display())]
    NotALedger {
        /// The file, which was not changed.
        path: PathBuf,
        /// What it is instead.
        what: String,
    },
    /// Made by a later version of this program.
    #[error("the ledger '{}' was made by a newer version of this program (layout {found}, known up to {known})", path.display())]
    Newer {
        /// The file, which was not changed.
        path: PathBuf,
        /// Its layout.
        found: u32,
        /// The newest layout known here.
        known: u32,
    },
    /// The file does not hold together.
    #[error("the ledger '{}' is damaged: {what}", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What was found.
        what: String,
    },
    /// The file or its folder may not be written.
    #[error("the ledger '{}' may not be written", path.display())]
    ReadOnly {
        /// The file, which was not changed.
        path: PathBuf,
    },
    /// No room is left.
    #[error("there is no room left for the ledger '{}'", path.display())]
    Full {
        /// The file; what did not fit was taken back.
        path: PathBuf,
    },
    /// Another program keeps the file locked.
    #[error("the ledger '{}' is in use by another program and did not come free", path.display())]
    Busy {
        /// The file.
        path: PathBuf,
    },
    /// A file that is to be made is there already.
    #[error("'{}' is there already and is not replaced", path.display())]
    Exists {
        /// The file.
        path: PathBuf,
    },
    /// A file cannot be written.
    #[error("'{}' cannot be written: {reason}", path.display())]
    Unwritable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        reason: String,
    },
    /// Nothing of that name is in the ledger.
    #[error("the ledger knows no {what} '{name}'{}", near(.known))]
    NoSuch {
        /// firing, recipe, piece.
        what: &'static str,
        /// The name that was asked for.
        name: String,
        /// Names it knows.
        known: Vec<String>,
    },
    /// There is nothing to show of what was asked for.
    #[error("the ledger holds no readings {of}")]
    NoReadings {
        /// Such as `of the firing 'wet reed'`.
        of: String,
    },
    /// Something of that name is in the ledger already.
    #[error("the {what} '{name}' is in the ledger already")]
    AlreadyThere {
        /// firing, recipe, piece.
        what: &'static str,
        /// Its name.
        name: String,
    },
    /// A value that its field cannot hold.
    #[error("{field}: '{value}' cannot be used: {wanted}")]
    Value {
        /// The field, as it is typed.
        field: String,
        /// What was given.
        value: String,
        /// What is wanted.
        wanted: String,
    },
    /// Anything else the database says: a fault of ours.
    #[error("the ledger '{}' failed: {what}", path.display())]
    Ours {
        /// The file.
        path: PathBuf,
        /// What the database said.
        what: String,
    },
}

impl LedgerError {
    /// What to do next, one sentence; empty where the sentence says it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Unreadable { .. } => "Check its name and rights.",
            Self::NotARecord { .. } => {
                "Name a file that 'score --json', 'score --out' or 'ledger export --json' wrote."
            }
            Self::Cells { .. } => "Put them right, or say --partial to take the rest.",
            Self::Missing { .. } => {
                "'sherdlight firing add NAME' or 'sherdlight score PHOTOS --firing NAME' makes one; --ledger FILE names another."
            }
            Self::NoPlace => "Name a file with --ledger FILE.",
            Self::NotALedger { .. } => "It was not changed. Name another file with --ledger.",
            Self::Newer { .. } => "It was not changed. Use that newer version.",
            Self::Damaged { .. } => {
                "Keep a copy of it as it is, and go on with your last backup; 'sherdlight ledger check' says more."
            }
            Self::ReadOnly { .. } => "It was not changed. Check the rights of the file and of its folder.",
            Self::Full { .. } => {
                "What was kept before is safe. Make room, then give the same command again: it goes on where it stood."
            }
            Self::Busy { .. } => "Close the other program, then give the same command again.",
            Self::Exists { .. } => "Name another file.",
            Self::Unwritable { .. } => "Check that the folder exists, has room and may be written to.",
            Self::NoSuch { .. } => "Check the spelling; 'list' shows what there is, 'add' makes a new one.",
            Self::NoReadings { .. } => {
                "'score --firing NAME' keeps readings; 'firing list' shows the firings and their days."
            }
            Self::AlreadyThere { .. } => "'edit' corrects it; the first values are kept.",
            Self::Value { .. } => "",
            Self::Ours { .. } => "Please report it.",
        }
    }

    /// True where the program and not a person is at fault.
    pub fn is_ours(&self) -> bool {
        matches!(self, Self::Ours { .. })
    }

    /// What SQLite said of the ledger at `path`, by who is at fault.
    pub(super) fn of(path: &Path, error: &rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        let path = path.to_path_buf();
        let what = error.to_string();
        let extended = error.sqlite_error().map_or(0, |e| e.extended_code);
        match error.sqlite_error_code() {
            Some(Code::DatabaseCorrupt | Code::NotADatabase) => Self::Damaged { path, what },
            Some(Code::ReadOnly | Code::PermissionDenied | Code::CannotOpen) => Self::ReadOnly { path },
            Some(Code::DiskFull) => Self::Full { path },
            Some(Code::DatabaseBusy | Code::DatabaseLocked) => Self::Busy { path },
            // A limit on the size of files or a quota shows as a failed write, not as a full disk.
            Some(Code::SystemIoFailure) if WRITE_FAILED.contains(&extended) => Self::Full { path },
            Some(Code::SystemIoFailure) => Self::Damaged { path, what },
            _ => Self::Ours { path, what },
        }
    }
}

/// Extended result codes of a write, a flush and a change of size that failed.
const WRITE_FAILED: [i32; 4] = [
    rusqlite::ffi::SQLITE_IOERR_WRITE,
    rusqlite::ffi::SQLITE_IOERR_FSYNC,
    rusqlite::ffi::SQLITE_IOERR_DIR_FSYNC,
    rusqlite::ffi::SQLITE_IOERR_TRUNCATE,
];

/// The first few faults, and how many more there are.
fn listed(faults: &[CellFault]) -> String {
    const SHOWN: usize = 12;
    let mut text: Vec<String> = faults.iter().take(SHOWN).map(ToString::to_string).collect();
    if faults.len() > SHOWN {
        text.push(format!("and {} more", faults.len() - SHOWN));
    }
    text.join("; ")
}

fn near(known: &[String]) -> String {
    match known {
        [] => String::new(),
        few if few.len() <= 8 => format!(" (it knows {})", few.join(", ")),
        many => format!(" (it knows {} and {} more)", many[..8].join(", "), many.len() - 8),
    }
}
