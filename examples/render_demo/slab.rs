//! Slabs: plates of clay within an outline.

use super::noise::hash;
use super::shapes::{Hit, Place, Side, V3};

/// A plate of clay, flat or gently domed, within an outline.
pub struct Slab {
    sdf: Vec<f32>,
    columns: usize,
    low: [f64; 2],
    pub size: [f64; 2],
    pub thickness: f64,
    pub sag: f64,
    radius: f64,
    pub can: (f64, f64),
}

impl Slab {
    /// From its outline, thickness and radius of curvature (infinite for a tile).
    pub fn new(outline: &[[f64; 2]], thickness: f64, radius: f64) -> Self {
        let edge =
            |k: usize, far: fn(f64, f64) -> f64| outline.iter().map(|p| p[k]).reduce(far).unwrap_or(0.0);
        let (low, high) = ([edge(0, f64::min), edge(1, f64::min)], [edge(0, f64::max), edge(1, f64::max)]);
        let reach = outline.iter().fold(0.0f64, |m, p| m.max(p[0].hypot(p[1])));
        let sag = reach * reach / (2.0 * radius);
        let columns = 2 * (high[0] - low[0] + 2.0 * Self::PAD) as usize + 2;
        let rows = 2 * (high[1] - low[1] + 2.0 * Self::PAD) as usize + 2;
        let at = |i: usize| {
            [low[0] - Self::PAD + (i % columns) as f64 / 2.0, low[1] - Self::PAD + (i / columns) as f64 / 2.0]
        };
        let sdf = (0..columns * rows).map(|i| polygon_distance(outline, at(i)) as f32).collect();
        let size = [high[0] - low[0], high[1] - low[1]];
        Self { sdf, columns, low, size, thickness, sag, radius, can: (reach + 5.0, thickness + sag + 2.0) }
    }

    const PAD: f64 = 12.0;

    /// Signed distance to the outline, from the half-millimetre table.
    fn flat(&self, x: f64, y: f64) -> f64 {
        let rows = self.sdf.len() / self.columns;
        let u = ((x - self.low[0] + Self::PAD) * 2.0).clamp(0.0, (self.columns - 2) as f64);
        let v = ((y - self.low[1] + Self::PAD) * 2.0).clamp(0.0, (rows - 2) as f64);
        let (i, j) = (u as usize, v as usize);
        let at = |a: usize, b: usize| f64::from(self.sdf[(j + b) * self.columns + i + a]);
        let (low, high) = (
            at(0, 0) + (at(1, 0) - at(0, 0)) * (u - i as f64),
            at(0, 1) + (at(1, 1) - at(0, 1)) * (u - i as f64),
        );
        low + (high - low) * (v - j as f64)
    }

    fn top(&self, p: V3) -> f64 {
        self.thickness + self.sag - (p.x * p.x + p.y * p.y) / (2.0 * self.radius)
    }

    /// As [`super::shapes::Shape::distance`].
    pub fn distance(&self, p: V3) -> f64 {
        let top = self.top(p);
        0.9 * self.flat(p.x, p.y).max(p.z - top).max(top - self.thickness - p.z)
    }

    /// What lies at a point of the surface.
    pub fn describe(&self, p: V3) -> Hit {
        let d = self.flat(p.x, p.y);
        let on_top = p.z - self.top(p) > d;
        let normal = if on_top {
            V3::new(p.x / self.radius, p.y / self.radius, 1.0)
        } else {
            let g = |dx: f64, dy: f64| self.flat(p.x + dx, p.y + dy) - self.flat(p.x - dx, p.y - dy);
            let rough = |k: i64| hash(p.x as i64, p.y as i64, (p.z * 2.0) as i64, 77 + k as u64) - 0.5;
            V3::new(g(0.7, 0.0), g(0.0, 0.7), 0.3) + V3::new(rough(0), rough(1), rough(2)) * 0.5
        };
        Hit {
            point: p,
            normal: normal.normalize(),
            place: Place {
                side: if on_top { Side::Outer } else { Side::Edge },
                turn: (p.x - self.low[0]) / self.size[0],
                girth: self.size[0],
                along: p.y - self.low[1],
            },
        }
    }
}

/// Signed distance from a point to a closed polygon, negative inside.
fn polygon_distance(outline: &[[f64; 2]], [x, y]: [f64; 2]) -> f64 {
    let (mut best, mut inside) = (f64::INFINITY, false);
    for (i, a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let t = (((x - a[0]) * dx + (y - a[1]) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
        best = best.min((x - a[0] - t * dx).hypot(y - a[1] - t * dy));
        if (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / dy * dx {
            inside = !inside;
        }
    }
    if inside { -best } else { best }
}

/// A broken outline: the corners given, each side broken up again and again by seeded jumps.
pub fn broken(corners: &[[f64; 2]], seed: u64) -> Vec<[f64; 2]> {
    let mut line = corners.to_vec();
    for round in 0..5i64 {
        let mut finer = Vec::new();
        for (i, a) in line.iter().enumerate() {
            let b = line[(i + 1) % line.len()];
            let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
            let jump = (hash(i as i64, round, 0, seed) - 0.5) * if round == 0 { 0.16 } else { 0.22 };
            finer.push(*a);
            finer.push([a[0] + dx / 2.0 - dy * jump, a[1] + dy / 2.0 + dx * jump]);
        }
        line = finer;
    }
    line
}
