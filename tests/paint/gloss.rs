//! Glare on red: neutral light added to its own, as a share of the diffuse light.

use crate::plate::{BAND, BODY, Drawing, Place, plate, share_of, told};
use sherdlight::surface::Label;

/// X and Z of the white of CIE D50 for Y of 1 (ISO 15076-1): the tint of what a glossy skin mirrors.
const NEUTRAL: [f64; 3] = [0.9642, 1.0, 0.8249];

/// Red with neutral light added, a share of its own luminance.
fn glossy(gloss: f64) -> Place {
    let red = Place::red().xyz;
    let label = if gloss > 0.25 { Label::Glare } else { Label::Red };
    Place { label, xyz: [0, 1, 2].map(|c| red[c] + gloss * red[1] * NEUTRAL[c]) }
}

/// A field of this in the red band of a painted plate.
fn with_field(field: Place) -> impl Fn(usize, usize) -> Place {
    move |x, y| {
        let inside = (25..65).contains(&x) && (140..220).contains(&y);
        if inside { field } else { plate(|_| Place::black())(x, y) }
    }
}

/// No photograph shows red without any gloss, so the purest red of a piece may be free of it or carry a tenth: gloss of
/// 0.14 to 0.25 above it can be either.
#[test]
fn gloss_above_a_quarter_of_the_diffuse_light_is_glare() {
    let ramp = |x: f64, y: f64| 1.0 - 0.3 * x / 440.0 - 0.2 * y / 360.0;
    for gloss in [0.0, 0.05, 0.1, 0.3, 0.4, 0.5, 1.0, 2.0] {
        let field = glossy(gloss);
        let drawing = Drawing { plan: with_field(field), light: ramp, brushed: 0.02 };
        let map = drawing.settled();
        // The field alone, whatever its label.
        let mut marked = field;
        marked.label = Label::Unclear;
        let truth = Drawing { plan: with_field(marked), light: ramp, brushed: 0.02 }.truth();
        let share = told(&map, &truth, Label::Unclear, |l| l == field.label);
        assert!(share > 0.9, "{gloss}: {share:.4} is {}", field.label.name());
        let around = told(&map, &truth, Label::Red, |l| l == Label::Red);
        assert!(around > 0.98, "{gloss}: {around:.4} of the red around");
    }
}

/// Clay is paler than red as well, but yellower: a margin beside red, and a field of it in the red.
#[test]
fn bare_clay_beside_red_stays_clay() {
    for field in [Place::red(), Place::of(Label::Body, BODY)] {
        let drawing = Drawing { plan: with_field(field), light: |_, _| 1.0, brushed: 0.02 };
        let (map, truth) = (drawing.settled(), drawing.truth());
        let share = told(&map, &truth, Label::Body, |l| l == Label::Body);
        assert!(share > 0.95, "{share:.4} of {} pixels of margin", BAND[1] - BAND[0]);
        let glare = share_of(&map, |i| map.piece_of[i] > 0, |l| l == Label::Glare);
        assert!(glare < 0.001, "{glare:.5} of the piece is glare");
    }
}

/// Soot on red is neutral too, but it darkens.
#[test]
fn what_is_paler_and_darker_is_no_glare() {
    let red = Place::red().xyz;
    for covered in [0.3, 0.6] {
        let sooty = [0, 1, 2].map(|c| (1.0 - covered) * red[c] + covered * 0.04 * NEUTRAL[c]);
        let field = Place { label: Label::Unclear, xyz: sooty };
        let map = Drawing { plan: with_field(field), light: |_, _| 1.0, brushed: 0.02 }.settled();
        let glare = share_of(&map, |i| map.piece_of[i] > 0, |l| l == Label::Glare);
        assert!(glare < 0.001, "{covered}: {glare:.5} of the piece is glare");
    }
}
