//! A surface of revolution drawn: its normal at each cell of the silhouette.

use super::profile::{Mouth, Ring};
use nalgebra::Vector3;

/// Directions half way around the axis: enough for rings of ninety cells, those of a plate seen from the side.
const AROUND: usize = 360;
/// Directions all around for each cell of a ring's radius, and rings for each cell of the wall's length: places lie 0.79
/// and 0.62 cells apart, so that none is farther than half a cell from the next and no cell is left between them.
const AROUND_A_CELL: f64 = 8.0;
const RINGS_A_CELL: f64 = 1.6;
/// Width of a numbered ring, cells, and the last number: far more than the grid has cells along a wall.
const RING: f64 = 1.5;
const MOST_RINGS: u32 = 10_000;

/// What is seen at one cell: its normal in the frame (across the axis, along its picture, away from the camera), and
/// where it lies, if it is the inside of the wall.
#[derive(Debug, Clone, Copy)]
pub(super) struct Facet {
    pub normal: Vector3<f64>,
    /// From the middle of the mouth, same frame, in radii of the mouth.
    pub inside: Option<Vector3<f64>>,
    /// Number of the ring about the axis that it lies on; those of the inside are odd.
    pub ring: u32,
}

/// The solid as seen, so many rows of cells along the picture of the axis from the outline's end and `half` to either side.
pub(super) struct Drawn {
    half: usize,
    /// From the mouth to the base, away from the camera, and across it towards the camera's far side.
    axis: Vector3<f64>,
    side: Vector3<f64>,
    mouth_radius: f64,
    rings: Vec<Fine>,
    /// Sine and cosine of the directions from the far end of `side` over the right to its near end.
    around: Vec<(f64, f64)>,
    /// What is nearest in each cell: its ring and direction.
    nearest: Vec<Option<(u32, u32)>>,
}

impl Drawn {
    /// Draws wall and inside, the nearest first. A vessel that is not open has its end in the rings and shows no inside.
    pub fn of(rings: &[Ring], mouth: &Mouth, is_open: bool, rows: usize, half: usize) -> Self {
        let columns = 2 * half + 1;
        let mut nearest = vec![None; rows * columns];
        let mut depth = vec![f64::INFINITY; rows * columns];
        let axis = Vector3::new(0.0, (1.0 - mouth.lean * mouth.lean).max(0.0).sqrt(), mouth.lean);
        let side = axis.cross(&Vector3::x());
        let turns = (0..=AROUND).map(|k| std::f64::consts::PI * (k as f64 / AROUND as f64 - 0.5));
        let around: Vec<(f64, f64)> = turns.map(f64::sin_cos).collect();
        let rings = fine(rings);
        for (number, fine) in rings.iter().enumerate() {
            let Fine { height, radius, wider, farther, .. } = *fine;
            let step = (AROUND as f64 / (AROUND_A_CELL / 2.0 * radius.max(1.0))) as usize;
            for (direction, (sine, cosine)) in around.iter().enumerate().step_by(step.max(1)) {
                if !is_open && side.z * sine * farther > axis.z * wider {
                    continue;
                }
                let across = radius * cosine;
                let v = axis.y * height + side.y * radius * sine + mouth.at;
                if !(v >= 0.0 && v < rows as f64 && across < half as f64) {
                    continue;
                }
                let away = axis.z * height + side.z * radius * sine;
                // One side of the axis is the mirror image of the other.
                let middle = v as usize * columns;
                for x in [half as f64 + 0.5 - across, half as f64 + 0.5 + across] {
                    let at = middle + x as usize;
                    if away < depth[at] {
                        depth[at] = away;
                        nearest[at] = Some((number as u32, direction as u32));
                    }
                }
            }
        }
        Self { half, axis, side, mouth_radius: mouth.radius, rings, around, nearest }
    }

    /// Cells in which anything is seen.
    pub fn area(&self) -> usize {
        self.nearest.iter().flatten().count()
    }

