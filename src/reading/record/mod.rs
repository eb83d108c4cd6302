//! The reading record, version 1: what one piece in one photograph gives, as one JSON object.
//!
//! Field names, units and label numbers are a contract: fields may be added, none renamed or
//! dropped. What is not known is null; a surface that is not seen is absent. Numbers are written
//! with three decimals at most. Pixel coordinates are those of the upright photograph at full size.

mod card;
mod comparison;
mod measures;
mod one_light;
mod surfaces;
mod survival;
mod swatches;
mod verdict;

pub use card::*;
pub use comparison::*;
pub use measures::*;
pub use one_light::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
pub use surfaces::*;
pub use survival::*;
pub use swatches::*;
pub use verdict::*;

/// The schema's name, first field of every record.
pub const SCHEMA: &str = "sherdlight.reading/1";

/// One line of output: a measured piece, or a photograph that could not be measured.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Record {
    /// A photograph that could not be measured; nothing is made up.
    Failed(Box<Failure>),
    /// A measured piece.
    Measured(Box<Reading>),
}

impl Record {
    /// The photograph's part, measured or not.
    pub fn photo(&self) -> &PhotoPart {
        match self {
            Record::Failed(failure) => &failure.photo,
            Record::Measured(reading) => &reading.photo,
        }
    }
    /// The measured piece, if it is one.
    pub fn reading(&self) -> Option<&Reading> {
        match self {
            Record::Measured(reading) => Some(reading),
            Record::Failed(_) => None,
        }
    }
}

/// A photograph that could not be measured.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Failure {
    /// [`SCHEMA`].
    pub schema: String,
    /// The file, as far as it could be read.
    pub photo: PhotoPart,
    /// Which program made this.
    pub made_by: MadeBy,
    /// Why, for programs and for people.
    pub error: ErrorPart,
    /// What is known of the card, where the search came so far.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card: Option<CardPart>,
    /// Files written for this record, by kind.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub outputs: BTreeMap<String, String>,
}

/// A stable code and a sentence.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ErrorPart {
    /// Stable, kebab-case, for programs.
    pub code: String,
    /// What is wrong and what to do, for people.
    pub text: String,
}

/// The photograph.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct PhotoPart {
    /// The file as it was named.
    pub path: String,
    /// SHA-256 of its bytes; null where it could not be read.
    pub sha256: Option<String>,
    /// Upright width in pixels.
    pub width: Option<usize>,
    /// Upright height in pixels.
    pub height: Option<usize>,
    /// When it was taken, as the camera wrote it, ISO 8601.
    pub taken: Option<String>,
    /// Exposure settings from EXIF.
    pub exposure: Option<ExposurePart>,
    /// The embedded profile's name; null: sRGB was assumed.
    #[serde(default)]
    pub profile: Option<String>,
}

/// EXIF exposure settings.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct ExposurePart {
    /// Exposure time in seconds.
    pub seconds: Option<f64>,
    /// Aperture number.
    pub f_number: Option<f64>,
    /// ISO speed.
    pub iso: Option<f64>,
}

/// Program and settings.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct MadeBy {
    /// Version of this program.
    pub version: String,
    /// SHA-256 over all settings that bear on the result.
    pub settings_sha256: String,
    /// The settings as text of a JSON object, exact, by which the reading can be made again; null: not recorded.
    #[serde(default)]
    pub settings: Option<String>,
}

/// A measured piece.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Reading {
    /// [`SCHEMA`].
    pub schema: String,
    /// The photograph.
    pub photo: PhotoPart,
    /// Program and settings.
    pub made_by: MadeBy,
    /// `CIE 1931 2 degree`.
    pub observer: String,
    /// `D50`.
    pub illuminant: String,
    /// The card.
    pub card: CardPart,
    /// The surfaces seen.
    pub surfaces: Surfaces,
    /// White against black; null unless both are seen.
    pub contrast: Option<Contrast>,
    /// What can be told within the piece's own light, without a card.
    #[serde(default)]
    pub one_light: OneLight,
    /// The paint; null where no paint is seen.
    pub paint: Option<Paint>,
    /// Fire clouds.
    pub clouds: Clouds,
    /// Which piece of the photograph this is.
    pub piece: PiecePart,
    /// What was not measured.
    pub left_out: LeftOut,
    /// How the light on the piece was known.
    pub light: LightPart,
    /// Swatches of a test tile or cylinder; null: not looked for.
    pub swatches: Option<Vec<Swatch>>,
    /// Shares of the paint against a before-photo; null: none was given.
    pub survival: Option<SurvivalPart>,
    /// Edits by hand; null: none.
    pub corrections: Option<serde_json::Value>,
    /// What the sheet says of the piece; null: no sheet, or no row for this file.
    #[serde(default)]
    pub sheet: Option<SheetRow>,
    /// Verdicts on faults.
    pub faults: Vec<Fault>,
    /// What may lie behind them, the likeliest first; empty where no fault is likely.
    #[serde(default)]
    pub causes: Vec<Cause>,
    /// What to do the next time: one change, and what to keep in mind; empty where nothing asks for a change.
    #[serde(default)]
    pub next_time: Vec<String>,
    /// Id of the target ranges used.
    pub targets: String,
    /// SHA-256 of the target file.
    pub targets_sha256: String,
    /// `sound`, `marginal`, `faulty`, `cannot-tell`.
    pub grade: Grade,
    /// What decided.
    pub grade_because: Vec<String>,
    /// The rule it was decided by.
    #[serde(default)]
    pub decision: Decision,
    /// The piece over all its views; absent unless the sheet names it in several photographs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub views: Option<Views>,
    /// The differences to a reference; absent unless one was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub comparison: Option<Comparison>,
    /// Why a measure is null, by the name of its field, such as `paint.line_width_mm`.
    #[serde(default)]
    pub null_because: BTreeMap<String, String>,
    /// Files written for this record, by kind.
    pub outputs: BTreeMap<String, String>,
    /// Remarks with what to do.
    pub warnings: Vec<Warning>,
}

