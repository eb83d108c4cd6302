//! Rows and columns through the patches that were seen.
//!
//! Comes in: [`Blob`]s and what was told of the grid. Goes out: a [`Lattice`]: a map from column and row (0, 0 the middle
//! of the first swatch) to map pixels, and how large a swatch is in columns and rows.

use super::super::SurfaceMap;
use super::blobs::Blob;
use super::course::{Course, best_course};
use super::{GridChoice, SwatchError};
use std::collections::BTreeMap;

/// Fewest patches that show a grid which was not told: any four lie on the corners of one.
pub(super) const LEAST: usize = 6;
/// Fewest patches that show a grid, or a row, which was told.
const LEAST_TOLD: usize = 3;
/// A patch is the neighbour that was looked for where it lies within this share of the step.
const NEAR: f64 = 0.3;
/// A grid must take in this share of the patches of its size, or it is none.
const TAKEN_IN: f64 = 0.6;

/// At least so many of the places of a grid must hold a patch that stands out: paint in a pattern leaves most empty.
const FILLED: f64 = 0.5;
/// The patches tell each other's middles to this share of a step, root mean square: a row of strokes does not.
const REGULAR: f64 = 0.12;

/// The grid on the piece.
#[derive(Debug, Clone)]
pub(super) struct Lattice {
    course: Course,
    pub rows: usize,
    pub columns: usize,
    /// Half the size of a swatch in columns and rows.
    half: [f64; 2],
}

impl Lattice {
    /// Middle of a place in columns and rows, map pixels.
    pub fn at(&self, column: f64, row: f64) -> [f64; 2] {
        self.course.apply([column, row])
    }

    /// Corners of a swatch from the upper left, clockwise, map pixels.
    pub fn quad(&self, column: usize, row: usize) -> [[f64; 2]; 4] {
        let [u, v] = self.half;
        [[-u, -v], [u, -v], [u, v], [-u, v]].map(|[du, dv]| self.at(column as f64 + du, row as f64 + dv))
    }

    /// How the picture moves for a step of one column and one row.
    pub fn steps(&self, column: f64, row: f64) -> [[f64; 2]; 2] {
        let d = 0.25;
        let step =
            |to: [f64; 2], from: [f64; 2]| [(to[0] - from[0]) / (2.0 * d), (to[1] - from[1]) / (2.0 * d)];
        [
            step(self.at(column + d, row), self.at(column - d, row)),
            step(self.at(column, row + d), self.at(column, row - d)),
        ]
    }

    /// The grid whose corner swatches were told by hand, full-size pixels.
    pub fn of_corners(
        corners: &[[f64; 2]; 4],
        choice: GridChoice,
        blobs: &[Blob],
        map: &SurfaceMap,
        number: u8,
    ) -> Result<Self, SwatchError> {
        let (rows, columns) = match choice {
            GridChoice::Grid([rows, columns]) => (rows, columns),
            GridChoice::Bands(_) | GridChoice::Seen => return Err(SwatchError::CornersOff),
        };
        let scale = 1.0 / map.factor as f64;
        let corners = corners.map(|p| p.map(|v| v * scale));
        let on_piece = |p: &[f64; 2]| {
            let inside = p[0] >= 0.0 && p[1] >= 0.0 && p[0] < map.width as f64 && p[1] < map.height as f64;
            inside && map.piece_of[p[1] as usize * map.width + p[0] as usize] == number
        };
        if !corners.iter().all(on_piece) || rows < 2 || columns < 2 {
            return Err(SwatchError::CornersOff);
        }
        let (u, v) = ((columns - 1) as f64, (rows - 1) as f64);
        let course = Course::plane(&[[0.0, 0.0], [u, 0.0], [u, v], [0.0, v]], &corners)
            .ok_or(SwatchError::CornersOff)?;
        let mut lattice = Self { course, rows, columns, half: [0.25, 0.25] };
        let seen: Vec<([f64; 2], Blob)> = (0..rows)
            .flat_map(|r| (0..columns).map(move |c| (c, r)))
            .filter_map(|(c, r)| Some(([c as f64, r as f64], *lattice.blob_at(c, r, blobs)?)))
            .collect();
        if !seen.is_empty() {
            lattice.half = half_size(&lattice, &seen);
        }
        Ok(lattice)
    }

