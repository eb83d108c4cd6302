//! Where the edges of the patches lie: the colours across every seam between two patches and across the
//! outer edges of the grid, and steps smeared by the lens fitted to them.

use crate::card::geometry::Plane;
use crate::photo::Photo;
use nalgebra::{Matrix3, Vector3};

/// Reach of a profile either way, steps of the lattice.
const REACH: f64 = 0.34;
/// Reach beyond an outer edge: narrow frames end soon after.
const OUTWARDS: f64 = 0.17;
/// Places looked at for a seam, either way of the one expected, and their distance in steps.
const PLACES: i32 = 8;
const PLACE: f64 = 0.02;
/// Blurs that are tried, steps.
const BLURS: [f64; 4] = [0.015, 0.03, 0.055, 0.1];
/// Noise below which no picture is trusted, share of the light seen.
const FLOOR: f64 = 0.005;

/// A seam: a gap between two patches, or an outer edge.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seam {
    /// Number of its profile.
    profile: usize,
    /// Where it was expected, lattice.
    pub at: [f64; 2],
    /// 0: crossed along the rows, 1: crossed downwards.
    pub axis: usize,
    /// How far along the axis it was seen from there, and the standard error of that, steps.
    pub off: f64,
    pub error: f64,
    /// How far a bend of the lens by 1 moves it along its axis, steps.
    pub bends: f64,
    /// 0 for a gap; -1 or 1 for an outer edge, the way in: to where it moves when the gap grows.
    pub outer: f64,
}

/// Light along the crossing of a seam, from the first patch to the second (or from the outer patch out).
struct Profile {
    at: [f64; 2],
    axis: usize,
    outer: f64,
    bends: f64,
    light: Vec<[f64; 3]>,
}

/// All profiles of a grid.
pub(super) struct Profiles {
    profiles: Vec<Profile>,
    samples: usize,
}

impl Profiles {
    pub fn new(photo: &Photo, to_px: &Plane, rows: usize, columns: usize, gaps: [f64; 2]) -> Self {
        let middle = [0.5 * (columns - 1) as f64, 0.5 * (rows - 1) as f64];
        let step_px = to_px.area(middle).abs().sqrt();
        let samples = (2.0 * REACH * step_px).clamp(24.0, 48.0) as usize;
        let lines = (0.25 * step_px).clamp(5.0, 8.0) as usize;
        let mut profiles = Vec::new();
        let count = [columns, rows];
        for axis in 0..2 {
            let other = 1 - axis;
            for across in 0..count[other] {
                for along in 0..=count[axis] {
                    let outer = if along == 0 {
                        1.0
                    } else if along == count[axis] {
                        -1.0
                    } else {
                        0.0
                    };
                    let mut at = [0.0; 2];
                    at[axis] = along as f64 - 0.5 + outer * 0.5 * gaps[axis];
                    at[other] = across as f64;
                    let crossing = Crossing { photo, to_px, at, axis, outer, samples, lines };
                    if let Some(light) = crossing.light(gaps[other]) {
                        let bends = bends(to_px, at)[axis];
                        profiles.push(Profile { at, axis, outer, bends, light });
                    }
                }
            }
        }
        Self { profiles, samples }
    }

    /// The width of the gaps both ways and the blur (standard deviation, steps) that explain all gaps
    /// best, each where it was seen.
    pub fn gaps_and_blur(&self, gaps: [f64; 2], blur: f64) -> ([f64; 2], f64) {
        let seams = self.seams(gaps, blur);
        let centred = |axis: usize| -> Vec<Vec<[f64; 3]>> {
            let own = seams.iter().filter(|seam| seam.axis == axis && seam.outer == 0.0);
            own.map(|seam| self.shifted(&self.profiles[seam.profile].light, seam.off)).collect()
        };
        let centred = [centred(0), centred(1)];
        let x = positions(self.samples, 0.0);
        let mut out = (gaps, blur);
        let mut best = f64::INFINITY;
        for blur in BLURS {
            let mut total = 0.0;
            let mut found = gaps;
            for (found, profiles) in found.iter_mut().zip(&centred) {
                let mut least = f64::INFINITY;
                for k in 0..=12 {
                    let gap = 0.025 * f64::from(k);
                    let steps = Steps::new(&x, &[-0.5 * gap, 0.5 * gap], blur);
                    // Each seam counts by how much of it is left unexplained, so that bright ones do not rule.
                    let left: f64 = profiles.iter().map(|light| steps.left(light).min(1.0)).sum();
                    if left < least {
                        (least, *found) = (left, gap);
                    }
                }
                total += least;
            }
            if total < best {
                (best, out) = (total, (found, blur));
            }
        }
        out
    }

