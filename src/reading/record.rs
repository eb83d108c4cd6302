//! The reading record, version 1: what one piece in one photograph gives, as one JSON object.
//!
//! Field names, units and label numbers are a contract: fields may be added, none renamed or
//! dropped. What is not known is null; a surface that is not seen is absent. Numbers are written
//! with three decimals at most. Pixel coordinates are those of the upright photograph at full size.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

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
    pub swatches: Option<Vec<serde_json::Value>>,
    /// Shares of the paint against a before-photo; null: none was given.
    pub survival: Option<serde_json::Value>,
    /// Edits by hand; null: none.
    pub corrections: Option<serde_json::Value>,
    /// What the sheet says of the piece; null: no sheet, or no row for this file.
    #[serde(default)]
    pub sheet: Option<SheetRow>,
    /// Verdicts on faults.
    pub faults: Vec<Fault>,
    /// Id of the target ranges used.
    pub targets: String,
    /// SHA-256 of the target file.
    pub targets_sha256: String,
    /// `sound`, `marginal`, `faulty`, `cannot-tell`.
    pub grade: Grade,
    /// What decided.
    pub grade_because: Vec<String>,
    /// The differences to a reference; absent unless one was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub comparison: Option<Comparison>,
    /// Files written for this record, by kind.
    pub outputs: BTreeMap<String, String>,
    /// Remarks with what to do.
    pub warnings: Vec<Warning>,
}

/// The card as found.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct CardPart {
    /// `found`, `given`, `borrowed`, `none`.
    pub status: String,
    /// Id of the card definition.
    pub definition: Option<String>,
    /// Outer corners of the patch grid in the card's reading order.
    pub corners_px: Option<[[f64; 2]; 4]>,
    /// How much better this reading of the patches is than the best other one, 0 to 1; null where the
    /// card was not sought.
    #[serde(default)]
    pub lead: Option<f64>,
    /// Doubtful finds, and other cards beside the one used.
    pub candidates_px: Vec<[[f64; 2]; 4]>,
    /// Every patch.
    pub patches: Vec<PatchPart>,
    /// The correction chosen.
    pub model: Option<String>,
    /// The corrections tried.
    pub models: Vec<ModelPart>,
    /// CIEDE2000 residuals of the fit.
    pub fit_de00: Option<ResidualPart>,
    /// The same with each patch predicted from the others.
    pub held_out_de00: Option<ResidualPart>,
    /// Relative change of light across the card.
    pub light_gradient: Option<f64>,
    /// Where the correction was borrowed; null: it was not. Then `corners_px` is null and `patches` empty, for
    /// both speak of this photograph; models, residuals and `capture` are those of the card shot. A card that lies
    /// in this photograph as well was not used: its corners stand in `candidates_px`.
    #[serde(default)]
    pub borrowed_from: Option<BorrowedPart>,
    /// How the card was photographed; null: no card was read.
    #[serde(default)]
    pub capture: Option<CapturePart>,
    /// Scale in the card's plane.
    pub mm_per_px: Option<f64>,
}

/// The photograph a correction comes from.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct BorrowedPart {
    /// The file as it was named.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Exposure of this photograph over that of the card shot.
    pub exposure_ratio: f64,
    /// Half-width of its 95 % interval.
    pub u95: f64,
}

/// How the card was photographed.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct CapturePart {
    /// Share of the patches' pixels that are over-exposed: a channel at the top of the encoding on a neutral
    /// patch, two or more on a coloured one.
    pub clipped_fraction: f64,
    /// Light that a perfect white on the card decodes to; 1 is the top of the encoding.
    pub white_light: Option<f64>,
    /// Width of the card's borders, 10 % to 90 %.
    pub edge_px: Option<f64>,
    /// Relative change of the light's tint across the card; null: none that stands out.
    pub tint_change: Option<f64>,
}

