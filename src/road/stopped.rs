//! A photograph that could not be measured, and the record that says so.

use crate::card::{CardError, CardReading};
use crate::photo::{Photo, PhotoError};
use crate::reading::{CardPart, ErrorPart, Failure, MadeBy, PhotoPart, SCHEMA, card_part, photo_part};
use crate::surface::SurfaceError;
use std::collections::BTreeMap;

/// Which stage stopped the photograph.
#[derive(Debug, Clone, thiserror::Error)]
pub enum Fault {
    /// The file.
    #[error("the file {0}")]
    Photo(#[from] PhotoError),
    /// The card.
    #[error(transparent)]
    Card(#[from] CardError),
    /// The piece.
    #[error(transparent)]
    Surface(#[from] SurfaceError),
    /// A fault of ours.
    #[error("the program failed on this photograph: {0}")]
    Ours(String),
}

impl Fault {
    /// Stable, kebab-case.
    pub fn code(&self) -> &'static str {
        match self {
            Fault::Photo(error) => error.code(),
            Fault::Card(error) => error.code(),
            Fault::Surface(error) => error.code(),
            Fault::Ours(_) => "internal",
        }
    }

    /// What to do next, one sentence.
    pub fn hint(&self) -> String {
        match self {
            Fault::Photo(error) => error.hint().into(),
            Fault::Card(error) => error.hint().into(),
            Fault::Surface(error) => error.hint().into(),
            Fault::Ours(_) => "Please report it, with the photograph if you can.".into(),
        }
    }
}

/// Why a photograph was not measured, with its record.
#[derive(Debug)]
pub struct Stopped {
    /// The stage and the cause.
    pub fault: Fault,
    /// The record.
    pub record: Failure,
    /// The photograph, where the search for its card is worth a picture.
    pub photo: Option<Photo>,
}

impl Stopped {
    /// Stopped for a fault that no stage foresaw.
    pub fn ours(path: &str, made_by: &MadeBy, what: String) -> Box<Self> {
        Self::new(unread(path), made_by, None, Fault::Ours(what))
    }

    pub(super) fn at_photo(path: &str, made_by: &MadeBy, error: PhotoError) -> Box<Self> {
        Self::new(unread(path), made_by, None, error.into())
    }

    pub(super) fn at_card(path: &str, made_by: &MadeBy, photo: Photo, error: CardError) -> Box<Self> {
        let candidates_px = error.search().map_or_else(Vec::new, |search| search.doubtful_px.clone());
        let card = CardPart { status: "none".into(), candidates_px, ..CardPart::default() };
        let mut stopped = Self::new(photo_part(path, &photo), made_by, Some(card), error.into());
        stopped.photo = Some(photo);
        stopped
    }

    pub(super) fn at_surface(
        path: &str,
        made_by: &MadeBy,
        photo: &Photo,
        card: &CardReading,
        error: SurfaceError,
    ) -> Box<Self> {
        Self::new(photo_part(path, photo), made_by, Some(card_part(card)), error.into())
    }

    fn new(photo: PhotoPart, made_by: &MadeBy, card: Option<CardPart>, fault: Fault) -> Box<Self> {
        let error = ErrorPart { code: fault.code().into(), text: format!("{fault}. {}", fault.hint()) };
        let outputs = BTreeMap::new();
        let record = Failure { schema: SCHEMA.into(), photo, made_by: made_by.clone(), error, card, outputs };
        Box::new(Self { fault, record, photo: None })
    }
}

fn unread(path: &str) -> PhotoPart {
    PhotoPart { path: path.into(), ..PhotoPart::default() }
}
