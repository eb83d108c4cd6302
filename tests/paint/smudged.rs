//! Surfaces blackened as a whole on purpose: broader than any stroke, or told by the potter.

use crate::plate::{BLACK, Drawing, PICTURE, Place, inner, plate, settled_as, share_of};
use sherdlight::surface::{Label, SurfaceMap, SurfaceSettings};

/// A plate whose right part is black from top to foot, `broad` pixels wide; a mottle of the smoke, a share of its light.
fn blackened(broad: usize, mottle: f64) -> (Vec<Label>, impl Fn(bool) -> SurfaceMap) {
    let plan = move |x: usize, y: usize| match 440 - x <= broad {
        true => {
            let wave = (x as f64 / 17.0).sin() * (y as f64 / 23.0).cos();
            let black = Place::of(Label::Smudged, BLACK);
            Place { label: black.label, xyz: black.xyz.map(|v| v * (1.0 + mottle * wave)) }
        }
        false => plate(|k| if k % 5 < 2 { Place::black() } else { Place::slip() })(x, y),
    };
    let drawing = Drawing { plan, light: |x: f64, _: f64| 1.0 - 0.2 * x / 440.0, brushed: 0.02 };
    let image = drawing.picture();
    (drawing.truth(), move |smudged| settled_as(&image, &SurfaceSettings { smudged, ..Default::default() }))
}

/// Share of the blackened place, inside its edge, with this label.
fn share(map: &SurfaceMap, truth: &[Label], label: Label) -> f64 {
    share_of(map, |i| truth[i] == Label::Smudged && inner(truth, i), |l| l == label)
}

/// The corners of the place, as far from its middle as no disc of the breadth that is asked reaches, stay black: 4 %.
#[test]
fn half_a_piece_in_black_is_smudged_and_said() {
    for mottle in [0.0, 0.15] {
        let (truth, map) = blackened(200, mottle);
        let map = map(false);
        let share = share(&map, &truth, Label::Smudged);
        assert!(share > 0.92, "mottle {mottle}: {share:.4}");
        assert!(map.pieces[0].warnings.iter().any(|(code, _)| code == "smudged-seen"), "mottle {mottle}");
        // Strokes stay what they are.
        let stroke = |i: usize| truth[i] == Label::Black && inner(&truth, i);
        let black = share_of(&map, stroke, |l| l == Label::Black);
        assert!(black > 0.95, "mottle {mottle}: {black:.4} of the strokes");
    }
}

#[test]
fn a_broad_stripe_is_paint_unless_told() {
    let (truth, map) = blackened(70, 0.0);
    let untold = share(&map(false), &truth, Label::Black);
    assert!(untold > 0.95, "{untold:.4} untold");
    let told = share(&map(true), &truth, Label::Smudged);
    assert!(told > 0.9, "{told:.4} told");
}

/// Telling it makes no smudged place where there is none broad enough.
#[test]
fn strokes_stay_paint_when_told() {
    let drawing = Drawing { plan: plate(|_| Place::black()), light: |_, _| 1.0, brushed: 0.02 };
    let map = settled_as(&drawing.picture(), &SurfaceSettings { smudged: true, ..Default::default() });
    assert_eq!(map.labels.len(), PICTURE[0] * PICTURE[1]);
    assert!(!map.labels.contains(&Label::Smudged));
}
