//! Surfaces blackened as a whole on purpose, such as the inside of a bowl.
//!
//! Comes in: a map whose black paint and fire clouds are told. Goes out: the same map with label 10 where black
//! covers a place broader than any stroke: where it was told that a surface is smudged, from a modest breadth on;
//! else only where it is so broad that nobody paints like that.

use super::{Label, Piece, SurfaceMap};
use imageproc::distance_transform::euclidean_squared_distance_transform;
use imageproc::image::{GrayImage, Luma};

/// What a smudged place must be, shares of the piece: half its breadth against the side of a square as large as the
/// piece, and its area. Painted fields are seldom broader than an eighth of a piece (a judgement).
struct Broad {
    half_width: f64,
    area: f64,
}

/// Where it was told that a surface is smudged.
const TOLD: Broad = Broad { half_width: 0.06, area: 0.02 };
/// Where nothing was told.
const SEEN: Broad = Broad { half_width: 0.15, area: 0.2 };
/// About so many places are looked at.
const PLACES: f64 = 40_000.0;

/// Marks the smudged places of all pieces; where nobody told of them, the piece says so.
pub fn mark_smudged(map: &mut SurfaceMap) {
    for index in 0..map.pieces.len() {
        let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
        let piece = map.pieces[index].clone();
        let (broad, told) = if map.smudged { (TOLD, true) } else { (SEEN, false) };
        let share = mark_piece(map, &piece, number, &broad, told);
        if share > 0.0 && !told {
            let text = format!(
                "{:.0} % of the piece is black in one broad place and was taken for smudged on purpose, not for paint. \
                 Say so with --surface smudged, or look at the picture of the map.",
                100.0 * share
            );
            map.pieces[index].warnings.push(("smudged-seen".into(), text));
        }
    }
}

/// Share of the piece that was marked.
fn mark_piece(map: &mut SurfaceMap, piece: &Piece, number: u8, broad: &Broad, told: bool) -> f64 {
    let [x0, y0, x1, y1] = piece.bounds;
    let step = ((piece.area as f64 / PLACES).sqrt() as usize).max(1);
    let (w, h) = ((x1 - x0).div_ceil(step), (y1 - y0).div_ceil(step));
    let black = |label: Label| match label {
        Label::Black => true,
        // Deep smudging looks like soot, or like shade in the depth of a bowl.
        Label::Cloud | Label::Shade => told,
        _ => false,
    };
    let is_black: Vec<bool> =
        map.places(piece, step).map(|at| black(map.labels[at]) && map.piece_of[at] == number).collect();
    let share_of =
        |mask: &[bool]| mask.iter().filter(|&&m| m).count() as f64 * (step * step) as f64 / piece.area as f64;
    if share_of(&is_black) < broad.area {
        return 0.0;
    }
    // Distance to the nearest place for which the test holds, squared; a rim of such places lies around.
    let to_nearest = |test: &dyn Fn(usize) -> bool, rim: bool| {
        euclidean_squared_distance_transform(&GrayImage::from_fn(w as u32 + 2, h as u32 + 2, |x, y| {
            let inside = (1..=w as u32).contains(&x) && (1..=h as u32).contains(&y);
            let holds = if inside { test((y as usize - 1) * w + x as usize - 1) } else { rim };
            Luma([255 * u8::from(holds)])
        }))
    };
    let radius = (broad.half_width * (piece.area as f64).sqrt() / step as f64).max(1.0);
    let depth = to_nearest(&|i| !is_black[i], true);
    let at = |picture: &imageproc::image::ImageBuffer<Luma<f64>, Vec<f64>>, i: usize| {
        picture.get_pixel((i % w) as u32 + 1, (i / w) as u32 + 1)[0]
    };
    let core: Vec<bool> = (0..w * h).map(|i| at(&depth, i) >= radius * radius).collect();
    if !core.contains(&true) {
        return 0.0;
    }
    // What lies within the breadth of the core and is black belongs to it; strokes that run into it do not.
    let from_core = to_nearest(&|i| core[i], false);
    let smudged: Vec<bool> =
        (0..w * h).map(|i| is_black[i] && at(&from_core, i) <= (radius + 1.0) * (radius + 1.0)).collect();
    let share = share_of(&smudged);
    if share < broad.area {
        return 0.0;
    }
    for y in y0..y1 {
        for x in x0..x1 {
            let label = &mut map.labels[y * map.width + x];
            if map.piece_of[y * map.width + x] == number
                && black(*label)
                && smudged[(y - y0) / step * w + (x - x0) / step]
            {
                *label = Label::Smudged;
            }
        }
    }
    share
}
