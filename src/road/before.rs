//! The photograph of the piece before the fire.

use super::told::bare_name;
use super::{Measured, Settings, Stopped, measure};
use crate::card::{CardSettings, CorrectedImage};
use crate::reading::{BeforePart, Reading, survival_part, unmatched};
use crate::surface::{SurfaceMap, SurfaceSettings};
use crate::survival::{Found, Unmatched, find_pieces, mark_paint};
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::sync::Arc;

/// A photograph of the painted piece before the fire, read once.
#[derive(Debug)]
pub struct Before {
    /// The file as it was named.
    pub path: String,
    /// What it came to.
    pub measured: Measured,
}

impl Before {
    /// Reads it. What was told by hand of the fired piece's photograph (corners, patches, outline, ball) does not hold here:
    /// all is found. A card is not needed, for paint is set against the slip beside it.
    ///
    /// # Errors
    /// [`Stopped`], where the file cannot be used or nothing stands out as a piece.
    pub fn read(path: &Path, settings: &Settings) -> Result<Self, Box<Stopped>> {
        let card = CardSettings { corners: None, skip: Vec::new(), ..settings.card.clone() };
        let own = Settings {
            card,
            borrow: None,
            surface: SurfaceSettings::default(),
            without_card: true,
            before: None,
            ..settings.clone()
        };
        let measured = measure(path, &own)?;
        Ok(Self { path: path.to_string_lossy().into_owned(), measured })
    }

    /// SHA-256 of the file.
    pub fn sha256(&self) -> &str {
        &self.measured.photo.facts.sha256
    }
}

/// The pieces of a fired photograph in the photograph before the fire.
#[derive(Debug)]
pub struct Pieces {
    /// That photograph.
    pub shot: Arc<Before>,
    /// Where it shows each piece, the largest first, or why it does not.
    pub found: Vec<Result<Found, Unmatched>>,
}

impl Pieces {
    /// Finds them, and puts the paint that was laid into the map.
    pub(super) fn find(shot: Arc<Before>, image: &CorrectedImage, map: &mut SurfaceMap) -> Self {
        let found = find_pieces((&shot.measured.image, &shot.measured.map), (image, map));
        for (index, found) in found.iter().enumerate() {
            if let Ok(found) = found {
                mark_paint(map, index, found);
            }
        }
        Self { shot, found }
    }

    /// Puts into each reading what became of the paint, or why that is not known.
    pub(super) fn tell(&self, readings: &mut [Reading], map: &SurfaceMap) {
        let path = &self.shot.path;
        let part = BeforePart { path: path.clone(), sha256: self.shot.sha256().into(), piece: 0 };
        for (index, (reading, found)) in readings.iter_mut().zip(&self.found).enumerate() {
            match found {
                Ok(found) => {
                    let before = (part.clone(), self.shot.measured.map.factor);
                    reading.survival = Some(survival_part(found, map, index, before));
                }
                Err(why) => {
                    let (reason, warning) = unmatched(why, &bare_name(path));
                    reading.null_because.insert("survival".into(), reason);
                    reading.warnings.push(warning);
                }
            }
        }
    }
}

/// The photograph before the fire, as the text of settings names it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BeforeFile {
    /// Its file name, without folders.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
}
