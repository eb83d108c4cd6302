//! What is left of the paint that was laid.
//!
//! On the unfired piece paint is what is darker than the slip about it by half the contrast of its soundest paint or
//! more. Laid over the fired piece, each such place has a share of that contrast left:
//!
//! ```text
//! share = (L* of slip now - L* now) / (L* of slip now - L* of the paint before the fire)
//! ```

use super::register::{Registration, Unmatched};
use super::view::View;
use crate::surface::{Label, blur, narrowed, soundest, widened};
use rayon::prelude::*;

/// Paint with at least this share of its contrast left is kept, with less it is thinned: half way between whole paint and
/// lost paint.
pub const KEPT_FROM: f32 = 0.75;
/// Paint with less than this share of its contrast left is lost (label 6).
pub const LOST_BELOW: f32 = 0.5;

/// What became of a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Fate {
    /// The place is not seen well enough in both photographs.
    #[default]
    None,
    /// No paint was laid.
    Bare,
    /// Paint with most of its contrast.
    Kept,
    /// Paint that reads, but pale.
    Thinned,
    /// Paint that no longer reads.
    Lost,
}

impl Fate {
    /// Of paint: 0 kept, 1 thinned, 2 lost.
    pub(super) fn of_paint(self) -> Option<usize> {
        match self {
            Fate::None | Fate::Bare => None,
            Fate::Kept => Some(0),
            Fate::Thinned => Some(1),
            Fate::Lost => Some(2),
        }
    }

    fn of_share(share: f32) -> Self {
        match share {
            s if s >= KEPT_FROM => Fate::Kept,
            s if s >= LOST_BELOW => Fate::Thinned,
            _ => Fate::Lost,
        }
    }
}

/// What is left of the paint.
#[derive(Clone, Debug)]
pub struct Survival {
    /// Map pixels of the fired piece on which paint was laid.
    pub laid: usize,
    /// Shares of them.
    pub kept: f64,
    /// Paint that reads, but pale.
    pub thinned: f64,
    /// Paint that no longer reads.
    pub lost: f64,
    /// Share of the fired piece that the photograph before the fire shows as well.
    pub seen_before: f64,
    /// A fate a map pixel, the size of the fired piece's map.
    pub fates: Vec<Fate>,
    /// Share of the contrast that is left at each laid pixel; 0 elsewhere.
    pub left: Vec<f32>,
    /// Share of the laid paint whose contrast lies so near to [`LOST_BELOW`] that it may be told either way.
    pub doubtful: f64,
    /// Largest change of the retained share when the unfired piece is laid [`OFF`] aside, to either side, up or down.
    pub moved: f64,
}

impl Survival {
    /// Share of the paint that still reads, pale or not.
    pub fn retained(&self) -> f64 {
        self.kept + self.thinned
    }
}

/// Width of the neighbourhood whose slip a place is compared with, piece units.
const NEAR: f64 = 0.03;
/// Slip that weighs less than this nearby is helped by slip three times as far off.
const THIN: f32 = 0.1;
/// Lightness of slip where none is measured.
const SLIP: f64 = 80.0;

/// Contrast this near to the limit may be told either way: lightness of paint and slip are known to a few hundredths of
/// their distance.
const NEAR_LIMIT: f32 = 0.06;
/// How far places may lie off, piece units: two pixels of a piece 1,000 pixels wide.
pub const OFF: f64 = 0.002;

/// Measures what is left of the paint.
///
/// # Errors
/// [`Unmatched::NoPaint`] where nothing on the unfired piece reads as paint.
pub fn survive(before: &View, after: &View, registration: &Registration) -> Result<Survival, Unmatched> {
    let shares = shares_of_slip(before);
    let mut survival = laid_over(before, after, registration, &shares, [0.0; 2])?;
    let off = OFF * registration.unit();
    let aside = [[off, 0.0], [-off, 0.0], [0.0, off], [0.0, -off]];
    let changes = aside.into_par_iter().map(|by| {
        laid_over(before, after, registration, &shares, by)
            .map_or(0.0, |other| (other.retained() - survival.retained()).abs())
    });
    survival.moved = changes.reduce(|| 0.0, f64::max);
    Ok(survival)
}

