//! Everything that bears on the result of a photograph.

use crate::card::CardSettings;
use crate::photo::Limits;
use crate::reading::MadeBy;
use crate::surface::SurfaceSettings;
use crate::verdict::{TargetError, Targets};
use sha2::{Digest, Sha256};

/// Settings of the road.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Limits on files.
    pub limits: Limits,
    /// Which card, where, and which patches to leave out.
    pub card: CardSettings,
    /// Outline told by hand.
    pub surface: SurfaceSettings,
    /// Target ranges.
    pub targets: Targets,
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
            surface: SurfaceSettings::default(),
            targets: Targets::load("three-colour-low-fired")?,
        })
    }

    /// SHA-256 of all settings that bear on the result.
    pub fn sha256(&self) -> String {
        // The debug form spells out every field, also those added later; targets by their file's hash.
        let text = format!("{:?}\n{:?}\n{:?}\n{}", self.limits, self.card, self.surface, self.targets.sha256);
        format!("{:x}", Sha256::digest(text.as_bytes()))
    }

    /// Version and settings, as every record holds them.
    pub fn made_by(&self) -> MadeBy {
        MadeBy { version: env!("CARGO_PKG_VERSION").into(), settings_sha256: self.sha256() }
    }
}
