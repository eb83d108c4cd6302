//! Everything that bears on the result of a photograph.

use super::Before;
use crate::card::{CardSettings, CardShot};
use crate::light::FormChoice;
use crate::photo::Limits;
use crate::reading::MadeBy;
use crate::surface::SurfaceSettings;
use crate::verdict::{DecisionRule, TargetError, Targets};
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// The card of another photograph.
#[derive(Debug, Clone)]
pub struct Borrow {
    /// That photograph, read once.
    pub shot: Arc<CardShot>,
    /// What the files do not tell of their exposure is taken to be equal.
    pub same_exposure: bool,
}

/// Settings of the road.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Limits on files.
    pub limits: Limits,
    /// Which card, where, and which patches to leave out; those of the card shot where the card is borrowed.
    pub card: CardSettings,
    /// The correction comes from another photograph.
    pub borrow: Option<Borrow>,
    /// Outline told by hand.
    pub surface: SurfaceSettings,
    /// Form of the pieces.
    pub form: FormChoice,
    /// Target ranges.
    pub targets: Targets,
    /// How decisions are taken.
    pub rule: DecisionRule,
    /// A photograph in which no card is found is read as the camera saw it, for what needs no card: a reference shot of
    /// a comparison.
    pub without_card: bool,
    /// The photograph of the piece before the fire.
    pub before: Option<Arc<Before>>,
}

impl Settings {
    /// The built-in target ranges, an unknown edition of the 24-patch chart, everything found.
    ///
    /// # Errors
    /// None for a sound build: the target file that is compiled in is read here.
    pub fn new() -> Result<Self, TargetError> {
        Ok(Self {
            limits: Limits::default(),
            card: CardSettings::default(),
            borrow: None,
            surface: SurfaceSettings::default(),
            form: FormChoice::default(),
            targets: Targets::load("three-colour-low-fired")?,
            rule: DecisionRule::default(),
            without_card: false,
            before: None,
        })
    }

    /// SHA-256 of all settings that bear on the result.
    pub fn sha256(&self) -> String {
        // The debug form spells out every field, also those added later; targets by their file's hash.
        let mut text = format!(
            "{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{}",
            self.limits, self.card, self.surface, self.form, self.rule, self.targets.sha256
        );
        if let Some(borrow) = &self.borrow {
            text += &format!("\n{} {}", borrow.shot.facts.sha256, borrow.same_exposure);
        }
        if let Some(before) = &self.before {
            text += &format!("\nbefore {}", before.sha256());
        }
        format!("{:x}", Sha256::digest(text.as_bytes()))
    }

    /// Version and settings, as every record holds them.
    pub fn made_by(&self) -> MadeBy {
        MadeBy {
            version: env!("CARGO_PKG_VERSION").into(),
            settings_sha256: self.sha256(),
            settings: Some(self.told()),
        }
    }
}
