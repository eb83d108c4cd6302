//! Where each place of the fired piece lies in the photograph of the unfired one: a smooth field on a grid.

use super::view::Frame;
use rayon::prelude::*;
use std::sync::Arc;

/// Nodes to a piece unit.
const NODES: f64 = 24.0;

/// A map from places of one piece to places of another, both in piece units.
#[derive(Clone, Debug)]
pub(super) struct Field {
    pub columns: usize,
    pub rows: usize,
    /// Place of the first node.
    low: [f64; 2],
    /// Where each node goes, row by row; on the fired piece itself where it goes on from there by the form.
    pub to: Vec<[f64; 2]>,
    /// What a form of few numbers says of every place, where the field is bent about one.
    form: Option<Arc<Table>>,
}

/// Where each place goes, on a raster so close that an edge, such as the rim before the far wall, is an edge.
#[derive(Debug)]
pub(super) struct Table {
    columns: usize,
    low: [f64; 2],
    to: Vec<[f64; 2]>,
}

/// Places of a table to a piece unit.
const CLOSE: f64 = 192.0;

impl Table {
    /// Of the box of a field.
    pub fn new(field: &Field, to: impl Fn([f64; 2]) -> [f64; 2] + Sync) -> Self {
        let many = |nodes: usize| ((nodes - 1) as f64 / NODES * CLOSE).ceil() as usize + 2;
        let (columns, rows) = (many(field.columns), many(field.rows));
        let low = field.low;
        let place = |i: usize| {
            let at = [(i % columns) as f64, (i / columns) as f64];
            to([0, 1].map(|c| low[c] + at[c] / CLOSE))
        };
        Self { columns, low, to: (0..columns * rows).into_par_iter().with_min_len(512).map(place).collect() }
    }

    fn at(&self, place: [f64; 2]) -> [f64; 2] {
        between(&self.to, self.columns, [0, 1].map(|c| (place[c] - self.low[c]) * CLOSE))
    }
}

/// A value between the nodes of a grid: straight lines, and on beyond the outermost.
fn between(of: &[[f64; 2]], columns: usize, [u, v]: [f64; 2]) -> [f64; 2] {
    let cell = |at: f64, many: usize| (at.max(0.0) as usize).min(many - 2);
    let (column, row) = (cell(u, columns), cell(v, of.len() / columns));
    let (across, down) = (u - column as f64, v - row as f64);
    let i = row * columns + column;
    let (a, b, c, d) = (of[i], of[i + 1], of[i + columns], of[i + columns + 1]);
    [0, 1].map(|k| {
        let (above, below) = (a[k] + across * (b[k] - a[k]), c[k] + across * (d[k] - c[k]));
        above + down * (below - above)
    })
}

impl Field {
    /// Over the box of a piece, each node sent where `start` says.
    pub fn new(frame: &Frame, start: impl Fn([f64; 2]) -> [f64; 2]) -> Self {
        let [x0, y0, x1, y1] = frame.bounds;
        let low = [x0 - 1.0 / NODES, y0 - 1.0 / NODES];
        let many = |from: f64, to: f64| ((to - from) * NODES).ceil() as usize + 3;
        let (columns, rows) = (many(x0, x1), many(y0, y1));
        let mut field = Self { columns, rows, low, to: Vec::new(), form: None };
        field.to = (0..columns * rows).map(|i| start(field.node(i))).collect();
        field
    }

    /// Place of a node.
    pub fn node(&self, i: usize) -> [f64; 2] {
        let at = [(i % self.columns) as f64, (i / self.columns) as f64];
        [0, 1].map(|c| self.low[c] + at[c] / NODES)
    }

    /// Where a place goes: straight lines between the nodes, and on beyond the outermost.
    pub fn at(&self, place: [f64; 2]) -> [f64; 2] {
        let to = self.on_nodes(place);
        self.form.as_ref().map_or(to, |form| form.at(to))
    }

    fn on_nodes(&self, place: [f64; 2]) -> [f64; 2] {
        between(&self.to, self.columns, [0, 1].map(|c| (place[c] - self.low[c]) * NODES))
    }

