//! The pieces as distance fields: vessels turned on a wheel, and slabs (sherds, tiles). Lengths in mm.

use super::slab::Slab;

/// A point or direction: x right, y away, z up; the piece stands on z = 0.
pub type V3 = nalgebra::Vector3<f64>;

/// Which face of the wall.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Side {
    Outer,
    Inner,
    Edge,
}

/// Where on the piece, in the decorator's terms.
#[derive(Clone, Copy)]
pub struct Place {
    pub side: Side,
    /// Share of a full turn (vessel) or of the width (slab), 0..1.
    pub turn: f64,
    /// Length of a full turn, or the width, mm.
    pub girth: f64,
    /// Way along the wall from the middle of the base (vessel), or from the lower edge (slab), mm.
    pub along: f64,
}

/// A hit of a ray.
pub struct Hit {
    pub point: V3,
    pub normal: V3,
    pub place: Place,
}

/// A shape. Both kinds are traced by their distance.
pub enum Shape {
    Vessel(Vessel),
    Slab(Slab),
}

impl Shape {
    /// Distance from a point to the surface, never more than the true one; negative within the clay.
    pub fn distance(&self, p: V3) -> f64 {
        match self {
            Shape::Vessel(v) => v.distance(p),
            Shape::Slab(s) => s.distance(p),
        }
    }
    /// Radius and height of a can that holds the shape.
    pub fn can(&self) -> (f64, f64) {
        match self {
            Shape::Vessel(v) => v.can,
            Shape::Slab(s) => s.can,
        }
    }
    /// Height of the lowest point of a vessel that is turned; of a slab, which stays as it lies, 0.
    #[allow(dead_code, reason = "for the random shots of `examples/intervals`")]
    pub fn lowest(&self, turn: &nalgebra::Rotation3<f64>) -> f64 {
        match self {
            Shape::Vessel(v) => v.lowest(turn),
            Shape::Slab(_) => 0.0,
        }
    }
    /// Width, depth and height of a slab's box; of the can of a vessel.
    pub fn extent(&self) -> [f64; 3] {
        match self {
            Shape::Vessel(v) => [2.0 * v.can.0, 2.0 * v.can.0, v.can.1],
            Shape::Slab(s) => [s.size[0], s.size[1], s.thickness + s.sag],
        }
    }
    /// First hit of a ray (unit direction), by sphere tracing (Hart 1996, The Visual Computer 12, 527-545).
    pub fn trace(&self, from: V3, dir: V3) -> Option<Hit> {
        let (near, far) = self.span(from, dir)?;
        let mut t = near.max(0.0);
        for _ in 0..200 {
            let p = from + dir * t;
            let d = self.distance(p);
            if d < 0.02 {
                return Some(match self {
                    Shape::Vessel(v) => v.describe(p),
                    Shape::Slab(s) => s.describe(p),
                });
            }
            t += d;
            if t > far {
                return None;
            }
        }
        None
    }
    /// Where a ray is within the ball around the can.
    pub fn span(&self, from: V3, dir: V3) -> Option<(f64, f64)> {
        let (r, h) = self.can();
        let centre = V3::new(0.0, 0.0, h / 2.0);
        let radius2 = r * r + h * h / 4.0;
        let b = (from - centre).dot(&dir);
        let root = b * b - (from - centre).norm_squared() + radius2;
        (root > 0.0).then(|| (-b - root.sqrt(), -b + root.sqrt()))
    }
}

/// A wall of even thickness turned about the z axis.
pub struct Vessel {
    line: Vec<[f64; 2]>,
    tangent: Vec<[f64; 2]>,
    length: Vec<f64>,
    half: f64,
    can: (f64, f64),
    columns: usize,
    grid: Vec<(f32, u16)>,
}

/// Free space around a vessel that its table covers, mm. Beyond it distances are those of the can about the vessel: so much
/// holds all samples of the light from the sky (`scene::Set::open`), which would step a little where they leave the table.
const MARGIN: f64 = 112.0;

