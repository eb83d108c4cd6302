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
/// The same of soot that covers half. The darkest tenth of a fire cloud is at least so deep; what a smooth light misses
/// in the corner of a neck or under a rim seldom is.
const HALF_COVERED: f32 = -0.63;
/// A blotch with more than this share in the rim must do more to be proven: a wall may turn away there.
const LITTLE_RIM: f64 = 0.1;
/// Fewer places of white than this bear no comparison.
const LEAST_PLACES: usize = 200;
/// Smallest cloud, share of the piece.
const SMALLEST: f64 = 0.003;
/// Places nearer to the outline than this share of the piece's size may be a wall that turns away.
const RIM: f64 = 0.06;
/// A cloud crosses slip, paint and red alike: a blotch with less white slip in it than this is pale paint, or a red
/// neck in the shade of its rim. A proven one needs but half the share of white that the piece has.
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
    let mut found = vec![Blotch::default(); count + 1];
    for (place, blotch) in places.iter().zip(blotches.pixels()) {
        let Some((label, _)) = place else { continue };
        let blotch = &mut found[blotch[0] as usize];
        blotch.size += 1;
        blotch.white += usize::from(matches!(label, Label::White | Label::Cloud));
    }
    let cells: usize = found.iter().map(|blotch| blotch.size).sum();
    let bare: usize = found.iter().map(|blotch| blotch.white).sum();
    let white_of_piece = bare as f64 / cells.max(1) as f64;
    let large = |b: &Blotch| b.size as f64 > SMALLEST * cells as f64;
    if !found[1..].iter().any(large) {
        return false;
    }
    // The picture's edge is an outline as well, so a margin of 'not the piece' lies around.
    let outside = GrayImage::from_fn(w as u32 + 2, h as u32 + 2, |x, y| {
        let inside = (1..=w as u32).contains(&x) && (1..=h as u32).contains(&y);
        Luma([255 * u8::from(!(inside && places[(y as usize - 1) * w + x as usize - 1].is_some()))])
    });
    let away = euclidean_squared_distance_transform(&outside);
    let rim = (RIM * (piece.area as f64).sqrt() / step as f64).powi(2);
    for ((x, y, blotch), place) in blotches.enumerate_pixels().zip(&places) {
        let Some((label, ratio)) = place.filter(|_| blotch[0] > 0) else { continue };
        let usual = if is_ochre(label) { on_ochre } else { level };
        let blotch = &mut found[blotch[0] as usize];
        let in_rim = away.get_pixel(x + 1, y + 1)[0] < rim;
        if in_rim { &mut blotch.in_rim } else { &mut blotch.inside }.push(ratio - usual);
    }
    let mut kinds = vec![Kind::None; count + 1];
    for (kind, blotch) in kinds.iter_mut().zip(&mut found).skip(1).filter(|(_, blotch)| large(blotch)) {
        *kind = blotch.kind(white_of_piece);
    }
    let mut doubtful = 0;
    for y in y0..y1 {
        for x in x0..x1 {
            let blotch = blotches.get_pixel(((x - x0) / step) as u32, ((y - y0) / step) as u32)[0];
            let label = &mut map.labels[y * map.width + x];
            let may_be =
                map.piece_of[y * map.width + x] == number && !matches!(label, Label::Glare | Label::Shade);
            if may_be && kinds[blotch as usize] != Kind::None {
                *label = Label::Cloud;
                doubtful += usize::from(kinds[blotch as usize] == Kind::Doubtful);
            }
        }
    }
    map.pieces[usize::from(number) - 1].doubtful_cloud = doubtful;
    kinds.iter().any(|kind| *kind != Kind::None)
}

/// One connected dark place.
#[derive(Clone, Default)]
struct Blotch {
    /// Places in it, and those of white among them.
    size: usize,
    white: usize,
    /// How much less light each place gives back than its like elsewhere, log scale: away from the outline, and near it.
    inside: Vec<f32>,
    in_rim: Vec<f32>,
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    /// No cloud.
    None,
    /// Dark and soft, but shallow or darkest at the outline: it may be shade.
    Doubtful,
    /// Deep where no wall turns away.
    Proven,
}

impl Blotch {
    fn kind(&mut self, white_of_piece: f64) -> Kind {
        let size = self.size as f64;
        let (white, rim) = (self.white as f64 / size, self.in_rim.len() as f64 / size);
        let [core, middle] = [0.1, 0.5].map(|share| quantile(&mut self.inside, share));
        // A wall that turns away is darkest at its outline; soot need not be.
        let is_soot_in_rim = middle < HALF_COVERED && middle < quantile(&mut self.in_rim, 0.5);
        let deep = core < HALF_COVERED && (rim < LITTLE_RIM || is_soot_in_rim);
        if deep && white >= LEAST_WHITE.min(0.5 * white_of_piece) {
            Kind::Proven
        } else if white >= LEAST_WHITE && rim < MOSTLY_RIM {
            Kind::Doubtful
        } else {
            Kind::None
        }
    }
}

/// The value below which this share lies; 0 of none.
fn quantile(values: &mut [f32], share: f64) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let at = ((values.len() - 1) as f64 * share) as usize;
    *values.select_nth_unstable_by(at, f32::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blotch(inside: (usize, f32), in_rim: (usize, f32), white: f64) -> Blotch {
        let size = inside.0 + in_rim.0;
        Blotch {
            size,
            white: (white * size as f64) as usize,
            inside: vec![inside.1; inside.0],
            in_rim: vec![in_rim.1; in_rim.0],
        }
    }

    /// What proves soot is where it is deep, and that a wall which turns away is darkest at its outline.
    #[test]
    fn a_blotch_is_proven_only_where_no_wall_can_turn_away() {
        for (what, mut found, kind) in [
            ("deep inside", blotch((100, -1.0), (0, 0.0), 0.5), Kind::Proven),
            (
                "deep inside, over paint and red as the piece is",
                blotch((100, -1.0), (0, 0.0), 0.3),
                Kind::Proven,
            ),
            ("shallow", blotch((100, -0.5), (0, 0.0), 0.5), Kind::Doubtful),
            ("shallow and mostly paint", blotch((100, -0.5), (0, 0.0), 0.3), Kind::None),
            ("out to the outline, darkest there", blotch((70, -0.8), (30, -1.0), 0.5), Kind::Doubtful),
            ("out to the outline, darkest inside", blotch((70, -1.0), (30, -0.6), 0.5), Kind::Proven),
            ("along the outline", blotch((20, -0.5), (80, -1.0), 0.5), Kind::None),
            ("deep, but on red alone", blotch((100, -1.0), (0, 0.0), 0.0), Kind::None),
        ] {
            assert!(found.kind(0.5) == kind, "{what}");
        }
    }
}