/// One patch of the card.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct PatchPart {
    /// `"1"` to `"24"`.
    pub id: String,
    /// Centre.
    pub centre_px: [f64; 2],
    /// Linear light as photographed.
    pub rgb_linear: [f64; 3],
    /// Whether the correction uses it.
    pub used: bool,
    /// `clipped`, `glare`, `shaded`, `covered`, `told`, or null.
    pub why_not: Option<String>,
    /// Reference colour.
    pub lab_reference: [f64; 3],
    /// Colour after correction.
    pub lab_corrected: [f64; 3],
}

/// A correction that was tried.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct ModelPart {
    /// Its name.
    pub model: String,
    /// Mean CIEDE2000 with each patch predicted from the others.
    pub held_out_de00: f64,
}

/// Residuals over the patches, CIEDE2000.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct ResidualPart {
    /// Mean.
    pub mean: f64,
    /// 95th percentile.
    pub p95: f64,
    /// Largest.
    pub max: f64,
}

/// The surfaces of a piece; those not seen are absent.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Surfaces {
    /// White slip.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub white: Option<Surface>,
    /// Red slip.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub red: Option<Surface>,
    /// Black paint.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub black: Option<Surface>,
    /// Bare clay.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub body: Option<Surface>,
    /// Blackened on purpose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub smudged: Option<Surface>,
}

impl Surfaces {
    /// Names and surfaces in the order of the labels.
    pub fn iter(&self) -> impl Iterator<Item = (&'static str, &Surface)> {
        [
            ("white", &self.white),
            ("red", &self.red),
            ("black", &self.black),
            ("body", &self.body),
            ("smudged", &self.smudged),
        ]
        .into_iter()
        .filter_map(|(name, surface)| surface.as_ref().map(|surface| (name, surface)))
    }
    /// A surface by its name; `None` where it is not seen or the name is none of ours.
    pub fn get(&self, name: &str) -> Option<&Surface> {
        self.iter().find(|(known, _)| *known == name).map(|(_, surface)| surface)
    }
}

/// One surface.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Surface {
    /// Full-size pixels with this label.
    pub area_px: usize,
    /// Share of the piece.
    pub area_fraction: f64,
    /// L*, a*, b* of the mean reflectance of its inner part, shading removed.
    pub lab: [f64; 3],
    /// L*, C*ab, h in degrees.
    pub lch: [f64; 3],
    /// Half-widths of the 95 % intervals of L*, a*, b*.
    pub u95: [f64; 3],
    /// Their components by name.
    pub u95_parts: BTreeMap<String, [f64; 3]>,
    /// Spread of L* over the surface after shading is removed.
    pub l_spread: Option<Spread>,
    /// Nearest Munsell notations, computed, dry.
    pub munsell: Vec<MunsellPart>,
    /// ASTM E313 whiteness.
    pub whiteness: Option<IndexPart>,
    /// ASTM E313 yellowness.
    pub yellowness: Option<IndexPart>,
    /// CIEDE2000 to the centre of the target's aim range.
    pub to_target_de00: Option<f64>,
}

/// Quantiles and standard deviation of L*.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Spread {
    /// 5th percentile.
    pub p05: f64,
    /// Median.
    pub p50: f64,
    /// 95th percentile.
    pub p95: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// A Munsell notation and its CIEDE2000 distance.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct MunsellPart {
    /// Such as `10YR 8/2`.
    pub notation: String,
    /// Distance.
    pub de00: f64,
}

/// A one-number index with its illuminant and validity.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct IndexPart {
    /// The index.
    pub value: f64,
    /// Illuminant and observer, such as `D65/2`.
    pub illuminant: String,
    /// False outside the formula's limits.
    pub valid: bool,
}

/// White against black.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Contrast {
    /// L* of white less L* of black.
    pub delta_l: f64,
    /// CIEDE2000.
    pub de00: f64,
    /// Y of white over Y of black in one light.
    pub reflectance_ratio: f64,
    /// (Yw - Yb) / (Yw + Yb).
    pub michelson: f64,
    /// Half-widths of the 95 % intervals.
    pub u95: ContrastU95,
}

