//! Card definitions as data: layout, reference colours with white point, observer and source.
//!
//! Comes in: the id of a card compiled in, or a file: our own JSON, or CGATS.17 / ISO 28178 text, told
//! apart by content. Goes out: a [`CardDefinition`] that has passed its self-test, with remarks on what
//! was assumed, or every fault with its line and field. Colours are CIELAB for D50 and the CIE 1931
//! 2 degree observer; lengths are in the unit of the [`Layout`].

mod cgats;
mod check;
mod colours;
mod conditions;
mod fault;
mod file;
mod json;
mod layout;
mod places;
mod raw;
mod spectral;
mod write;

pub use cgats::{CgatsCell, CgatsFile, CgatsTable, CgatsWord};
pub use fault::{DefinitionError, DefinitionFault};
pub use file::{CardFile, CardLayout, LayoutPatch};
pub use layout::{Layout, LengthUnit};

use super::CardError;
use crate::colour::LabD50;

/// The definitions compiled in, by id.
const BUILT_IN: [(&str, &str); 3] = [
    ("chart24-a", include_str!("../../../calibration/cards/chart24-a.json")),
    ("chart24-b", include_str!("../../../calibration/cards/chart24-b.json")),
    ("chart24-iso", include_str!("../../../calibration/cards/chart24-iso.json")),
];

/// One patch of a card.
#[derive(Debug, Clone, PartialEq)]
pub struct PatchDefinition {
    /// Number in reading order, as text: `"1"` to `"24"`; or a short word without commas.
    pub id: String,
    /// Plain words, such as `dark skin`; may be empty.
    pub name: String,
    /// Reference colour.
    pub lab: LabD50,
    /// Half-widths of the 95 % intervals of L*, a*, b*, measured or learned; `None`: not known.
    pub u95: Option<[f64; 3]>,
}

/// A card: layout and reference colours.
#[derive(Debug, Clone, PartialEq)]
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
    /// X, Y, Z of the white, Y = 1; that of D50.
    pub white: [f64; 3],
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

    /// Loads a definition by id, or from a file of the user's, JSON or CGATS text. An argument with a
    /// path separator or an extension is a file. [`CardFile::load`] also gives the remarks.
    ///
    /// # Errors
    /// [`CardError::Definition`] for an unknown id, an unreadable file, or a table that fails its check.
    pub fn load(id_or_path: &str) -> Result<Self, CardError> {
        Ok(CardFile::load(id_or_path, None)?.definition)
    }

    /// Reads a definition from JSON text and checks it; `name` is used in errors.
    ///
    /// # Errors
    /// [`CardError::Definition`].
    pub fn from_json(name: &str, text: &str) -> Result<Self, CardError> {
        let name_faults = |faults| DefinitionError { name: name.into(), faults };
        Ok(file::from_json(text.trim_start_matches('\u{feff}')).map_err(name_faults)?.definition)
    }

    /// The definition as JSON text that [`CardDefinition::load`] reads again, one patch a line.
    pub fn to_json(&self) -> String {
        write::to_json(self)
    }

    /// Runs the self-test on a definition made in memory: remarks on what is unusual.
    ///
    /// # Errors
    /// Every fault, with its field.
    pub fn check(&self) -> Result<Vec<String>, DefinitionError> {
        let checked = check::check(self);
        if checked.flaws.is_empty() {
            return Ok(checked.remarks);
        }
        let fault = |(at, reason)| DefinitionFault { line: None, field: Some(file::field_of(at)), reason };
        Err(DefinitionError { name: self.id.clone(), faults: checked.flaws.into_iter().map(fault).collect() })
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
            .filter(|&i| self.patches[i].lab.a.hypot(self.patches[i].lab.b) < check::NEUTRAL)
            .collect();
        found.sort_by(|&i, &j| self.patches[j].lab.l.total_cmp(&self.patches[i].lab.l));
        found
    }
}
