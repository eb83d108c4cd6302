//! What is left of burned-out paint: sharp edges tell it from slip, contrast tells it from black.

use crate::plate::{Drawing, PICTURE, Place, STROKES, inner, plate, share_of, stroke, told};
use sherdlight::surface::{Label, SurfaceMap};

const EVEN: fn(f64, f64) -> f64 = |_, _| 1.0;
/// Light that halves over the plate.
const RAMP: fn(f64, f64) -> f64 = |x, _| 1.0 - 0.5 * x / 440.0;

/// Share of the piece taken for lost paint.
fn lost(map: &SurfaceMap) -> f64 {
    share_of(map, |i| map.piece_of[i] > 0, |l| l == Label::LostPaint)
}

#[test]
fn ghosts_are_lost_paint_and_brushed_slip_is_not() {
    for (name, light) in [("even", EVEN), ("ramp", RAMP)] {
        // The last five strokes gave way to traces that give back a tenth less light than their slip.
        let sound = |k: usize| if k < 10 { Place::black() } else { Place::slip() };
        let burned = |k: usize| if k < 10 { Place::black() } else { Place::trace(0.9) };
        let drawing = Drawing { plan: plate(burned), light, brushed: 0.02 };
        let (map, truth) = (drawing.settled(), drawing.truth());
        let found = told(&map, &truth, Label::LostPaint, |l| l == Label::LostPaint);
        assert!(found > 0.9, "{name}: {found:.4} of the ghosts");
        let wrong = told(&map, &truth, Label::White, |l| l == Label::LostPaint);
        assert!(wrong < 0.01, "{name}: {wrong:.4} of the slip");
        let without = lost(&Drawing { plan: plate(sound), light, brushed: 0.02 }.settled());
        assert!(without < 0.005, "{name}: {without:.4} of a sound piece");
    }
}

#[test]
fn ghosts_stand_where_no_sound_paint_is_left() {
    let drawing = Drawing { plan: plate(|_| Place::trace(0.9)), light: RAMP, brushed: 0.02 };
    let (map, truth) = (drawing.settled(), drawing.truth());
    let found = told(&map, &truth, Label::LostPaint, |l| l == Label::LostPaint);
    assert!(found > 0.9, "{found:.4} of the ghosts");
    let bare = lost(&Drawing { plan: plate(|_| Place::slip()), light: RAMP, brushed: 0.02 }.settled());
    assert!(bare < 0.005, "{bare:.4} of a bare piece");
}

/// Paint begins and ends at once; what fades over many pixels is light, form or soot.
#[test]
fn a_soft_edge_of_the_same_depth_is_no_lost_paint() {
    // Fields of 40 pixels, as deep as the ghosts above, that fade over 30 pixels all round.
    let soft = |x: f64, y: f64| {
        let off = |v: f64, middle: f64| ((v - middle).abs() - 20.0).max(0.0);
        let away = off(x, 270.0).hypot(off(y, 250.0)).min(off(x, 380.0).hypot(off(y, 290.0)));
        0.9 + 0.1 * (away / 30.0).min(1.0)
    };
    let sound = |k: usize| if k < 10 { Place::black() } else { Place::slip() };
    for brushed in [0.0, 0.02] {
        let share = lost(&Drawing { plan: plate(sound), light: soft, brushed }.settled());
        assert!(share < 0.005, "brushed {brushed}: {share:.4}");
    }
}

/// Paint keeps the tint of its slip. A field that is darker and yellower is another slip, which may have turned buff.
#[test]
fn a_yellower_slip_is_no_lost_paint() {
    let buff = Place::of(Label::White, [72.0, 1.5, 20.0]);
    let plan = plate(move |k| if k < 10 { Place::black() } else { buff });
    let map = Drawing { plan, light: RAMP, brushed: 0.02 }.settled();
    let share = lost(&map);
    assert!(share < 0.005, "{share:.4} of the piece");
}

/// Where paint has surely burned, what might be more of it is left undecided, not called slip.
#[test]
fn what_is_not_proven_on_a_burned_piece_is_unclear_or_lost() {
    // Of five strokes three are sound, one has burned to a tenth less light, one to half of that.
    let left = |k: usize| [1.0, 1.0, 1.0, 0.9, 0.955][k % 5];
    let burned = move |k: usize| if left(k) == 1.0 { Place::black() } else { Place::trace(left(k)) };
    let sound = move |k: usize| if left(k) == 1.0 { Place::black() } else { Place::slip() };
    let faint = |i: usize| {
        let (x, y) = (i % PICTURE[0], i / PICTURE[0]);
        x >= 130 && y >= 130 && stroke(x - 130, y - 130).is_some_and(|k| k % 5 == 4)
    };
    let drawing = Drawing { plan: plate(burned), light: RAMP, brushed: 0.005 };
    let (map, truth) = (drawing.settled(), drawing.truth());
    let kept_out =
        share_of(&map, |i| faint(i) && inner(&truth, i), |l| !matches!(l, Label::White | Label::Black));
    assert!(kept_out > 0.7, "{kept_out:.4} of the faintest strokes");
    let map = Drawing { plan: plate(sound), light: RAMP, brushed: 0.005 }.settled();
    let unclear = share_of(&map, |i| map.piece_of[i] > 0, |l| l == Label::Unclear);
    assert!(unclear < 0.005, "{unclear:.4} of a sound piece is unclear");
}

/// Black has at least half the contrast of the soundest paint on the piece, lost paint less.
#[test]
fn half_the_contrast_parts_black_from_lost() {
    let burned = STROKES / 2;
    for (contrast, label) in [
        (0.05, Label::LostPaint),
        (0.1, Label::LostPaint),
        (0.25, Label::LostPaint),
        (0.4, Label::LostPaint),
        (0.6, Label::Black),
        (0.8, Label::Black),
    ] {
        let one = |k: usize| if k == burned { Place::paint(label, contrast) } else { Place::black() };
        let drawing = Drawing { plan: plate(one), light: RAMP, brushed: 0.02 };
        let (map, truth) = (drawing.settled(), drawing.truth());
        let number = |i: usize| {
            let (x, y) = ((i % PICTURE[0]).checked_sub(130)?, (i / PICTURE[0]).checked_sub(130)?);
            stroke(x, y)
        };
        let share = share_of(&map, |i| number(i) == Some(burned) && inner(&truth, i), |l| l == label);
        assert!(share > 0.9, "{contrast}: {share:.4} is {}", label.name());
        let sound = |i: usize| number(i).is_some_and(|k| k != burned) && inner(&truth, i);
        let others = share_of(&map, sound, |l| l == Label::Black);
        assert!(others > 0.98, "{contrast}: {others:.4} of the sound ones");
    }
}
