//! Fire clouds: soft-edged dark blotches that cross paint and slip alike.
//!
//! Comes in: the light that bare slip shows at each place (`found`), which sinks under soot as it sinks in
//! shade, and the smooth light. Shade follows the form of the piece and is smooth over all of it; soot is
//! not. What the found light lacks against the smooth one is therefore soot, except along the outline,
//! where a wall turns away faster than any smooth function says.

use crate::surface::{BareSlip, Label, Piece, SurfaceMap};
use imageproc::distance_transform::euclidean_squared_distance_transform;
use imageproc::image::{GrayImage, Luma};
use imageproc::region_labelling::{Connectivity, connected_components};

/// Soot that covers a third takes this much of the light white slip gives back, log scale: a third of the
/// surface gives next to nothing (design: label 8 from a third covered; soot reflects about 4 % where
/// white reflects about 60 %, common practice).
const THIRD_COVERED: f32 = -0.38;
/// Fewer places of white than this bear no comparison.
const LEAST_PLACES: usize = 200;
/// Smallest cloud, share of the piece.
const SMALLEST: f64 = 0.003;
/// Places nearer to the outline than this share of the piece's size may be a wall that turns away.
const RIM: f64 = 0.06;
/// A cloud crosses slip, paint and red alike: a blotch with less white slip in it than this is pale paint, or a red
/// neck in the shade of its rim.
const LEAST_WHITE: f64 = 0.4;
/// A blotch with more than this share in the rim is taken for such a wall.
const MOSTLY_RIM: f64 = 0.5;

/// Marks clouds of all pieces in the map's labels; true where any was found.
pub(super) fn mark(map: &mut SurfaceMap, slips: &[Option<BareSlip>], smooth: &[f32]) -> bool {
    let pieces = map.pieces.clone();
    let mut any = false;
    for ((piece, slip), number) in pieces.iter().zip(slips).zip(1..=u8::MAX) {
        any |= slip.as_ref().is_some_and(|slip| mark_piece(map, piece, number, slip, smooth));
    }
    any
}

fn mark_piece(map: &mut SurfaceMap, piece: &Piece, number: u8, slip: &BareSlip, smooth: &[f32]) -> bool {
    let [x0, y0, x1, y1] = piece.bounds;
    // Soot is soft: every few pixels is enough to see it.
    let step = ((piece.area as f64 / 40_000.0).sqrt() as usize).max(1);
    let (w, h) = ((x1 - x0).div_ceil(step), (y1 - y0).div_ceil(step));
    // Label and light found against the smooth one, where the piece is.
    let places: Vec<Option<(Label, f32)>> = map
        .places(piece, step)
        .zip(slip.places(step))
        .map(|(at, found)| (map.piece_of[at] == number).then(|| (map.labels[at], (found / smooth[at]).ln())))
        .collect();
    let median_on = |surface: &dyn Fn(Label) -> bool| {
        let mut ratios: Vec<f32> =
            places.iter().flatten().filter(|(label, _)| surface(*label)).map(|(_, ratio)| *ratio).collect();
        let middle = ratios.len() / 2;
        (ratios.len() >= LEAST_PLACES).then(|| *ratios.select_nth_unstable_by(middle, f32::total_cmp).1)
    };
    let Some(level) = median_on(&|label| label == Label::White) else { return false };
    // The found light on red hangs on how bright the red was taken to be: red is compared with red.
    let is_ochre = |label: Label| matches!(label, Label::Red | Label::Glare);
    let on_ochre = median_on(&is_ochre).unwrap_or(level);
    let image = |test: &dyn Fn(usize) -> bool| {
        GrayImage::from_fn(w as u32, h as u32, |x, y| {
            Luma([255 * u8::from(test(y as usize * w + x as usize))])
        })
    };
    let dark = image(&|i| {
        places[i].is_some_and(|(label, ratio)| {
            ratio - if is_ochre(label) { on_ochre } else { level } < THIRD_COVERED
        })
    });
    let blotches = connected_components(&dark, Connectivity::Four, Luma([0]));
    let count = blotches.pixels().map(|p| p[0]).max().unwrap_or(0) as usize;
    let [mut sizes, mut in_rim, mut white] = [(); 3].map(|()| vec![0usize; count + 1]);
    for (place, blotch) in places.iter().zip(blotches.pixels()) {
        let is_white = place.is_some_and(|(label, _)| matches!(label, Label::White | Label::Cloud));
        sizes[blotch[0] as usize] += 1;
        white[blotch[0] as usize] += usize::from(is_white);
    }
    let cells = (piece.area as f64 / (step * step) as f64).max(1.0);
    let large = |b: usize| {
        b > 0 && sizes[b] as f64 > SMALLEST * cells && white[b] as f64 >= LEAST_WHITE * sizes[b] as f64
    };
    if !(1..=count).any(large) {
        return false;
    }
    // The picture's edge is an outline as well, so a margin of 'not the piece' lies around.
    let outside = GrayImage::from_fn(w as u32 + 2, h as u32 + 2, |x, y| {
        let inside = (1..=w as u32).contains(&x) && (1..=h as u32).contains(&y);
        Luma([255 * u8::from(!(inside && places[(y as usize - 1) * w + x as usize - 1].is_some()))])
    });
    let away = euclidean_squared_distance_transform(&outside);
    let rim = (RIM * (piece.area as f64).sqrt() / step as f64).powi(2);
    for (x, y, blotch) in blotches.enumerate_pixels() {
        in_rim[blotch[0] as usize] += usize::from(away.get_pixel(x + 1, y + 1)[0] < rim);
    }
    let is_cloud: Vec<bool> =
        (0..=count).map(|b| large(b) && (in_rim[b] as f64) < MOSTLY_RIM * sizes[b] as f64).collect();
    for y in y0..y1 {
        for x in x0..x1 {
            let blotch = blotches.get_pixel(((x - x0) / step) as u32, ((y - y0) / step) as u32)[0];
            let label = &mut map.labels[y * map.width + x];
            let may_be =
                map.piece_of[y * map.width + x] == number && !matches!(label, Label::Glare | Label::Shade);
            if is_cloud[blotch as usize] && may_be {
                *label = Label::Cloud;
            }
        }
    }
    is_cloud.contains(&true)
}