/// What is left of the paint with the unfired piece moved aside, pixels of its map.
fn laid_over(
    before: &View,
    after: &View,
    registration: &Registration,
    shares: &Shares,
    by: [f64; 2],
) -> Result<Survival, Unmatched> {
    let (map, number) = (after.map, after.number());
    let [x0, y0, x1, y1] = after.piece().map_or([0; 4], |piece| piece.bounds);
    let (w, h) = (x1 - x0, y1 - y0);
    let at = |i: usize| (y0 + i / w) * map.width + x0 + i % w;
    let own: Vec<bool> = (0..w * h).map(|i| map.piece_of[at(i)] == number).collect();
    let own = narrowed(&own, w, EDGE);
    let label = |i: usize| map.labels[at(i)];
    // What the unfired piece gives back against the slip about it, brought over.
    let brought: Vec<Option<f32>> = (0..w * h)
        .into_par_iter()
        .with_min_len(4096)
        .map(|i| {
            let place = [x0 + i % w, y0 + i / w].map(|v| v as f64 + 0.5);
            let place = own[i].then(|| registration.before(place)).flatten()?;
            shares.at([0, 1].map(|c| place[c] + by[c]))
        })
        .collect();
    // Beside what only one photograph shows the wall is seen at a grazing angle: nothing is sure there.
    let seen: Vec<bool> = (0..w * h).map(|i| !own[i] || brought[i].is_some()).collect();
    let seen = narrowed(&seen, w, GRAZING);
    let paintable = |i: usize| {
        own[i]
            && seen[i]
            && brought[i].is_some()
            && matches!(label(i), Label::White | Label::Black | Label::LostPaint | Label::Unclear)
    };
    let dark: Vec<f32> = (0..w * h)
        .filter(|&i| paintable(i) && label(i) == Label::Black)
        .chain((0..w * h).filter(|&i| paintable(i)))
        .filter_map(|i| brought[i].filter(|&share| share < 0.4))
        .collect();
    let Some(sound) = soundest(dark) else { return Err(Unmatched::NoPaint) };
    let slip_before = lightness_of(before, Label::White).unwrap_or(SLIP);
    let paint = lightness_under(slip_before, sound);
    let contrast_before = |share: f32| contrast(slip_before, paint, share);
    // What is dark against slip is paint, and so is the rim about it up to where half of a place is slip. Beside clay and red
    // that rim is theirs.
    let dark: Vec<bool> = (0..w * h)
        .map(|i| paintable(i) && brought[i].is_some_and(|share| contrast_before(share) >= LOST_BELOW))
        .collect();
    let about_dark = widened(&dark, w, EDGE);
    let others: Vec<bool> =
        (0..w * h).map(|i| own[i] && matches!(label(i), Label::Red | Label::Body)).collect();
    let beside_others = widened(&others, w, EDGE);
    let laid: Vec<bool> = (0..w * h)
        .map(|i| {
            let half = brought[i].is_some_and(|share| share <= (1.0 + sound) / 2.0);
            paintable(i) && about_dark[i] && half && !beside_others[i]
        })
        .collect();
    // Slip now: what was bare before, a little away from paint.
    let faint: Vec<bool> = (0..w * h).map(|i| brought[i].is_none_or(|s| contrast_before(s) > 0.2)).collect();
    let beside = widened(&faint, w, 2);
    let bare: Vec<bool> = (0..w * h)
        .map(|i| own[i] && !beside[i] && matches!(label(i), Label::White | Label::LostPaint))
        .collect();
    let log: Vec<f32> = (0..w * h).map(|i| after.image.xyz[at(i)][1].max(1e-4).ln()).collect();
    let size = (own.iter().filter(|&&o| o).count() as f64).sqrt();
    let slip = about(&log, &bare, w, NEAR * size);
    let slip_now = lightness_of(after, Label::White).unwrap_or(SLIP);
    let (mut fates, mut left) = (vec![Fate::None; map.labels.len()], vec![0f32; map.labels.len()]);
    let mut counts = [0usize; 3];
    let light: Vec<f32> = (0..w * h).map(|i| (log[i] - slip[i]).exp()).collect();
    let own_share = sharpened(&light, &laid, w, |light| contrast(slip_now, paint, light));
    let shares = from_inside(&own_share, &laid, w);
    for i in (0..w * h).filter(|&i| paintable(i) && !beside_others[i]) {
        let fate = if laid[i] { Fate::of_share(shares[i]) } else { Fate::Bare };
        fates[at(i)] = fate;
        if let Some(kind) = fate.of_paint() {
            counts[kind] += 1;
            left[at(i)] = shares[i];
        }
    }
    let all: usize = counts.iter().sum();
    if all == 0 {
        return Err(Unmatched::NoPaint);
    }
    let share = |count: usize| count as f64 / all as f64;
    let doubtful = (0..w * h).filter(|&i| laid[i] && (shares[i] - LOST_BELOW).abs() < NEAR_LIMIT).count();
    let seen = brought.iter().filter(|b| b.is_some()).count() as f64;
    Ok(Survival {
        laid: all,
        kept: share(counts[0]),
        thinned: share(counts[1]),
        lost: share(counts[2]),
        seen_before: seen / own.iter().filter(|&&o| o).count().max(1) as f64,
        fates,
        left,
        doubtful: share(doubtful),
        moved: 0.0,
    })
}

