//! Target ranges as a file a person can read: two nested ranges for each value, *aim* and *accept*.

use serde::Deserialize;
use sha2::{Digest, Sha256};
use std::path::Path;

/// The ranges compiled in.
const BUILT_IN: [(&str, &str); 1] =
    [("three-colour-low-fired", include_str!("../../calibration/targets/three-colour-low-fired.json"))];

/// A target file that cannot be used.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum TargetError {
    /// Neither a name compiled in nor a file.
    #[error("no target ranges are called '{name}'; known: {known}")]
    Unknown {
        /// The name asked for.
        name: String,
        /// The names there are.
        known: String,
    },
    /// The file cannot be read or is no target file.
    #[error("the target file '{name}' cannot be used: {reason}")]
    Invalid {
        /// The file.
        name: String,
        /// What is wrong.
        reason: String,
    },
}

/// A range; an open end is `None`.
pub type Range = [Option<f64>; 2];

/// What is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Quantity {
    /// L* of a surface.
    Lightness,
    /// C*ab of a surface.
    Chroma,
    /// Hue angle of a surface, degrees.
    Hue,
    /// Standard deviation of L* over a surface, slow changes left out.
    Evenness,
    /// L* of white less L* of black.
    DeltaLightness,
    /// CIEDE2000 of white against black.
    Ciede2000,
    /// Y of white over Y of black.
    ReflectanceRatio,
    /// Part of the paint that still reads black.
    RetainedFraction,
    /// Share of the piece under fire clouds.
    AreaFraction,
}

/// The ranges of one value.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Target {
    /// `white`, `red`, `black`, `body`, `contrast`, `paint` or `clouds`.
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
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Targets {
    /// Short name.
    pub id: String,
    /// What it is for.
    pub name: String,
    /// What it rests on.
    pub note: String,
    /// Must be `D50`.
    pub illuminant: String,
    /// Must be `CIE 1931 2 degree`.
    pub observer: String,
    /// The ranges.
    pub values: Vec<Target>,
    /// L*, a*, b* at the centre of the aim, by surface, for the distance to the target.
    #[serde(default)]
    pub aim_colours: std::collections::BTreeMap<String, [f64; 3]>,
    /// SHA-256 of the file's text.
    #[serde(skip)]
    pub sha256: String,
}

impl Targets {
    /// Ranges by name, or from a file where the argument has a `/` or an extension.
    ///
    /// # Errors
    /// An unknown name; a file that cannot be read, is no target file, or holds an aim outside its
    /// accept range.
    pub fn load(id_or_path: &str) -> Result<Self, TargetError> {
        let path = Path::new(id_or_path);
        if id_or_path.contains('/') || path.extension().is_some() {
            let invalid = |reason: String| TargetError::Invalid { name: id_or_path.into(), reason };
            let text = std::fs::read_to_string(path).map_err(|e| invalid(e.to_string()))?;
            return Self::parse(&text).map_err(invalid);
        }
        let known = || BUILT_IN.map(|(id, _)| id).join(", ");
        let (_, text) = BUILT_IN
            .iter()
            .find(|(id, _)| *id == id_or_path)
            .ok_or_else(|| TargetError::Unknown { name: id_or_path.into(), known: known() })?;
        Self::parse(text).map_err(|reason| TargetError::Invalid { name: id_or_path.into(), reason })
    }

    /// Ranges from the text of a target file; the error is a plain sentence.
    ///
    /// # Errors
    /// As [`Targets::load`].
    pub fn parse(text: &str) -> Result<Self, String> {
        let mut targets: Targets = serde_json::from_str(text).map_err(|e| e.to_string())?;
        if targets.illuminant != "D50" || targets.observer != "CIE 1931 2 degree" {
            return Err("only D50 and the CIE 1931 2 degree observer can be used".into());
        }
        for target in &targets.values {
            check(target)?;
        }
        targets.sha256 = format!("{:x}", Sha256::digest(text.as_bytes()));
        Ok(targets)
    }

    /// The range of one value, if the file has one.
    pub fn get(&self, surface: &str, value: Quantity) -> Option<&Target> {
        self.values.iter().find(|t| t.surface == surface && t.value == value)
    }
}

/// Which values a surface can have; a value that is never measured would never be graded.
fn check(target: &Target) -> Result<(), String> {
    use Quantity::*;
    let name = format!("{} {:?}", target.surface, target.value);
    let fits = match target.value {
        Lightness | Chroma | Hue | Evenness => {
            matches!(target.surface.as_str(), "white" | "red" | "black" | "body")
        }
        DeltaLightness | Ciede2000 | ReflectanceRatio => target.surface == "contrast",
        RetainedFraction => target.surface == "paint",
        AreaFraction => target.surface == "clouds",
    };
    if !fits {
        return Err(format!("{name}: this surface has no such value"));
    }
    let ends = |[low, high]: Range| (low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY));
    let (aim, accept) = (ends(target.aim), ends(target.accept));
    if aim.0 >= aim.1 || accept.0 >= accept.1 {
        return Err(format!("{name}: a range must run from its lower to its higher end"));
    }
    if aim.0 < accept.0 || aim.1 > accept.1 {
        return Err(format!("{name}: the aim must lie inside the accept range"));
    }
    Ok(())
}
