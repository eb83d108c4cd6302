//! Photographs found again by what is in them, and measured again with the settings that a record holds.

use super::inputs::pictures_below;
use super::outputs;
use sherdlight::card::{CardShot, read_card};
use sherdlight::photo;
use sherdlight::reading::Record;
use sherdlight::report::file_name_of;
use sherdlight::road::{Before, Borrow, Settings};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// Where photographs are looked for.
pub struct Photographs {
    /// Files below the folders told, by name.
    files: Vec<PathBuf>,
    /// Hashes that were taken already.
    hashes: Mutex<BTreeMap<PathBuf, Option<String>>>,
}

impl Photographs {
    /// Looks into these folders and what lies below them.
    pub fn below(folders: &[PathBuf]) -> Result<Self, super::exit::Trouble> {
        Ok(Self { files: pictures_below(folders)?, hashes: Mutex::default() })
    }

    /// The file with these bytes: first where it lay, then by its name, then any.
    pub fn find(&self, path: &str, sha256: &str) -> Option<PathBuf> {
        let name = file_name_of(path);
        let same_name = |file: &&PathBuf| file.file_name().is_some_and(|n| n.to_string_lossy() == name);
        let there = (!path.is_empty()).then(|| PathBuf::from(path));
        let named = self.files.iter().filter(same_name).cloned();
        let others = self.files.iter().filter(|file| !same_name(file)).cloned();
        there.into_iter().chain(named).chain(others).find(|file| self.hash(file).as_deref() == Some(sha256))
    }

    /// Files of this name with other bytes.
    pub fn namesakes(&self, path: &str) -> Vec<&Path> {
        let name = file_name_of(path);
        let same = |file: &&PathBuf| file.file_name().is_some_and(|n| n.to_string_lossy() == name);
        self.files.iter().filter(same).map(PathBuf::as_path).collect()
    }

    fn hash(&self, file: &Path) -> Option<String> {
        if let Some(known) = self.hashes.lock().unwrap_or_else(PoisonError::into_inner).get(file) {
            return known.clone();
        }
        let hash = outputs::hash_of(file);
        self.hashes.lock().unwrap_or_else(PoisonError::into_inner).insert(file.into(), hash.clone());
        hash
    }

    /// The settings that a record was read with, the card's photograph found again where it was borrowed.
    pub fn settings(&self, record: &Record) -> Result<Settings, String> {
        let reading = record.reading();
        let (made_by, card) = match record {
            Record::Measured(reading) => (&reading.made_by, Some(&reading.card)),
            Record::Failed(failure) => (&failure.made_by, failure.card.as_ref()),
        };
        let Some(text) = &made_by.settings else {
            return Err(format!("version {} did not record its settings", made_by.version));
        };
        let recalled = Settings::recalled(text).map_err(|error| error.to_string())?;
        let mut settings = recalled.settings;
        if let Some(from) = recalled.card_from {
            let path =
                card.and_then(|c| c.borrowed_from.as_ref()).map_or(from.file.as_str(), |b| b.path.as_str());
            let file = self
                .find(path, &from.sha256)
                .ok_or_else(|| format!("the card shot '{}' is not here", from.file))?;
            let unusable = |what: String| format!("the card shot '{}' cannot be used: {what}", from.file);
            let photo = photo::read(&file, &settings.limits).map_err(|e| unusable(e.to_string()))?;
            let reading = read_card(&photo, &settings.card).map_err(|e| unusable(e.to_string()))?;
            let shot = Arc::new(CardShot::new(&from.file, &photo, reading));
            settings.borrow = Some(Borrow { shot, same_exposure: from.same_exposure });
        }
        if let Some(before) = recalled.before {
            let known = reading.and_then(|r| r.survival.as_ref()).map(|s| s.before.path.as_str());
            let shown = &before.file;
            let file = self
                .find(known.unwrap_or(shown), &before.sha256)
                .ok_or_else(|| format!("the photograph before the fire '{shown}' is not here"))?;
            let read = Before::read(&file, &settings).map_err(|stopped| {
                format!("the photograph before the fire '{shown}' cannot be used: {}", stopped.fault)
            })?;
            settings.before = Some(Arc::new(read));
        }
        Ok(settings)
    }
}
