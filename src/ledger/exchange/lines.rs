//! The whole ledger as lines of JSON: what `ledger export --json` writes and `ledger import` reads.
//!
//! Each line is one entry under the word for it; the first names the format. Entries are known by their names and
//! photographs by their hash, so lines of one ledger fit into another.

use crate::ledger::entries::{Correction, Value};
use crate::ledger::temperatures::TemperatureLog;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::collections::BTreeMap;

/// Name of the format.
pub(super) const SCHEMA: &str = "sherdlight.ledger/1";

/// One line.
#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Line {
    Ledger(LedgerLine),
    Recipe(EntryLine),
    Firing(EntryLine),
    Piece(EntryLine),
    Load(LoadLine),
    Temperatures(TemperaturesLine),
    Photograph(Box<PhotographLine>),
}

/// The first line.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct LedgerLine {
    /// [`SCHEMA`].
    pub schema: String,
    /// The program that wrote it.
    pub version: String,
    /// What was left out: folders, places, exif.
    pub without: Vec<String>,
}

/// A recipe, firing or piece; values by the word of the field.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct EntryLine {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    pub name: String,
    #[serde(default)]
    pub values: BTreeMap<String, Value>,
    pub entered: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<Correction>,
}

/// A piece in a firing.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct LoadLine {
    pub firing: String,
    pub piece: String,
    #[serde(default)]
    pub values: BTreeMap<String, Value>,
    pub entered: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<Correction>,
}

/// A temperature log; a later one of the same firing and file replaces it.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct TemperaturesLine {
    pub firing: String,
    pub file_name: String,
    pub sha256: String,
    pub entered: String,
    pub log: TemperatureLog,
}

/// A photograph with all its passes, the oldest first; each replaces the one before.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct PhotographLine {
    pub sha256: String,
    pub file_name: String,
    #[serde(default)]
    pub folder: Option<String>,
    #[serde(default)]
    pub width: Option<i64>,
    #[serde(default)]
    pub height: Option<i64>,
    #[serde(default)]
    pub taken: Option<String>,
    #[serde(default)]
    pub exposure_seconds: Option<f64>,
    #[serde(default)]
    pub f_number: Option<f64>,
    #[serde(default)]
    pub iso: Option<f64>,
    #[serde(default)]
    pub piece: Option<String>,
    #[serde(default)]
    pub firing: Option<String>,
    pub entered: String,
    pub passes: Vec<PassLine>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<Correction>,
}

/// One reading of a photograph.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct PassLine {
    pub settings_sha256: String,
    pub version: String,
    pub entered: String,
    /// The records as they were kept, or the one that says why there are none.
    pub records: Vec<Box<RawValue>>,
}