impl Vessel {
    /// From points (radius, height) on the middle of the wall, base first, rim last, and the thickness.
    pub fn turned(points: &[[f64; 2]], thickness: f64) -> Self {
        let get = |i: isize| points[i.clamp(0, points.len() as isize - 1) as usize];
        let mut line = vec![points[0]];
        for i in 0..points.len() as isize - 1 {
            let (a, b, c, d) = (get(i - 1), get(i), get(i + 1), get(i + 2));
            for k in 1..=16 {
                // Uniform Catmull-Rom spline (Catmull & Rom 1974).
                let t = f64::from(k) / 16.0;
                line.push(std::array::from_fn(|j| {
                    let (p, q, r, s) = (a[j], b[j], c[j], d[j]);
                    let (two, three) = (2.0 * p - 5.0 * q + 4.0 * r - s, 3.0 * q - 3.0 * r + s - p);
                    0.5 * (2.0 * q + t * (r - p + t * (two + t * three)))
                }));
            }
        }
        let last = line.len() - 1;
        let tangent = (0..=last)
            .map(|i| {
                let (a, b) = (line[i.saturating_sub(1)], line[(i + 1).min(last)]);
                let n = (b[0] - a[0]).hypot(b[1] - a[1]);
                [(b[0] - a[0]) / n, (b[1] - a[1]) / n]
            })
            .collect();
        let mut length = vec![0.0];
        for w in line.windows(2) {
            length.push(length[length.len() - 1] + (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]));
        }
        let half = thickness / 2.0;
        let top = |k: usize| line.iter().fold(0.0f64, |m, p| m.max(p[k])) + half;
        let can = (top(0), top(1));
        let (columns, rows) = ((can.0 + MARGIN) as usize + 2, (can.1 + 2.0 * MARGIN) as usize + 2);
        let mut vessel = Self { line, tangent, length, half, can, columns, grid: Vec::new() };
        vessel.grid = (0..columns * rows)
            .map(|i| {
                let at = [(i % columns) as f64, (i / columns) as f64 - MARGIN];
                let (d, k, _) = vessel.nearest(at, 0..vessel.line.len() - 1);
                (d as f32, k as u16)
            })
            .collect();
        vessel
    }

    /// Height of its lowest point once it is turned: of each circle of the wall.
    fn lowest(&self, turn: &nalgebra::Rotation3<f64>) -> f64 {
        let up = turn.matrix().row(2);
        let sideways = up[0].hypot(up[1]);
        self.line.iter().map(|[r, z]| z * up[2] - r * sideways).fold(f64::INFINITY, f64::min) - self.half
    }

    /// Length of the wall from the base's middle to the rim.
    pub fn wall(&self) -> f64 {
        self.length[self.length.len() - 1]
    }

    /// Distance to the wall's middle line, nearest piece of it, and the share along that piece.
    fn nearest(&self, [r, z]: [f64; 2], among: std::ops::Range<usize>) -> (f64, usize, f64) {
        let mut best = (f64::INFINITY, 0, 0.0);
        for k in among {
            let (a, b) = (self.line[k], self.line[k + 1]);
            let (dr, dz) = (b[0] - a[0], b[1] - a[1]);
            let t = (((r - a[0]) * dr + (z - a[1]) * dz) / (dr * dr + dz * dz)).clamp(0.0, 1.0);
            let (er, ez) = (r - a[0] - t * dr, z - a[1] - t * dz);
            let d = (er * er + ez * ez).sqrt();
            if d < best.0 {
                best = (d, k, t);
            }
        }
        best
    }

    fn distance(&self, p: V3) -> f64 {
        // Not `hypot`: this runs some hundred million times a picture.
        let (r, z) = ((p.x * p.x + p.y * p.y).sqrt(), p.z);
        let (out_r, out_z) = ((r - self.can.0).max(0.0), (-z).max(z - self.can.1).max(0.0));
        let x = r;
        let y = z + MARGIN;
        let (i, j) = (x as usize, y.max(0.0) as usize);
        if out_r.max(out_z) >= MARGIN - 1.0
            || i + 1 >= self.columns
            || (j + 2) * self.columns > self.grid.len()
        {
            return out_r.hypot(out_z).max(1.0);
        }
        let at = |a: usize, b: usize| f64::from(self.grid[(j + b) * self.columns + i + a].0);
        let (fx, fy) = (x - i as f64, y - j as f64);
        let low = at(0, 0) + (at(1, 0) - at(0, 0)) * fx;
        let high = at(0, 1) + (at(1, 1) - at(0, 1)) * fx;
        low + (high - low) * fy - self.half
    }

    fn describe(&self, p: V3) -> Hit {
        let (r, z) = (p.x.hypot(p.y), p.z);
        let cell = (z + MARGIN).max(0.0).round() as usize * self.columns + r.round() as usize;
        let near = usize::from(self.grid[cell.min(self.grid.len() - 1)].1);
        let last = self.line.len() - 1;
        let (_, k, t) = self.nearest([r, z], near.saturating_sub(4)..(near + 5).min(last));
        let mix = |a: f64, b: f64| a + (b - a) * t;
        let (mr, mz) = (mix(self.line[k][0], self.line[k + 1][0]), mix(self.line[k][1], self.line[k + 1][1]));
        let rim = k + 1 == last && t >= 1.0;
        let (tr, tz) = (
            mix(self.tangent[k][0], self.tangent[k + 1][0]),
            mix(self.tangent[k][1], self.tangent[k + 1][1]),
        );
        // The wall runs outwards and up, so its right-hand side is the outside.
        let side = if (r - mr) * tz - (z - mz) * tr >= 0.0 { Side::Outer } else { Side::Inner };
        let (mut nr, mut nz) = if rim { (r - mr, z - mz) } else { (tz, -tr) };
        if side == Side::Inner && !rim {
            (nr, nz) = (-nr, -nz);
        }
        let (c, s) = if r > 1e-9 { (p.x / r, p.y / r) } else { (1.0, 0.0) };
        let turn = p.y.atan2(p.x) / std::f64::consts::TAU + 0.5;
        let along = mix(self.length[k], self.length[k + 1]);
        Hit {
            point: p,
            normal: V3::new(nr * c, nr * s, nz).normalize(),
            place: Place { side, turn, girth: std::f64::consts::TAU * r, along },
        }
    }
}
