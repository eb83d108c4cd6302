//! Texture of paint and slip, and what doubts the share of the paint that is kept.

use crate::scene::{SIDE, Scene, draws, is_spotted, is_striped, on_disc, painted, reflectance, turned};
use sherdlight::surface::Label;

#[test]
fn unevenness_is_the_deviation_from_place_to_place_without_noise_and_slow_changes() {
    let grain = draws(5);
    let label = |p: [f64; 2]| on_disc(p, painted(is_striped(p)));
    for (deep, noise, slow) in
        [(0.0, 0.0, 0.0), (0.0, 0.05, 0.0), (0.0, 0.0, 0.2), (0.2, 0.0, 0.0), (0.2, 0.05, 0.2)]
    {
        let light = |p: [f64; 2]| {
            let [u, v] = turned(p, 0.0);
            let wave = deep * (std::f64::consts::TAU * u / 18.0).sin();
            let speck = noise * grain[p[1] as usize * SIDE + p[0] as usize];
            let fall = slow * (u + v) / 340.0;
            reflectance(label(p)) * (1.0 + wave + speck) * (1.0 + fall)
        };
        let mut scene = Scene::of(&label);
        scene.light = &light;
        let reading = scene.read();
        let spots = reading.paint.unwrap().spottiness.unwrap();
        // A sine of amplitude a has the standard deviation a over root two; the mean over a block of 4 pixels of one
        // with a period of 18 is sin(x) / x of it, x = pi 4/18.
        let x = std::f64::consts::PI * 4.0 / 18.0;
        let wanted = deep / 2f64.sqrt() * x.sin() / x;
        assert!((spots.value - wanted).abs() < 0.015, "{deep} {noise} {slow}: {spots:?} for {wanted}");
        // In L*: (L* + 16) / 3 times the relative deviation, for L* 76.07 of Y 0.5 (CIE 15:2018).
        let white = reading.piece.white_unevenness.unwrap();
        let wanted = (76.07 + 16.0) / 3.0 * wanted;
        assert!((white.value - wanted).abs() < 0.5, "{deep} {noise} {slow}: {white:?} for {wanted}");
    }
}

#[test]
fn spotty_paint_is_told_from_paint_that_is_pale_all_over() {
    let spotty = |p: [f64; 2]| {
        on_disc(
            p,
            match (is_striped(p), is_spotted(p)) {
                (true, true) => Label::LostPaint,
                (true, false) => Label::Black,
                _ => Label::White,
            },
        )
    };
    let pale = |p: [f64; 2]| on_disc(p, painted(is_striped(p)));
    let dim = |p: [f64; 2]| if is_striped(p) { 0.2 } else { 0.5 };
    let spottiness = |scene: Scene| scene.read().paint.unwrap().spottiness.unwrap().value;
    let mut even = Scene::of(&pale);
    even.light = &dim;
    assert!(spottiness(even) < 0.01);
    assert!(spottiness(Scene::of(&spotty)) > 0.6);
}

#[test]
fn a_little_paint_that_seems_lost_may_be_none() {
    let read = |lost: f64| {
        let label = |p: [f64; 2]| {
            let is_lost = turned(p, 30.0)[0].rem_euclid(50.0) < 50.0 * lost;
            let paint = if is_lost { Label::LostPaint } else { Label::Black };
            on_disc(p, if is_striped(p) { paint } else { Label::White })
        };
        Scene::of(&label).read().paint.unwrap()
    };
    for (lost, traces) in [(0.0, 0.0), (0.08, 0.08), (0.5, 0.12)] {
        let paint = read(lost);
        assert!((paint.retained_fraction - (1.0 - lost)).abs() < 0.02, "{paint:?}");
        assert!((paint.u95_parts["traces"] - traces).abs() < 0.02, "{paint:?}");
    }
}

#[test]
fn pale_and_spotty_black_may_hide_what_burned_away() {
    // What the spots are paler by, for mean 0 and standard deviation 1.
    let spot = |p: [f64; 2]| if is_spotted(p) { 3f64.sqrt() } else { -1.0 / 3f64.sqrt() };
    let label = |p: [f64; 2]| on_disc(p, painted(is_striped(p)));
    // Reflectance of the paint, and how much it varies.
    let read = |mean: f64, spots: f64| {
        let light = |p: [f64; 2]| match is_striped(p) {
            true => mean * (1.0 + spots * spot(p)),
            false => f64::NAN,
        };
        let mut scene = Scene::of(&label);
        scene.light = &light;
        scene.read().paint.unwrap()
    };
    let unseen = |mean: f64, spots: f64| read(mean, spots).u95_parts["unseen"];
    // L* of a luminance, and 0.06 for each L* above 33, by hand.
    let expected = |y: f64| 0.06 * (116.0 * y.cbrt() - 16.0 - 33.0);
    assert!((unseen(0.12, 0.2) - expected(0.12)).abs() < 0.02, "{}", unseen(0.12, 0.2));
    assert!(unseen(0.16, 0.2) > unseen(0.12, 0.2));
    assert!(unseen(0.12, 0.05) < 0.5 * unseen(0.12, 0.2), "{}", unseen(0.12, 0.05));
    assert!(unseen(0.12, 0.0) < 0.01, "{}", unseen(0.12, 0.0));
    assert_eq!(unseen(0.06, 0.2), 0.0);
    // It is part of the whole.
    let paint = read(0.12, 0.2);
    assert!(paint.u95 > paint.u95_parts["unseen"] && paint.retained_fraction == 1.0, "{paint:?}");
}