    /// What pulls say, `scale` pixels to a piece unit, of the nodes that have one.
    pub fn told(&self, pulls: &[Option<Pull>], scale: f64) -> Vec<Told> {
        let told = |(i, pull): (usize, &Option<Pull>)| {
            let (node, pull) = (self.node(i), (*pull)?);
            Some((node, self.at([0, 1].map(|c| node[c] + pull.shift[c] / scale)), pull.hold))
        };
        pulls.iter().enumerate().filter_map(told).collect()
    }

    /// The same nodes, every place sent where a form says.
    pub fn of_form(&self, to: impl Fn([f64; 2]) -> [f64; 2] + Sync) -> Self {
        let nodes = (0..self.to.len()).map(|i| self.node(i)).collect();
        Self { to: nodes, form: Some(Arc::new(Table::new(self, to))), ..self.clone() }
    }

    /// How much larger an area is where it goes, seen at a place: 0 or less where the wall has turned out of sight.
    pub fn area_ratio(&self, place: [f64; 2]) -> f64 {
        let step = if self.form.is_some() { 3.0 / CLOSE } else { 0.5 / NODES };
        let slope = |c: usize| {
            let moved = |by: f64| {
                let mut place = place;
                place[c] += by;
                self.at(place)
            };
            let (low, high) = (moved(-step), moved(step));
            [0, 1].map(|k| (high[k] - low[k]) / (2.0 * step))
        };
        let (across, down) = (slope(0), slope(1));
        across[0] * down[1] - across[1] * down[0]
    }

    /// Moves each node along the fired piece, by its own amount in piece units, and takes it where that place goes.
    pub fn moved(&self, by: &[[f64; 2]]) -> Self {
        let to = |i: usize| {
            let (node, by) = (self.node(i), by[i]);
            self.on_nodes([node[0] + by[0], node[1] + by[1]])
        };
        Self { to: (0..self.to.len()).map(to).collect(), ..self.clone() }
    }

    /// The same nodes, sent elsewhere.
    pub fn sent(&self, to: Vec<[f64; 2]>) -> Self {
        Self { to, form: None, ..self.clone() }
    }
}

/// A node, where it goes, and how firmly it is held there.
pub(super) type Told = ([f64; 2], [f64; 2], [f64; 3]);

/// What was found at a node: the shift, and how firmly it is held: a symmetric matrix [xx, xy, yy].
#[derive(Clone, Copy, Debug)]
pub(super) struct Pull {
    pub shift: [f64; 2],
    pub hold: [f64; 3],
}

/// Rounds in which pulls that do not agree with their neighbours lose weight.
const ROUNDS: usize = 3;
/// Most steps of the solver, and the share of the pulls' squares at which it has come near enough.
const STEPS: usize = 250;
const SOLVED: f64 = 1e-6;

/// The smoothest shifts that follow the pulls: least squares of the pulls' residuals and `stiffness` times the bending
/// energy (sum of squared second differences: the thin plate of Duchon 1977). Residuals are re-weighted (Cauchy), `loose`
/// being the residual that halves a pull's weight.
pub(super) fn smoothed(
    [columns, rows]: [usize; 2],
    pulls: &[Option<Pull>],
    stiffness: f64,
    loose: f64,
) -> Vec<[f64; 2]> {
    let mut shifts = vec![[0f64; 2]; columns * rows];
    let mut held: Vec<Option<Pull>> = pulls.to_vec();
    for round in 0..ROUNDS {
        if round > 0 {
            for (i, held) in held.iter_mut().enumerate() {
                *held = pulls[i].map(|pull| {
                    let off = (pull.shift[0] - shifts[i][0]).hypot(pull.shift[1] - shifts[i][1]);
                    let weight = 1.0 / (1.0 + (off / loose).powi(2));
                    Pull { hold: pull.hold.map(|h| h * weight), ..pull }
                });
            }
        }
        solve(columns, &held, stiffness, &mut shifts);
    }
    shifts
}