/// Half-widths of the 95 % intervals of the contrast figures.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct ContrastU95 {
    /// Of `delta_l`.
    pub delta_l: f64,
    /// Of `de00`.
    pub de00: f64,
    /// Of `reflectance_ratio`.
    pub reflectance_ratio: f64,
}

/// The paint.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Paint {
    /// Full-size pixels where paint was laid.
    pub applied_px: usize,
    /// The part of it that still reads black, 0 to 1.
    pub retained_fraction: f64,
    /// Half-width of its 95 % interval.
    pub u95: f64,
    /// Width of painted lines; null: scale unknown or not measured.
    pub line_width_mm: Option<LineWidth>,
}

/// Width of painted lines in mm.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct LineWidth {
    /// 5th percentile.
    pub p05: f64,
    /// Median.
    pub p50: f64,
    /// 95th percentile.
    pub p95: f64,
}

/// Fire clouds.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct Clouds {
    /// Share of the piece, 0 to 1.
    pub area_fraction: f64,
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
    /// Size in the card's plane; null: scale unknown.
    pub size_mm: Option<SizePart>,
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

/// Size in mm.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
pub struct SizePart {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Half-width of the 95 % interval of both.
    pub u95: f64,
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
    /// Anything else.
    pub notes: Option<String>,
}

/// A verdict on one fault.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Fault {
    /// `burned-out`, `greyed`, `buffed`, `weak-black`, `dull-red`, `clouded`.
    pub fault: String,
    /// Present, absent or cannot tell.
    pub verdict: Verdict,
    /// 0 to 1; null where nothing of it can be seen.
    pub severity: Option<f64>,
    /// Sentences with the values, limits and u95 used.
    pub because: Vec<String>,
}

/// Present, absent, or inside the uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// The fault is there.
    Present,
    /// The fault is not there.
    Absent,
    /// A limit lies inside the uncertainty, or the surface is not seen.
    CannotTell,
}

/// Grade of a piece, from worst to best.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Grade {
    /// One value wholly outside its accept range.
    Faulty,
    /// An interval crosses a limit.
    #[default]
    CannotTell,
    /// All inside accept, one wholly outside aim.
    Marginal,
    /// Every interval inside aim.
    Sound,
}

impl Grade {
    /// The word in records, tables and options.
    pub fn name(self) -> &'static str {
        match self {
            Grade::Faulty => "faulty",
            Grade::CannotTell => "cannot-tell",
            Grade::Marginal => "marginal",
            Grade::Sound => "sound",
        }
    }
    /// The grade by its word.
    pub fn from_name(name: &str) -> Option<Self> {
        [Grade::Faulty, Grade::CannotTell, Grade::Marginal, Grade::Sound]
            .into_iter()
            .find(|g| g.name() == name)
    }
}

/// A replica against its reference.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Comparison {
    /// The reference shots, as named.
    pub references: Vec<String>,
    /// A difference for each surface that both show.
    pub differences: Vec<Difference>,
}

/// One surface of the replica against the same surface of the reference.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Difference {
    /// `white`, `red`, `black`, `body` or `smudged`.
    pub surface: String,
    /// CIEDE2000.
    pub de00: f64,
    /// Half-width of its 95 % interval; the two are not told apart where it is larger than `de00`.
    pub u95: f64,
    /// L*, C*, h: replica less reference; h in degrees, -180 to 180.
    pub delta_lch: [f64; 3],
    /// The parts of CIEDE2000: lightness, chroma, hue, each over its weight.
    pub parts: [f64; 3],
    /// CIEDE2000 with both L* set to 50: colour without lightness.
    pub colour_only_de00: f64,
    /// True where the interval leaves no doubt that the two differ.
    pub differs: bool,
}

/// A remark with its remedy.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Warning {
    /// Stable, kebab-case.
    pub code: String,
    /// What is wrong and what to do.
    pub text: String,
}
