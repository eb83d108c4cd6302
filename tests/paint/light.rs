//! Black and slip under uneven light, whole but weak paint, fine lines; threads and turns.

use crate::plate::{Drawing, PICTURE, PLATE, Place, plate, settled, told};
use sherdlight::card::CorrectedImage;
use sherdlight::surface::Label;

/// Light over the plate, both places 0 to 1.
type Light = fn(f64, f64) -> f64;

/// A third of the light is left at the right, and less towards the foot.
fn ramp(x: f64, y: f64) -> f64 {
    (-1.1 * x / PLATE[0] as f64 - 0.2 * y / PLATE[1] as f64).exp()
}

/// A soft dark blotch, 90 pixels to half its depth: too faint for soot that covers a third, and it crosses paint.
fn blotch(x: f64, y: f64) -> f64 {
    1.0 - 0.28 * (-((x - 270.0).powi(2) + (y - 180.0).powi(2)) / (2.0 * 75f64.powi(2))).exp()
}

#[test]
fn black_and_slip_are_told_apart_whatever_the_light() {
    let lights: [(&str, Light); 4] = [
        ("even", |_, _| 1.0),
        ("ramp", ramp),
        ("blotch", blotch),
        ("both", |x, y| ramp(x, y) * blotch(x, y)),
    ];
    for (name, light) in lights {
        let drawing = Drawing { plan: plate(|_| Place::black()), light, brushed: 0.02 };
        let (map, truth) = (drawing.settled(), drawing.truth());
        for of in [Label::White, Label::Black] {
            let share = told(&map, &truth, of, |l| l == of);
            assert!(share > 0.98, "{name}, {}: {share:.4}", of.name());
        }
    }
}

/// The definition of black: paint evenly pale over the whole piece is black.
#[test]
fn weak_paint_that_is_whole_stays_black() {
    for contrast in [0.75, 0.5] {
        let drawing =
            Drawing { plan: plate(|_| Place::paint(Label::Black, contrast)), light: ramp, brushed: 0.02 };
        let (map, truth) = (drawing.settled(), drawing.truth());
        let share = told(&map, &truth, Label::Black, |l| l == Label::Black);
        assert!(share > 0.98, "{contrast}: {share:.4}");
    }
}

#[test]
fn lines_of_three_pixels_stay_black() {
    let lines = |x: usize, y: usize| {
        let inside = (130..400).contains(&x) && (30..330).contains(&y);
        if inside && (y - 30) % 15 < 3 { Place::black() } else { plate(|_| Place::slip())(x, y) }
    };
    let drawing = Drawing { plan: lines, light: ramp, brushed: 0.02 };
    let (map, truth) = (drawing.settled(), drawing.truth());
    let drawn = truth.iter().filter(|&&l| l == Label::Black).count() as f64;
    let both =
        map.labels.iter().zip(&truth).filter(|(p, q)| **p == Label::Black && **q == Label::Black).count();
    assert!(both as f64 > 0.95 * drawn, "{both} of {drawn}");
    let found = map.labels.iter().filter(|&&l| l == Label::Black).count() as f64;
    // A line is as wide as drawn to within a third of a pixel a side.
    assert!((found / drawn - 1.0).abs() < 0.22, "{found} for {drawn}");
}

/// Sound, faded and burned strokes in uneven light, for the two properties below.
fn mixed() -> CorrectedImage {
    let paint = |k: usize| match k % 5 {
        3 => Place::paint(Label::Black, 0.7),
        4 => Place::trace(0.88),
        _ => Place::black(),
    };
    Drawing { plan: plate(paint), light: |x: f64, y: f64| ramp(x, y) * blotch(x, y), brushed: 0.02 }.picture()
}

#[test]
fn labels_are_the_same_for_any_number_of_threads() {
    let image = mixed();
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        pool.install(|| settled(&image))
    };
    let (one, four) = (run(1), run(4));
    assert!(one.labels.contains(&Label::LostPaint) && one.labels == four.labels);
    assert!(one.light.iter().zip(&four.light).all(|(p, q)| p.to_bits() == q.to_bits()));
}

/// A picture after quarter turns, and where each of its places was before.
fn turned(image: &CorrectedImage, turns: usize) -> (CorrectedImage, Vec<usize>) {
    let [width, height] = PICTURE;
    let columns = if turns == 2 { width } else { height };
    let before = |i: usize| {
        let (x, y) = (i % columns, i / columns);
        match turns {
            1 => (height - 1 - x) * width + y,
            2 => (height - 1 - y) * width + width - 1 - x,
            _ => x * width + width - 1 - y,
        }
    };
    let n = width * height;
    let before: Vec<usize> = (0..n).map(before).collect();
    let xyz: Vec<[f32; 3]> = before.iter().map(|&i| image.xyz[i]).collect();
    let (light, clipped) = (xyz.clone(), vec![false; n]);
    (CorrectedImage { width: columns, height: n / columns, factor: 1, light, clipped, xyz }, before)
}

#[test]
fn quarter_turns_turn_the_labels() {
    let image = mixed();
    let own = settled(&image);
    for turns in 1..4 {
        let (picture, before) = turned(&image, turns);
        let map = settled(&picture);
        let moved = before.iter().zip(&map.labels);
        // The card does not turn with the plate.
        let moved = moved.filter(|(i, label)| label.on_piece() && own.labels[**i] != **label).count();
        let share = moved as f64 / (PLATE[0] * PLATE[1]) as f64;
        assert!(share < 0.01, "{turns} turns: {share:.4} of the plate moved");
    }
}
