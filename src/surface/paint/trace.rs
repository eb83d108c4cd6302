//! Splitting cells into bare and painted ones, by what differs across short distances.
//!
//! Two cells a few steps apart lie in the same light. Where one is painted and the other is not, their logarithms
//! differ by about the contrast of the paint; where both are bare, or both painted, they differ by grain and brush
//! alone. The likelihood of each difference under either case makes the cost of a split, whose cheapest is found
//! exactly (a cost that depends on which side is which: Kolmogorov & Zabih 2004, IEEE PAMI 26(2)).

use super::super::cut::GridCut;
use super::cells::{Cells, median};

/// What is looked for.
pub(super) struct Paint {
    /// Its contrast with what is not painted, natural log. Stronger paint is found as well.
    contrast: f32,
    /// Cells between the two that are compared: the blur of a photograph is over by then.
    far: usize,
    /// Least grain believed, natural log.
    grain: f32,
    /// Least texture believed over wider places.
    texture: f32,
    /// Weight of how dark a cell is against the slip about it: slight, since light and soot darken too.
    darkness: f32,
    /// Cost of calling a cell painted.
    rare: f32,
    /// Neighbours that differ by this are parted at no cost.
    parted: f32,
}

/// Paint that reads dark: about 40 % less light than the slip beside it, sound black several times that. Its
/// own brush marks are larger than those of slip.
pub(super) const DARK: Paint =
    Paint { contrast: 0.5, far: 2, grain: 0.1, texture: 0.2, darkness: 0.05, rare: 0.0, parted: 0.3 };
/// What is left of burned-out paint: 7 % less light, or 2 to 3 in L*.
pub(super) const TRACE: Paint = Paint {
    contrast: 0.07,
    far: 3,
    grain: 0.008,
    texture: 0.015,
    darkness: 0.1,
    rare: 0.1,
    parted: f32::INFINITY,
};

/// The same on a piece whose paint has surely burned: such traces are not rare there.
pub(super) const FAINT_TRACE: Paint = Paint { contrast: 0.06, rare: 0.0, ..TRACE };

/// Most that one comparison may say, log likelihood.
const MOST: f32 = 4.0;
/// Weight of all comparisons that cross one place of a border: `far` of them, whose grain is not independent.
const WEIGHT: f32 = 5.0;
/// One cell in so many tells the grain.
const SOME: usize = 3;
/// What it costs to part neighbours that look alike: the longer the border, the dearer.
const PARTING: f32 = 2.0;

impl Paint {
    /// Cells of the domain that are painted.
    pub fn find(&self, cells: &Cells, domain: &[bool]) -> Vec<bool> {
        let (w, h) = (cells.width, cells.height);
        let (calm, far) = (&cells.calm, self.far);
        let [along, down] = [1, w].map(|step| unbroken(domain, step, far));
        let pairs = |i: usize| {
            let along = (along[i] && i % w + far < w).then_some((4, i + far));
            along.into_iter().chain(down[i].then_some((6, i + far * w)))
        };
        let own = || (0..w * h).filter(|&i| domain[i]);
        let some = || own().step_by(SOME);
        let differences = some().flat_map(|i| pairs(i).map(move |(_, j)| (calm[i] - calm[j]).abs()));
        let grain = robust_deviation(differences.collect()).max(self.grain);
        let texture = robust_deviation(some().map(|i| calm[i].abs()).collect()).max(self.texture);
        let units = |v: f32| (100.0 * v) as i32;
        let mut cut = GridCut::with_far_bonds(w, h, far);
        for i in own() {
            let (x, y) = (i % w, i / w);
            let dark = self.darker(calm[i], texture).clamp(-2.0, 2.0);
            cut.set_pull(x, y, units(self.darkness * dark - self.rare));
            for (d, next, j) in [(0, x + 1 < w, i + 1), (2, y + 1 < h, i + w)] {
                if next && domain[j] {
                    let alike = (1.0 - (calm[i] - calm[j]).abs() / self.parted).max(0.0);
                    cut.set_parting(x, y, d, [units(PARTING * alike); 2]);
                }
            }
            for (d, j) in pairs(i) {
                let says = |d: f32| units(-WEIGHT / far as f32 * self.darker(d, grain).clamp(-MOST, MOST));
                let difference = calm[i] - calm[j];
                cut.set_parting(x, y, d, [says(difference), says(-difference)]);
            }
        }
        let mut painted = cut.split();
        painted.iter_mut().zip(domain).for_each(|(p, own)| *p &= own);
        painted
    }

    /// Log likelihood of a difference for 'darker by the contrast' against 'alike', normal distributions.
    fn darker(&self, difference: f32, spread: f32) -> f32 {
        let c = self.contrast;
        (-2.0 * difference * c - c * c) / (2.0 * spread * spread)
    }
}

/// Whether a cell and the next `far` ones, `step` apart, all lie in a mask.
fn unbroken(mask: &[bool], step: usize, far: usize) -> Vec<bool> {
    let mut all = mask.to_vec();
    for k in 1..=far {
        let next = mask.get(k * step..).unwrap_or_default();
        all[next.len()..].fill(false);
        all.iter_mut().zip(next).for_each(|(all, next)| *all &= next);
    }
    all
}

/// Standard deviation from the median of absolute values (1.4826 of it for a normal distribution).
fn robust_deviation(absolute: Vec<f32>) -> f32 {
    1.4826 * median(absolute).unwrap_or(0.0)
}
