//! Checks on how the card was photographed: each with its figure, and words that say what to do.
//!
//! All of them look at what was sampled already, but for profiles across the card's outer borders.

mod border;
mod tint;
mod words;

use super::definition::CardDefinition;
use super::geometry::Grid;
use super::reading::{CardPlace, PatchReading, WhyNot};
use super::sample::PatchLight;
use crate::photo::Photo;
pub(crate) use border::profile_width;

use border::edge_px;
use tint::tint_change;
use words::{blurred, crushed, left_out, mixed, overexposed, small, underexposed, uneven};

/// Codes of the card's warnings that forbid a grade.
pub const CARD_OVEREXPOSED: &str = "card-overexposed";
/// The card is too small in the picture.
pub const CARD_SMALL: &str = "card-small";

/// How the card was photographed.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Capture {
    /// Share of the patches' pixels that are over-exposed, 0 to 1: any channel at the top of the encoding on a
    /// neutral patch, two or more on a coloured one.
    pub clipped: f64,
    /// Light that a perfect white on the card decodes to, 1.0 the top of the encoding; from the lightest neutral
    /// patch that is not clipped. `None` where no neutral is usable.
    pub white_light: Option<f64>,
    /// Width of the card's outer borders, from 10 % to 90 % of their step, full-size pixels. `None` where too few
    /// borders could be read.
    pub edge_px: Option<f64>,
    /// Relative change of the tint of the light across the card (the ratio of red to green or of blue to green,
    /// the larger), `None` where it cannot be told from chance.
    pub tint_change: Option<f64>,
}

/// What the checks look at.
pub(super) struct Shown<'a> {
    pub photo: &'a Photo,
    pub grid: &'a Grid,
    pub place: &'a CardPlace,
    pub definition: &'a CardDefinition,
    pub seen: &'a [PatchLight],
    pub patches: &'a [PatchReading],
    pub light_gradient: Option<f64>,
}

/// A remark: code and text.
type Remark = (String, String);

/// Looks at everything; gives the figures and the remarks for the record.
pub(super) fn check(shown: &Shown) -> (Capture, Vec<Remark>) {
    let capture = Capture {
        clipped: clipped(shown),
        white_light: white_light(shown),
        edge_px: edge_px(shown),
        tint_change: tint_change(shown.patches, &places(shown.grid)),
    };
    let remarks = [
        overexposed(&capture, shown),
        underexposed(&capture),
        crushed(shown),
        left_out(shown.patches, WhyNot::Glare),
        left_out(shown.patches, WhyNot::Shaded),
        left_out(shown.patches, WhyNot::Covered),
        uneven(shown.light_gradient),
        mixed(&capture),
        blurred(&capture, shown),
        small(shown.place),
    ];
    (capture, remarks.into_iter().flatten().collect())
}

fn places(grid: &Grid) -> Vec<[f64; 2]> {
    (0..grid.rows * grid.columns).map(|i| grid.place(i)).collect()
}

fn remark(code: &str, text: String) -> Option<Remark> {
    Some((code.into(), text))
}

/// Share of the patches' pixels that are over-exposed. A strong colour has one channel at the top long before
/// the light is too strong: its colour is merely outside what the file can hold. A neutral has none.
fn clipped(shown: &Shown) -> f64 {
    let neutrals = shown.definition.neutrals();
    let (mut bad, mut all) = (0.0, 0.0);
    for (index, seen) in shown.seen.iter().enumerate() {
        let share = if neutrals.contains(&index) { seen.high } else { seen.high_two };
        bad += share * seen.count as f64;
        all += seen.count as f64;
    }
    bad / f64::max(all, 1.0)
}

/// Luminance of linear light (IEC 61966-2-1 primaries).
fn luminance(light: [f64; 3]) -> f64 {
    0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]
}

fn white_light(shown: &Shown) -> Option<f64> {
    let usable = |&i: &usize| shown.seen[i].count > 0 && shown.seen[i].high <= 0.1;
    let lightest = shown.definition.neutrals().into_iter().find(usable)?;
    let reflectance = shown.definition.patches[lightest].lab.to_xyz().y;
    Some(luminance(shown.seen[lightest].light) / reflectance.max(1e-3))
}