    /// The patch that lies at a place of the grid, if one does.
    pub fn blob_at<'a>(&self, column: usize, row: usize, blobs: &'a [Blob]) -> Option<&'a Blob> {
        let middle = self.at(column as f64, row as f64);
        let [u, v] = self.steps(column as f64, row as f64);
        blobs.iter().find(|b| {
            let p = in_steps([b.middle[0] - middle[0], b.middle[1] - middle[1]], u, v);
            p[0].abs() < NEAR && p[1].abs() < NEAR
        })
    }

    /// The grid through patches. One row or one column must have been told: any pattern holds three of a kind in a row.
    pub fn through(blobs: &[Blob], choice: GridChoice) -> Result<Self, SwatchError> {
        let told = match choice {
            GridChoice::Grid(told) => Some(told),
            GridChoice::Seen | GridChoice::Bands(_) => None,
        };
        let needed = if told.is_some() { LEAST_TOLD } else { LEAST };
        if blobs.len() < needed {
            return Err(SwatchError::TooFew { seen: blobs.len(), needed });
        }
        let none = || SwatchError::NoGrid { seen: blobs.len() };
        let numbered = number(blobs).ok_or_else(none)?;
        if (numbered.len() as f64) < TAKEN_IN * blobs.len() as f64 || numbered.len() < needed {
            return Err(none());
        }
        let (seen, [columns, rows]) = upright(&numbered, blobs);
        let at: Vec<[f64; 2]> = seen.iter().map(|(at, _)| *at).collect();
        let to: Vec<[f64; 2]> = seen.iter().map(|(_, b)| b.middle).collect();
        let is_line = rows == 1 || columns == 1;
        if (seen.len() as f64) < FILLED * (rows * columns) as f64 || (is_line && told.is_none()) {
            return Err(none());
        }
        let (course, missed) = match is_line {
            true => (Course::line(&at, &to, columns == 1).ok_or_else(none)?, None),
            false => best_course(&at, &to).ok_or_else(none)?,
        };
        let mut lattice = Self { course, rows, columns, half: [0.25, 0.25] };
        lattice.half = half_size(&lattice, &seen);
        let [u, v] = lattice.steps((columns - 1) as f64 / 2.0, (rows - 1) as f64 / 2.0);
        let step = u[0].hypot(u[1]).min(v[0].hypot(v[1]));
        if missed.is_some_and(|missed| missed > REGULAR * step) {
            return Err(none());
        }
        match told {
            Some([r, c]) if [r, c] != [rows, columns] => {
                Err(SwatchError::OtherGrid { told: format!("{r}x{c}"), rows, columns })
            }
            _ => Ok(lattice),
        }
    }

    /// How many swatches stand out and lie on the grid: of several grids the one with the most is right.
    pub fn holds(&self, blobs: &[Blob]) -> usize {
        let places = (0..self.rows).flat_map(|r| (0..self.columns).map(move |c| (c, r)));
        places.filter(|&(c, r)| self.blob_at(c, r, blobs).is_some()).count()
    }
}

/// A shift in pixels as shares of two steps.
fn in_steps(d: [f64; 2], u: [f64; 2], v: [f64; 2]) -> [f64; 2] {
    let det = u[0] * v[1] - u[1] * v[0];
    if det.abs() < 1e-9 {
        return [f64::INFINITY; 2];
    }
    [(d[0] * v[1] - d[1] * v[0]) / det, (u[0] * d[1] - u[1] * d[0]) / det]
}

/// Half the size of a swatch in columns and rows: of an even square the variance along a side is a third of the half side
/// squared. The median over the patches.
fn half_size(lattice: &Lattice, seen: &[([f64; 2], Blob)]) -> [f64; 2] {
    let mut halves = [Vec::new(), Vec::new()];
    for ([c, r], blob) in seen {
        let [u, v] = lattice.steps(*c, *r);
        let det = u[0] * v[1] - u[1] * v[0];
        let [xx, xy, yy] = blob.moments;
        let along = |a: f64, b: f64| (a * a * xx + 2.0 * a * b * xy + b * b * yy).max(0.0) / (det * det);
        halves[0].push((3.0 * along(v[1], -v[0])).sqrt());
        halves[1].push((3.0 * along(-u[1], u[0])).sqrt());
    }
    halves.map(|mut all| {
        all.sort_by(f64::total_cmp);
        all.get(all.len() / 2).copied().unwrap_or(0.25).clamp(0.05, 0.5)
    })
}

