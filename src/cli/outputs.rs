//! Files that a run writes: beside their place first, then renamed.

use super::arguments::ScoreOptions;
use super::exit::Trouble;
use super::page;
use super::score::Outcome;
use image::RgbImage;
use sha2::{Digest, Sha256};
use sherdlight::card::CardError;
use sherdlight::reading::{Reading, Record, to_json_line};
use sherdlight::report::{
    DISPLAY_SIDE, PagePictures, ReportError, SurvivalSides, corrected_picture, jpeg, label_png, light_png,
    overlay, readings_csv, search_picture, survival_picture, with_legend, write_file,
};
use sherdlight::road::{Fault, Measured, Stopped};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Quality of the JPEG pictures beside the records.
pub const QUALITY: u8 = 88;

/// What is to be written.
pub struct Wanted {
    out: Option<PathBuf>,
    labels: Option<PathBuf>,
    light: Option<PathBuf>,
    report: Option<PathBuf>,
}

impl Wanted {
    /// No files at all.
    pub fn nothing() -> Self {
        Self { out: None, labels: None, light: None, report: None }
    }

    /// Makes the folders, so that a wrong name is said before an hour of work.
    pub fn prepare(options: &ScoreOptions) -> Result<Self, Trouble> {
        [&options.out, &options.labels, &options.light]
            .into_iter()
            .flatten()
            .try_for_each(|f| make_folder(f))?;
        options.report.as_deref().map_or(Ok(()), page::check_place)?;
        Ok(Self {
            out: options.out.clone(),
            labels: options.labels.clone(),
            light: options.light.clone(),
            report: options.report.clone(),
        })
    }

    /// Whether the files wanted of a photograph were written when it was read before, and are still there. What is not wanted
    /// now is taken from the records.
    pub fn all_there(&self, records: &mut [Record]) -> bool {
        if self.report.is_some() {
            return false;
        }
        let folders = [
            ("overlay", &self.out),
            ("corrected", &self.out),
            ("survival", &self.out),
            ("labels", &self.labels),
            ("light", &self.light),
        ];
        let mut whole = true;
        for record in records {
            let (outputs, wanted, survives) = match record {
                Record::Measured(reading) => (&mut reading.outputs, &folders[..], reading.survival.is_some()),
                Record::Failed(failure) => (&mut failure.outputs, &[][..], false),
            };
            whole &=
                wanted.iter().filter(|(kind, _)| survives || *kind != "survival").all(|(kind, folder)| {
                    folder
                        .as_ref()
                        .is_none_or(|f| outputs.get(*kind).is_some_and(|name| f.join(name).is_file()))
                });
            outputs.retain(|kind, _| match kind.as_str() {
                "search" => self.out.is_some(),
                kind => folders.iter().any(|(known, folder)| *known == kind && folder.is_some()),
            });
        }
        whole
    }

    /// Writes the files of one photograph and keeps what the page needs.
    pub fn write_photograph(&self, stem: &str, mut measured: Measured) -> Outcome {
        let (pictures, unwritten) = match self.write_pictures(stem, &mut measured) {
            Ok(pictures) => (pictures.map(Arc::new), None),
            Err(error) => (None, Some(error.to_string())),
        };
        let records = measured.readings.into_iter().map(|r| Record::Measured(Box::new(r))).collect();
        Outcome { records, pictures, unwritten, stopped: None }
    }

    /// Writes the picture of a search for the card that failed, where pictures are wanted, and lets go
    /// of the photograph.
    pub fn write_search(&self, stem: &str, stopped: &mut Stopped) -> Result<(), ReportError> {
        let photo = stopped.photo.take();
        let (Some(photo), Some(folder), Fault::Card(error)) = (photo, &self.out, &stopped.fault) else {
            return Ok(());
        };
        if let CardError::NotFound { step, search, .. } = error {
            let name = format!("{stem}.search.jpg");
            write_file(&folder.join(&name), &jpeg(&search_picture(&photo, search, step), QUALITY)?)?;
            stopped.record.outputs.insert("search".into(), name);
        }
        Ok(())
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
        if let Some(folder) = &self.light {
            let name = format!("{stem}.light.png");
            let factors: Vec<f64> = measured.levels.iter().map(|l| l.map_or(1.0, |l| l.factor)).collect();
            let size = [measured.photo.width(), measured.photo.height()];
            write_file(&folder.join(&name), &light_png(&measured.map, &factors, size)?)?;
            outputs.push(("light", name));
        }
        if let Some(folder) = &self.out {
            let corrected = corrected_picture(&measured.image, DISPLAY_SIDE);
            let card = measured.card.place.as_ref().map(|place| &place.frame_px);
            let drawn = overlay(&corrected, &measured.map, card);
            let mut write = |kind: &'static str, picture: &RgbImage| -> Result<(), ReportError> {
                let name = format!("{stem}.{kind}.jpg");
                write_file(&folder.join(&name), &jpeg(picture, QUALITY)?)?;
                outputs.push((kind, name));
                Ok(())
            };
            write("overlay", &with_legend(&drawn, &measured.map))?;
            write("corrected", &corrected)?;
            write_survival(folder, stem, measured)?;
        }
        note(&mut measured.readings, &outputs);
        let wanted = self.report.is_some();
        wanted.then(|| PagePictures::new(&measured.image, &measured.map, measured.photo.width())).transpose()
    }

    /// Writes the files of the whole load.
    pub fn write_load(&self, load: &page::Load) -> Result<(), Trouble> {
        if let Some(folder) = &self.out {
            let mut lines = String::new();
            for record in load.records {
                lines.push_str(&to_json_line(record)?);
                lines.push('\n');
            }
            write_file(&folder.join("records.jsonl"), lines.as_bytes())?;
            write_file(&folder.join("readings.csv"), &readings_csv(load.records)?)?;
        }
        self.report.as_deref().map_or(Ok(()), |file| page::write(load, file, None))
    }
}

/// Writes a picture of each piece that the photograph before the fire shows.
fn write_survival(folder: &Path, stem: &str, measured: &mut Measured) -> Result<(), ReportError> {
    let Measured { image, map, readings, before, .. } = measured;
    let Some(pieces) = before else { return Ok(()) };
    for (index, (reading, found)) in readings.iter_mut().zip(&pieces.found).enumerate() {
        let (Some(part), Ok(found)) = (&reading.survival, found) else { continue };
        let before = (&pieces.shot.measured.image, &pieces.shot.measured.map);
        let sides = SurvivalSides { before, after: (image, map), index, found };
        let name = match index {
            0 => format!("{stem}.survival.jpg"),
            more => format!("{stem}.survival-{}.jpg", more + 1),
        };
        write_file(&folder.join(&name), &jpeg(&survival_picture(&sides, part), QUALITY)?)?;
        reading.outputs.insert("survival".into(), name);
    }
    Ok(())
}

/// Makes a folder that files are to be written to.
pub fn make_folder(folder: &Path) -> Result<(), Trouble> {
    std::fs::create_dir_all(folder).map_err(|e| {
        Trouble::settings(
            format!("the folder '{}' cannot be made: {e}", folder.display()),
            "Check its name and rights.",
        )
    })
}

fn note(readings: &mut [Reading], outputs: &[(&str, String)]) {
    for reading in readings {
        reading.outputs.extend(outputs.iter().map(|(kind, name)| ((*kind).to_owned(), name.clone())));
    }
}

/// The hash that tells two files of one name apart; `None` where the file cannot be read.
pub fn hash_of(path: &Path) -> Option<String> {
    let bytes = std::fs::read(path).ok()?;
    Some(format!("{:x}", Sha256::digest(bytes)))
}