/// Which piece.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct PiecePart {
    /// 1, 2, ... the largest first.
    pub number: usize,
    /// Pieces in the photograph.
    pub count: usize,
    /// Outline polygon.
    pub outline_px: Vec<[f64; 2]>,
    /// Size in the card's plane. Here and below the reason of a null stands in `null_because`.
    pub size_mm: Option<SizePart>,
    /// Width of the strip of bare clay between red and white, across, full-size pixels.
    #[serde(default)]
    pub margin_px: Option<Percentiles>,
    /// The same in the card's plane, mm.
    #[serde(default)]
    pub margin_mm: Option<Percentiles>,
    /// Standard deviation of L* of white from place to place, noise and slow changes left out: 0 is even.
    #[serde(default)]
    pub white_unevenness: Option<Measure>,
    /// Share of the piece that stands at the top of the encoding, glare not counted: clipped in the photo, and
    /// left out of every value.
    #[serde(default)]
    pub clipped_fraction: f64,
    /// Share of the piece that holds next to no light, deep shade not counted: cut off at the bottom.
    #[serde(default)]
    pub crushed_fraction: f64,
    /// Share of the piece, not clipped in the photo, whose corrected colour lies outside sRGB: measured, but the
    /// pictures cannot show it as it is.
    #[serde(default)]
    pub out_of_gamut_fraction: f64,
}

/// Sides of the smallest rectangle about the outline, mm.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct SizePart {
    /// The longer side.
    pub width: f64,
    /// The shorter side.
    pub height: f64,
    /// Half-width of the 95 % interval of both: corners of the card, outline, and how far the outline stands off the
    /// card's plane, which is not known.
    pub u95: f64,
    /// The same for a piece that lies flat in the card's plane.
    #[serde(default)]
    pub u95_flat: f64,
}

/// Parts of the piece that were not measured.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct LeftOut {
    /// Mirror-like shine.
    pub glare: AreaPart,
    /// Too dark.
    pub shade: AreaPart,
    /// Fire cloud.
    pub cloud: AreaPart,
    /// Not decided.
    pub unclear: AreaPart,
}

/// A share of the piece.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct AreaPart {
    /// 0 to 1.
    pub area_fraction: f64,
}

/// How the light on the piece was known.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct LightPart {
    /// `ball`, `form`, `field`, `none`.
    pub source: String,
    /// Lowest and highest light on the piece relative to the card's.
    pub range: Option<[f64; 2]>,
    /// Relative half-width of the 95 % interval of the light on the piece as a whole, against the card's: what all its
    /// surfaces share; null: no card.
    #[serde(default)]
    pub level_u95: Option<f64>,
    /// Light on the darkest measured part over that on the brightest, 0 to 1; null: no card.
    #[serde(default)]
    pub darkest: Option<f64>,
    /// The ground about the piece against the ground about the card; null: not seen well enough.
    #[serde(default)]
    pub ground: Option<GroundPart>,
}

/// Light on the ground about the piece against that about the card.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct GroundPart {
    /// Light about the piece over light about the card.
    pub ratio: f64,
    /// Half-width of its 95 % interval.
    pub u95: f64,
    /// Distance of the two tints in the a*, b* plane at L* 50.
    pub tint: f64,
    /// Half-width of its 95 % interval.
    pub tint_u95: f64,
    /// Where the two clearly differ: L*, a*, b* of each surface if the light on the piece is that on the ground
    /// about it; empty else.
    pub lab: BTreeMap<String, [f64; 3]>,
}

/// A row of the sheet; unknown stays null.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SheetRow {
    /// Name of the piece.
    pub piece: Option<String>,
    /// Firing.
    pub firing: Option<String>,
    /// White slip.
    pub slip: Option<String>,
    /// Red.
    pub red: Option<String>,
    /// Paint.
    pub paint: Option<String>,
    /// Place in the fire.
    pub place: Option<String>,
    /// Clay of the body.
    #[serde(default)]
    pub clay: Option<String>,
    /// Shape.
    #[serde(default)]
    pub shape: Option<String>,
    /// Size, with its unit.
    #[serde(default)]
    pub size: Option<String>,
    /// `unfired`, `fired`, `fired 2 times`, `refired`.
    #[serde(default)]
    pub state: Option<String>,
    /// How it stood the soak test.
    #[serde(default)]
    pub soak_test: Option<String>,
    /// Cracks, spalls, peeling slip.
    #[serde(default)]
    pub flaws: Option<String>,
    /// Anything else.
    pub notes: Option<String>,
}

/// A remark with its remedy.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Warning {
    /// Stable, kebab-case.
    pub code: String,
    /// What is wrong and what to do.
    pub text: String,
}
