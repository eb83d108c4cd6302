//! What a search that failed has seen, for people to look at.

use super::blobs::Blob;
use super::lattice::Lattice;
use super::matching::Placement;
use super::work::Work;
use crate::card::Layout;

/// Four corners, full-size pixels.
type Quad = [[f64; 2]; 4];

/// What a search for the card has seen before it gave up. Full-size pixels of the upright picture.
#[derive(Debug, Clone, Default)]
pub struct Search {
    /// Even spots, as the parallelograms they fill: those that stood out most, 400 at most.
    pub spots_px: Vec<Quad>,
    /// Outlines of the grids that spots lie on, 20 at most.
    pub grids_px: Vec<Quad>,
    /// Places that could be the card, but are not surely it: outer corners of the patch grid in the
    /// card's reading order, 5 at most.
    pub doubtful_px: Vec<Quad>,
}

const MOST_SPOTS: usize = 400;
const MOST_GRIDS: usize = 20;
const MOST_DOUBTFUL: usize = 5;

impl Search {
    /// Adds what one reduced picture has shown. Spots are kept of the first one that has any.
    pub(super) fn add(
        &mut self,
        work: &Work,
        spots: &[Blob],
        grids: &[Lattice],
        doubtful: &[Placement],
        layout: &Layout,
    ) {
        let full = |quad: Quad| quad.map(|p| p.map(|v| v * work.scale));
        if self.spots_px.is_empty() {
            let mut best: Vec<&Blob> = spots.iter().collect();
            best.sort_by(|a, b| b.levels.cmp(&a.levels).then(b.area.total_cmp(&a.area)));
            self.spots_px.extend(best.iter().take(MOST_SPOTS).map(|b| full(parallelogram(b))));
        }
        let room = MOST_GRIDS - self.grids_px.len();
        self.grids_px.extend(grids.iter().filter_map(outline).take(room).map(full));
        let room = MOST_DOUBTFUL - self.doubtful_px.len();
        self.doubtful_px.extend(doubtful.iter().take(room).map(|p| p.quad(layout, work.scale)));
    }
}

/// The parallelogram whose moments a spot has, with sides like those of a square turned the same way:
/// the square of side 1 under the symmetric root of its moments.
fn parallelogram(spot: &Blob) -> Quad {
    let [xx, xy, yy] = spot.moments.map(|m| 12.0 * m);
    // Root of a symmetric 2 x 2 matrix: (M + sqrt(det) I) / sqrt(trace + 2 sqrt(det)).
    let root_det = (xx * yy - xy * xy).max(0.0).sqrt();
    let norm = (xx + yy + 2.0 * root_det).max(1e-12).sqrt();
    let [a, b, d] = [(xx + root_det) / norm, xy / norm, (yy + root_det) / norm];
    [[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]
        .map(|[u, v]| [spot.x + a * u + b * v, spot.y + b * u + d * v])
}

/// Outline of the cells of a grid.
fn outline(grid: &Lattice) -> Option<Quad> {
    let (rows, columns) = (grid.cells.keys().map(|k| k.0), grid.cells.keys().map(|k| k.1));
    let [top, low] = [rows.clone().min()?, rows.max()?].map(f64::from);
    let [left, right] = [columns.clone().min()?, columns.max()?].map(f64::from);
    let corners = [
        [left - 0.5, top - 0.5],
        [right + 0.5, top - 0.5],
        [right + 0.5, low + 0.5],
        [left - 0.5, low + 0.5],
    ];
    let quad = corners.map(|p| grid.to_px.apply(p));
    quad.iter().flatten().all(|v| v.is_finite()).then_some(quad)
}
