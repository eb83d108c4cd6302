//! Regions of a picture that grow together as larger steps of colour are let through: runs of pixels in
//! a row first, then disjoint sets of runs (Tarjan 1975; path halving, union by size).

use super::blobs::LEVELS;
use super::work::Work;

/// Sums over the pixels of a region.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sums {
    pub area: u32,
    pub x: u32,
    pub y: u32,
    pub xx: u64,
    pub xy: u64,
    pub yy: u64,
}

impl Sums {
    /// Pixels `from..to` of row `y`.
    fn of_run(from: usize, to: usize, y: usize) -> Self {
        let (a, b, y) = (from as u64, to as u64, y as u64);
        let n = b - a;
        // Sums of whole numbers and their squares below b less those below a.
        let first = (a + b - 1) * n / 2;
        let square = |m: u64| if m == 0 { 0 } else { (m - 1) * m * (2 * m - 1) / 6 };
        Self {
            area: n as u32,
            x: first as u32,
            y: (y * n) as u32,
            xx: square(b) - square(a),
            xy: first * y,
            yy: y * y * n,
        }
    }
}

/// Pairs of runs to be joined, one list a level.
pub(super) type Edges = [Vec<(u32, u32)>; LEVELS.len()];

/// Disjoint sets of runs with their sums.
pub(super) struct Regions {
    parent: Vec<u32>,
    sums: Vec<Sums>,
}

impl Regions {
    /// Runs of pixels that differ little, and the steps between runs that touch.
    pub fn new(work: &Work) -> (Self, Edges) {
        let (w, h) = (work.width, work.height);
        let base = LEVELS[first_level(work)];
        // Level of every step; past the last one it is never let through.
        let level: [u8; 256] = std::array::from_fn(|step| {
            LEVELS.iter().position(|&l| step <= usize::from(l)).unwrap_or(99) as u8
        });
        let mut edges: Edges = Default::default();
        let mut add = |step: u8, one: u32, other: u32| {
            if let Some(list) = edges.get_mut(usize::from(level[usize::from(step)])) {
                list.push((one, other));
            }
        };
        let mut sums: Vec<Sums> = Vec::with_capacity(w * h / 3);
        let (mut steps, mut below) = (vec![0u8; w], vec![0u8; w]);
        // Ends of the runs of the row above, and the number of its first run.
        let mut above: (Vec<usize>, u32) = (Vec::new(), 0);
        for y in 0..h {
            let row = &work.pixels[y * w..(y + 1) * w];
            differences(&row[..w - 1], &row[1..], &mut steps);
            let first = sums.len() as u32;
            let mut ends = Vec::with_capacity(w / 2);
            let mut from = 0;
            for (x, &step) in steps.iter().enumerate() {
                if x + 1 == w || step > base {
                    let run = sums.len() as u32;
                    sums.push(Sums::of_run(from, x + 1, y));
                    ends.push(x + 1);
                    from = x + 1;
                    if from < w {
                        add(step, run, run + 1);
                    }
                }
            }
            if y > 0 {
                differences(&work.pixels[(y - 1) * w..y * w], row, &mut below);
                let (mut i, mut j, mut x) = (0, 0, 0);
                while x < w {
                    let to = above.0[i].min(ends[j]);
                    let least = below[x..to].iter().fold(u8::MAX, |a, &b| a.min(b));
                    add(least, above.1 + i as u32, first + j as u32);
                    x = to;
                    i += usize::from(above.0[i] == to);
                    j += usize::from(ends[j] == to);
                }
            }
            above = (ends, first);
        }
        (Self { parent: (0..sums.len() as u32).collect(), sums }, edges)
    }

    /// Runs that have an area by themselves, in the form that [`super::blobs::blobs`] keeps.
    pub fn of_area(&self, least: u32) -> Vec<(u32, u32, Option<usize>)> {
        (0..self.sums.len()).filter(|&i| self.sums[i].area >= least).map(|i| (i as u32, 0, None)).collect()
    }

    /// Sums of a region by its root; `None` for what is no root any more.
    pub fn of_root(&self, root: u32) -> Option<&Sums> {
        (self.parent[root as usize] == root).then(|| &self.sums[root as usize])
    }

    fn root(&mut self, run: u32) -> usize {
        let mut p = run as usize;
        while self.parent[p] as usize != p {
            self.parent[p] = self.parent[self.parent[p] as usize];
            p = self.parent[p] as usize;
        }
        p
    }

    /// Joins two regions; the root where the area has just come up to `least`.
    pub fn join(&mut self, one: u32, other: u32, least: u32) -> Option<u32> {
        let (mut a, mut b) = (self.root(one), self.root(other));
        if a == b {
            return None;
        }
        if self.sums[a].area < self.sums[b].area {
            std::mem::swap(&mut a, &mut b);
        }
        self.parent[b] = a as u32;
        let s = self.sums[b];
        let t = &mut self.sums[a];
        let was = t.area;
        t.area += s.area;
        // Sums of large regions may wrap; those are far above the largest patch and never read.
        t.x = t.x.wrapping_add(s.x);
        t.y = t.y.wrapping_add(s.y);
        t.xx = t.xx.wrapping_add(s.xx);
        t.xy = t.xy.wrapping_add(s.xy);
        t.yy = t.yy.wrapping_add(s.yy);
        (was < least && t.area >= least).then_some(a as u32)
    }
}

/// The level to begin with: a quarter of all steps along the rows are no larger. Below it noise lets
/// nothing hang together but what is joined at it anyway.
fn first_level(work: &Work) -> usize {
    let mut counts = [0usize; 256];
    let mut steps = vec![0; work.width];
    // Every eighth row tells enough.
    for row in work.pixels.chunks_exact(work.width).step_by(8) {
        differences(&row[..work.width - 1], &row[1..], &mut steps);
        steps[..work.width - 1].iter().for_each(|&step| counts[usize::from(step)] += 1);
    }
    let quarter = counts.iter().sum::<usize>() / 4;
    let mut below = 0;
    let usual = counts.iter().position(|&n| {
        below += n;
        below >= quarter
    });
    LEVELS.iter().rposition(|&level| usize::from(level) <= usual.unwrap_or(0)).unwrap_or(0)
}

/// Largest difference of a channel, pixel by pixel.
fn differences(one: &[[u8; 3]], other: &[[u8; 3]], out: &mut [u8]) {
    for ((a, b), out) in one.iter().zip(other).zip(out) {
        *out = a[0].abs_diff(b[0]).max(a[1].abs_diff(b[1])).max(a[2].abs_diff(b[2]));
    }
}
