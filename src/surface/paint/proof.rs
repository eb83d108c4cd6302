//! Which traces are lost paint: darker than the slip beside them, sharp at the edge, as broad as strokes.

use super::cells::{Cells, median};
use imageproc::distance_transform::euclidean_squared_distance_transform;
use imageproc::image::{GrayImage, ImageBuffer, Luma};
use imageproc::region_labelling::{Connectivity, connected_components};

/// What a patch must show to be lost paint.
pub(super) struct Bar {
    /// Least mean step at the edge, natural log.
    step: f32,
    /// Share of the step over four cells that lies in the middle two: a painted edge is as sharp as the picture, a
    /// turn of the form or the margin of soot is a ramp, whose middle half holds half of it.
    sharp: f32,
    /// Half-width of a trace against that of the thinner strokes that are whole.
    broad: f32,
}

/// On any piece: 5 % less light, about 2 in L*. Brushed slip makes steps up to about that by itself (a judgement).
pub(super) const STRICT: Bar = Bar { step: 0.05, sharp: 0.6, broad: 0.6 };
/// On a piece whose paint has surely burned in places: there fainter and narrower traces are more likely paint than
/// brush marks.
pub(super) const BURNED: Bar = Bar { step: 0.04, sharp: 0.55, broad: 0.5 };
/// On a piece whose paint has burned in places: what may be paint, but could be a brush mark.
pub(super) const DOUBTFUL: Bar = Bar { step: 0.03, sharp: 0.5, broad: 0.5 };
/// Half-width of strokes where none are seen, cells.
const THIN: f32 = 2.0;
/// Which of the strokes are the thinner ones.
const THINNER: f64 = 0.25;
/// One cell of slip in so many tells its tint.
const SOME: usize = 7;
/// Fewer cells than this are a speck.
const LEAST_CELLS: usize = 8;
/// Fewer places than this along an edge tell no step.
const LEAST_PLACES: f32 = 4.0;
/// Places against the root of a patch's cells: each place of a border counts up to twice, so about an
/// eighth of the outline of a square has to be seen.
const OUTLINE: f32 = 1.0;

/// What a patch of traces turns out to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Proof {
    /// No patch, or one that does not stand the proof: slip with its brush marks.
    Slip,
    /// Paint was here.
    Lost,
    /// Bare clay: redder than the slip, which burned-out paint is not.
    Clay,
}

/// Redder than the slip by this (a* at L* 50) is clay. What is left of paint keeps the tint of its slip, clay that
/// beside it is mostly redder by more than 1.5 (a judgement, made on rendered pieces).
const RUDDY: f32 = 0.8;
/// Yellower than the slip by this (b* at L* 50) is another slip or a buff place, by the same token.
const YELLOW: f32 = 3.0;

/// The traces, painted cells without much contrast, that stand the proof. `black` are the cells of sound
/// paint, whose thinner strokes have half-width `strokes()`, `pale` those away from it.
pub(super) fn proven(
    cells: &Cells,
    traces: &[bool],
    pale: &[bool],
    black: &[bool],
    strokes: impl FnOnce() -> f32,
    bar: &Bar,
) -> Vec<Proof> {
    if !traces.contains(&true) {
        return vec![Proof::Slip; traces.len()];
    }
    let (w, h) = (cells.width, cells.height);
    let picture = GrayImage::from_fn(w as u32, h as u32, |x, y| {
        Luma([255 * u8::from(traces[y as usize * w + x as usize])])
    });
    let patches = connected_components(&picture, Connectivity::Eight, Luma([0])).into_raw();
    let count = patches.iter().copied().max().unwrap_or(0) as usize + 1;
    let mut found = vec![Patch::default(); count];
    measure_steps(cells, traces, pale, &patches, &mut found);
    for (i, patch) in patches.iter().enumerate().filter(|(i, _)| traces[*i]) {
        let (patch, tint) = (&mut found[*patch as usize], cells.tint(i));
        patch.cells += 1;
        (0..2).for_each(|k| patch.tint[k] += tint[k]);
    }
    let of_slip: Vec<[f32; 2]> =
        (0..traces.len()).filter(|&i| pale[i] && !traces[i]).step_by(SOME).map(|i| cells.tint(i)).collect();
    let slip = [0, 1].map(|k| median(of_slip.iter().map(|tint| tint[k]).collect()).unwrap_or(0.0));
    let mut proofs: Vec<Proof> = found.iter().map(|p| p.proof(bar, slip)).collect();
    // Breadth is asked last: on most pieces no patch comes so far.
    if proofs.contains(&Proof::Lost) {
        let broad = bar.broad * strokes().max(THIN);
        let away = half_widths(cells, |i| traces[i] || black[i]);
        let mut broadest = vec![0f32; count];
        patches.iter().zip(&away).for_each(|(&p, &a)| broadest[p as usize] = broadest[p as usize].max(a));
        for (proof, broadest) in proofs.iter_mut().zip(broadest) {
            if *proof == Proof::Lost && broadest < broad {
                *proof = Proof::Slip;
            }
        }
    }
    patches.iter().map(|&p| if p > 0 { proofs[p as usize] } else { Proof::Slip }).collect()
}

