//! Files that a run writes: beside their place first, then renamed.

use super::arguments::ScoreOptions;
use super::exit::Trouble;
use super::score::Outcome;
use sha2::{Digest, Sha256};
use sherdlight::reading::{Record, to_json_line};
use sherdlight::report::{
    LoadPage, PageEntry, PagePictures, ReportError, corrected_picture, jpeg, label_png, overlay_picture,
    readings_csv, write_file,
};
use sherdlight::road::Measured;
use std::path::{Path, PathBuf};

/// Long side of pictures that are written, in pixels.
const PICTURE_SIDE: usize = 1600;
/// Long side of pictures inside the page.
const PAGE_SIDE: usize = 900;

/// What is to be written.
pub struct Wanted {
    out: Option<PathBuf>,
    labels: Option<PathBuf>,
    report: Option<PathBuf>,
}

impl Wanted {
    /// Makes the folders, so that a wrong name is said before an hour of work.
    pub fn prepare(options: &ScoreOptions) -> Result<Self, Trouble> {
        for folder in [&options.out, &options.labels].into_iter().flatten() {
            std::fs::create_dir_all(folder).map_err(|e| {
                Trouble::settings(
                    format!("the folder '{}' cannot be made: {e}", folder.display()),
                    "Check its name and rights.",
                )
            })?;
        }
        if let Some(report) = &options.report
            && let Some(parent) = report.parent().filter(|p| !p.as_os_str().is_empty() && !p.is_dir())
        {
            return Err(Trouble::settings(
                format!("the report cannot be written: there is no folder '{}'", parent.display()),
                "Make the folder first, or name another.",
            ));
        }
        Ok(Self { out: options.out.clone(), labels: options.labels.clone(), report: options.report.clone() })
    }

    /// Nothing is to be written.
    pub fn nothing() -> Self {
        Self { out: None, labels: None, report: None }
    }

    /// Writes the files of one photograph and keeps what the page needs.
    pub fn write_photograph(&self, stem: &str, mut measured: Measured) -> Outcome {
        let written = self.write_pictures(stem, &mut measured);
        let (pictures, unwritten) = match written {
            Ok(pictures) => (pictures, None),
            Err(error) => (None, Some(format!("{error}."))),
        };
        let records = measured.readings.into_iter().map(|r| Record::Measured(Box::new(r))).collect();
        Outcome { records, pictures, unwritten, stopped: None }
    }

    fn write_pictures(
        &self,
        stem: &str,
        measured: &mut Measured,
    ) -> Result<Option<PagePictures>, ReportError> {
        let mut outputs: Vec<(&str, String)> = Vec::new();
        if let Some(folder) = &self.labels {
            let name = format!("{stem}.labels.png");
            let png = label_png(&measured.map, measured.photo.width(), measured.photo.height())?;
            write_file(&folder.join(&name), &png)?;
            outputs.push(("labels", name));
        }
        let pictures = |side: usize, measured: &Measured| -> Result<(Vec<u8>, Vec<u8>), ReportError> {
            let overlay = overlay_picture(&measured.image, &measured.map, &measured.card, side);
            let corrected = corrected_picture(&measured.image, side);
            Ok((jpeg(&overlay, 88)?, jpeg(&corrected, 88)?))
        };
        if let Some(folder) = &self.out {
            let (overlay, corrected) = pictures(PICTURE_SIDE, measured)?;
            for (kind, name, bytes) in [
                ("overlay", format!("{stem}.overlay.jpg"), overlay),
                ("corrected", format!("{stem}.corrected.jpg"), corrected),
            ] {
                write_file(&folder.join(&name), &bytes)?;
                outputs.push((kind, name));
            }
        }
        for reading in &mut measured.readings {
            reading.outputs.extend(outputs.iter().map(|(kind, name)| ((*kind).to_owned(), name.clone())));
        }
        if self.report.is_none() {
            return Ok(None);
        }
        let (overlay, corrected) = pictures(PAGE_SIDE, measured)?;
        Ok(Some(PagePictures { overlay, corrected }))
    }

    /// Writes the files of the whole load.
    pub fn write_load(&self, records: &[&Record], outcomes: &[Outcome]) -> Result<(), Trouble> {
        if let Some(folder) = &self.out {
            let mut lines = String::new();
            for record in records {
                lines.push_str(&to_json_line(record)?);
                lines.push('\n');
            }
            write_file(&folder.join("records.jsonl"), lines.as_bytes())?;
            write_file(&folder.join("readings.csv"), readings_csv(records.iter().copied())?.as_bytes())?;
        }
        if let Some(file) = &self.report {
            let entries = outcomes
                .iter()
                .flat_map(|o| {
                    o.records.iter().map(|record| PageEntry { record, pictures: o.pictures.as_ref() })
                })
                .collect();
            write_file(file, LoadPage::new(entries).html()?.as_bytes())?;
        }
        Ok(())
    }
}

/// The hash that tells two files of one name apart; `None` where the file cannot be read.
pub fn hash_of(path: &Path) -> Option<String> {
    let bytes = std::fs::read(path).ok()?;
    Some(format!("{:x}", Sha256::digest(bytes)))
}
