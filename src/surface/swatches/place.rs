//! From the grid to the swatches: quads, and which of them cannot be read.

use super::super::mask::polygon_mask;
use super::super::{Label, SurfaceMap};
use super::blobs::Blob;
use super::lattice::Lattice;
use super::{SwatchPlace, Unreadable};

/// Seen under so small a share of the width of the widest, a swatch lies at the edge of sight: at 60 degrees it is half.
const EDGE: f64 = 0.5;
/// So much of a swatch may lie under a cloud, in shade or shine.
const COVERED: f64 = 0.5;

/// All swatches, row by row.
pub(super) fn swatches(lattice: &Lattice, blobs: &[Blob], map: &SurfaceMap, number: u8) -> Vec<SwatchPlace> {
    let places = (0..lattice.rows).flat_map(|r| (0..lattice.columns).map(move |c| (c, r)));
    let areas: Vec<f64> = places.clone().map(|(c, r)| area(&lattice.quad(c, r))).collect();
    let widest = areas.iter().copied().fold(0.0, f64::max);
    places
        .zip(areas)
        .map(|((c, r), area)| {
            let stands_out = lattice.blob_at(c, r, blobs).is_some();
            judged(lattice.quad(c, r), [r + 1, c + 1], stands_out, area < EDGE * widest, map, number)
        })
        .collect()
}

/// One swatch by its quad in map pixels, with what forbids to read it.
pub(super) fn judged(
    quad: [[f64; 2]; 4],
    [row, column]: [usize; 2],
    stands_out: bool,
    turns_away: bool,
    map: &SurfaceMap,
    number: u8,
) -> SwatchPlace {
    let covered = cover(&quad, map, number);
    let unreadable = if turns_away || covered.off > 0.0 {
        Some(Unreadable::Edge)
    } else if covered.shade > COVERED {
        Some(Unreadable::Shade)
    } else if covered.cloud > COVERED {
        Some(Unreadable::Cloud)
    } else if covered.glare > COVERED {
        Some(Unreadable::Glare)
    } else {
        None
    };
    let quad_px = quad.map(|p| p.map(|v| v * map.factor as f64));
    SwatchPlace { row, column, quad_px, stands_out, unreadable }
}

/// Area of a quad, signed by its sense of turning.
fn area(q: &[[f64; 2]; 4]) -> f64 {
    (0..4).map(|i| q[i][0] * q[(i + 1) % 4][1] - q[(i + 1) % 4][0] * q[i][1]).sum::<f64>() / 2.0
}

/// What lies over a swatch, as shares of it.
#[derive(Default)]
struct Cover {
    off: f64,
    shade: f64,
    cloud: f64,
    glare: f64,
}

fn cover(quad: &[[f64; 2]; 4], map: &SurfaceMap, number: u8) -> Cover {
    let low = [0, 1].map(|k| quad.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min).floor());
    let high = [0, 1].map(|k| quad.iter().map(|p| p[k]).fold(f64::NEG_INFINITY, f64::max).ceil());
    let size = [0, 1].map(|k| (high[k] - low[k]).clamp(0.0, 1e4) as usize);
    let own: Vec<[f64; 2]> = quad.iter().map(|p| [p[0] - low[0], p[1] - low[1]]).collect();
    let (mut all, mut cover) = (0.0f64, Cover::default());
    for (i, _) in polygon_mask(&own, size[0], size[1]).iter().enumerate().filter(|(_, inside)| **inside) {
        let (x, y) = (low[0] + (i % size[0]) as f64, low[1] + (i / size[0]) as f64);
        all += 1.0;
        let inside = x >= 0.0 && y >= 0.0 && x < map.width as f64 && y < map.height as f64;
        let at = y.max(0.0) as usize * map.width + x.max(0.0) as usize;
        if !inside || map.piece_of[at] != number {
            cover.off += 1.0;
            continue;
        }
        match map.labels[at] {
            Label::Shade => cover.shade += 1.0,
            Label::Cloud => cover.cloud += 1.0,
            Label::Glare => cover.glare += 1.0,
            _ => {}
        }
    }
    let share = |v: f64| v / all.max(1.0);
    Cover {
        off: share(cover.off),
        shade: share(cover.shade),
        cloud: share(cover.cloud),
        glare: share(cover.glare),
    }
}
