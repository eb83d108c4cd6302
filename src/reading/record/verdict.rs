//! What was decided of a piece: faults, grade, differences to a reference.

use serde::{Deserialize, Serialize};

/// A verdict on one fault.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Fault {
    /// `burned-out`, `greyed`, `buffed`, `weak-black`, `dull-red`, `clouded`.
    pub fault: String,
    /// Present, absent or cannot tell.
    pub verdict: Verdict,
    /// 0 to 1; null where nothing of it can be seen.
    pub severity: Option<f64>,
    /// Sentences with the values, limits and u95 used.
    pub because: Vec<String>,
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
    /// One value wholly outside its accept range.
    Faulty,
    /// An interval crosses a limit.
    #[default]
    CannotTell,
    /// All inside accept, one wholly outside aim.
    Marginal,
    /// Every interval inside aim.
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

/// A replica against its reference.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Comparison {
    /// The reference shots, as named.
    pub references: Vec<String>,
    /// A difference for each surface that both show.
    pub differences: Vec<Difference>,
}

/// One surface of the replica against the same surface of the reference.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Difference {
    /// `white`, `red`, `black`, `body` or `smudged`.
    pub surface: String,
    /// CIEDE2000.
    pub de00: f64,
    /// Half-width of its 95 % interval; the two are not told apart where it is larger than `de00`.
    pub u95: f64,
    /// L*, C*, h: replica less reference; h in degrees, -180 to 180.
    pub delta_lch: [f64; 3],
    /// The parts of CIEDE2000: lightness, chroma, hue, each over its weight.
    pub parts: [f64; 3],
    /// CIEDE2000 with both L* set to 50: colour without lightness.
    pub colour_only_de00: f64,
    /// True where the interval leaves no doubt that the two differ.
    pub differs: bool,
}
