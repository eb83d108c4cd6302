//! The last step: the edges of all patches, found in the full-size picture to a part of a pixel, give
//! the plane of the card and the gaps between its patches.
//!
//! Unit: steps from one patch centre to the next, called the lattice; patch (column, row) has its centre
//! at whole numbers. Positions are measured in linear light, in which blur is symmetric.

use super::edges::{Profiles, Seam};
use crate::card::CardDefinition;
use crate::card::geometry::{Grid, Homography, Plane};
use crate::photo::Photo;
use nalgebra::{SMatrix, SVector};

/// Rounds of measuring edges and fitting the plane.
const ROUNDS: usize = 3;
/// Residuals beyond this many times the usual one do not count (Tukey's biweight, Beaton & Tukey 1974).
const BIWEIGHT: f64 = 4.685;
/// How far an edge may reasonably be from a plane seen by a lens, steps: added to each edge's own error.
const PLANE: f64 = 0.004;
/// Narrowest and widest gap that is believed, of a step.
const GAPS: [f64; 2] = [0.0, 0.45];

/// A seam lies on the plane when it is this near, steps.
const NEAR: f64 = 0.06;
/// Share of the seams that must; below it the edges are not those of one plane, and the spots are
/// believed instead.
const LEAST_SURE: f64 = 0.5;
/// Farthest that a corner patch may be from where the spots put it, steps.
const STRAYS: f64 = 0.5;

/// The grid in full-size pixels, from a lattice that is right to about a tenth of a step.
pub(super) fn refine(photo: &Photo, lattice: &Homography, definition: &CardDefinition) -> Grid {
    let layout = &definition.layout;
    let (rows, columns, tall) = (layout.rows, layout.columns, layout.tall());
    let pitch = layout.pitch();
    let told = [1.0 - 1.0 / pitch[0], 1.0 - tall / pitch[1]];
    let (w, h) = (photo.width() as f64, photo.height() as f64);
    let start = Plane { map: *lattice, bend: 0.0, middle: [0.5 * w, 0.5 * h], reach: 0.5 * w.hypot(h) };
    let (mut to_px, mut gaps, mut blur) = (start, told, 0.05);
    let mut sure = 0.0;
    for round in 0..ROUNDS {
        let profiles = Profiles::new(photo, &to_px, rows, columns, gaps);
        if round == 1 {
            (gaps, blur) = profiles.gaps_and_blur(gaps, blur);
        }
        let Some(fitted) = fit(&to_px, &profiles.seams(gaps, blur), gaps) else { break };
        (to_px, gaps, sure) = (fitted.to_px, fitted.gaps, fitted.sure);
    }
    if sure < LEAST_SURE || strays(&start, &to_px, rows, columns) {
        (to_px, gaps) = (start, told);
    }
    let pitch = [1.0 / (1.0 - gaps[0]), tall / (1.0 - gaps[1])];
    // Patch (c, r) has its centre at (c, r) before, at (c * pitch + 1/2, r * pitch + tall/2) after.
    to_px.map = to_px.map.after(
        [-0.5 / pitch[0], -0.5 * tall / pitch[1]],
        [1.0 / pitch[0], 0.0],
        [0.0, 1.0 / pitch[1]],
    );
    Grid { to_px, pitch, tall, rows, columns }
}

/// Whether a corner patch has moved so far that the edges were those of something else.
fn strays(from: &Plane, to: &Plane, rows: usize, columns: usize) -> bool {
    let (right, low) = ((columns - 1) as f64, (rows - 1) as f64);
    [[0.0, 0.0], [right, 0.0], [right, low], [0.0, low]].iter().any(|&corner| {
        let (p, q) = (from.apply(corner), to.apply(corner));
        let moved = (p[0] - q[0]).hypot(p[1] - q[1]);
        moved.is_nan() || moved > STRAYS * from.area(corner).abs().sqrt()
    })
}

/// What a fit of the plane comes to.
struct Fitted {
    to_px: Plane,
    gaps: [f64; 2],
    /// Share of the seams that lie on it.
    sure: f64,
}

/// Unknowns: eight of a plane's small change, the change of the two gaps, and of the lens's bend.
const UNKNOWNS: usize = 11;
/// What is believed of each before any seam is looked at, standard deviations: little of the plane, in
/// steps; gaps near those of the definition; lenses that move a corner of the picture by a fiftieth.
const BELIEVED: [f64; UNKNOWNS] = [0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.1, 0.1, 0.03, 0.03, 0.02];

/// The plane and gaps that agree best with the seams; `None` where they do not fix them.
fn fit(to_px: &Plane, seams: &[Seam], gaps: [f64; 2]) -> Option<Fitted> {
    let mut solution = SVector::<f64, UNKNOWNS>::zeros();
    let mut scale = f64::INFINITY;
    for _ in 0..6 {
        let mut normal = SMatrix::<f64, UNKNOWNS, UNKNOWNS>::zeros();
        let mut right = SVector::<f64, UNKNOWNS>::zeros();
        right[10] = -to_px.bend / (BELIEVED[10] * BELIEVED[10]);
        // What nothing is known of stays as it is.
        for k in 0..UNKNOWNS {
            normal[(k, k)] = 1.0 / (BELIEVED[k] * BELIEVED[k]);
        }
        let mut misses: Vec<f64> = Vec::with_capacity(seams.len());
        for seam in seams {
            let row = equation(seam);
            let miss = row.dot(&solution) - seam.off;
            let error = seam.error.hypot(PLANE);
            misses.push((miss / error).abs());
            let t = miss / error / (BIWEIGHT * scale);
            if t.abs() < 1.0 {
                let weight = (1.0 - t * t).powi(2) / (error * error);
                normal += weight * row * row.transpose();
                right += weight * seam.off * row;
            }
        }
        solution = normal.cholesky()?.solve(&right);
        misses.sort_by(f64::total_cmp);
        // Median of absolute deviations, as a standard deviation.
        scale = (1.4826 * misses.get(misses.len() / 2)?).max(1.0);
    }
    let p = solution;
    // A place (u, v) of the old lattice lies at ((1 + p1) u + p2 v + p0, ...) / (1 - p6 u - p7 v) of the new.
    let change =
        Homography::from_rows([[1.0 + p[1], p[2], p[0]], [p[4], 1.0 + p[5], p[3]], [-p[6], -p[7], 1.0]]);
    let gaps = [gaps[0] + p[8], gaps[1] + p[9]].map(|g| g.clamp(GAPS[0], GAPS[1]));
    let map = to_px.map.before(&change.inverse()?);
    let near = seams.iter().filter(|seam| (equation(seam).dot(&p) - seam.off).abs() < NEAR).count();
    Some(Fitted {
        to_px: Plane { map, bend: to_px.bend + p[10], ..*to_px },
        gaps,
        sure: near as f64 / seams.len().max(1) as f64,
    })
}

/// The row of a seam in the system: how its place along its axis moves with each unknown. The seam was
/// seen at `place + off` along its axis where it should lie at `place`, so the change must bring it back.
fn equation(seam: &Seam) -> SVector<f64, UNKNOWNS> {
    let [u, v] = seam.at;
    let mut row = SVector::<f64, UNKNOWNS>::zeros();
    let w = seam.at[seam.axis];
    let first = if seam.axis == 0 { 0 } else { 3 };
    for (k, value) in [(first, 1.0), (first + 1, u), (first + 2, v), (6, w * u), (7, w * v)] {
        row[k] = -value;
    }
    // An outer edge moves inwards by half of what its gap grows.
    row[8 + seam.axis] = 0.5 * seam.outer;
    row[10] = seam.bends;
    row
}
