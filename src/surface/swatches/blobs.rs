//! Patches that stand out from the slip.
//!
//! Comes in: the picture, the map and the slip's field. Goes out: [`Blob`]s, patches of one common size that fill their own
//! box; places in map pixels.

use super::super::mask::parts;
use super::super::{Label, Piece, SurfaceMap};
use super::ground::GroundField;
use crate::card::CorrectedImage;
use rayon::prelude::*;

/// A place stands out where it lies further from the slip than so many of its standard deviations, and so many units.
const STANDS_OUT: (f32, f32) = (4.0, 4.0);
/// Smallest side of a swatch, map pixels.
const LEAST_SIDE: f64 = 12.0;
/// Areas of swatches of one size, largest over smallest: a wall that turns away by 60 degrees halves them.
const SPREAD: f64 = 2.2;
/// Area over that of the even parallelogram with the same second moments: 1 for any parallelogram, 1.05 for an ellipse,
/// below 0.8 for corners, strips that branch and rings.
const FILLED: [f64; 2] = [0.85, 1.15];

/// One patch.
#[derive(Debug, Clone, Copy)]
pub(super) struct Blob {
    /// Its middle, map pixels.
    pub middle: [f64; 2],
    /// Second moments about the middle: xx, xy, yy.
    pub moments: [f64; 3],
    /// Map pixels.
    pub area: f64,
}

/// All patches of the commonest size.
pub(super) fn find(
    image: &CorrectedImage,
    map: &SurfaceMap,
    piece: &Piece,
    number: u8,
    ground: &GroundField,
) -> Vec<Blob> {
    let [x0, y0, x1, _] = piece.bounds;
    let w = x1 - x0;
    let stands = standing(image, map, piece, number, ground);
    // Bridges of a pixel or two between a swatch and a flaw beside it are cut.
    let size = (piece.area as f64).sqrt();
    let cut = ((size / 250.0).round() as usize).max(1);
    let core = eroded(&stands, w, cut);
    let (part_of, areas) = parts(&core, w);
    let mut sums = vec![[0.0f64; 6]; areas.len()];
    let mut at_edge = vec![false; areas.len()];
    let off_piece = |x: usize, y: usize| {
        let is_off = |x: i64, y: i64| {
            let inside = x >= 0 && y >= 0 && x < map.width as i64 && y < map.height as i64;
            !inside || map.piece_of[y as usize * map.width + x as usize] != number
        };
        let (x, y, r) = ((x0 + x) as i64, (y0 + y) as i64, cut as i64 + 2);
        [(r, 0), (-r, 0), (0, r), (0, -r)].iter().any(|&(dx, dy)| is_off(x + dx, y + dy))
    };
    for (i, &part) in part_of.iter().enumerate().filter(|(_, part)| **part > 0) {
        let (x, y) = (i % w, i / w);
        let sum = &mut sums[part as usize];
        let (fx, fy) = (x as f64 + 0.5, y as f64 + 0.5);
        [1.0, fx, fy, fx * fx, fx * fy, fy * fy].iter().zip(sum.iter_mut()).for_each(|(v, s)| *s += v);
        at_edge[part as usize] |= off_piece(x, y);
    }
    let blobs: Vec<Blob> = sums
        .iter()
        .zip(&at_edge)
        .filter(|(sum, at_edge)| sum[0] > 0.0 && !**at_edge)
        .filter_map(|(sum, _)| blob(sum, [x0 as f64, y0 as f64], cut as f64))
        .collect();
    of_one_size(blobs)
}

/// What stands out from the slip, over the box of the piece.
pub(super) fn standing(
    image: &CorrectedImage,
    map: &SurfaceMap,
    piece: &Piece,
    number: u8,
    ground: &GroundField,
) -> Vec<bool> {
    let [x0, y0, x1, y1] = piece.bounds;
    let (w, h) = (x1 - x0, y1 - y0);
    let reach = (STANDS_OUT.0 * ground.scatter).max(STANDS_OUT.1);
    let mut stands: Vec<bool> = vec![false; w * h];
    stands.par_chunks_mut(w.max(1)).enumerate().for_each(|(y, row)| {
        for (x, out) in row.iter_mut().enumerate() {
            let at = (y0 + y) * map.width + x0 + x;
            if map.piece_of[at] == number {
                *out = ground.distance(mean_about(image, map, x0 + x, y0 + y, number), at, map.width) > reach;
            }
        }
    });
    stands
}

/// The mean of 3x3 pixels of the piece in even light: grain is no patch.
fn mean_about(image: &CorrectedImage, map: &SurfaceMap, x: usize, y: usize, number: u8) -> [f32; 3] {
    let (mut sum, mut light) = ([0f32; 3], 0f32);
    for y in y.saturating_sub(1)..(y + 2).min(map.height) {
        for x in x.saturating_sub(1)..(x + 2).min(map.width) {
            let at = y * map.width + x;
            if map.piece_of[at] == number && map.labels[at] != Label::Glare {
                (0..3).for_each(|c| sum[c] += image.xyz[at][c]);
                light += map.light[at].max(0.02);
            }
        }
    }
    sum.map(|s| (s / light.max(1e-6)).max(1e-4))
}

/// Pixels with nothing else within `by` both ways.
fn eroded(mask: &[bool], width: usize, by: usize) -> Vec<bool> {
    let height = mask.len() / width.max(1);
    let rows: Vec<bool> = (0..mask.len())
        .map(|i| {
            let x = i % width;
            x >= by && x + by < width && mask[i - by..=i + by].iter().all(|&v| v)
        })
        .collect();
    (0..mask.len())
        .map(|i| {
            let y = i / width;
            y >= by && y + by < height && (y - by..=y + by).all(|y| rows[y * width + i % width])
        })
        .collect()
}

/// A patch from its sums, if it fills its own box. What was cut off its rim is put back.
fn blob([area, x, y, xx, xy, yy]: &[f64; 6], corner: [f64; 2], cut: f64) -> Option<Blob> {
    let middle = [x / area, y / area];
    let moments = [
        xx / area - middle[0] * middle[0],
        xy / area - middle[0] * middle[1],
        yy / area - middle[1] * middle[1],
    ];
    let spread = (moments[0] * moments[2] - moments[1] * moments[1]).max(0.0).sqrt();
    let filled = area / (12.0 * spread).max(1e-9);
    let side = area.sqrt();
    if side < LEAST_SIDE || !(FILLED[0]..=FILLED[1]).contains(&filled) {
        return None;
    }
    let grown = (side + 2.0 * cut) / side;
    Some(Blob {
        middle: [middle[0] + corner[0], middle[1] + corner[1]],
        moments: moments.map(|m| m * grown * grown),
        area: area * grown * grown,
    })
}

/// The largest number of patches whose areas lie within [`SPREAD`]; of equals the larger patches.
fn of_one_size(mut blobs: Vec<Blob>) -> Vec<Blob> {
    blobs.sort_by(|p, q| q.area.total_cmp(&p.area));
    let run =
        |first: usize| blobs[first..].iter().take_while(|b| b.area * SPREAD >= blobs[first].area).count();
    let best = (0..blobs.len())
        .map(|i| (run(i), i))
        .fold((0, 0), |best, one| if one.0 > best.0 { one } else { best });
    let mut chosen = blobs[best.1..best.1 + best.0].to_vec();
    chosen.sort_by(|p, q| p.middle[1].total_cmp(&q.middle[1]).then(p.middle[0].total_cmp(&q.middle[0])));
    chosen
}
