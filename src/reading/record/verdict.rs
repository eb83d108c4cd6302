//! What was decided of a piece: faults and grade.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A verdict on one fault.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Fault {
    /// `burned-out`, `greyed`, `buffed`, `weak-black`, `dull-red`, `clouded`.
    pub fault: String,
    /// Present, absent or cannot tell.
    pub verdict: Verdict,
    /// 0 to 1; null where nothing of it can be seen.
    pub severity: Option<f64>,
    /// Probability that the value lies outside its accept range, 0 to 1; null where there is no value or no range.
    #[serde(default)]
    pub probability: Option<f64>,
    /// Sentences with the values, limits and u95 used.
    pub because: Vec<String>,
}

/// What may lie behind the faults of a piece.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Cause {
    /// In a potter's words.
    pub cause: String,
    /// How well the faults speak for it, 0 to 1: the product of the chances of its signs. Causes need not add up to 1.
    pub support: f64,
    /// Signs that speak for it.
    #[serde(rename = "for")]
    pub evidence_for: Vec<String>,
    /// Signs that speak against it.
    pub against: Vec<String>,
    /// What the link from signs to cause rests on.
    pub basis: String,
    /// One change that would try it.
    pub next: String,
}

/// How grades and verdicts were decided.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Decision {
    /// The rule.
    pub rule: String,
    /// Most that a decision may be wrong, 0 to 1.
    pub risk: f64,
}

/// Present, absent, or inside the uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The fault is there.
    Present,
    /// The fault is not there.
    Absent,
    /// A limit lies inside the uncertainty, or the surface is not seen.
    CannotTell,
}

/// Grade of a piece, from worst to best.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// One value outside its accept range.
    Faulty,
    /// A limit lies too near to a value to tell.
    #[default]
    CannotTell,
    /// All inside accept, one outside aim.
    Marginal,
    /// Every value inside aim.
    Sound,
}

impl Grade {
    /// The word in records, tables and options.
    pub fn name(self) -> &'static str {
        match self {
            Grade::Faulty => "faulty",
            Grade::CannotTell => "cannot-tell",
            Grade::Marginal => "marginal",
            Grade::Sound => "sound",
        }
    }
    /// The grade by its word.
    pub fn from_name(name: &str) -> Option<Self> {
        [Grade::Faulty, Grade::CannotTell, Grade::Marginal, Grade::Sound]
            .into_iter()
            .find(|g| g.name() == name)
    }
}

/// The views of one piece in one firing, joined by the sheet.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Views {
    /// The piece, as the sheet names it.
    pub piece: String,
    /// The firing, as the sheet names it.
    pub firing: Option<String>,
    /// File names of the photographs.
    pub photos: Vec<String>,
    /// The worst decided grade of the views.
    pub grade: Grade,
    /// What decided, by photograph.
    pub grade_because: Vec<String>,
    /// The surfaces over all views, by name.
    pub surfaces: BTreeMap<String, PooledSurface>,
    /// Part of the paint of all views that still reads black, 0 to 1; null without paint.
    pub retained_fraction: Option<f64>,
    /// Half-width of its 95 % interval.
    pub retained_u95: Option<f64>,
    /// Where views disagree by more than their intervals.
    pub disagreements: Vec<String>,
    /// What changed since the firing before, where the piece was seen in one.
    pub since_last_firing: Vec<String>,
}

/// A surface over several views.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct PooledSurface {
    /// Full-size pixels in all views.
    pub area_px: usize,
    /// L*, a*, b* of the mean reflectance, views weighted by area.
    pub lab: [f64; 3],
    /// Half-widths of the 95 % intervals: those of the views, averaged by area (they share their card).
    pub u95: [f64; 3],
}
