//! A piece's outline on a small grid that faces the camera, and the line about which it is symmetric.

use crate::light::view::View;
use crate::surface::{Piece, SurfaceMap};
use nalgebra::{Matrix3, Vector3};

/// Cells inside the outline, about.
const CELLS: f64 = 3000.0;
/// Directions of the axis that are tried.
const TURNS: usize = 60;

/// Cells of a plane across the line of sight to the middle of the piece. Near that middle perspective is a mere
/// scaling, so the solid is seen as by parallel rays.
pub(super) struct Silhouette {
    /// Columns are x, y and z of this plane's frame in camera coordinates; z looks away from the camera.
    pub frame: Matrix3<f64>,
    /// Cells each way.
    pub side: usize,
    /// Map pixel of each cell inside the outline.
    pub cells: Vec<Option<usize>>,
    /// Middle of the cells inside.
    pub middle: [f64; 2],
    /// Tangent of the angle that one cell spans.
    pub unit: f64,
}

/// A line in the silhouette's plane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Axis {
    /// Its direction.
    pub turn: f64,
    /// Intersection over union of the outline and its mirror image.
    pub symmetry: f64,
}

impl Silhouette {
    pub fn of(map: &SurfaceMap, piece: &Piece, number: u8, view: &View) -> Self {
        let scale = map.factor as f64;
        let [x0, y0, x1, y1] = piece.bounds.map(|v| v as f64);
        let z = view.ray([scale * (x0 + x1) / 2.0, scale * (y0 + y1) / 2.0]);
        let x = Vector3::y().cross(&z).normalize();
        let frame = Matrix3::from_columns(&[x, z.cross(&x), z]);
        // A pixel of the map spans about this tangent.
        let unit = scale / view.focal_px * z.z * (piece.area as f64 / CELLS).sqrt().max(1.0);
        let corners = [[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
        let reach = corners
            .map(|p| frame.transpose() * view.ray(p.map(|v| scale * v)))
            .map(|d| (d.x / d.z).abs().max((d.y / d.z).abs()));
        let half = (reach.into_iter().fold(0.0, f64::max) / unit).ceil() as usize + 1;
        let side = 2 * half;
        let at = |i: usize| (i as f64 + 0.5 - half as f64) * unit;
        let cells: Vec<Option<usize>> = (0..side * side)
            .map(|i| {
                let [x, y] = view.pixel(&(frame * Vector3::new(at(i % side), at(i / side), 1.0)));
                let (x, y) = (x / scale, y / scale);
                let is_in = x >= 0.0 && y >= 0.0 && x < map.width as f64 && y < map.height as f64;
                let pixel = y as usize * map.width + x as usize;
                (is_in && map.piece_of[pixel] == number).then_some(pixel)
            })
            .collect();
        let mut silhouette = Self { frame, side, cells, middle: [0.0; 2], unit };
        let (mut sum, mut many) = ([0.0; 2], 0.0f64);
        for (_, [x, y]) in silhouette.places() {
            sum = [sum[0] + x, sum[1] + y];
            many += 1.0;
        }
        silhouette.middle = sum.map(|s| s / many.max(1.0));
        silhouette
    }

    /// Index and centre of every cell inside.
    pub fn places(&self) -> impl Iterator<Item = (usize, [f64; 2])> + '_ {
        let side = self.side;
        let inside = self.cells.iter().enumerate().filter(|(_, cell)| cell.is_some());
        inside.map(move |(i, _)| (i, [(i % side) as f64 + 0.5, (i / side) as f64 + 0.5]))
    }

    /// The directions in which the outline is most its own mirror image, the best first: two at most.
    pub fn axes(&self) -> Vec<Axis> {
        let step = std::f64::consts::PI / TURNS as f64;
        let coarse: Vec<f64> = (0..TURNS).map(|k| self.symmetry(k as f64 * step)).collect();
        let is_peak =
            |k: &usize| coarse[*k] > coarse[(k + TURNS - 1) % TURNS] && coarse[*k] >= coarse[(k + 1) % TURNS];
        let fine = |k: usize| {
            let turns = (-4..=4).map(|j| step * (k as f64 + f64::from(j) / 4.0));
            let axes = turns.map(|turn| Axis { turn, symmetry: self.symmetry(turn) });
            axes.reduce(|best, axis| if axis.symmetry > best.symmetry { axis } else { best })
        };
        let mut axes: Vec<Axis> = (0..TURNS).filter(is_peak).filter_map(fine).collect();
        axes.sort_by(|p, q| q.symmetry.total_cmp(&p.symmetry));
        axes.truncate(2);
        axes
    }

    /// Overlap with the mirror image about a line through the middle: the middle of a symmetric outline lies on its axis.
    fn symmetry(&self, turn: f64) -> f64 {
        let (sin, cos) = turn.sin_cos();
        let (mut both, mut many) = (0usize, 0usize);
        for (_, [x, y]) in self.places() {
            let (dx, dy) = (x - self.middle[0], y - self.middle[1]);
            let (along, across) = (dx * cos + dy * sin, dy * cos - dx * sin);
            let (mx, my) = (along * cos + across * sin, along * sin - across * cos);
            let (mx, my) = (self.middle[0] + mx, self.middle[1] + my);
            let is_in = mx >= 0.0 && my >= 0.0 && mx < self.side as f64 && my < self.side as f64;
            both += usize::from(is_in && self.cells[my as usize * self.side + mx as usize].is_some());
            many += 1;
        }
        both as f64 / (2 * many - both).max(1) as f64
    }
}
