//! What the card gave.

use super::{Borrowed, Capture, CardDefinition, Correction};
use crate::colour::LabD50;

/// How the card is to be read.
#[derive(Debug, Clone, Default)]
pub struct CardSettings {
    /// The card's definition; `None`: the 24-patch chart of an unknown edition (counts in u95).
    pub definition: Option<CardDefinition>,
    /// Width of a patch of the card in hand in mm, where told; it overrules the definition's size.
    pub patch_mm: Option<f64>,
    /// Outer corners of the patch grid told by hand, full-size pixels, in the card's reading order.
    pub corners: Option<[[f64; 2]; 4]>,
    /// Ids of patches that must not be used.
    pub skip: Vec<String>,
}

/// Where the corners come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CardStatus {
    /// Found in the photograph.
    Found,
    /// Corners told by hand.
    Given,
    /// The card lies in another photograph.
    Borrowed,
    /// There is none: the photograph is taken as the camera saw it.
    None,
}

impl CardStatus {
    /// The word in the record.
    pub fn name(self) -> &'static str {
        match self {
            CardStatus::Found => "found",
            CardStatus::Given => "given",
            CardStatus::Borrowed => "borrowed",
            CardStatus::None => "none",
        }
    }
}

/// Why a patch was left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyNot {
    /// A channel stands at the top (or bottom) of the encoding.
    Clipped,
    /// A shine lies on it.
    Glare,
    /// A shadow lies on it.
    Shaded,
    /// Hidden or outside the frame.
    Covered,
    /// Left out because the user said so.
    Told,
}

impl WhyNot {
    /// The word in the record.
    pub fn name(self) -> &'static str {
        match self {
            WhyNot::Clipped => "clipped",
            WhyNot::Glare => "glare",
            WhyNot::Shaded => "shaded",
            WhyNot::Covered => "covered",
            WhyNot::Told => "told",
        }
    }
}

/// One patch as seen.
#[derive(Debug, Clone)]
pub struct PatchReading {
    /// Id in the definition.
    pub id: String,
    /// Centre, full-size pixels.
    pub centre_px: [f64; 2],
    /// Robust centre of its inner part, linear light.
    pub rgb_linear: [f64; 3],
    /// Whether the correction uses it.
    pub used: bool,
    /// Why not.
    pub why_not: Option<WhyNot>,
    /// Reference colour.
    pub lab_reference: LabD50,
    /// Colour after correction, given for every patch.
    pub lab_corrected: LabD50,
}

/// CIEDE2000 residuals over patches.
#[derive(Debug, Clone, Copy, Default)]
pub struct Residuals {
    /// Mean.
    pub mean: f64,
    /// 95th percentile.
    pub p95: f64,
    /// Largest.
    pub max: f64,
}

/// A correction model that was tried.
#[derive(Debug, Clone)]
pub struct ModelTried {
    /// Name.
    pub model: String,
    /// Mean CIEDE2000 with each patch predicted from the others.
    pub held_out_de00: f64,
}

/// Where the card lies, full-size pixels.
#[derive(Debug, Clone)]
pub struct CardPlace {
    /// Outer corners of the patch grid: first patch, end of first row, last patch, start of last row.
    pub corners_px: [[f64; 2]; 4],
    /// Outer corners of the card with its frame, same order.
    pub frame_px: [[f64; 2]; 4],
    /// Side of a patch at the card's middle (root of its area).
    pub patch_side_px: f64,
    /// Scale in the card's plane at the card's middle; `None` where the card's size is not known.
    pub mm_per_px: Option<f64>,
    /// Height of the patch grid between `corners_px` over its width.
    pub aspect: f64,
    /// Width and height of the patch grid between `corners_px`, mm; `None` where the card's size is not known.
    pub extent_mm: Option<[f64; 2]>,
}

/// All that the card gave.
#[derive(Debug, Clone)]
pub struct CardReading {
    /// Found, given, borrowed or none.
    pub status: CardStatus,
    /// Id of the definition used; empty where there is no card.
    pub definition: String,
    /// Where it lies in the photograph; `None` where it lies in another.
    pub place: Option<CardPlace>,
    /// How sure it is which patch is which: the merit of this reading of the place less that of the best
    /// other one (turned, mirrored or shifted), 0 to 1. Merit is 1 for a perfect card: two thirds the
    /// share of the spread of the reference colours that the colours seen explain, one third the share of
    /// patches that agree. A card is only claimed from 0.16 on. `None` where the corners were told.
    pub lead: Option<f64>,
    /// Corners of other cards in the picture, each in its own reading order.
    pub candidates_px: Vec<[[f64; 2]; 4]>,
    /// Every patch; none of a borrowed card.
    pub patches: Vec<PatchReading>,
    /// The correction chosen.
    pub correction: Correction,
    /// Models tried, with their held-out figure.
    pub models: Vec<ModelTried>,
    /// Residuals of the fit.
    pub fit: Residuals,
    /// Residuals with each patch predicted from the others.
    pub held_out: Residuals,
    /// Relative change of light across the card, `None` where it cannot be told.
    pub light_gradient: Option<f64>,
    /// How it was photographed.
    pub capture: Capture,
    /// Where it was borrowed; then `place` is that of a card which lies in this photograph as well and was not
    /// used, and `patches` is empty.
    pub borrowed: Option<Borrowed>,
    /// Remarks for the record: (code, text).
    pub warnings: Vec<(String, String)>,
}

/// A photograph of a reference that shows no card.
pub const WITHOUT_CARD: &str = "reference-without-card";

impl CardReading {
    /// No card: the light is taken as the camera saw it, that is with its own white balance and in the file's colour
    /// space. Good for telling surfaces apart, not for naming a colour.
    pub fn none() -> Self {
        let text = "No card is in this photograph of a reference. Its surfaces were told apart with the camera's own white \
                    balance, and only what needs no card is compared: ratios of surfaces, their shares, how even the \
                    white is. For colours, lay a card beside the piece.";
        Self {
            status: CardStatus::None,
            definition: String::new(),
            place: None,
            lead: None,
            candidates_px: Vec::new(),
            patches: Vec::new(),
            correction: Correction::plain(),
            models: Vec::new(),
            fit: Residuals::default(),
            held_out: Residuals::default(),
            light_gradient: None,
            capture: Capture::default(),
            borrowed: None,
            warnings: vec![(WITHOUT_CARD.into(), text.into())],
        }
    }
}
