//! The light that paint is held against: that of the slip about it.
//!
//! Comes in: a view of a piece. Goes out: its box with what is its own ([`Window`]), and the mean logarithm of the luminance of
//! slip about each place, or what each place gives back as a share of it ([`Shares`]).

use super::edges::EDGE;
use crate::surface::{Label, blur, narrowed};
use crate::survival::view::View;

/// Width of the neighbourhood whose slip a place is compared with, piece units.
const NEAR: f64 = 0.03;
/// Slip that weighs less than this nearby is helped by slip three times as far off.
const THIN: f32 = 0.1;

/// The box of a piece, row by row.
pub(super) struct Window<'a> {
    view: &'a View<'a>,
    low: [usize; 2],
    pub width: usize,
    /// The piece's own.
    pub own: Vec<bool>,
}

impl<'a> Window<'a> {
    pub fn of(view: &'a View<'a>) -> Self {
        let [x0, y0, x1, y1] = view.piece().map_or([0; 4], |piece| piece.bounds);
        let number = view.number();
        let rows = (y0..y1).map(|y| y * view.map.width);
        let own =
            rows.flat_map(|row| (x0..x1).map(move |x| row + x)).map(|at| view.map.piece_of[at] == number);
        Self { view, low: [x0, y0], width: x1 - x0, own: own.collect() }
    }

    /// Index into the map.
    pub fn at(&self, i: usize) -> usize {
        (self.low[1] + i / self.width) * self.view.map.width + self.low[0] + i % self.width
    }

    /// Map pixel, its middle.
    pub fn place(&self, i: usize) -> [f64; 2] {
        [self.low[0] + i % self.width, self.low[1] + i / self.width].map(|v| v as f64 + 0.5)
    }

    pub fn label(&self, i: usize) -> Label {
        self.view.map.labels[self.at(i)]
    }

    /// Where it holds.
    pub fn mask(&self, holds: impl Fn(usize) -> bool) -> Vec<bool> {
        (0..self.own.len()).map(holds).collect()
    }

    /// What each place gives back as a share of the slip about it; `slip` says where slip is bare.
    pub fn against(&self, slip: &[bool]) -> Vec<f32> {
        let log: Vec<f32> =
            (0..self.own.len()).map(|i| self.view.image.xyz[self.at(i)][1].max(1e-4).ln()).collect();
        let size = (self.own.iter().filter(|&&own| own).count() as f64).sqrt();
        let slip = about(&log, slip, self.width, NEAR * size);
        log.iter().zip(&slip).map(|(log, slip)| (log - slip).exp()).collect()
    }
}

/// Lightness of the mean luminance of a label's pixels, the light on them taken off.
pub(super) fn lightness_of(view: &View, label: Label) -> Option<f64> {
    let (mut sum, mut many) = (0f64, 0usize);
    for (_, _, at) in view.pixels().filter(|&(_, _, at)| view.map.labels[at] == label) {
        sum += f64::from(view.image.xyz[at][1] / view.map.light[at].max(0.02));
        many += 1;
    }
    (many > 100).then(|| 116.0 * (sum / many as f64).clamp(0.009, 1.2).cbrt() - 16.0)
}

/// What each pixel of a piece gives back as a share of the slip about it.
pub(super) struct Shares {
    low: [usize; 2],
    width: usize,
    height: usize,
    share: Vec<Option<f32>>,
}

impl Shares {
    pub fn of(view: &View) -> Self {
        let window = Window::of(view);
        let width = window.width.max(1);
        let white = window.mask(|i| window.own[i] && window.label(i) == Label::White);
        let share = window.against(&narrowed(&white, width, EDGE));
        // At the outline the ground shines through.
        let sure = narrowed(&window.own, width, EDGE);
        let share = share.into_iter().zip(sure).map(|(share, sure)| sure.then_some(share)).collect();
        Self { low: window.low, width, height: window.own.len() / width, share }
    }

    /// At a map pixel, by straight lines between pixels.
    pub fn at(&self, pixel: [f64; 2]) -> Option<f32> {
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
