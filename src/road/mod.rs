//! The road for one photograph: every stage in its order.
//!
//! Comes in: a path and the [`Settings`]. Goes out: a [`Measured`] photograph, with its records and
//! the pictures they were made from, or a [`Stopped`] that holds the record of a photograph that
//! could not be measured. Nothing is printed and nothing is written.

mod before;
mod settings;
mod stopped;
mod told;

pub use before::{Before, BeforeFile, Pieces};
pub use settings::{Borrow, Settings};
pub use stopped::{Fault, Stopped};
pub use told::{CardFrom, RecallError, Recalled};

use crate::card::{CardError, CardReading, CorrectedImage, borrow_card, read_card};
use crate::photo::Photo;
use crate::reading::{Reading, Sources, measure as measure_pieces};
use crate::surface::{SurfaceMap, map_surfaces};
use crate::{light, photo, verdict};
use std::path::Path;

/// A measured photograph.
#[derive(Debug)]
pub struct Measured {
    /// The photograph itself.
    pub photo: Photo,
    /// The card in it, or the one it borrows.
    pub card: CardReading,
    /// The photograph in corrected light, reduced.
    pub image: CorrectedImage,
    /// Its surfaces, same size.
    pub map: SurfaceMap,
    /// The light on each piece, the largest first, where a ball told it.
    pub levels: Vec<Option<light::Level>>,
    /// A reading a piece, the largest first, with faults and grade.
    pub readings: Vec<Reading>,
    /// The photograph before the fire, where one was given, and where it shows each piece.
    pub before: Option<Pieces>,
}

/// Longest side of the corrected picture and the map: finer detail than this is grain.
const MAP_SIDE: usize = 2200;

/// Measures one photograph.
///
/// # Errors
/// [`Stopped`], where the file cannot be used, no card is found or nothing stands out as a piece.
pub fn measure(path: &Path, settings: &Settings) -> Result<Measured, Box<Stopped>> {
    let name = path.to_string_lossy();
    let made_by = settings.made_by();
    let photo = photo::read(path, &settings.limits).map_err(|e| Stopped::at_photo(&name, &made_by, e))?;
    let card = match card_of(&photo, settings) {
        Ok(card) => card,
        Err(error) => return Err(Stopped::at_card(&name, &made_by, photo, error)),
    };
    let factor = photo.width().max(photo.height()).div_ceil(MAP_SIDE).max(1);
    let image = CorrectedImage::new(&photo, &card.correction, factor);
    let mut map = map_surfaces(&image, &card, &settings.surface)
        .map_err(|e| Stopped::at_surface(&name, &made_by, &photo, &card, e))?;
    light::settle(&image, &mut map);
    let levels = light::view(&photo, &card)
        .map_or_else(Vec::new, |view| light::find_levels(&view, &image, &mut map, settings.form));
    // Before anything is read: what was painted is known where the unfired piece shows it.
    let before = settings.before.clone().map(|shot| Pieces::find(shot, &image, &mut map));
    let sources =
        Sources { path: &name, photo: &photo, card: &card, image: &image, map: &map, levels: &levels };
    let mut readings = measure_pieces(sources, &made_by);
    if let Some(pieces) = &before {
        pieces.tell(&mut readings, &map);
    }
    // Without a card there is no colour to judge.
    for reading in readings.iter_mut().filter(|r| r.card.status != "none") {
        verdict::judge(reading, &settings.targets, settings.rule);
    }
    Ok(Measured { photo, card, image, map, levels, readings, before })
}

/// What the records of a measured photograph were made from, for more to be read of it.
pub fn sources<'a>(path: &'a str, measured: &'a Measured) -> Sources<'a> {
    let Measured { photo, card, image, map, levels, .. } = measured;
    Sources { path, photo, card, image, map, levels }
}

/// The card in the photograph, or the one it borrows, or none where that is allowed.
fn card_of(photo: &Photo, settings: &Settings) -> Result<CardReading, CardError> {
    match &settings.borrow {
        Some(borrow) => borrow_card(&borrow.shot, photo, &settings.card, borrow.same_exposure),
        None => match read_card(photo, &settings.card) {
            Err(CardError::NotFound { .. }) if settings.without_card && settings.card.corners.is_none() => {
                Ok(CardReading::none())
            }
            read => read,
        },
    }
}
