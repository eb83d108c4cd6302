//! Checks on how the card was photographed: each with its figure, and words that say what to do.
//!
//! All of them look at what was sampled already, but for two short passes over pixels: channels at the top
//! of the encoding, and profiles across the card's outer borders.

use super::choose::median;
use super::definition::CardDefinition;
use super::geometry::Grid;
use super::models::reference_light;
use super::reading::{CardPlace, PatchReading, WhyNot};
use super::sample::PatchLight;
use crate::photo::Photo;
use nalgebra::{Matrix3, Vector3};

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
    let (mut bad, mut all) = (0usize, 0usize);
    for index in (0..shown.seen.len()).filter(|&i| shown.seen[i].count > 0) {
        let least = if neutrals.contains(&index) { 1 } else { 2 };
        for [x, y] in inner_pixels(shown, index) {
            all += 1;
            bad += usize::from(shown.photo.clipped_channels(x, y) >= least);
        }
    }
    bad as f64 / all.max(1) as f64
}

/// Pixels of the inner half of a patch, on a lattice no finer than they are.
fn inner_pixels(shown: &Shown, index: usize) -> Vec<[usize; 2]> {
    let Grid { to_px, tall, .. } = shown.grid;
    let [u, v] = shown.grid.centre(index);
    let across = (0.5 * shown.place.patch_side_px).clamp(4.0, 32.0) as usize;
    let at = |k: usize| (k as f64 + 0.5) / across as f64 * 0.5 - 0.25;
    let inside = |[x, y]: [f64; 2]| {
        let fits = x >= 0.0 && y >= 0.0 && x < shown.photo.width() as f64 && y < shown.photo.height() as f64;
        fits.then_some([x as usize, y as usize])
    };
    (0..across * across)
        .filter_map(|k| inside(to_px.apply([u + at(k % across), v + tall * at(k / across)])))
        .collect()
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

/// Half of the window across a border: a share of the patch, and at most so many pixels.
const BORDER: (f64, f64) = (0.3, 40.0);
/// Fewest profiles that give a width.
const LEAST_PROFILES: usize = 8;

/// Median width of the outer borders of the grid, where patches meet the frame: nothing narrow lies there. The
/// larger of those across rows and those across columns, as a camera that moves blurs along one way only.
fn edge_px(shown: &Shown) -> Option<f64> {
    let grid = shown.grid;
    let [w, h] = grid.extent();
    let half = BORDER.0.min(BORDER.1 / shown.place.patch_side_px.max(1.0));
    let mut widths: [Vec<f64>; 2] = Default::default();
    for index in 0..grid.rows * grid.columns {
        let [u, v] = grid.centre(index);
        let (row, column) = (index / grid.columns, index % grid.columns);
        let sides = [
            (column == 0, [0.0, v], [-1.0, 0.0]),
            (column + 1 == grid.columns, [w, v], [1.0, 0.0]),
            (row == 0, [u, 0.0], [0.0, -1.0]),
            (row + 1 == grid.rows, [u, h], [0.0, 1.0]),
        ];
        for (_, middle, out) in sides.into_iter().filter(|(at_rim, ..)| *at_rim) {
            for line in [-0.2, -0.1, 0.0, 0.1, 0.2] {
                let from = [middle[0] + line * out[1], middle[1] + line * out[0]];
                widths[usize::from(out[0] == 0.0)].extend(profile_width(shown, from, out, half));
            }
        }
    }
    let read = widths.iter().filter(|w| w.len() >= LEAST_PROFILES).map(|w| median(w));
    read.reduce(f64::max)
}

/// Width from 10 % to 90 % of one step, in pixels, as that of a step blurred by a normal distribution: the area
/// between profile and sharp step is 0.798 standard deviations, the width 2.563 of them. Areas, unlike the
/// crossings of a noisy profile, average over its pixels. A second look, close about the step, leaves slopes of
/// light on both sides out.
fn profile_width(shown: &Shown, from: [f64; 2], out: [f64; 2], half: f64) -> Option<f64> {
    let at = |t: f64| shown.grid.to_px.apply([from[0] + t * out[0], from[1] + t * out[1]]);
    let (start, end) = (at(-half), at(half));
    let px = (end[0] - start[0]).hypot(end[1] - start[1]) / (2.0 * half);
    let (middle, width) = step_width(shown.photo, at, [-half, half], px)?;
    let near = (3.0 * width).max(4.0 / px).min(half);
    let (_, width) = step_width(shown.photo, at, [middle - near, middle + near], px)?;
    Some(width * px)
}

/// Place and width of the one step between two ends of a line, both in the units of the line; `px` is the length
/// of such a unit.
fn step_width(
    photo: &Photo,
    at: impl Fn(f64) -> [f64; 2],
    [from, to]: [f64; 2],
    px: f64,
) -> Option<(f64, f64)> {
    let count = (((to - from) * px / 0.5) as usize).clamp(12, 160);
    let step = (to - from) / count as f64;
    let values: Option<Vec<f64>> =
        (0..count).map(|k| between(photo, at(from + step * (k as f64 + 0.5)))).collect();
    let values = values?;
    let tail = count / 4;
    let level = |part: &[f64]| {
        let mean = part.iter().sum::<f64>() / part.len() as f64;
        let variance = part.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / part.len() as f64;
        (mean, variance.sqrt())
    };
    let ((inner, inner_sd), (outer, outer_sd)) = (level(&values[..tail]), level(&values[count - tail..]));
    let rise = outer - inner;
    if rise.abs() < 0.02 || rise.abs() < 5.0 * inner_sd.max(outer_sd) {
        return None;
    }
    let share: Vec<f64> = values.iter().map(|v| (v - inner) / rise).collect();
    // Where a sharp step of the same area would stand.
    let middle = count as f64 - share.iter().sum::<f64>();
    let area: f64 = share
        .iter()
        .enumerate()
        .map(|(k, p)| {
            let before = (middle - k as f64).clamp(0.0, 1.0);
            before * p + (1.0 - before) * (1.0 - p)
        })
        .sum();
    let width = (2.563 / 0.798 * area * step).max(0.0);
    width.is_finite().then_some((from + middle * step, width))
}

/// Luminance between pixel centres, bilinear; `None` outside.
fn between(photo: &Photo, [x, y]: [f64; 2]) -> Option<f64> {
    let (x, y) = (x - 0.5, y - 0.5);
    if !(x >= 0.0 && y >= 0.0 && x < photo.width() as f64 - 1.0 && y < photo.height() as f64 - 1.0) {
        return None;
    }
    let (left, top) = (x as usize, y as usize);
    let (fx, fy) = (x.fract(), y.fract());
    let light = |dx: usize, dy: usize| luminance(photo.linear(left + dx, top + dy).0.map(f64::from));
    let above = light(0, 0) + fx * (light(1, 0) - light(0, 0));
    let below = light(0, 1) + fx * (light(1, 1) - light(0, 1));
    Some(above + fy * (below - above))
}

/// Fewest patches for a slope of tint.
const LEAST_TINTED: usize = 10;
/// How many standard errors a slope must stand out: with two slopes each of two ratios looked at, chance
/// reaches it about once in a thousand cards.
const STANDS_OUT: f64 = 4.0;

/// Change of the light's red to green, or blue to green, across the card: the slopes of what the correction
/// leaves, on a logarithmic scale, over the patches it used.
fn tint_change(patches: &[PatchReading], places: &[[f64; 2]]) -> Option<f64> {
    let ratios = |other: usize| -> Vec<([f64; 2], f64, f64)> {
        let mut found = Vec::new();
        for (patch, place) in patches.iter().zip(places).filter(|(p, _)| p.used) {
            let (got, wanted) = (reference_light(patch.lab_corrected), reference_light(patch.lab_reference));
            if [other, 1].iter().any(|&c| got[c] < 0.02 || wanted[c] < 0.02) {
                continue;
            }
            let ratio = (got[other] / wanted[other]).ln() - (got[1] / wanted[1]).ln();
            // Strong colours miss by their spectra as well.
            let chroma = patch.lab_reference.a.hypot(patch.lab_reference.b);
            found.push((*place, ratio, 1.0 / (1.0 + chroma / 20.0)));
        }
        found
    };
    let change = |other: usize| slopes(&ratios(other)).map(|s| s[0].abs() + s[1].abs());
    [change(0), change(2)].into_iter().flatten().reduce(f64::max).map(|change| change.exp() - 1.0)
}

/// Slopes over the card of one ratio by weighted least squares, those that stand out from chance; `None` where
/// neither does.
fn slopes(points: &[([f64; 2], f64, f64)]) -> Option<[f64; 2]> {
    if points.len() < LEAST_TINTED {
        return None;
    }
    let mut weights: Vec<f64> = points.iter().map(|p| p.2).collect();
    let mut found = [0.0; 2];
    for round in 0..4 {
        let (mut left, mut right) = (Matrix3::zeros(), Vector3::zeros());
        for ((place, ratio, _), weight) in points.iter().zip(&weights) {
            let row = Vector3::new(1.0, place[0], place[1]);
            left += row * row.transpose() * *weight;
            right += row * (*weight * ratio);
        }
        let inverse = left.try_inverse()?;
        let fit = inverse * right;
        let residual = |p: &([f64; 2], f64, f64)| p.1 - fit[0] - fit[1] * p.0[0] - fit[2] * p.0[1];
        if round == 3 {
            let squares: f64 = points.iter().zip(&weights).map(|(p, w)| w * residual(p).powi(2)).sum();
            let variance = squares / (points.len() as f64 - 3.0);
            let error = [inverse[(1, 1)], inverse[(2, 2)]].map(|v| (v * variance).sqrt());
            found = [0, 1].map(|k| if fit[k + 1].abs() > STANDS_OUT * error[k] { fit[k + 1] } else { 0.0 });
            break;
        }
        // One patch that misses by far must not tilt the plane: Huber 1964, the bend at 1.5 robust deviations.
        let mut sizes: Vec<f64> = points.iter().map(|p| residual(p).abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let bend = 1.5 * 1.4826 * sizes[sizes.len() / 2].max(1e-4);
        for (point, weight) in points.iter().zip(&mut weights) {
            *weight = point.2 * (bend / residual(point).abs().max(1e-12)).min(1.0);
        }
    }
    (found != [0.0; 2]).then_some(found)
}

/// Shares of clipped pixels: worth a warning; too many for a grade.
const CLIPPED: [f64; 2] = [0.01, 0.05];

fn overexposed(capture: &Capture, shown: &Shown) -> Option<Remark> {
    let percent = 100.0 * capture.clipped;
    if capture.clipped > CLIPPED[1] {
        let text = format!(
            "{percent:.0} % of the card's patches is over-exposed, too much for a grade. Shoot again one step darker."
        );
        return remark(CARD_OVEREXPOSED, text);
    }
    (capture.clipped > CLIPPED[0])
        .then(|| {
            let which = listed(shown.patches, WhyNot::Clipped);
            format!(
                "{percent:.0} % of the card's patches is over-exposed{which} and was left out. Shoot again one step darker."
            )
        })
        .and_then(|text| remark("card-clipped", text))
}

/// ` (patches 19, 20)`, where there are any.
fn listed(patches: &[PatchReading], why: WhyNot) -> String {
    let ids: Vec<&str> = patches.iter().filter(|p| p.why_not == Some(why)).map(|p| p.id.as_str()).collect();
    match ids.len() {
        0 => String::new(),
        1 => format!(" (patch {})", ids[0]),
        _ => format!(" (patches {})", ids.join(", ")),
    }
}

/// Light of a perfect white, two steps under the top, below which darks drown in noise and coarse codes (common
/// practice: a code of an 8-bit file is then a twentieth of the light of a black of L* 20).
const DARK: f64 = 0.25;
/// Light of a perfect white that a good exposure leaves under the top.
const GOOD: f64 = 0.7;

fn underexposed(capture: &Capture) -> Option<Remark> {
    let light = capture.white_light.filter(|light| *light < DARK)?;
    let text = format!(
        "The photo is too dark: white on the card has {:.0} % of the light the file can hold. Shoot again {:.0} steps \
         brighter.",
        100.0 * light,
        (GOOD / light.max(1e-3)).log2().round()
    );
    remark("card-underexposed", text)
}

fn crushed(shown: &Shown) -> Option<Remark> {
    let darkest = *shown.definition.neutrals().last()?;
    let seen = shown.seen[darkest];
    if seen.count == 0 || seen.low <= 0.25 {
        return None;
    }
    let text = format!(
        "{:.0} % of the card's black patch is cut off at the bottom of the file: how dark the black paint is cannot be \
         told well. Shoot brighter, with the camera's contrast low.",
        100.0 * seen.low
    );
    remark("card-blacks-crushed", text)
}

/// One patch alone may miss for its own reasons, a worn or reprinted colour; a shine or a shadow takes more.
const LEAST_ALIKE: usize = 2;

fn left_out(patches: &[PatchReading], why: WhyNot) -> Option<Remark> {
    let count = patches.iter().filter(|p| p.why_not == Some(why)).count();
    if count < LEAST_ALIKE {
        return None;
    }
    let (code, what, next) = match why {
        WhyNot::Glare => (
            "card-glare",
            "are lighter and paler than the others allow: a shine",
            "Turn the card or the light",
        ),
        WhyNot::Shaded => (
            "card-shaded",
            "are darker than the others allow: a shadow",
            "Keep hand, pot and yourself out of its light",
        ),
        _ => {
            ("card-covered", "do not fit the others, as if something lay on them", "Lay the whole card free")
        }
    };
    let (which, all) = (listed(patches, why), patches.len());
    remark(code, format!("{count} of the card's {all} patches{which} {what}. They were left out. {next}."))
}

/// Change of light across the card that is worth a warning.
const UNEVEN: f64 = 0.2;

fn uneven(gradient: Option<f64>) -> Option<Remark> {
    let gradient = gradient.filter(|g| *g > UNEVEN)?;
    let text = format!(
        "The light changes by {:.0} % across the card. Light it evenly and keep shadows off it.",
        100.0 * gradient
    );
    remark("card-light-uneven", text)
}

/// Change of tint across the card that is worth a warning.
const MIXED: f64 = 0.1;

fn mixed(capture: &Capture) -> Option<Remark> {
    let change = capture.tint_change.filter(|c| *c > MIXED)?;
    let text = format!(
        "The tint of the light changes by {:.0} % across the card: two kinds of light are mixed. Switch lamps off, or \
         move away from coloured walls.",
        100.0 * change
    );
    remark("card-light-mixed", text)
}

/// Border widths beyond which colours of neighbours leak in. In patch sides: into the inner half of a patch, by a
/// fiftieth. In pixels: past the 2 pixels that a surface's inner part keeps from others, by a fifth at its rim.
const SOFT: (f64, f64) = (0.3, 6.0);

fn blurred(capture: &Capture, shown: &Shown) -> Option<Remark> {
    let width = capture.edge_px?;
    let of_patch = width / shown.place.patch_side_px.max(1.0);
    if of_patch <= SOFT.0 && width <= SOFT.1 {
        return None;
    }
    let text = format!(
        "The card is blurred: its borders are {width:.1} pixels wide, {:.0} % of a patch. The piece may be sharper or not. \
         Focus on the piece, keep the camera still, and wipe the lens.",
        100.0 * of_patch
    );
    remark("card-blurred", text)
}

/// Side of a patch in pixels below which there is no grade.
const LEAST_SIDE: f64 = 12.0;

fn small(place: &CardPlace) -> Option<Remark> {
    let side = place.patch_side_px;
    if side >= LEAST_SIDE {
        return None;
    }
    let text = format!(
        "A patch of the card is {side:.0} pixels wide, too little for a grade. Go nearer, or shoot at full size."
    );
    remark(CARD_SMALL, text)
}