/// Pixels beside what is not seen before the fire.
const GRAZING: usize = 4;
/// An edge of paint is mixed with slip, and the two pictures lie no better than this on each other, pixels: the edge takes
/// what is left of the paint from inside.
const EDGE: usize = 2;

/// Contrasts that differ by more than this from one pixel to the next but one are a sharp border of kept paint and lost: what
/// lies between is mixed of both. What changes more slowly is paint that thins out.
const STEP: f32 = 0.5;

/// The contrast left at each laid place. A border of kept and lost paint is mixed of both, and lightness is no straight measure
/// of the mixture: what has more light than half of either is lost.
fn sharpened(light: &[f32], laid: &[bool], width: usize, contrast: impl Fn(f32) -> f32 + Sync) -> Vec<f32> {
    let height = light.len() / width;
    let at = |i: usize| {
        if !laid[i] {
            return 0.0;
        }
        let (x, y) = (i % width, i / width);
        let within = |reach: usize| {
            let (mut dark, mut pale) = (light[i], light[i]);
            for v in y.saturating_sub(reach)..(y + reach + 1).min(height) {
                for u in x.saturating_sub(reach)..(x + reach + 1).min(width) {
                    if laid[v * width + u] {
                        (dark, pale) = (dark.min(light[v * width + u]), pale.max(light[v * width + u]));
                    }
                }
            }
            [dark, pale]
        };
        let [near_dark, near_pale] = within(1);
        let is_sharp = contrast(near_dark) - contrast(near_pale) > STEP;
        let [dark, pale] = if is_sharp { within(EDGE) } else { [light[i]; 2] };
        let [kept, lost] = [dark, pale].map(&contrast);
        match kept >= LOST_BELOW && lost < LOST_BELOW {
            true if light[i] <= (dark + pale) / 2.0 => kept,
            true => lost,
            false => contrast(light[i]),
        }
    };
    (0..light.len()).into_par_iter().with_min_len(4096).map(at).collect()
}

/// Shares of laid paint, those at its edges from the paint inside nearby where there is any.
fn from_inside(shares: &[f32], laid: &[bool], width: usize) -> Vec<f32> {
    let height = shares.len() / width;
    let inside: Vec<f32> = narrowed(laid, width, EDGE).iter().map(|&i| f32::from(u8::from(i))).collect();
    let mut sum: Vec<f32> = shares.iter().zip(&inside).map(|(s, i)| s * i).collect();
    let mut under = inside.clone();
    blur(&mut sum, width, height, EDGE as f64);
    blur(&mut under, width, height, EDGE as f64);
    (0..shares.len())
        .map(|i| if inside[i] > 0.0 || under[i] < 0.01 { shares[i] } else { sum[i] / under[i] })
        .collect()
}

/// Share of the contrast between slip and paint (L*) of what gives back a share of the light of slip.
fn contrast(slip: f64, paint: f64, share: f32) -> f32 {
    ((slip - lightness_under(slip, share)) / (slip - paint).max(10.0)) as f32
}

/// Lightness of what gives back a share of the light of slip (CIE 15:2018, eq. 8.3; above L* 8).
fn lightness_under(slip: f64, share: f32) -> f64 {
    let y = ((slip + 16.0) / 116.0).powi(3) * f64::from(share);
    116.0 * y.max(0.009).cbrt() - 16.0
}

