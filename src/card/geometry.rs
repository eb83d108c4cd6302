//! The plane of the card in the picture: a homography from patch sides to pixels.

use nalgebra::{DMatrix, Matrix3, Vector3};

/// A projective map of the plane (Hartley & Zisserman 2004, chapter 4).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homography(Matrix3<f64>);

impl Homography {
    /// Least-squares map through four or more pairs of points: the normalised direct linear transform
    /// (Hartley & Zisserman 2004, algorithm 4.2) by singular value decomposition.
    /// `None` where the points do not fix a map that keeps their sense of turning.
    pub fn fit(from: &[[f64; 2]], to: &[[f64; 2]]) -> Option<Self> {
        if from.len() != to.len() || from.len() < 4 {
            return None;
        }
        let (norm_from, norm_to) = (normaliser(from)?, normaliser(to)?);
        // Nine rows at least: the thin decomposition must hold the null vector.
        let mut rows = DMatrix::<f64>::zeros((2 * from.len()).max(9), 9);
        for (i, (f, t)) in from.iter().zip(to).enumerate() {
            let ([u, v], [x, y]) = (transform(&norm_from, *f)?, transform(&norm_to, *t)?);
            let odd = [u, v, 1.0, 0.0, 0.0, 0.0, -u * x, -v * x, -x];
            let even = [0.0, 0.0, 0.0, u, v, 1.0, -u * y, -v * y, -y];
            for k in 0..9 {
                rows[(2 * i, k)] = odd[k];
                rows[(2 * i + 1, k)] = even[k];
            }
        }
        let svd = rows.svd(false, true);
        let v_t = svd.v_t?;
        let least = svd.singular_values.imin();
        let h = Matrix3::from_row_slice(v_t.row(least).transpose().as_slice());
        let full = norm_to.try_inverse()? * h * norm_from;
        let map = Self(full / full.norm());
        // All points must lie on one side of the line that maps to infinity.
        let depths: Vec<f64> = from.iter().map(|p| map.depth(*p)).collect();
        let one_side = depths.iter().all(|&d| d > 1e-9) || depths.iter().all(|&d| d < -1e-9);
        (one_side && map.0.determinant().abs() > 1e-15).then_some(map)
    }

    /// The map from a rectangle `0..width` by `0..height` to four corners in reading order.
    pub fn from_corners(width: f64, height: f64, corners: &[[f64; 2]; 4]) -> Option<Self> {
        Self::fit(&[[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]], corners)
    }

    /// A straight map with its origin and its two unit steps.
    pub fn affine(origin: [f64; 2], step_u: [f64; 2], step_v: [f64; 2]) -> Self {
        Self(Matrix3::new(step_u[0], step_v[0], origin[0], step_u[1], step_v[1], origin[1], 0.0, 0.0, 1.0))
    }

    /// A map by the rows of its matrix.
    pub(crate) fn from_rows(rows: [[f64; 3]; 3]) -> Self {
        Self(Matrix3::from_fn(|r, c| rows[r][c]))
    }

    /// First `change` of the source plane, then this map.
    #[must_use]
    pub(crate) fn before(&self, change: &Self) -> Self {
        Self(self.0 * change.0)
    }

    fn depth(&self, p: [f64; 2]) -> f64 {
        self.0[(2, 0)] * p[0] + self.0[(2, 1)] * p[1] + self.0[(2, 2)]
    }

    /// Image of a point; not finite on the horizon.
    pub fn apply(&self, p: [f64; 2]) -> [f64; 2] {
        let v = self.0 * Vector3::new(p[0], p[1], 1.0);
        [v[0] / v[2], v[1] / v[2]]
    }

    /// The map back.
    pub fn inverse(&self) -> Option<Self> {
        self.0.try_inverse().map(Self)
    }

    /// The map after a scaling and shift of its target: `p -> p * scale + shift`.
    #[must_use]
    pub fn then(&self, scale: f64, shift: [f64; 2]) -> Self {
        Self(Matrix3::new(scale, 0.0, shift[0], 0.0, scale, shift[1], 0.0, 0.0, 1.0) * self.0)
    }

    /// The map with its source replaced: first `u -> origin + u * step_u + v * step_v`, then this map.
    #[must_use]
    pub fn after(&self, origin: [f64; 2], step_u: [f64; 2], step_v: [f64; 2]) -> Self {
        Self(self.0 * Self::affine(origin, step_u, step_v).0)
    }

    /// Local steps: how the image moves for a unit step in each source direction.
    pub fn steps(&self, p: [f64; 2]) -> [[f64; 2]; 2] {
        let [x, y] = self.apply(p);
        let w = self.depth(p);
        let column =
            |k: usize| [(self.0[(0, k)] - x * self.0[(2, k)]) / w, (self.0[(1, k)] - y * self.0[(2, k)]) / w];
        [column(0), column(1)]
    }

