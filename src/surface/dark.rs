//! Pieces without white slip whose neutral surface is dark: a black gloss has light and dark places as well, and the
//! lighter ones pass for slip.
//!
//! Comes in: the corrected picture, the labels and a smooth light. Goes out: the same labels, with black in the place of
//! white and lost paint on pieces whose white is as dark as paint.

use super::{Label, SurfaceMap};
use crate::card::CorrectedImage;

/// White slip gives back more light than this, greyed as well: L* 25, darker than sound black paint is on most pieces
/// (25 to 35; common practice). The light on a round piece may be off by a third: greyed slip is far above that.
const DARKEST_WHITE: f32 = 0.044;
/// One place in so many is looked at, both ways.
const SOME: usize = 4;
/// Fewer places of white than this tell nothing.
const LEAST_PLACES: usize = 50;

/// Looks at all pieces.
pub fn mark_dark(image: &CorrectedImage, map: &mut SurfaceMap, smooth: &[f32]) {
    for (index, number) in (0..map.pieces.len()).zip(1..=u8::MAX) {
        let own = |at: &usize| map.piece_of[*at] == number;
        let white =
            map.places(&map.pieces[index], SOME).filter(own).filter(|&at| map.labels[at] == Label::White);
        let mut given: Vec<f32> = white.map(|at| image.xyz[at][1] / smooth[at].max(0.02)).collect();
        let middle = given.len() / 2;
        if given.len() < LEAST_PLACES
            || *given.select_nth_unstable_by(middle, f32::total_cmp).1 > DARKEST_WHITE
        {
            continue;
        }
        for at in map.places(&map.pieces[index], 1) {
            let label = &mut map.labels[at];
            if map.piece_of[at] == number && matches!(label, Label::White | Label::LostPaint) {
                *label = Label::Black;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::drawn::filled;

    /// Half a piece in half the light: what gives back 3 % is black there too, what gives back 10 %, as the darkest greyed
    /// slip may, stays white; red stays red.
    #[test]
    fn what_is_as_dark_as_paint_is_no_white_slip() {
        let (width, height) = (80, 40);
        for (given, is_white) in [(0.03, false), (0.1, true)] {
            let light = |i: usize| if i % width < 40 { 1.0f32 } else { 0.5 };
            let labels = [Label::White, Label::White, Label::LostPaint, Label::Red];
            let mut map = filled(width, height, |i| labels[i / width % 4]);
            let image = CorrectedImage {
                width,
                height,
                factor: 1,
                xyz: (0..width * height).map(|i| [given * light(i); 3]).collect(),
                light: vec![[0.5; 3]; width * height],
                clipped: vec![false; width * height],
            };
            let smooth: Vec<f32> = (0..width * height).map(light).collect();
            mark_dark(&image, &mut map, &smooth);
            for (i, label) in map.labels.iter().enumerate() {
                let before = labels[i / width % 4];
                let expected = if is_white || before == Label::Red { before } else { Label::Black };
                assert_eq!(*label, expected, "{given} at {i}");
            }
        }
    }
}