/// Lightness of the mean luminance of a label's pixels, the light on them taken off.
fn lightness_of(view: &View, label: Label) -> Option<f64> {
    let (mut sum, mut many) = (0f64, 0usize);
    for (_, _, at) in view.pixels().filter(|&(_, _, at)| view.map.labels[at] == label) {
        sum += f64::from(view.image.xyz[at][1] / view.map.light[at].max(0.02));
        many += 1;
    }
    (many > 100).then(|| 116.0 * (sum / many as f64).clamp(0.009, 1.2).cbrt() - 16.0)
}

/// What each pixel of a piece gives back as a share of the slip about it.
struct Shares {
    low: [usize; 2],
    width: usize,
    height: usize,
    share: Vec<Option<f32>>,
}

impl Shares {
    /// At a map pixel, by straight lines between pixels.
    fn at(&self, pixel: [f64; 2]) -> Option<f32> {
        let [u, v] = [0, 1].map(|c| pixel[c] - 0.5 - self.low[c] as f64);
        if u < 0.0 || v < 0.0 || u >= (self.width - 1) as f64 || v >= (self.height - 1) as f64 {
            return None;
        }
        let (column, row) = (u as usize, v as usize);
        let (across, down) = ((u - column as f64) as f32, (v - row as f64) as f32);
        let i = row * self.width + column;
        let get = |i: usize| self.share[i];
        let (a, b, c, d) = (get(i)?, get(i + 1)?, get(i + self.width)?, get(i + self.width + 1)?);
        let (above, below) = (a + across * (b - a), c + across * (d - c));
        Some(above + down * (below - above))
    }
}

fn shares_of_slip(view: &View) -> Shares {
    let (map, number) = (view.map, view.number());
    let [x0, y0, x1, y1] = view.piece().map_or([0; 4], |piece| piece.bounds);
    let (w, h) = (x1 - x0, y1 - y0);
    let at = |i: usize| (y0 + i / w) * map.width + x0 + i % w;
    let own: Vec<bool> = (0..w * h).map(|i| map.piece_of[at(i)] == number).collect();
    let white: Vec<bool> = (0..w * h).map(|i| own[i] && map.labels[at(i)] == Label::White).collect();
    let inner = narrowed(&white, w, 2);
    let log: Vec<f32> = (0..w * h).map(|i| view.image.xyz[at(i)][1].max(1e-4).ln()).collect();
    let size = (own.iter().filter(|&&o| o).count() as f64).sqrt();
    let slip = about(&log, &inner, w, NEAR * size);
    // At the outline the ground shines through.
    let sure = narrowed(&own, w, EDGE);
    let share = (0..w * h).map(|i| sure[i].then(|| (log[i] - slip[i]).exp())).collect();
    Shares { low: [x0, y0], width: w, height: h, share }
}

/// Mean of known values about each place; where few are near, of those further off.
fn about(values: &[f32], known: &[bool], width: usize, sigma: f64) -> Vec<f32> {
    let height = values.len() / width;
    let weights: Vec<f32> = known.iter().map(|&k| f32::from(u8::from(k))).collect();
    let mean = |sigma: f64| {
        let mut above: Vec<f32> = values.iter().zip(&weights).map(|(v, k)| v * k).collect();
        let mut under = weights.clone();
        blur(&mut above, width, height, sigma);
        blur(&mut under, width, height, sigma);
        (above, under)
    };
    let ((near, near_under), (wide, wide_under)) = rayon::join(|| mean(sigma), || mean(3.0 * sigma));
    let all = values.iter().zip(&weights).map(|(v, k)| f64::from(v * k)).sum::<f64>()
        / weights.iter().map(|&k| f64::from(k)).sum::<f64>().max(1.0);
    (0..values.len())
        .map(|i| {
            let far = if wide_under[i] > 1e-3 { wide[i] / wide_under[i] } else { all as f32 };
            let share = (near_under[i] / THIN).min(1.0);
            if near_under[i] > 1e-4 { share * near[i] / near_under[i] + (1.0 - share) * far } else { far }
        })
        .collect()
}

#[cfg(test)]
mod tests;
