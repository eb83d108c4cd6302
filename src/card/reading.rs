//! What the card gave.

use super::choose::{choose, refit};
use super::geometry::{Grid, Homography};
use super::judge::{judge, samples};
use super::sample::sample;
use super::{CardDefinition, CardError, Correction, find};
use crate::colour::LabD50;
use crate::photo::Photo;

/// How the card is to be read.
#[derive(Debug, Clone, Default)]
pub struct CardSettings {
    /// The card's definition; `None`: the 24-patch chart of an unknown edition (counts in u95).
    pub definition: Option<CardDefinition>,
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

/// All that the card gave.
#[derive(Debug, Clone)]
pub struct CardReading {
    /// Found or given.
    pub status: CardStatus,
    /// Id of the definition used.
    pub definition: String,
    /// Outer corners of the patch grid: first patch, end of first row, last patch, start of last row.
    pub corners_px: [[f64; 2]; 4],
    /// Outer corners of the card with its frame, same order.
    pub frame_px: [[f64; 2]; 4],
    /// Every patch.
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
    /// Scale in the card's plane at the card's centre.
    pub mm_per_px: Option<f64>,
    /// Side of a patch in full-size pixels (root of its area).
    pub patch_side_px: f64,
    /// Remarks for the record: (code, text).
    pub warnings: Vec<(String, String)>,
}

/// Patches below which no correction is made.
const LEAST_PATCHES: usize = 6;

/// Mean held-out CIEDE2000 above which what was found is not taken for the card: several times what
/// even a home-printed copy shows.
const MOST_HELD_OUT: f64 = 25.0;
/// Mean held-out CIEDE2000 that is worth a warning.
const POOR_FIT: f64 = 6.0;

/// Finds (unless told), samples and fits the card.
///
/// # Errors
/// [`CardError::NotFound`] or [`CardError::TooFewPatches`].
pub fn read_card(photo: &Photo, settings: &CardSettings) -> Result<CardReading, CardError> {
    let editions = match &settings.definition {
        Some(told) => vec![told.clone()],
        None => vec![CardDefinition::load("chart24-b")?, CardDefinition::load("chart24-a")?],
    };
    let (status, grid) = match settings.corners {
        Some(corners) => (CardStatus::Given, told_grid(&editions[0], &corners)?),
        None => (CardStatus::Found, find::find(photo, &editions[0])?),
    };
    let seen = sample(photo, &grid);
    let places: Vec<[f64; 2]> = (0..seen.len()).map(|i| grid.place(i)).collect();

    let why_not = judge(&editions[0], settings, &seen, &places);
    let usable: Vec<usize> = (0..seen.len()).filter(|&i| why_not[i].is_none()).collect();
    if usable.len() < LEAST_PATCHES {
        return Err(CardError::TooFewPatches { usable: usable.len(), total: seen.len() });
    }
    let mut choices: Vec<_> = editions
        .iter()
        .map(|definition| (definition, choose(&samples(definition, &seen, &places, &usable))))
        .collect();
    choices.sort_by(|a, b| a.1.held_out.mean.total_cmp(&b.1.held_out.mean));
    let others: Vec<&CardDefinition> = choices[1..].iter().map(|(definition, _)| *definition).collect();
    let (definition, mut choice) = choices.swap_remove(0);
    let mut warnings = Vec::new();
    if status == CardStatus::Found && choice.held_out.mean > MOST_HELD_OUT {
        return Err(CardError::NotFound {
            step: "a grid was seen, but no correction brings its colours in line with the card's".into(),
            tried: format!("held-out CIEDE2000 {:.1}, at most {MOST_HELD_OUT}", choice.held_out.mean),
        });
    }
    if let Some(other) = others.first() {
        choice.correction.other_edition =
            Some(refit(&choice.correction, &samples(other, &seen, &places, &usable)));
        let text = format!(
            "the card's edition is not known; {} fits best and is used, the difference counts in u95; \
             say --card chart24-a for charts made before November 2014, chart24-b for later ones",
            definition.id
        );
        warnings.push(("card-edition-unknown".into(), text));
    }
    warnings.extend(light_warning(choice.light_gradient));
    if choice.held_out.mean > POOR_FIT {
        let text = format!(
            "the card's patches are predicted from each other only to CIEDE2000 {:.1}; look for glare, \
             shadow, strong tint, or a card of another make",
            choice.held_out.mean
        );
        warnings.push(("card-poor-fit".into(), text));
    }

    let all: Vec<usize> = (0..seen.len()).collect();
    let patches = samples(definition, &seen, &places, &all)
        .iter()
        .enumerate()
        .map(|(i, sample)| PatchReading {
            id: definition.patches[i].id.clone(),
            centre_px: seen[i].centre_px,
            rgb_linear: seen[i].light,
            used: why_not[i].is_none(),
            why_not: why_not[i],
            lab_reference: sample.lab,
            lab_corrected: choice.correction.patch(sample),
        })
        .collect();
    let [width, height] = grid.extent();
    let patch_side_px = grid.to_px.area([0.5 * width, 0.5 * height]).abs().sqrt();
    Ok(CardReading {
        status,
        definition: definition.id.clone(),
        corners_px: grid.corners(0.0),
        frame_px: grid.corners(definition.frame_per_patch),
        patches,
        correction: choice.correction,
        models: choice.models,
        fit: choice.fit,
        held_out: choice.held_out,
        light_gradient: choice.light_gradient,
        mm_per_px: definition.patch_mm.map(|mm| mm / patch_side_px),
        patch_side_px,
        warnings,
    })
}

/// Says so where the light on the card is uneven.
fn light_warning(gradient: Option<f64>) -> Option<(String, String)> {
    let gradient = gradient.filter(|g| *g > UNEVEN)?;
    let text = format!(
        "the light changes by {:.0} % across the card; light it evenly and keep shadows off it",
        100.0 * gradient
    );
    Some(("card-light-uneven".into(), text))
}

/// Change of light across the card that is worth a warning.
const UNEVEN: f64 = 0.2;

/// The grid between corners told by hand.
fn told_grid(definition: &CardDefinition, corners: &[[f64; 2]; 4]) -> Result<Grid, CardError> {
    let [width, height] = definition.extent();
    let to_px = Homography::from_corners(width, height, corners).filter(|_| is_convex(corners));
    match to_px {
        Some(to_px) => Ok(Grid {
            to_px,
            pitch: 1.0 + definition.gap_per_patch,
            rows: definition.rows,
            columns: definition.columns,
        }),
        None => Err(CardError::NotFound {
            step: "the told corners are not those of a rectangle seen from the front".into(),
            tried: "give the outer corners of the patch grid in reading order: first patch, end of the \
                    first row, last patch, start of the last row"
                .into(),
        }),
    }
}

/// Whether four corners go round one way, clockwise in the picture: a card seen from its front.
fn is_convex(c: &[[f64; 2]; 4]) -> bool {
    (0..4).all(|i| {
        let (p, q, r) = (c[i], c[(i + 1) % 4], c[(i + 2) % 4]);
        (q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0]) > 0.0
    })
}