    /// What is seen `across` cells from the axis and `along` its picture.
    pub fn at(&self, across: f64, along: f64) -> Option<Facet> {
        let columns = 2 * self.half + 1;
        let (x, v) = (across + self.half as f64 + 0.5, along);
        if !(x >= 0.0 && v >= 0.0 && x < columns as f64) {
            return None;
        }
        let (number, direction) = *self.nearest.get(v as usize * columns + x as usize)?.as_ref()?;
        let Fine { height, radius, wider, farther, along } = self.rings[number as usize];
        let (sine, cosine) = self.around[direction as usize];
        let out = Vector3::x() * if across < 0.0 { -cosine } else { cosine } + self.side * sine;
        let outward = out * farther - self.axis * wider;
        let is_inside = outward.z > 0.0;
        let place = self.axis * height + out * radius;
        Some(Facet {
            normal: if is_inside { -outward } else { outward },
            inside: is_inside.then(|| place / self.mouth_radius),
            ring: 2 * ((along / RING) as u32).min(MOST_RINGS) + u32::from(is_inside),
        })
    }
}

/// One of the rings that are drawn.
#[derive(Debug, Clone, Copy)]
struct Fine {
    height: f64,
    radius: f64,
    /// Direction of the meridian: away from the axis and along it, length 1.
    wider: f64,
    farther: f64,
    /// Way along the meridian from the first ring.
    along: f64,
}

/// Rings close to each other.
fn fine(rings: &[Ring]) -> Vec<Fine> {
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
        all.extend((0..count).map(|k| (k as f64 + 0.5) / count as f64).map(|share| Fine {
            height: from.height + share * farther,
            radius: from.radius + share * wider,
            wider: wider / long,
            farther: farther / long,
            along: before + share * long,
        }));
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

    /// No cell is left out between rings and directions: a cylinder fills its own outline (half an ellipse, straight
    /// sides, half an ellipse) at every lean, and its base, if it has one, fills its ellipse with its own normal.
    #[test]
    fn nothing_is_left_between_the_rings() {
        let sizes = [(30.0, 60.0), (75.0, 15.0)];
        let leans = [0.05, 0.2, 0.4, 0.6, 0.8f64];
        for ((radius, tall), lean) in sizes.into_iter().flat_map(|size| leans.map(|lean| (size, lean))) {
            let cosine = (1.0 - lean * lean).sqrt();
            let mouth = Mouth { radius, lean, at: lean * radius };
            let rings =
                [(0.0, 0.0), (0.0, radius), (tall, radius)].map(|(height, radius)| Ring { height, radius });
            let long = 2.0 * lean * radius + tall * cosine;
            let drawn = Drawn::of(&rings, &mouth, false, long as usize, radius as usize + 3);
            let ellipse = |x: f64, v: f64| (x / radius).powi(2) + (v / (lean * radius)).powi(2);
            for v in (0..long as usize).map(|v| v as f64 + 0.5) {
                let most = radius as i32 - 2;
                for x in (-most..=most).map(f64::from) {
                    let (from_base, from_end) = (v - lean * radius, v - lean * radius - tall * cosine);
                    let is_in = (from_base >= 0.0 || ellipse(x, from_base) < 0.9)
                        && (from_end <= 0.0 || ellipse(x, from_end) < 0.9);
                    let Some(facet) = drawn.at(x, v).filter(|_| is_in) else {
                        assert!(!is_in, "nothing at {x}, {v}, lean {lean}");
                        continue;
                    };
                    // With a cell to spare: the cell at its edge may hold the wall.
                    let is_base = ellipse(x.abs() + 1.0, from_base.abs() + 1.0) < 1.0;
                    assert!(!is_base || (facet.normal - Vector3::new(0.0, -cosine, -lean)).norm() < 1e-9);
                    assert!(facet.inside.is_none() && (facet.normal.norm() - 1.0).abs() < 1e-9);
                }
            }
        }
    }
}
