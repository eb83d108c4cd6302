//! What comes in: readings of one surface, and what is asked of them.

use crate::reading::{Reading, Record};
use serde::Serialize;

/// One reading of the surface.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TrendPoint {
    /// The piece, from the sheet, else the photograph's name without its ending.
    pub piece: String,
    /// The firing, where known.
    pub firing: Option<String>,
    /// When the photograph was taken, as the camera wrote it, ISO 8601.
    pub taken: Option<String>,
    /// Date of the firing, ISO 8601: orders points whose camera wrote no time.
    pub date: Option<String>,
    /// Batch of what bears on this surface: slip for white, red for red, paint for black, clay for body.
    pub batch: Option<String>,
    /// File name of the photograph, without folders.
    pub photo: String,
    /// L*, a*, b* for D50 and the 2 degree observer.
    pub lab: [f64; 3],
    /// Half-widths of their 95 % intervals.
    pub u95: [f64; 3],
    /// Whiteness (ASTM E313), only where its formula holds.
    pub whiteness: Option<f64>,
    /// Share of the piece, 0 to 1.
    pub area_fraction: f64,
}

impl TrendPoint {
    /// What tells its place in time: the camera's time, else the firing's date. Fractions of seconds and the offset from
    /// world time are left away: times are compared as the camera wrote them.
    pub(super) fn time(&self) -> Option<&str> {
        let time = self.taken.as_deref().or(self.date.as_deref()).filter(|time| !time.is_empty())?;
        Some(time.get(..19).unwrap_or(time))
    }
}

/// What is followed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub enum TrendValue {
    /// CIEDE2000 to the centre of the target's aim.
    #[default]
    #[serde(rename = "distance")]
    Distance,
    /// L*.
    #[serde(rename = "L")]
    Lightness,
    /// b*.
    #[serde(rename = "b")]
    Yellow,
    /// C*ab.
    #[serde(rename = "C")]
    Chroma,
    /// Whiteness of ASTM E313, D65 and 2 degree observer, only where its formula holds.
    #[serde(rename = "whiteness")]
    Whiteness,
}

impl TrendValue {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Distance, Self::Lightness, Self::Yellow, Self::Chroma, Self::Whiteness];

    /// Its name as it is typed and written.
    pub fn name(self) -> &'static str {
        match self {
            Self::Distance => "distance",
            Self::Lightness => "L",
            Self::Yellow => "b",
            Self::Chroma => "C",
            Self::Whiteness => "whiteness",
        }
    }

    /// The value of a name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|value| value.name() == name)
    }

    /// Its sign on a scale.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Distance => "CIEDE2000 to the target",
            Self::Lightness => "L*",
            Self::Yellow => "b*",
            Self::Chroma => "C*ab",
            Self::Whiteness => "whiteness",
        }
    }
}

/// What one point of the trend is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TrendBy {
    /// One reading.
    #[default]
    Date,
    /// The mean of one firing's readings.
    Firing,
}

/// Readings that are not among the points.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TrendLeftOut {
    /// Why, after 'N readings'.
    pub reason: String,
    /// How many.
    pub count: usize,
}

/// The readings of a surface among records, in the records' order, and how many records hold none.
pub fn points_of(records: &[Record], surface: &str) -> (Vec<TrendPoint>, usize) {
    let points: Vec<TrendPoint> =
        records.iter().filter_map(Record::reading).filter_map(|reading| point_of(reading, surface)).collect();
    let without = records.len() - points.len();
    (points, without)
}

fn point_of(reading: &Reading, surface: &str) -> Option<TrendPoint> {
    let of = reading.surfaces.get(surface)?;
    let sheet = reading.sheet.as_ref();
    let told = |text: Option<&String>| text.filter(|text| !text.trim().is_empty()).cloned();
    let photo = reading.photo.path.rsplit(['/', '\\']).find(|part| !part.is_empty()).unwrap_or_default();
    let stem = photo.rsplit_once('.').map_or(photo, |(stem, _)| stem);
    let name = told(sheet.and_then(|row| row.piece.as_ref())).unwrap_or_else(|| stem.to_owned());
    Some(TrendPoint {
        piece: match reading.piece.count {
            0 | 1 => name,
            count => format!("{name}, piece {} of {count}", reading.piece.number),
        },
        firing: told(sheet.and_then(|row| row.firing.as_ref())),
        taken: told(reading.photo.taken.as_ref()),
        date: None,
        batch: told(sheet.and_then(|row| match surface {
            "white" => row.slip.as_ref(),
            "red" => row.red.as_ref(),
            "black" => row.paint.as_ref(),
            _ => row.clay.as_ref(),
        })),
        photo: photo.to_owned(),
        lab: of.lab,
        u95: of.u95,
        whiteness: of.whiteness.as_ref().filter(|w| w.valid && w.value.is_finite()).map(|w| w.value),
        area_fraction: of.area_fraction,
    })
}
