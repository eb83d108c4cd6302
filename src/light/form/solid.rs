//! A surface of revolution drawn: its normal at each cell of the silhouette.

use super::profile::{Mouth, Ring};
use nalgebra::Vector3;

/// Directions around the axis, and how many a ring needs for each cell of its radius.
const AROUND: usize = 360;
const AROUND_A_CELL: f64 = 10.0;
/// Rings for each cell of the wall's length, so that no cell is left between two.
const RINGS_A_CELL: f64 = 2.5;
/// Width of a numbered ring, cells.
const RING: f64 = 1.5;

/// What is seen at one cell: its normal in the frame (across the axis, along its picture, away from the camera), and
/// where it lies, if it is the inside of the wall.
#[derive(Debug, Clone, Copy)]
pub(super) struct Facet {
    pub normal: Vector3<f64>,
    /// From the middle of the mouth, same frame, in radii of the mouth.
    pub inside: Option<Vector3<f64>>,
    /// Number of the ring about the axis that it lies on; those of the inside are odd.
    pub ring: u16,
}

/// The solid as seen, `rows` cells along the picture of the axis from the outline's end and `half` to either side.
pub(super) struct Drawn {
    half: usize,
    facets: Vec<Option<Facet>>,
}

impl Drawn {
    /// Draws wall and inside, the nearest first. A vessel that is not open has its end in the rings and shows no inside.
    pub fn of(rings: &[Ring], mouth: &Mouth, is_open: bool, rows: usize, half: usize) -> Self {
        let columns = 2 * half + 1;
        let mut facets: Vec<Option<Facet>> = vec![None; rows * columns];
        let mut depth = vec![f64::INFINITY; rows * columns];
        let (sin, cos) = (mouth.lean, (1.0 - mouth.lean * mouth.lean).max(0.0).sqrt());
        // From the mouth to the base, away from the camera.
        let axis = Vector3::new(0.0, cos, sin);
        let side = axis.cross(&Vector3::x());
        let around: Vec<Vector3<f64>> = (0..AROUND)
            .map(|k| std::f64::consts::TAU * k as f64 / AROUND as f64)
            .map(|t| Vector3::x() * t.cos() + side * t.sin())
            .collect();
        for (ring, [wider, farther], along) in fine(rings) {
            let number = 2 * (along / RING) as u16;
            let step = (AROUND as f64 / (AROUND_A_CELL * ring.radius.max(1.0))) as usize;
            for out in around.iter().step_by(step.max(1)) {
                let outward = out * farther - axis * wider;
                let is_inside = outward.z > 0.0;
                if is_inside && !is_open {
                    continue;
                }
                let place = axis * ring.height + out * ring.radius;
                let (x, v) = ((place.x + half as f64 + 0.5).floor(), (place.y + mouth.at).floor());
                if !(x >= 0.0 && v >= 0.0 && x < columns as f64 && v < rows as f64) {
                    continue;
                }
                let at = v as usize * columns + x as usize;
                if place.z < depth[at] {
                    depth[at] = place.z;
                    let normal = if is_inside { -outward } else { outward };
                    let ring = number + u16::from(is_inside);
                    facets[at] =
                        Some(Facet { normal, inside: is_inside.then(|| place / mouth.radius), ring });
                }
            }
        }
        Self { half, facets }
    }

    /// Cells in which anything is seen.
    pub fn area(&self) -> usize {
        self.facets.iter().flatten().count()
    }

    /// What is seen `across` cells from the axis and `along` its picture.
    pub fn at(&self, across: f64, along: f64) -> Option<Facet> {
        let columns = 2 * self.half + 1;
        let (x, v) = ((across + self.half as f64 + 0.5).floor(), along.floor());
        if !(x >= 0.0 && v >= 0.0 && x < columns as f64) {
            return None;
        }
        self.facets.get(v as usize * columns + x as usize).copied().flatten()
    }
}

/// Rings close to each other, each with the direction of the meridian there (away from the axis, along it) and the way
/// along the meridian from the first.
fn fine(rings: &[Ring]) -> Vec<(Ring, [f64; 2], f64)> {
    let mut all = Vec::new();
    let mut before = 0.0;
    for pair in rings.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let (wider, farther) = (to.radius - from.radius, to.height - from.height);
        let long = wider.hypot(farther);
        if long < 1e-9 {
            continue;
        }
        let count = (RINGS_A_CELL * long).ceil().max(1.0) as usize;
        for k in 0..count {
            let share = (k as f64 + 0.5) / count as f64;
            let ring = Ring { height: from.height + share * farther, radius: from.radius + share * wider };
            all.push((ring, [wider / long, farther / long], before + share * long));
        }
        before += long;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact normals of the quadric x^2 + q^2 = a + b h + c h^2 about a leaning axis (h along it, q across it and x):
    /// the nearest point on each line of sight, then the gradient.
    fn quadric(lean: f64, [a, b, c]: [f64; 3], x: f64, y: f64) -> Option<Vector3<f64>> {
        let cos = f64::sqrt(1.0 - lean * lean);
        // q = z cos - y lean and h = y cos + z lean: a quadratic in z.
        let square = cos * cos - c * lean * lean;
        let linear = -2.0 * y * cos * lean - b * lean - 2.0 * c * y * cos * lean;
        let rest = x * x + y * y * lean * lean - a - b * y * cos - c * y * y * cos * cos;
        let root = linear * linear - 4.0 * square * rest;
        if root <= 0.0 {
            return None;
        }
        let z = (-linear - root.sqrt()) / (2.0 * square);
        let (q, h) = (z * cos - y * lean, y * cos + z * lean);
        let axial = -(b / 2.0 + c * h);
        Some(Vector3::new(x, axial * cos - q * lean, axial * lean + q * cos).normalize())
    }

    /// Sphere, ellipsoid, cylinder and cone, each drawn from rings by its equation.
    #[test]
    fn normals_of_analytic_solids() {
        let solids = [
            ([1600.0, 0.0, -1.0], 39.9),
            ([1600.0, 0.0, -1600.0 / 3025.0], 54.9),
            ([900.0, 0.0, 0.0], 45.0),
            // A cone that narrows by a third of its length: radius 30 - h / 3.
            ([900.0, -20.0, 1.0 / 9.0], 45.0),
        ];
        for (shape, reach) in solids {
            let radius = |h: f64| (shape[0] + shape[1] * h + shape[2] * h * h).max(0.0).sqrt();
            let heights = (0..=400).map(|k| reach * (f64::from(k) / 200.0 - 1.0));
            let rings: Vec<Ring> = heights.map(|height| Ring { height, radius: radius(height) }).collect();
            for lean in [0.0, 0.2, 0.5] {
                let drawn = Drawn::of(&rings, &Mouth { radius: 1.0, lean, at: 80.0 }, true, 160, 60);
                let (mut many, mut far) = (0, 0);
                for (v, x) in (0..160).flat_map(|v| (-59..60).map(move |x| (v, x))) {
                    let (x, v) = (f64::from(x), f64::from(v) + 0.5);
                    let seen = drawn.at(x, v).filter(|facet| facet.inside.is_none());
                    let exact = quadric(lean, shape, x, v - 80.0);
                    // At the rim a cell spans a wide range of normals.
                    if let (Some(facet), Some(exact)) = (seen, exact.filter(|n| n.z < -0.3)) {
                        many += 1;
                        far += i32::from((facet.normal - exact).norm() > 0.06);
                    }
                }
                assert!(many > 1500 && far * 100 < many, "{far} of {many}: {shape:?} at {lean}");
            }
        }
    }
}