    /// A profile of a gap moved so that what lay `off` steps along lies at its middle.
    fn shifted(&self, light: &[[f64; 3]], off: f64) -> Vec<[f64; 3]> {
        let last = light.len() - 1;
        let by = off * self.samples as f64 / (2.0 * REACH);
        let at = |i: usize| {
            let place = (i as f64 + by).clamp(0.0, last as f64);
            let (low, share) = (place as usize, place.fract());
            let (p, q) = (light[low], light[(low + 1).min(last)]);
            [0, 1, 2].map(|c| p[c] + share * (q[c] - p[c]))
        };
        (0..light.len()).map(at).collect()
    }

    /// Where every seam was seen.
    pub fn seams(&self, gaps: [f64; 2], blur: f64) -> Vec<Seam> {
        let mut out = Vec::with_capacity(self.profiles.len());
        for (axis, gap) in gaps.into_iter().enumerate() {
            for outer in [0.0, 1.0, -1.0] {
                let x = positions(self.samples, outer);
                let edges: &[f64] = if outer == 0.0 { &[-0.5 * gap, 0.5 * gap] } else { &[0.0] };
                let shifted = |place: f64| {
                    let moved: Vec<f64> = edges.iter().map(|e| e + place).collect();
                    Steps::new(&x, &moved, blur)
                };
                let places: Vec<Steps> = (-PLACES..=PLACES).map(|k| shifted(PLACE * f64::from(k))).collect();
                let own = |p: &Profile| p.axis == axis && p.outer == outer;
                for (number, p) in self.profiles.iter().enumerate().filter(|(_, p)| own(p)) {
                    out.extend(locate(number, p, &places));
                }
            }
        }
        out
    }
}

/// The place that leaves least unexplained, by a parabola through the best and its neighbours.
fn locate(number: usize, profile: &Profile, places: &[Steps]) -> Option<Seam> {
    let left: Vec<f64> = places.iter().map(|steps| steps.left(&profile.light)).collect();
    let best = (1..left.len() - 1).min_by(|&a, &b| left[a].total_cmp(&left[b]))?;
    let (before, here, after) = (left[best - 1], left[best], left[best + 1]);
    let bend = before - 2.0 * here + after;
    if bend.is_nan() || bend <= 0.0 || here > before || here > after {
        return None;
    }
    let off = PLACE * (best as f64 - f64::from(PLACES) + 0.5 * (before - after) / bend);
    // The rest is noise: one noise's worth more of it moves the place by its standard error.
    let noise = (here / (3.0 * profile.light.len() as f64)).max(FLOOR * FLOOR);
    let error = PLACE * (2.0 * noise / bend).sqrt();
    let Profile { at, axis, outer, bends, .. } = *profile;
    Some(Seam { profile: number, at, axis, off, error, bends, outer })
}

/// How far a bend of the lens by 1 moves a place, in steps both ways.
fn bends(to_px: &Plane, at: [f64; 2]) -> [f64; 2] {
    let [dx, dy] = to_px.stretch(to_px.map.apply(at));
    let [[ax, ay], [bx, by]] = to_px.map.steps(at);
    let det = ax * by - ay * bx;
    [(dx * by - dy * bx) / det, (ax * dy - ay * dx) / det]
}