/// Numbers the patches by two steps, from one in their midst to its neighbours and on: column and row by patch.
fn number(blobs: &[Blob]) -> Option<BTreeMap<usize, [i32; 2]>> {
    let away = |i: usize, j: usize| [0, 1].map(|k| blobs[j].middle[k] - blobs[i].middle[k]);
    let long = |d: [f64; 2]| d[0].hypot(d[1]);
    let mut best: Option<BTreeMap<usize, [i32; 2]>> = None;
    for start in 0..blobs.len() {
        let mut near: Vec<usize> = (0..blobs.len()).filter(|&j| j != start).collect();
        near.sort_by(|&p, &q| long(away(start, p)).total_cmp(&long(away(start, q))).then(p.cmp(&q)));
        // The nearest is one step; the next that leads well aside is the other.
        let Some(&first) = near.first() else { continue };
        let u = away(start, first);
        let aside = |j: &&usize| {
            let d = away(start, **j);
            (u[0] * d[1] - u[1] * d[0]).abs() > 0.8 * long(u) * long(d)
        };
        // In a single row none does: the second step then only keeps the numbering in the row.
        let v = near.iter().find(aside).map_or([-u[1], u[0]], |&second| away(start, second));
        let found = walk(blobs, start, [u, v]);
        if best.as_ref().is_none_or(|best| found.len() > best.len()) {
            best = Some(found);
        }
    }
    best
}

/// From one patch to its neighbours and on, with steps that follow what was found.
fn walk(blobs: &[Blob], start: usize, steps: [[f64; 2]; 2]) -> BTreeMap<usize, [i32; 2]> {
    let mut found = BTreeMap::from([(start, [0, 0])]);
    let mut taken = BTreeMap::from([([0, 0], start)]);
    let mut open = std::collections::VecDeque::from([(start, steps)]);
    while let Some((from, steps)) = open.pop_front() {
        let at = found[&from];
        // One step, then two: over one that does not stand out.
        for (axis, sign, count) in [1, 2].iter().flat_map(|&n| [(0, 1, n), (0, -1, n), (1, 1, n), (1, -1, n)])
        {
            let by = sign * count;
            let mut to = at;
            to[axis] += by;
            if taken.contains_key(&to) {
                continue;
            }
            let wanted = [0, 1].map(|k| blobs[from].middle[k] + f64::from(by) * steps[axis][k]);
            let miss = |b: &Blob| {
                let p = in_steps([b.middle[0] - wanted[0], b.middle[1] - wanted[1]], steps[0], steps[1]);
                p[0].abs().max(p[1].abs()) / f64::from(count)
            };
            let free = (0..blobs.len()).filter(|i| !found.contains_key(i));
            let Some(next) = free.min_by(|&i, &j| miss(&blobs[i]).total_cmp(&miss(&blobs[j]))) else {
                continue;
            };
            if miss(&blobs[next]) > NEAR {
                continue;
            }
            let mut there = steps;
            there[axis] = [0, 1].map(|k| (blobs[next].middle[k] - blobs[from].middle[k]) / f64::from(by));
            found.insert(next, to);
            taken.insert(to, next);
            open.push_back((next, there));
        }
    }
    found
}

/// Turns the numbering so that columns run to the right and rows down, from 0, and gives columns and rows.
fn upright(numbered: &BTreeMap<usize, [i32; 2]>, blobs: &[Blob]) -> (Vec<([f64; 2], Blob)>, [usize; 2]) {
    let mean = |get: &dyn Fn(&Blob, [i32; 2]) -> f64| {
        numbered.iter().map(|(&i, &at)| get(&blobs[i], at)).sum::<f64>() / numbered.len().max(1) as f64
    };
    let way = |axis: usize| {
        let mid = mean(&|_, at| f64::from(at[axis]));
        [0, 1].map(|k| mean(&|b, at| b.middle[k] * (f64::from(at[axis]) - mid)))
    };
    let (u, v) = (way(0), way(1));
    let share = |d: [f64; 2]| d[0].abs() / d[0].hypot(d[1]).max(1e-12);
    // A single row has no other way: it is a column where it runs down more than across.
    let swap = if v == [0.0, 0.0] { u[1].abs() > u[0].abs() } else { share(v) > share(u) };
    let (right, down) = if swap { (v, u) } else { (u, v) };
    let turn = |at: [i32; 2]| {
        let [c, r] = if swap { [at[1], at[0]] } else { at };
        [if right[0] < 0.0 { -c } else { c }, if down[1] < 0.0 { -r } else { r }]
    };
    let turned: Vec<([i32; 2], Blob)> = numbered.iter().map(|(&i, &at)| (turn(at), blobs[i])).collect();
    let ends = |axis: usize| {
        let all = turned.iter().map(|(at, _)| at[axis]);
        [all.clone().min().unwrap_or(0), all.max().unwrap_or(0)]
    };
    let (c, r) = (ends(0), ends(1));
    let seen =
        turned.into_iter().map(|(at, b)| ([f64::from(at[0] - c[0]), f64::from(at[1] - r[0])], b)).collect();
    (seen, [c, r].map(|[low, high]| (high - low + 1) as usize))
}
