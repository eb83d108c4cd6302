//! One photograph: the new card found beside the known one, its patches in corrected colour.

use super::LearnSettings;
use super::turn::turns;
use crate::card::find::find_unknown;
use crate::card::geometry::{Grid, Homography, Plane};
use crate::card::sample::{PatchLight, sample};
use crate::card::{CardError, CardReading, CardSettings, Correction, read_card};
use crate::colour::{LabD50, LinearRgb, XyzD50};
use crate::photo::Photo;

/// A patch with more than this share of its pixels at the top of the encoding is clipped.
const HIGH_SHARE: f64 = 0.1;
/// The same for the bottom.
const LOW_SHARE: f64 = 0.25;
/// Pixels of a JPEG share their noise over blocks of 8 x 8.
const SHARED: f64 = 64.0;

/// What one photograph gave.
#[derive(Debug, Clone)]
pub struct LearnView {
    /// What the known card gave.
    pub known: CardReading,
    /// Outer corners of the new card's grid in full-size pixels, from the first patch of `patches`.
    pub corners_px: [[f64; 2]; 4],
    /// Whether the corners were told by hand: then the first patch is known.
    pub told: bool,
    /// Patches in the order of the grid as found, which may be turned.
    pub(super) patches: Vec<SeenPatch>,
    /// For each possible turn, which of `patches` is which patch of the card.
    pub(super) turns: Vec<Vec<usize>>,
}

/// A patch of the new card in one photograph.
#[derive(Debug, Clone, Copy)]
pub(super) struct SeenPatch {
    pub centre_px: [f64; 2],
    pub lab: LabD50,
    /// Standard uncertainty by noise.
    pub noise: [f64; 3],
    /// Standard uncertainty by a change of light between the cards.
    pub light: [f64; 3],
    /// Half-widths of the 95 % interval of the correction.
    pub u95: [f64; 3],
    /// Neither clipped nor covered nor out of the picture.
    pub good: bool,
}

/// Reads one photograph. `corners`: outer corners of the new card's grid told by hand, in its reading
/// order, full-size pixels.
///
/// # Errors
/// [`CardError`], where either card is not found or the known one cannot be used.
pub fn view(
    photo: &Photo,
    settings: &LearnSettings,
    corners: Option<[[f64; 2]; 4]>,
) -> Result<LearnView, CardError> {
    let card_settings = CardSettings { definition: Some(settings.beside.clone()), ..CardSettings::default() };
    let known = read_card(photo, &card_settings)?;
    let frame = known.place.as_ref().map(|p| p.frame_px).unwrap_or_default();
    let layout = &settings.layout.layout;
    let grid = match corners {
        None => find_unknown(photo, layout, &frame)?,
        Some(corners) => {
            let [w, h] = layout.extent();
            let to_px = Homography::from_corners(w, h, &corners)
                .filter(|map| map.area([0.5 * w, 0.5 * h]) > 0.0)
                .ok_or_else(|| CardError::NotFound {
                    step: "the told corners are not those of a card seen from the front".into(),
                    tried: "first patch, end of the first row, last patch, start of the last row".into(),
                    search: Box::default(),
                })?;
            Grid {
                to_px: Plane::straight(to_px),
                pitch: layout.pitch(),
                tall: layout.tall(),
                rows: layout.rows,
                columns: layout.columns,
            }
        }
    };
    let seen = sample(photo, &grid);
    let patches = patches(&seen, &known, &grid, &frame);
    Ok(LearnView {
        corners_px: grid.corners([0.0; 2]),
        told: corners.is_some(),
        turns: turns(&grid, corners.is_some()),
        patches,
        known,
    })
}

fn patches(seen: &[PatchLight], known: &CardReading, grid: &Grid, frame: &[[f64; 2]; 4]) -> Vec<SeenPatch> {
    let mut spreads: Vec<f64> = seen.iter().filter(|s| s.count > 0).map(|s| s.spread).collect();
    spreads.sort_unstable_by(f64::total_cmp);
    // As for the known card: pixels that scatter far more than those of the other patches are covered.
    let covered = (5.0 * spreads.get(spreads.len() / 2).copied().unwrap_or(0.0)).max(0.25);
    let [w, h] = grid.extent();
    let distance = card_widths(frame, grid.to_px.apply([0.5 * w, 0.5 * h]));
    // Light that changes across the known card may change as much again on the way to the new one:
    // anything between no change and that, so a rectangle (JCGM 100:2008, 4.3.7).
    let change = known.light_gradient.unwrap_or(0.0) * distance / 3f64.sqrt();
    seen.iter()
        .map(|patch| {
            let lab = corrected(&known.correction, patch.light);
            let good = patch.count > 0
                && patch.high <= HIGH_SHARE
                && patch.low <= LOW_SHARE
                && patch.spread <= covered;
            SeenPatch {
                centre_px: patch.centre_px,
                lab,
                noise: noise(&known.correction, patch, lab),
                light: difference(brighter(lab, 1.0 + change), lab).map(f64::abs),
                u95: known.correction.u95(lab),
                good,
            }
        })
        .collect()
}

fn corrected(correction: &Correction, light: [f64; 3]) -> LabD50 {
    correction.apply(LinearRgb(light.map(|v| v as f32))).to_lab()
}

/// Standard uncertainty of the centre by the scatter of the pixels, channel by channel.
fn noise(correction: &Correction, patch: &PatchLight, lab: LabD50) -> [f64; 3] {
    // The distance of the quartiles is 1.349 standard deviations of a normal distribution.
    let independent = (patch.count as f64 / SHARED).max(1.0);
    let relative = patch.spread / 1.349 / independent.sqrt();
    let mut squares = [0.0; 3];
    for channel in 0..3 {
        let mut light = patch.light;
        light[channel] *= 1.0 + relative;
        let change = difference(corrected(correction, light), lab);
        (0..3).for_each(|k| squares[k] += change[k] * change[k]);
    }
    squares.map(f64::sqrt)
}

/// The colour in more light.
fn brighter(lab: LabD50, times: f64) -> LabD50 {
    let XyzD50 { x, y, z } = lab.to_xyz();
    XyzD50 { x: x * times, y: y * times, z: z * times }.to_lab()
}

pub(super) fn difference(one: LabD50, other: LabD50) -> [f64; 3] {
    [one.l - other.l, one.a - other.a, one.b - other.b]
}

/// Distance of a point from the middle of a card, in widths of that card.
fn card_widths(corners: &[[f64; 2]; 4], p: [f64; 2]) -> f64 {
    let middle = [0, 1].map(|k| corners.iter().map(|c| c[k]).sum::<f64>() / 4.0);
    let side = |i: usize, j: usize| (corners[i][0] - corners[j][0]).hypot(corners[i][1] - corners[j][1]);
    let width = 0.25 * (side(0, 1) + side(1, 2) + side(2, 3) + side(3, 0));
    (p[0] - middle[0]).hypot(p[1] - middle[1]) / width.max(1.0)
}
