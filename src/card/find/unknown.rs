//! A grid of patches whose colours are not known, somewhere else than the known card.

use super::lattice::Lattice;
use super::work::Work;
use super::{LONG_SIDES, Search, blobs, lattice};
use crate::card::geometry::{Grid, Homography, Plane};
use crate::card::{CardError, Layout};
use crate::photo::Photo;

/// Least share of the patches that must be seen as spots.
const LEAST_SEEN: f64 = 0.75;
/// Least lead over a grid elsewhere.
const LEAST_LEAD: f64 = 0.1;
/// How unlike the two directions may be scaled: a tilt of 40 degrees gives 1.3, and then some perspective.
const MOST_STRETCH: f64 = 1.6;
/// How much wider than told the known card is kept clear of.
const CLEAR: f64 = 1.04;

/// Where a grid of this layout lies in the photograph, in some turn: the first patch may be any corner
/// from which rows run as they should. `known`: corners of the known card with its frame.
///
/// # Errors
/// [`CardError::NotFound`].
pub(crate) fn find_unknown(photo: &Photo, layout: &Layout, known: &[[f64; 2]; 4]) -> Result<Grid, CardError> {
    let (mut tried, mut sizes) = (Vec::new(), Vec::new());
    let mut candidates: Vec<Candidate> = Vec::new();
    for long_side in LONG_SIDES {
        if photo.width().min(photo.height()) < 16 {
            break;
        }
        let work = Work::new(photo, long_side);
        if sizes.contains(&work.width) {
            continue;
        }
        sizes.push(work.width);
        let mut spots = blobs::blobs(&work);
        spots.retain(|b| !inside(known, [b.x * work.scale, b.y * work.scale]));
        let grids = lattice::lattices(&work, &spots);
        let found = grids.iter().flat_map(|grid| windows(grid, layout, work.scale));
        candidates.extend(found);
        tried.push(format!(
            "{} spots and {} grids beside the known card at {} x {} pixels",
            spots.len(),
            grids.len(),
            work.width,
            work.height
        ));
        // The next size is looked at only where this one does not show all patches.
        if candidates.iter().any(|c| c.merit >= 1.0) {
            break;
        }
    }
    let not_found = |step: String| CardError::NotFound {
        step,
        tried: tried.join("; "),
        search: Box::new(Search::default()),
    };
    candidates.sort_by(|a, b| b.merit.total_cmp(&a.merit));
    let Some(best) = candidates.first() else {
        let (rows, columns) = (layout.rows, layout.columns);
        return Err(not_found(format!("no grid of {rows} rows of {columns} patches beside the known card")));
    };
    let rival = candidates.iter().find(|c| !c.same_place(best));
    if rival.is_some_and(|c| c.merit > best.merit - LEAST_LEAD) {
        return Err(not_found("several grids could be the card; give its corners".into()));
    }
    Ok(best.grid)
}

/// A window of a lattice that could be the card.
struct Candidate {
    grid: Grid,
    /// Share of the patches seen, less the share of spots of the same grid just outside.
    merit: f64,
}

impl Candidate {
    /// Whether both cover the same patches, whatever the turn.
    fn same_place(&self, other: &Self) -> bool {
        let middle = |g: &Grid| {
            let [w, h] = g.extent();
            g.to_px.apply([0.5 * w, 0.5 * h])
        };
        let (p, q) = (middle(&self.grid), middle(&other.grid));
        (p[0] - q[0]).hypot(p[1] - q[1]) < 0.4 * other.grid.patch_width_px()
    }
}

/// All windows of a lattice that hold enough spots, with the layout laid on them.
fn windows(lattice: &Lattice, layout: &Layout, scale: f64) -> Vec<Candidate> {
    let (rows, columns) = (layout.rows as i32, layout.columns as i32);
    let keys: Vec<(i32, i32)> = lattice.cells.keys().copied().collect();
    let range = |of: &dyn Fn(&(i32, i32)) -> i32| {
        let values = || keys.iter().map(of);
        Some((values().min()?, values().max()?))
    };
    let (Some((r0, r1)), Some((c0, c1))) = (range(&|k| k.0), range(&|k| k.1)) else { return Vec::new() };
    let mut out = Vec::new();
    for swap in [false, true] {
        let (high, wide) = if swap { (columns, rows) } else { (rows, columns) };
        for top in r0 - high + 1..=r1 {
            for left in c0 - wide + 1..=c1 {
                let seen = |r: std::ops::Range<i32>, c: std::ops::Range<i32>| {
                    keys.iter().filter(|k| r.contains(&k.0) && c.contains(&k.1)).count() as f64
                };
                let inside = seen(top..top + high, left..left + wide);
                let patches = f64::from(high * wide);
                if inside < LEAST_SEEN * patches {
                    continue;
                }
                let around = seen(top - 1..top + high + 1, left - 1..left + wide + 1) - inside;
                out.extend(
                    laid(lattice, layout, [top, left, high], swap, scale)
                        .map(|grid| Candidate { grid, merit: (inside - around) / patches }),
                );
            }
        }
    }
    out
}

/// The layout on a window, if it is not stretched beyond what a tilted card shows.
fn laid(lattice: &Lattice, layout: &Layout, window: [i32; 3], swap: bool, scale: f64) -> Option<Grid> {
    let [top, left, high] = window.map(f64::from);
    // From patch numbers (column, row) to pixels, never mirrored.
    let numbered = if swap {
        lattice.to_px.after([left, top + high - 1.0], [0.0, -1.0], [1.0, 0.0])
    } else {
        lattice.to_px.after([left, top], [1.0, 0.0], [0.0, 1.0])
    };
    let (pitch, tall) = (layout.pitch(), layout.tall());
    let to_px: Homography = numbered
        .after([-0.5 / pitch[0], -0.5 * tall / pitch[1]], [1.0 / pitch[0], 0.0], [0.0, 1.0 / pitch[1]])
        .then(scale, [0.0, 0.0]);
    let grid =
        Grid { to_px: Plane::straight(to_px), pitch, tall, rows: layout.rows, columns: layout.columns };
    let [w, h] = grid.extent();
    let middle = [0.5 * w, 0.5 * h];
    let [u, v] = to_px.steps(middle).map(|s| s[0].hypot(s[1]));
    (to_px.area(middle) > 0.0 && u / v < MOST_STRETCH && v / u < MOST_STRETCH).then_some(grid)
}

/// Whether a point lies in a quadrangle, a little widened.
fn inside(corners: &[[f64; 2]; 4], p: [f64; 2]) -> bool {
    let middle = [0, 1].map(|k| corners.iter().map(|c| c[k]).sum::<f64>() / 4.0);
    let wide = corners.map(|c| [0, 1].map(|k| middle[k] + CLEAR * (c[k] - middle[k])));
    let turn = |i: usize| {
        let (a, b) = (wide[i], wide[(i + 1) % 4]);
        (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
    };
    (0..4).all(|i| turn(i) >= 0.0) || (0..4).all(|i| turn(i) <= 0.0)
}