/// Conjugate gradients (Hestenes & Stiefel 1952) from the shifts at hand.
fn solve(columns: usize, pulls: &[Option<Pull>], stiffness: f64, shifts: &mut [[f64; 2]]) {
    let times = |h: [f64; 3], v: [f64; 2]| [h[0] * v[0] + h[1] * v[1], h[1] * v[0] + h[2] * v[1]];
    let left = |v: &[[f64; 2]]| {
        let mut out = bending(columns, v, stiffness);
        for (i, out) in out.iter_mut().enumerate() {
            let pulled = pulls[i].map_or([0.0; 2], |p| times(p.hold, v[i]));
            *out = [out[0] + pulled[0] + 1e-6 * v[i][0], out[1] + pulled[1] + 1e-6 * v[i][1]];
        }
        out
    };
    let dot =
        |a: &[[f64; 2]], b: &[[f64; 2]]| a.iter().zip(b).map(|(a, b)| a[0] * b[0] + a[1] * b[1]).sum::<f64>();
    let now = left(shifts);
    let mut rest: Vec<[f64; 2]> = (0..shifts.len())
        .map(|i| {
            let right = pulls[i].map_or([0.0; 2], |p| times(p.hold, p.shift));
            [0, 1].map(|c| right[c] - now[i][c])
        })
        .collect();
    let mut way = rest.clone();
    let mut size = dot(&rest, &rest);
    let right = |p: &Pull| times(p.hold, p.shift);
    let whole: f64 = pulls.iter().flatten().map(right).map(|r| r[0] * r[0] + r[1] * r[1]).sum();
    let small = SOLVED * whole;
    for _ in 0..STEPS {
        if size <= small {
            break;
        }
        let along = left(&way);
        let far = size / dot(&way, &along).max(1e-300);
        for i in 0..shifts.len() {
            for c in 0..2 {
                shifts[i][c] += far * way[i][c];
                rest[i][c] -= far * along[i][c];
            }
        }
        let next = dot(&rest, &rest);
        let share = next / size;
        way.iter_mut().zip(&rest).for_each(|(w, r)| *w = [r[0] + share * w[0], r[1] + share * w[1]]);
        size = next;
    }
}

/// Gradient of the bending energy.
fn bending(columns: usize, v: &[[f64; 2]], stiffness: f64) -> Vec<[f64; 2]> {
    let rows = v.len() / columns;
    let mut out = vec![[0f64; 2]; v.len()];
    let line = |y: usize| y * columns..(y + 1) * columns;
    for y in 0..rows {
        let own = &v[line(y)];
        // Along the row.
        let to = &mut out[line(y)];
        for x in 1..columns - 1 {
            for c in 0..2 {
                let bent = stiffness * (own[x - 1][c] - 2.0 * own[x][c] + own[x + 1][c]);
                to[x - 1][c] += bent;
                to[x][c] -= 2.0 * bent;
                to[x + 1][c] += bent;
            }
        }
        if y + 1 == rows {
            continue;
        }
        // Across it and the next: the mixed difference counts twice.
        let next = &v[line(y + 1)];
        let (to, to_next) = out[y * columns..(y + 2) * columns].split_at_mut(columns);
        for x in 0..columns - 1 {
            for c in 0..2 {
                let bent = 2.0 * stiffness * (own[x][c] - own[x + 1][c] - next[x][c] + next[x + 1][c]);
                to[x][c] += bent;
                to[x + 1][c] -= bent;
                to_next[x][c] -= bent;
                to_next[x + 1][c] += bent;
            }
        }
        // Down the columns.
        if y == 0 {
            continue;
        }
        let above = &v[line(y - 1)];
        let (to_above, rest) = out[(y - 1) * columns..(y + 2) * columns].split_at_mut(columns);
        let (to, to_next) = rest.split_at_mut(columns);
        for x in 0..columns {
            for c in 0..2 {
                let bent = stiffness * (above[x][c] - 2.0 * own[x][c] + next[x][c]);
                to_above[x][c] += bent;
                to[x][c] -= 2.0 * bent;
                to_next[x][c] += bent;
            }
        }
    }
    out
}

#[cfg(test)]
mod tests;