/// Places of the samples of a profile, steps from the seam along the axis.
fn positions(samples: usize, outer: f64) -> Vec<f64> {
    let (from, to) = match outer {
        o if o > 0.0 => (-OUTWARDS, REACH),
        o if o < 0.0 => (-REACH, OUTWARDS),
        _ => (-REACH, REACH),
    };
    (0..samples).map(|i| from + (to - from) * (i as f64 + 0.5) / samples as f64).collect()
}

/// One crossing in the picture.
struct Crossing<'a> {
    photo: &'a Photo,
    to_px: &'a Plane,
    at: [f64; 2],
    axis: usize,
    outer: f64,
    samples: usize,
    lines: usize,
}

impl Crossing<'_> {
    /// Mean light over lines side by side within the patch; `None` where some of it lies outside.
    fn light(&self, gap_aside: f64) -> Option<Vec<[f64; 3]>> {
        let half = 0.32 * (1.0 - gap_aside);
        let places = positions(self.samples, self.outer);
        let mut light = vec![[0.0; 3]; self.samples];
        for line in 0..self.lines {
            let aside = half * (2.0 * (line as f64 + 0.5) / self.lines as f64 - 1.0);
            let end = |s: f64| {
                let mut at = self.at;
                at[self.axis] += s;
                at[1 - self.axis] += aside;
                self.to_px.apply(at)
            };
            // Within a step, perspective bends nothing worth the name: straight from end to end, in three
            // pieces so that it does not stretch either.
            let pieces =
                [0.0, 1.0, 2.0, 3.0].map(|k| places[0] + (places[self.samples - 1] - places[0]) * k / 3.0);
            let ends = pieces.map(end);
            for (sum, s) in light.iter_mut().zip(&places) {
                let piece = (1..3).rfind(|&k| *s >= pieces[k]).unwrap_or(0);
                let t = (s - pieces[piece]) / (pieces[piece + 1] - pieces[piece]);
                let p = [0, 1].map(|k| ends[piece][k] + t * (ends[piece + 1][k] - ends[piece][k]));
                let seen = self.photo.between(p)?;
                (0..3).for_each(|k| sum[k] += seen[k] / self.lines as f64);
            }
        }
        Some(light)
    }
}

/// One to two smeared steps at given places, and the least squares that go with them.
struct Steps {
    /// Rows: one, first step, second step.
    rows: Vec<Vector3<f64>>,
    inverse: Matrix3<f64>,
}

impl Steps {
    fn new(x: &[f64], edges: &[f64], blur: f64) -> Self {
        // The logistic curve is the normal distribution's to within 0.01 at this scale (Bowling et al. 2009).
        let step = |x: f64| 1.0 / (1.0 + (-1.702 * x / blur).exp());
        let row = |&x: &f64| {
            let second = edges.get(1).map_or(0.0, |e| step(x - e));
            Vector3::new(1.0, step(x - edges[0]), second)
        };
        let rows: Vec<Vector3<f64>> = x.iter().map(row).collect();
        // A little ridge keeps a gap without width solvable.
        let mut normal = Matrix3::identity() * (1e-4 * x.len() as f64);
        normal[(0, 0)] = 0.0;
        rows.iter().for_each(|r| normal += r * r.transpose());
        Self { rows, inverse: normal.try_inverse().unwrap_or_else(Matrix3::zeros) }
    }

    /// What the steps leave unexplained, relative to the mean square of the light.
    fn left(&self, light: &[[f64; 3]]) -> f64 {
        let (mut rest, mut all) = (0.0, 1e-9);
        for k in 0..3 {
            let mut seen = Vector3::zeros();
            let mut squares = 0.0;
            for (row, light) in self.rows.iter().zip(light) {
                seen += row * light[k];
                squares += light[k] * light[k];
            }
            rest += (squares - seen.dot(&(self.inverse * seen))).max(0.0);
            all += squares;
        }
        rest / all * self.rows.len() as f64
    }
}