#[derive(Debug, Clone, Copy, Default)]
struct Patch {
    cells: usize,
    /// Sums over the cells: redness, yellowness.
    tint: [f32; 2],
    /// Sums over places of the edge: how many, steps over four cells, over the middle two.
    places: f32,
    far: f32,
    near: f32,
}

impl Patch {
    /// What it is, provided that a lost one is broad enough.
    fn proof(&self, bar: &Bar, slip: [f32; 2]) -> Proof {
        let cells = self.cells as f32;
        let stands = self.cells >= LEAST_CELLS
            && self.places >= LEAST_PLACES.max(OUTLINE * cells.sqrt())
            && self.far >= bar.step * self.places
            && self.near >= bar.sharp * self.far;
        let [redder, yellower] = [0, 1].map(|k| self.tint[k] / cells - slip[k]);
        match redder > RUDDY {
            true if stands => Proof::Clay,
            false if stands && yellower < YELLOW => Proof::Lost,
            _ => Proof::Slip,
        }
    }
}

/// Sums up the steps where two cells of a trace face two of slip.
fn measure_steps(cells: &Cells, traces: &[bool], pale: &[bool], patches: &[u32], found: &mut [Patch]) {
    let (w, n) = (cells.width, traces.len());
    for i in (0..n).filter(|&i| pale[i]) {
        for (fits, step) in [(i % w + 4 < w, 1), (i + 4 * w < n, w)] {
            let line = [0, 1, 2, 3, 4].map(|k| i + k * step);
            if !fits || traces[i] == traces[line[4]] || !line.iter().all(|&j| pale[j]) {
                continue;
            }
            let (inner, outer) = if traces[i] { ([0, 1], [4, 3]) } else { ([4, 3], [0, 1]) };
            if traces[line[inner[1]]] && !traces[line[outer[1]]] {
                let patch = &mut found[patches[line[inner[0]]] as usize];
                let step = |k: usize| cells.seen[line[outer[k]]] - cells.seen[line[inner[k]]];
                patch.places += 1.0;
                patch.far += step(0);
                patch.near += step(1);
            }
        }
    }
}

/// Distance of each cell of a mask to the nearest cell off it, 0 off the mask.
fn half_widths(cells: &Cells, mask: impl Fn(usize) -> bool) -> Vec<f32> {
    let (w, h) = (cells.width, cells.height);
    // What lies beyond the box is off the mask.
    let off: GrayImage = ImageBuffer::from_fn(w as u32 + 2, h as u32 + 2, |x, y| {
        let inside = (1..=w as u32).contains(&x) && (1..=h as u32).contains(&y);
        Luma([255 * u8::from(!(inside && mask((y as usize - 1) * w + x as usize - 1)))])
    });
    let squared = euclidean_squared_distance_transform(&off);
    (0..w * h).map(|i| squared.get_pixel((i % w) as u32 + 1, (i / w) as u32 + 1)[0].sqrt() as f32).collect()
}

/// Half-width of the thinner black strokes, read on their ridges; 0 where there are none.
pub(super) fn half_width_of_strokes(cells: &Cells, black: &[bool]) -> f32 {
    let (w, h) = (cells.width, cells.height);
    let away = half_widths(cells, |i| black[i]);
    let ridge = |i: usize| {
        let (x, y) = (i % w, i / w);
        (y.saturating_sub(1)..(y + 2).min(h))
            .all(|yy| (x.saturating_sub(1)..(x + 2).min(w)).all(|xx| away[yy * w + xx] <= away[i]))
    };
    let mut ridges: Vec<f32> = (0..w * h).filter(|&i| away[i] >= 1.0 && ridge(i)).map(|i| away[i]).collect();
    if ridges.len() < 50 {
        return 0.0;
    }
    let at = (ridges.len() as f64 * THINNER) as usize;
    *ridges.select_nth_unstable_by(at, f32::total_cmp).1
}
