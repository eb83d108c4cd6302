//! Target ranges as a file a person can read: two nested ranges for each value, *aim* and *accept*.
//!
//! Comes in: the name of a set that is compiled in, or the text of a JSON file. Goes out: [`Targets`], each range in
//! the unit of its [`Quantity`] (CIELAB for D50 and the 2 degree observer), or every fault of the file with the field
//! it sits in ([`TargetFault`]).

mod check;
mod node;
mod quantity;
mod read;
mod remarks;
mod write;

pub use quantity::Quantity;

use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt;
use std::path::Path;

/// The ranges compiled in.
const BUILT_IN: [(&str, &str); 1] =
    [("three-colour-low-fired", include_str!("../../../calibration/targets/three-colour-low-fired.json"))];
/// The illuminant that is taken.
const ILLUMINANT: &str = "D50";
/// The observer that is taken.
const OBSERVER: &str = "CIE 1931 2 degree";
/// Surfaces that have a colour.
const COLOURED: [&str; 5] = ["white", "red", "black", "body", "smudged"];

/// One fault of a target file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TargetFault {
    /// The field, such as `values[2] (white chroma).accept`, values counted from 1; empty for the file as a whole.
    pub field: String,
    /// What is wrong, and what is wanted.
    pub reason: String,
}

impl TargetFault {
    fn new(field: impl Into<String>, reason: impl Into<String>) -> Self {
        Self { field: field.into(), reason: reason.into() }
    }
}

impl fmt::Display for TargetFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.field.as_str() {
            "" => f.write_str(&self.reason),
            field => write!(f, "{field}: {}", self.reason),
        }
    }
}

/// Target ranges that cannot be used or made.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum TargetError {
    /// Neither a name compiled in nor a file.
    #[error(
        "no target ranges are called '{name}'; known: {known}; the name of a file has an ending such as .json"
    )]
    Unknown {
        /// The name asked for.
        name: String,
        /// The names there are.
        known: String,
    },
    /// The file cannot be read.
    #[error("the target file '{name}' cannot be read: {reason}")]
    Unreadable {
        /// The file.
        name: String,
        /// Why.
        reason: String,
    },
    /// The file is no target file or holds faults.
    #[error("the target file '{name}' cannot be used: {}", summary(.faults))]
    Invalid {
        /// The file.
        name: String,
        /// All its faults, in the order of the file; never empty.
        faults: Vec<TargetFault>,
    },
    /// No surface is seen on enough pieces to learn a range from.
    #[error(
        "a range needs {least} reference pieces that show its value; {pieces} could be used, and no value is seen on enough"
    )]
    TooFew {
        /// Pieces that could be used.
        pieces: usize,
        /// Pieces that a range needs.
        least: usize,
    },
}

/// Faults told in one sentence; the rest are counted.
const TOLD: usize = 3;

fn summary(faults: &[TargetFault]) -> String {
    let told: Vec<String> = faults.iter().take(TOLD).map(ToString::to_string).collect();
    let told = told.join("; ");
    match faults.len().saturating_sub(TOLD) {
        0 => told,
        more => format!("{told}; and {more} more, see 'sherdlight targets check'"),
    }
}

/// A range; an open end is `None`.
pub type Range = [Option<f64>; 2];

/// The ranges of one value, in the unit of its quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// `white`, `red`, `black`, `body`, `smudged`, `contrast`, `paint` or `clouds`.
    pub surface: String,
    /// What is measured there.
    pub value: Quantity,
    /// Where a good piece lies.
    pub aim: Range,
    /// Where a piece may still lie; holds `aim`.
    pub accept: Range,
    /// Where the fault is at its full: severity 1. `None`: no severity is drawn from this value.
    pub fully_off: Option<f64>,
}

/// A set of target ranges.
#[derive(Debug, Clone, PartialEq)]
pub struct Targets {
    /// Short name.
    pub id: String,
    /// What it is for.
    pub name: String,
    /// What it rests on.
    pub note: String,
    /// `D50`.
    pub illuminant: String,
    /// `CIE 1931 2 degree`.
    pub observer: String,
    /// The ranges.
    pub values: Vec<Target>,
    /// L*, a*, b* at the centre of the aim, by surface, for the distance to the target.
    pub aim_colours: BTreeMap<String, [f64; 3]>,
    /// SHA-256 of the file's text.
    pub sha256: String,
}

impl Targets {
    /// Names of the sets compiled in.
    pub fn ids() -> impl Iterator<Item = &'static str> {
        BUILT_IN.iter().map(|(id, _)| *id)
    }

    /// Whether a name means a file: it has a `/` or an extension.
    pub fn is_file(id_or_path: &str) -> bool {
        id_or_path.contains('/') || Path::new(id_or_path).extension().is_some()
    }

    /// Ranges by name, or from a file where the argument has a `/` or an extension.
    ///
    /// # Errors
    /// An unknown name; a file that cannot be read, is no target file, or holds faults.
    pub fn load(id_or_path: &str) -> Result<Self, TargetError> {
        let text = Self::text(id_or_path)?;
        Self::parse(&text).map_err(|faults| TargetError::Invalid { name: id_or_path.into(), faults })
    }

    /// The text of the file that [`Targets::load`] reads.
    ///
    /// # Errors
    /// An unknown name; a file that cannot be read.
    pub fn text(id_or_path: &str) -> Result<String, TargetError> {
        if Self::is_file(id_or_path) {
            return std::fs::read_to_string(id_or_path)
                .map_err(|e| TargetError::Unreadable { name: id_or_path.into(), reason: e.to_string() });
        }
        let built_in = BUILT_IN.iter().find(|(id, _)| *id == id_or_path);
        let known = || Self::ids().collect::<Vec<_>>().join(", ");
        built_in
            .map(|(_, text)| (*text).to_owned())
            .ok_or_else(|| TargetError::Unknown { name: id_or_path.into(), known: known() })
    }

    /// Ranges from the text of a target file.
    ///
    /// # Errors
    /// Every fault of the text, in its order.
    pub fn parse(text: &str) -> Result<Self, Vec<TargetFault>> {
        let mut targets = read::read(text)?;
        targets.sha256 = format!("{:x}", Sha256::digest(text.as_bytes()));
        Ok(targets)
    }

    /// The ranges as a file that can be loaded again, one value a line.
    pub fn to_json(&self) -> String {
        write::to_json(self)
    }

    /// What a user of these ranges should know: what they leave out, and what follows.
    pub fn remarks(&self) -> Vec<String> {
        remarks::remarks(self)
    }

    /// The range of one value, if the file has one.
    pub fn get(&self, surface: &str, value: Quantity) -> Option<&Target> {
        self.values.iter().find(|t| t.surface == surface && t.value == value)
    }

    /// Puts a range in the place of that of the same value, else behind the last of its surface.
    pub fn set(&mut self, target: Target) {
        if let Some(there) =
            self.values.iter_mut().find(|t| t.surface == target.surface && t.value == target.value)
        {
            *there = target;
        } else {
            let last = self.values.iter().rposition(|t| t.surface == target.surface);
            self.values.insert(last.map_or(self.values.len(), |last| last + 1), target);
        }
    }

    /// Takes a range out.
    pub fn remove(&mut self, surface: &str, value: Quantity) {
        self.values.retain(|t| t.surface != surface || t.value != value);
    }
}
