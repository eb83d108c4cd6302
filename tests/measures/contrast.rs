//! White against black, and what blur and scatter do to surfaces and their ratio.

use crate::scene::{SIDE, Scene, draws, is_striped, on_disc, painted, reflectance, turned};
use sherdlight::reading::Surface;
use sherdlight::surface::Label;

#[test]
fn the_contrast_says_where_its_ratio_comes_from() {
    let touching = |p: [f64; 2]| on_disc(p, painted(is_striped(p)));
    let contrast = Scene::of(&touching).read().contrast.unwrap();
    assert_eq!(contrast.ratio_from, "touching");
    assert!(contrast.ratio_places >= 4);
    assert!((contrast.reflectance_ratio - 0.5 / 0.06).abs() < 0.05);
    // A wide strip of clay keeps them apart.
    let apart = |p: [f64; 2]| {
        let [_, v] = turned(p, 0.0);
        on_disc(
            p,
            if v < -30.0 {
                Label::White
            } else if v < 30.0 {
                Label::Body
            } else {
                Label::Black
            },
        )
    };
    let contrast = Scene::of(&apart).read().contrast.unwrap();
    assert_eq!((contrast.ratio_from.as_str(), contrast.ratio_places), ("means", 0));
    let white = |p: [f64; 2]| on_disc(p, Label::White);
    let reading = Scene::of(&white).read();
    assert!(reading.paint.is_none() && reading.contrast.is_none());
    assert_eq!(reading.null_because["paint"], "no paint is seen");
}

#[test]
fn the_ratio_is_one_of_means_however_uneven_the_paint() {
    // Stripes in turn dark and pale, the pale ones half as broad again: means over their pixels 2 px from the edges, by hand.
    let stripe = |p: [f64; 2]| {
        let v = turned(p, 30.0)[1].rem_euclid(100.0);
        if (20.0..32.0).contains(&v) {
            Some(0.05)
        } else if (60.0..78.0).contains(&v) {
            Some(0.2)
        } else {
            None
        }
    };
    let label = |p: [f64; 2]| on_disc(p, painted(stripe(p).is_some()));
    let light = |p: [f64; 2]| stripe(p).unwrap_or(f64::NAN);
    let mut scene = Scene::of(&label);
    scene.light = &light;
    let contrast = scene.read().contrast.unwrap();
    let by_means = 0.5 / ((0.05 * 8.0 + 0.2 * 14.0) / 22.0);
    assert_eq!(contrast.ratio_from, "touching");
    assert!((contrast.reflectance_ratio / by_means - 1.0).abs() < 0.05, "{contrast:?} for {by_means}");
    // So are the colours of the two surfaces.
    let surfaces = scene.read().surfaces;
    let y = |surface: Option<Surface>| ((surface.unwrap().lab[0] + 16.0) / 116.0).powi(3);
    let of_colours = y(surfaces.white) / y(surfaces.black);
    assert!((contrast.reflectance_ratio / of_colours - 1.0).abs() < 0.05, "{of_colours}");
}

/// Black stripes of that half-width in a picture blurred by a box of 7 pixels across each edge: exact, by hand.
fn blurred_stripes(half: f64) -> (impl Fn([f64; 2]) -> Label, impl Fn([f64; 2]) -> f64) {
    // How far inside a stripe.
    let depth = move |p: [f64; 2]| half - (turned(p, 30.0)[1].rem_euclid(100.0) - 50.0).abs();
    let label = move |p: [f64; 2]| on_disc(p, painted(depth(p) > 0.0));
    let light = move |p: [f64; 2]| {
        let share = (0.5 + depth(p) / 7.0).clamp(0.0, 1.0);
        share * reflectance(Label::Black) + (1.0 - share) * reflectance(Label::White)
    };
    (label, light)
}

#[test]
fn what_blur_brings_in_from_neighbours_is_in_the_part_of_the_edges() {
    let lightness = |y: f64| 116.0 * y.cbrt() - 16.0;
    let read = |half: f64, is_blurred: bool| {
        let (label, light) = blurred_stripes(half);
        let mut scene = Scene::of(&label);
        if is_blurred {
            scene.light = &light;
        }
        scene.read()
    };
    let wide = read(20.0, true);
    let (black, contrast) = (wide.surfaces.black.as_ref().unwrap(), wide.contrast.as_ref().unwrap());
    // The blur ends 3.5 px from the edge; the inner part begins at 2, the deep part beyond the blur.
    let off = black.lab[0] - lightness(0.06);
    assert!(off > 0.1, "{off}");
    assert!((black.u95_parts["edges"][0] - off).abs() < 0.1 * off, "{off}: {:?}", black.u95_parts);
    let log_off = (0.5f64 / 0.06 / contrast.reflectance_ratio).ln();
    let told = contrast.u95_parts["edges"].reflectance_ratio / contrast.reflectance_ratio;
    assert!(log_off > 0.01 && (told - log_off).abs() < 0.2 * log_off, "{log_off}: {told}");
    // A sharp picture leaves nothing in; strokes without a deep part fall back on what the places left out would do.
    assert!(read(20.0, false).surfaces.black.unwrap().u95_parts["edges"][0] < 1e-3);
    let thin = read(4.0, true).surfaces.black.unwrap();
    let half = (thin.lab_with_edges.unwrap()[0] - thin.lab[0]) / 2.0;
    assert!(thin.lab_deep.is_none() && thin.u95_parts["edges"][0] >= half && half > 1.0);
}

#[test]
fn scatter_of_lightness_is_none_of_the_tint() {
    let bright = draws(5);
    let (label, light) = (
        |p: [f64; 2]| on_disc(p, Label::White),
        |p: [f64; 2]| 0.5 + 0.05 * bright[p[1] as usize * SIDE + p[0] as usize],
    );
    let mut scene = Scene::of(&label);
    scene.light = &light;
    let noise = scene.read().surfaces.white.unwrap().u95_parts["noise"];
    assert!(noise[0] > 0.02 && noise[1] < 1e-3 && noise[2] < 1e-3, "{noise:?}");
}
