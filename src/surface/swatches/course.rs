//! The map from column and row of a grid to places in the picture.
//!
//! Comes in: columns and rows with the places of the patches there, map pixels. Goes out: a [`Course`].

use crate::card::Homography;
use nalgebra::{DMatrix, DVector};

/// Column and row to map pixels.
#[derive(Debug, Clone)]
pub(super) enum Course {
    /// A plane seen by a camera.
    Plane(Homography),
    /// One row or one column: a line through the middles, and the step across it. `down`: it is a column.
    Line { from: [f64; 2], step: [f64; 2], down: bool },
    /// A polynomial in column and row, each axis by its terms, about a middle.
    Curved { middle: [f64; 2], degree: usize, terms: [Vec<f64>; 2] },
}

impl Course {
    pub fn apply(&self, at: [f64; 2]) -> [f64; 2] {
        match self {
            Course::Plane(plane) => plane.apply(at),
            Course::Line { from, step, down } => {
                let [along, across] = if *down { [at[1], -at[0]] } else { at };
                [from[0] + along * step[0] - across * step[1], from[1] + along * step[1] + across * step[0]]
            }
            Course::Curved { middle, degree, terms } => {
                let p = [at[0] - middle[0], at[1] - middle[1]];
                let value = |terms: &[f64]| {
                    powers(*degree).zip(terms).map(|([i, j], t)| t * p[0].powi(i) * p[1].powi(j)).sum()
                };
                [value(&terms[0]), value(&terms[1])]
            }
        }
    }

    pub fn plane(at: &[[f64; 2]], to: &[[f64; 2]]) -> Option<Self> {
        Homography::fit(at, to).map(Course::Plane)
    }

    /// Through one row or column, least squares.
    pub fn line(at: &[[f64; 2]], to: &[[f64; 2]], down: bool) -> Option<Self> {
        let n = at.len() as f64;
        let t = |p: &[f64; 2]| if down { p[1] } else { p[0] };
        let mean = at.iter().map(t).sum::<f64>() / n;
        let square = at.iter().map(|p| (t(p) - mean).powi(2)).sum::<f64>();
        let middle = [0, 1].map(|k| to.iter().map(|p| p[k]).sum::<f64>() / n);
        let step = [0, 1].map(|k| at.iter().zip(to).map(|(p, q)| (t(p) - mean) * q[k]).sum::<f64>() / square);
        let from = [0, 1].map(|k| middle[k] - mean * step[k]);
        (square > 0.0).then_some(Course::Line { from, step, down })
    }

    pub fn curved(at: &[[f64; 2]], to: &[[f64; 2]], degree: usize) -> Option<Self> {
        let count = powers(degree).count();
        if at.len() < count {
            return None;
        }
        let middle = [0, 1].map(|k| at.iter().map(|p| p[k]).sum::<f64>() / at.len() as f64);
        let rows = DMatrix::from_fn(at.len(), count, |r, c| {
            let [i, j] = powers(degree).nth(c).unwrap_or([0, 0]);
            (at[r][0] - middle[0]).powi(i) * (at[r][1] - middle[1]).powi(j)
        });
        let svd = rows.svd(true, true);
        // Too few columns or rows for the terms: nothing is fixed by them.
        if svd.rank(1e-6 * svd.singular_values.max()) < count {
            return None;
        }
        let solve = |k: usize| {
            let right = DVector::from_iterator(to.len(), to.iter().map(|p| p[k]));
            svd.solve(&right, 1e-12).ok().map(|v| v.iter().copied().collect::<Vec<f64>>())
        };
        Some(Course::Curved { middle, degree, terms: [solve(0)?, solve(1)?] })
    }
}

fn powers(degree: usize) -> impl Iterator<Item = [i32; 2]> {
    let degree = degree as i32;
    (0..=degree).flat_map(move |sum| (0..=sum).map(move |j| [sum - j, j]))
}

/// The course that tells each patch from the others best, and the root mean square of what it misses them by, map pixels;
/// with so few patches that none can be held out, straight steps and no figure.
pub(super) fn best_course(at: &[[f64; 2]], to: &[[f64; 2]]) -> Option<(Course, Option<f64>)> {
    type Fit = fn(&[[f64; 2]], &[[f64; 2]]) -> Option<Course>;
    let kinds: [Fit; 4] = [
        Course::plane,
        |a, t| Course::curved(a, t, 1),
        |a, t| Course::curved(a, t, 2),
        |a, t| Course::curved(a, t, 3),
    ];
    let held_out = |fit: Fit| -> Option<f64> {
        let mut sum = 0.0;
        for out in 0..at.len() {
            let rest = |all: &[[f64; 2]]| -> Vec<[f64; 2]> {
                all.iter().enumerate().filter(|(i, _)| *i != out).map(|(_, p)| *p).collect()
            };
            let told = fit(&rest(at), &rest(to))?.apply(at[out]);
            sum += (told[0] - to[out][0]).powi(2) + (told[1] - to[out][1]).powi(2);
        }
        Some((sum / at.len().max(1) as f64).sqrt())
    };
    let missed = kinds.into_iter().filter_map(|fit| Some((held_out(fit)?, fit)));
    match missed.min_by(|p, q| p.0.total_cmp(&q.0)) {
        Some((missed, fit)) => Some((fit(at, to)?, Some(missed))),
        None => Some((Course::curved(at, to, 1)?, None)),
    }
}
