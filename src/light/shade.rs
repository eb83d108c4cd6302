//! Shade: places with so little light that nothing can be told of them.

use crate::surface::{Label, SurfaceMap};

/// Light below this share of the piece's mean is shade: there dark slip cannot be told from lit paint (design.md,
/// label 9).
const SHADE_BELOW: f64 = 0.15;
/// One place in so many both ways is looked at; between them light changes by far less than this factor.
const SOME: usize = 8;
const NEARLY: f32 = 2.0;

/// Marks the shade on all pieces, by a smooth light. Glare stays glare: it is bright by itself.
pub(super) fn mark(map: &mut SurfaceMap, smooth: &[f32]) {
    for index in 0..map.pieces.len() {
        let number = u8::try_from(index + 1).unwrap_or(u8::MAX);
        // The light is smooth: some places tell its mean, and whether there is shade at all.
        let some = map.places(&map.pieces[index], SOME).filter(|&at| map.piece_of[at] == number);
        let (mut sum, mut many, mut darkest) = (0f64, 0f64, f32::MAX);
        for at in some {
            sum += f64::from(smooth[at]);
            many += 1.0;
            darkest = darkest.min(smooth[at]);
        }
        let least = (SHADE_BELOW * sum / many.max(1.0)) as f32;
        if darkest > NEARLY * least {
            continue;
        }
        for at in map.places(&map.pieces[index], 1) {
            if map.piece_of[at] == number && smooth[at] < least && map.labels[at] != Label::Glare {
                map.labels[at] = Label::Shade;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::drawn::filled;

    /// Half a piece in a tenth of the light of the other half lies at 0.18 of the mean and is measured; a strip in a
    /// twentieth of the mean is shade, also where black was seen.
    #[test]
    fn shade_begins_at_a_share_of_the_mean() {
        let (width, height) = (100, 10);
        let light = |x: usize| [1.0, 0.1, 0.02][usize::from(x >= 50) + usize::from(x >= 90)];
        let mut map = filled(width, height, |i| [Label::White, Label::Black][i % 2]);
        let smooth: Vec<f32> = (0..width * height).map(|i| light(i % width)).collect();
        mark(&mut map, &smooth);
        for (i, label) in map.labels.iter().enumerate() {
            assert_eq!(*label == Label::Shade, i % width >= 90, "{i}: {label:?}");
        }
    }
}
