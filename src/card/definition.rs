//! Card definitions as data: layout, reference colours with white point, observer and source.

use super::{CardError, Layout};
use crate::colour::{LabD50, ciede2000};
use serde::Deserialize;
use std::path::Path;

/// The definitions compiled in, by id.
const BUILT_IN: [(&str, &str); 3] = [
    ("chart24-a", include_str!("../../calibration/cards/chart24-a.json")),
    ("chart24-b", include_str!("../../calibration/cards/chart24-b.json")),
    ("chart24-iso", include_str!("../../calibration/cards/chart24-iso.json")),
];

/// One patch of a card.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PatchDefinition {
    /// Number in reading order, as text: `"1"` to `"24"`.
    pub id: String,
    /// Plain words, such as `dark skin`.
    pub name: String,
    /// Reference colour.
    pub lab: LabD50,
}

/// A card: layout and reference colours.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CardDefinition {
    /// Short name, such as `chart24-b`.
    pub id: String,
    /// What it is, in a sentence.
    pub name: String,
    /// Where the colours come from.
    pub source: String,
    /// Observer of the reference colours; only `CIE 1931 2 degree` is taken.
    pub observer: String,
    /// Illuminant of the reference colours; only `D50` is taken.
    pub illuminant: String,
    /// Where the patches lie.
    pub layout: Layout,
    /// `rows * columns` patches in reading order.
    pub patches: Vec<PatchDefinition>,
}

impl CardDefinition {
    /// Ids of the definitions compiled in.
    pub fn ids() -> [&'static str; 3] {
        BUILT_IN.map(|(id, _)| id)
    }

    /// Loads a definition by id, or from a JSON file of the user's. An argument with a path separator
    /// or an extension is a file.
    ///
    /// # Errors
    /// [`CardError::Definition`] for an unknown id, an unreadable file, or a table that fails its check.
    pub fn load(id_or_path: &str) -> Result<Self, CardError> {
        let path = Path::new(id_or_path);
        let is_file = id_or_path.contains(['/', '\\']) || path.extension().is_some();
        if is_file {
            let text = std::fs::read_to_string(path)
                .map_err(|e| definition_error(id_or_path, format!("the file cannot be read: {e}")))?;
            return Self::from_json(id_or_path, &text);
        }
        match BUILT_IN.iter().find(|(id, _)| *id == id_or_path) {
            Some((id, text)) => Self::from_json(id, text),
            None => Err(definition_error(
                id_or_path,
                format!("no such id; use {}, or the path of a .json file", Self::ids().join(", ")),
            )),
        }
    }

    /// Reads a definition from JSON text and checks it; `name` is used in errors.
    ///
    /// # Errors
    /// [`CardError::Definition`].
    pub fn from_json(name: &str, text: &str) -> Result<Self, CardError> {
        let card: Self = serde_json::from_str(text.trim_start_matches('\u{feff}'))
            .map_err(|e| definition_error(name, format!("not a card definition: {e}")))?;
        card.check().map_err(|reason| definition_error(name, reason))?;
        Ok(card)
    }

    /// The same card with the width of a patch in mm.
    #[must_use]
    pub fn with_patch_mm(mut self, patch_mm: f64) -> Self {
        self.layout = self.layout.with_patch_mm(patch_mm);
        self
    }

    /// Patches whose reference colour is neutral (chroma below 5), lightest first, as indices.
    pub fn neutrals(&self) -> Vec<usize> {
        let mut found: Vec<usize> = (0..self.patches.len())
            .filter(|&i| self.patches[i].lab.a.hypot(self.patches[i].lab.b) < 5.0)
            .collect();
        found.sort_by(|&i, &j| self.patches[j].lab.l.total_cmp(&self.patches[i].lab.l));
        found
    }

    fn check(&self) -> Result<(), String> {
        if self.observer != "CIE 1931 2 degree" || self.illuminant != "D50" {
            return Err("the colours must be CIELAB for the CIE 1931 2 degree observer and D50".into());
        }
        self.layout.check()?;
        let wanted = self.layout.rows * self.layout.columns;
        if self.patches.len() != wanted {
            return Err(format!("{} patches are listed, the layout has {wanted}", self.patches.len()));
        }
        for (i, patch) in self.patches.iter().enumerate() {
            let LabD50 { l, a, b } = patch.lab;
            if !((0.0..=100.5).contains(&l) && a.abs() <= 150.0 && b.abs() <= 150.0) {
                return Err(format!("patch {} has no possible colour", patch.id));
            }
            if self.patches[..i].iter().any(|p| p.id == patch.id) {
                return Err(format!("patch {} is listed twice", patch.id));
            }
        }
        let neutrals = self.neutrals();
        if neutrals.len() < 3 {
            return Err("at least three neutral patches (chroma below 5) are needed".into());
        }
        let step = |w: &[usize]| ciede2000(self.patches[w[0]].lab, self.patches[w[1]].lab);
        if neutrals.windows(2).any(|w| step(w) < 1.0) {
            return Err("two neutral patches have the same colour".into());
        }
        Ok(())
    }
}

fn definition_error(name: &str, reason: String) -> CardError {
    CardError::Definition { name: name.into(), reason }
}
