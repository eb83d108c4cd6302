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
use crate::surface::{Label, narrowed, soundest, widened};
use edges::{EDGE, from_inside, without_slivers};
use rayon::prelude::*;
use slip::{Shares, Window, lightness_of};

mod edges;
mod slip;

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

/// Lightness of slip where none is measured.
const SLIP: f64 = 80.0;
/// Places that give back less than this share of slip may be its soundest paint.
const DARK: f32 = 0.4;
/// Slip with more than this share of the contrast of paint is not bare.
const FAINT: f32 = 0.2;
/// Contrast this near to the limit may be told either way: lightness of paint and slip are known to a few hundredths of
/// their distance.
const NEAR_LIMIT: f32 = 0.06;
/// How far places may lie off, piece units: two pixels of a piece 1,000 pixels wide.
pub const OFF: f64 = 0.002;
/// Pixels beside what is not seen before the fire.
const GRAZING: usize = 4;

/// Measures what is left of the paint.
///
/// # Errors
/// [`Unmatched::NoPaint`] where nothing on the unfired piece reads as paint.
pub fn survive(before: &View, after: &View, registration: &Registration) -> Result<Survival, Unmatched> {
    let shares = Shares::of(before);
    let slip_before = lightness_of(before, Label::White).unwrap_or(SLIP);
    let laid_over = |by: [f64; 2]| {
        let fired = Fired::of(after, |place| {
            let place = registration.before(place)?;
            shares.at([0, 1].map(|c| place[c] + by[c]))
        });
        fired.survival(slip_before)
    };
    let mut survival = laid_over([0.0; 2])?;
    let off = OFF * registration.unit();
    let aside = [[off, 0.0], [-off, 0.0], [0.0, off], [0.0, -off]];
    let changes = aside
        .into_par_iter()
        .map(|by| laid_over(by).map_or(0.0, |other| (other.retained() - survival.retained()).abs()));
    survival.moved = changes.reduce(|| 0.0, f64::max);
    Ok(survival)
}

/// The fired piece, and what the unfired one gives back against its slip brought over.
struct Fired<'a> {
    view: &'a View<'a>,
    window: Window<'a>,
    brought: Vec<Option<f32>>,
    /// Where paint may have been laid: seen in both photographs, and not clay or red.
    paintable: Vec<bool>,
}

impl<'a> Fired<'a> {
    fn of(view: &'a View<'a>, before: impl Fn([f64; 2]) -> Option<f32> + Sync) -> Self {
        let mut window = Window::of(view);
        window.own = narrowed(&window.own, window.width.max(1), EDGE);
        let many = window.own.len();
        let bring = |i: usize| if window.own[i] { before(window.place(i)) } else { None };
        let brought: Vec<Option<f32>> = (0..many).into_par_iter().with_min_len(4096).map(bring).collect();
        // Beside what only one photograph shows the wall is seen at a grazing angle: nothing is sure there.
        let seen = window.mask(|i| !window.own[i] || brought[i].is_some());
        let seen = narrowed(&seen, window.width.max(1), GRAZING);
        let may = [Label::White, Label::Black, Label::LostPaint, Label::Unclear];
        let paintable = window
            .mask(|i| window.own[i] && seen[i] && brought[i].is_some() && may.contains(&window.label(i)));
        Self { view, window, brought, paintable }
    }

    /// What the soundest paint gave back of the light of slip.
    fn soundest(&self) -> Option<f32> {
        let paintable = || (0..self.paintable.len()).filter(|&i| self.paintable[i]);
        let black = paintable().filter(|&i| self.window.label(i) == Label::Black);
        let dark = black.chain(paintable()).filter_map(|i| self.brought[i].filter(|&share| share < DARK));
        soundest(dark.collect())
    }

    /// Where paint was laid. What is dark against slip is paint, and so is the rim about it up to where half of a place is
    /// slip. Beside clay and red that rim is theirs (`beside_others`).
    fn laid(&self, sound: f32, contrast: impl Fn(f32) -> f32, beside_others: &[bool]) -> Vec<bool> {
        let is_dark = |i: usize| self.brought[i].is_some_and(|share| contrast(share) >= LOST_BELOW);
        let dark = self.window.mask(|i| self.paintable[i] && is_dark(i));
        let about_dark = widened(&dark, self.window.width, EDGE);
        let is_half = |i: usize| self.brought[i].is_some_and(|share| share <= (1.0 + sound) / 2.0);
        self.window.mask(|i| self.paintable[i] && about_dark[i] && is_half(i) && !beside_others[i])
    }

    /// Slip now: what was bare before, a little away from paint.
    fn bare(&self, contrast: impl Fn(f32) -> f32) -> Vec<bool> {
        let faint = self.window.mask(|i| self.brought[i].is_none_or(|share| contrast(share) > FAINT));
        let beside = widened(&faint, self.window.width, EDGE);
        let is_slip = |i: usize| matches!(self.window.label(i), Label::White | Label::LostPaint);
        self.window.mask(|i| self.window.own[i] && !beside[i] && is_slip(i))
    }

    fn survival(&self, slip_before: f64) -> Result<Survival, Unmatched> {
        let (window, width) = (&self.window, self.window.width);
        let Some(sound) = self.soundest() else { return Err(Unmatched::NoPaint) };
        let paint = lightness_under(slip_before, sound);
        let contrast_before = |share: f32| contrast(slip_before, paint, share);
        let others = window.mask(|i| window.own[i] && matches!(window.label(i), Label::Red | Label::Body));
        let beside_others = widened(&others, width, EDGE);
        let laid = self.laid(sound, contrast_before, &beside_others);
        let light = window.against(&self.bare(contrast_before));
        let slip_now = lightness_of(self.view, Label::White).unwrap_or(SLIP);
        let own_share: Vec<f32> = (0..light.len())
            .map(|i| if laid[i] { contrast(slip_now, paint, light[i]) } else { 0.0 })
            .collect();
        let shares = without_slivers(&from_inside(&own_share, &laid, width), &laid, width);
        let many = self.view.map.labels.len();
        let (mut fates, mut left) = (vec![Fate::None; many], vec![0f32; many]);
        let (mut counts, mut doubtful) = ([0usize; 3], 0usize);
        for i in (0..laid.len()).filter(|&i| self.paintable[i] && !beside_others[i]) {
            let fate = if laid[i] { Fate::of_share(shares[i]) } else { Fate::Bare };
            fates[window.at(i)] = fate;
            if let Some(kind) = fate.of_paint() {
                counts[kind] += 1;
                doubtful += usize::from((shares[i] - LOST_BELOW).abs() < NEAR_LIMIT);
                left[window.at(i)] = shares[i];
            }
        }
        let all: usize = counts.iter().sum();
        if all == 0 {
            return Err(Unmatched::NoPaint);
        }
        let share = |count: usize| count as f64 / all as f64;
        let count = |holds: &dyn Fn(usize) -> bool| (0..laid.len()).filter(|&i| holds(i)).count() as f64;
        Ok(Survival {
            laid: all,
            kept: share(counts[0]),
            thinned: share(counts[1]),
            lost: share(counts[2]),
            seen_before: count(&|i| self.brought[i].is_some()) / count(&|i| window.own[i]).max(1.0),
            fates,
            left,
            doubtful: share(doubtful),
            moved: 0.0,
        })
    }
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

#[cfg(test)]
mod tests;