    /// Signed area of the image of a small unit square at `p`; negative where the map mirrors.
    pub fn area(&self, p: [f64; 2]) -> f64 {
        let [[a, b], [c, d]] = self.steps(p);
        a * d - b * c
    }
}

fn transform(matrix: &Matrix3<f64>, p: [f64; 2]) -> Option<[f64; 2]> {
    let v = matrix * Vector3::new(p[0], p[1], 1.0);
    (v[2].abs() > 1e-300).then(|| [v[0] / v[2], v[1] / v[2]])
}

/// Moves points to mean zero and mean distance root two.
fn normaliser(points: &[[f64; 2]]) -> Option<Matrix3<f64>> {
    let n = points.len() as f64;
    let mean = |k: usize| points.iter().map(|p| p[k]).sum::<f64>() / n;
    let (mx, my) = (mean(0), mean(1));
    let spread = points.iter().map(|p| (p[0] - mx).hypot(p[1] - my)).sum::<f64>() / n;
    if !(spread.is_finite() && spread > 1e-12) {
        return None;
    }
    let s = std::f64::consts::SQRT_2 / spread;
    Some(Matrix3::new(s, 0.0, -s * mx, 0.0, s, -s * my, 0.0, 0.0, 1.0))
}

/// A plane seen through a lens: a homography, then a stretch along the rays from the middle of the
/// picture, `1 + bend * r^2` with r = 1 at the picture's corners (the first term of Brown 1971).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plane {
    pub map: Homography,
    pub bend: f64,
    /// Middle of the picture and its distance from the corners, pixels.
    pub middle: [f64; 2],
    pub reach: f64,
}

impl Plane {
    /// Through a lens without fault.
    pub fn straight(map: Homography) -> Self {
        Self { map, bend: 0.0, middle: [0.0; 2], reach: 1.0 }
    }

    /// How far a bend of 1 moves a point that the homography maps to `p`.
    pub fn stretch(&self, p: [f64; 2]) -> [f64; 2] {
        let from = [0, 1].map(|k| (p[k] - self.middle[k]) / self.reach);
        let square = from[0] * from[0] + from[1] * from[1];
        from.map(|v| v * square * self.reach)
    }

    /// Image of a point.
    pub fn apply(&self, p: [f64; 2]) -> [f64; 2] {
        let p = self.map.apply(p);
        if self.bend == 0.0 {
            return p;
        }
        let more = self.stretch(p);
        [0, 1].map(|k| p[k] + self.bend * more[k])
    }

    /// Signed area of the image of a small unit square at `p`, as the homography has it: the bend
    /// changes it by a few percent.
    pub fn area(&self, p: [f64; 2]) -> f64 {
        self.map.area(p)
    }
}

/// Where a grid of patches lies: the map from patch widths (origin at the outer corner of the first
/// patch, u along the first row) to full-size pixels, and the grid's measures in patch widths.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Grid {
    pub to_px: Plane,
    /// From one patch to the next, along a row and down.
    pub pitch: [f64; 2],
    /// Height of a patch.
    pub tall: f64,
    pub rows: usize,
    pub columns: usize,
}

impl Grid {
    /// Width and height.
    pub fn extent(&self) -> [f64; 2] {
        [(self.columns - 1) as f64 * self.pitch[0] + 1.0, (self.rows - 1) as f64 * self.pitch[1] + self.tall]
    }
    /// Centre of a patch; `index` in reading order.
    pub fn centre(&self, index: usize) -> [f64; 2] {
        let (row, column) = (index / self.columns, index % self.columns);
        [column as f64 * self.pitch[0] + 0.5, row as f64 * self.pitch[1] + 0.5 * self.tall]
    }
    /// Place of a patch relative to the middle of the grid, about -0.5 to 0.5 both ways.
    pub fn place(&self, index: usize) -> [f64; 2] {
        let ([u, v], [w, h]) = (self.centre(index), self.extent());
        [u / w - 0.5, v / h - 0.5]
    }
    /// Corners of the grid, widened by `margin` at the sides and above and below, in reading order.
    pub fn corners(&self, [x, y]: [f64; 2]) -> [[f64; 2]; 4] {
        let [w, h] = self.extent();
        [[-x, -y], [w + x, -y], [w + x, h + y], [-x, h + y]].map(|p| self.to_px.apply(p))
    }
    /// Pixels of a patch width at the middle of the grid: root of the area of a square of that side.
    pub fn patch_width_px(&self) -> f64 {
        let [w, h] = self.extent();
        self.to_px.area([0.5 * w, 0.5 * h]).abs().sqrt()
    }
}
