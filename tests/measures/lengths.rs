//! Widths of lines, margins and edges, sizes, with a scale and without one.

use crate::scene::{SIDE, Scene, draws, on_disc, painted, turned};
use sherdlight::card::{CardPlace, Homography};
use sherdlight::surface::Label;

#[test]
fn a_line_is_as_wide_as_it_was_drawn_at_any_angle() {
    for width in [3.0, 4.4, 8.0, 15.0] {
        for step in 0..13 {
            let angle = 7.5 * f64::from(step);
            let label = |p: [f64; 2]| {
                let [u, v] = turned(p, angle);
                on_disc(p, painted(u.abs() < 120.0 && (v - 20.0).abs() < width / 2.0))
            };
            let reading = Scene::of(&label).read();
            let found = reading.paint.unwrap().line_width_px.unwrap();
            // Along the rows a width of 4.4 pixels is 4 or 5 of them, the same all along.
            let off = if angle % 45.0 == 0.0 { 0.71 } else { 0.15 };
            assert!((found.p50 - width).abs() < off, "{width} at {angle}: {found:?}");
            assert!(found.p95 - found.p05 < 1.3, "{width} at {angle}: {found:?}");
        }
    }
    // Whole pixels along the rows come out whole.
    for width in [3.0, 4.0, 7.0] {
        let label = |[x, y]: [f64; 2]| {
            on_disc([x, y], painted(y > 150.0 && y < 150.0 + width && (x - 200.0).abs() < 99.0))
        };
        let found = Scene::of(&label).read().paint.unwrap().line_width_px.unwrap();
        assert!((found.p50 - width).abs() < 0.02, "{width}: {found:?}");
    }
}

#[test]
fn a_ring_is_a_line_and_keeps_its_width() {
    for (radius, width) in [(100.0, 6.0), (40.0, 9.0), (25.0, 5.0)] {
        let label = |p: [f64; 2]| {
            let [x, y] = turned(p, 0.0);
            on_disc(p, painted((x.hypot(y) - radius).abs() < width / 2.0))
        };
        let found = Scene::of(&label).read().paint.unwrap().line_width_px.unwrap();
        assert!((found.p50 - width).abs() < 0.1, "{radius} {width}: {found:?}");
    }
}

/// A checker of 24 px fields in a block, teeth, dots; lines 5 px wide beside them if asked for.
fn motif([u, v]: [f64; 2], lines: bool) -> bool {
    let field = |t: f64| (t / 24.0).floor() as i64;
    let checker = u.abs() < 96.0 && v > 10.0 && v < 82.0 && (field(u) + field(v - 10.0)) % 2 == 0;
    let teeth =
        v < -20.0 && v > -56.0 && (u.rem_euclid(36.0) - 18.0).abs() < (v + 56.0) / 2.0 && u.abs() < 72.0;
    let dots = (u.rem_euclid(30.0) - 15.0).hypot(v + 75.0) < 8.0 && u.abs() < 90.0;
    let line = [v + 95.0, v - 110.0].iter().any(|d| d.abs() < 2.5) && u.abs() < 100.0;
    checker || teeth || dots || (lines && line)
}

#[test]
fn blocks_teeth_and_dots_are_no_lines_in_any_turn() {
    for angle in [0.0, 11.0, 30.0, 45.0, 62.0, 90.0] {
        let bare = |p: [f64; 2]| on_disc(p, painted(motif(turned(p, angle), false)));
        let reading = Scene::of(&bare).read();
        let found = reading.paint.as_ref().unwrap().line_width_px;
        assert!(found.is_none(), "{angle}: {found:?}");
        let lined = |p: [f64; 2]| on_disc(p, painted(motif(turned(p, angle), true)));
        let found = Scene::of(&lined).read().paint.unwrap().line_width_px.unwrap();
        assert!((found.p50 - 5.0).abs() < 0.25 && found.p95 < 6.3 && found.p05 > 3.7, "{angle}: {found:?}");
    }
}

#[test]
fn lost_paint_belongs_to_the_line_and_a_cloud_cuts_it() {
    let label = |p: [f64; 2]| {
        let [u, v] = turned(p, 20.0);
        let kept = (u / 9.0).floor() as i64 % 3 != 0;
        match (u.abs() < 120.0, v.abs() < 4.0, v < 0.0 && u > 20.0) {
            (true, true, false) if !kept => on_disc(p, Label::LostPaint),
            (true, true, false) => on_disc(p, Label::Black),
            // Half of the line lies under a cloud with its upper half: that looks like a line half as wide.
            (true, true, true) => on_disc(p, Label::Cloud),
            (true, _, true) if v > -60.0 => on_disc(p, Label::Cloud),
            _ => on_disc(p, Label::White),
        }
    };
    let found = Scene::of(&label).read().paint.unwrap().line_width_px.unwrap();
    assert!((found.p50 - 8.0).abs() < 0.2 && found.p05 > 7.0, "{found:?}");
}

/// A strong perspective: mm in the card's plane to pixels.
fn view() -> Homography {
    Homography::from_corners(200.0, 200.0, &[[40.0, 60.0], [350.0, 20.0], [390.0, 380.0], [20.0, 340.0]])
        .unwrap()
}

/// A card of 30 x 20 mm in that plane.
fn card_in_view() -> CardPlace {
    let view = view();
    let at = |x: f64, y: f64| view.apply([x, y]);
    let corners_px = [at(5.0, 5.0), at(35.0, 5.0), at(35.0, 25.0), at(5.0, 25.0)];
    CardPlace {
        corners_px,
        frame_px: corners_px,
        patch_side_px: 8.0,
        mm_per_px: Some(0.6),
        aspect: 20.0 / 30.0,
        extent_mm: Some([30.0, 20.0]),
    }
}

#[test]
fn lengths_in_mm_hold_under_perspective() {
    let back = view().inverse().unwrap();
    for angle in [0.0_f64, 25.0, 70.0, 110.0] {
        let (sin, cos) = angle.to_radians().sin_cos();
        let label = |p: [f64; 2]| {
            let [x, y] = back.apply(p).map(|v| v - 110.0);
            let [u, v] = [cos * x + sin * y, cos * y - sin * x];
            if u.abs() > 60.0 || v.abs() > 40.0 {
                return Label::Background;
            }
            painted(u.abs() < 52.0 && [-30.0, 0.0, 28.0].iter().any(|at| (v - at).abs() < 2.0))
        };
        let mut scene = Scene::of(&label);
        scene.place = Some(card_in_view());
        let reading = scene.read();
        let lines = reading.paint.unwrap().line_width_mm.unwrap();
        assert!((lines.p50 - 4.0).abs() < 0.12, "{angle}: {lines:?}");
        assert!(lines.p05 > 3.3 && lines.p95 < 4.7, "{angle}: {lines:?}");
        let size = reading.piece.size_mm.unwrap();
        // The map's pixels are half a millimetre wide here.
        assert!(0.5 < size.u95_flat && size.u95_flat < size.u95, "{angle}: {size:?}");
        assert!((size.width - 120.0).abs() < 1.0 && (size.height - 80.0).abs() < 1.0, "{angle}: {size:?}");
    }
}

#[test]
fn a_map_at_half_size_gives_full_size_pixels() {
    let label = |p: [f64; 2]| {
        let [x, y] = p.map(|v| v - 400.0);
        let line = (y * 0.9 - x * 0.436).abs() < 6.0 && x.abs() < 200.0;
        if x.hypot(y) < 330.0 { painted(line) } else { Label::Background }
    };
    let mut scene = Scene::of(&label);
    scene.factor = 2;
    let found = scene.read().paint.unwrap().line_width_px.unwrap();
    assert!((found.p50 - 12.0).abs() < 0.3, "{found:?}");
}

#[test]
fn without_a_scale_there_are_pixels_and_a_reason() {
    let label = |p: [f64; 2]| on_disc(p, painted(turned(p, 33.0)[1].abs() < 3.0));
    let reading = Scene::of(&label).read();
    assert!(reading.paint.as_ref().unwrap().line_width_px.is_some());
    assert!(reading.null_because["paint.line_width_mm"].contains("another photograph"));
    let mut scene = Scene::of(&label);
    scene.place = Some(CardPlace { extent_mm: None, mm_per_px: None, ..card_in_view() });
    let reading = scene.read();
    for field in ["paint.line_width_mm", "piece.size_mm"] {
        assert!(reading.null_because[field].contains("--patch-mm"), "{field}");
    }
}

#[test]
fn the_margin_is_measured_across_and_only_between_red_and_white() {
    for (angle, width) in [(0.0, 7.0), (17.0, 7.0), (45.0, 12.0), (80.0, 4.0)] {
        let label = |p: [f64; 2]| {
            let [_, v] = turned(p, angle);
            on_disc(
                p,
                if v < 30.0 {
                    Label::White
                } else if v < 30.0 + width {
                    Label::Body
                } else {
                    Label::Red
                },
            )
        };
        let found = Scene::of(&label).read().piece.margin_px.unwrap();
        let off = if angle % 45.0 == 0.0 { 0.71 } else { 0.15 };
        assert!((found.p50 - width).abs() < off, "{width} at {angle}: {found:?}");
    }
    // Red that touches white, and a stripe of clay within white.
    let none = |p: [f64; 2]| {
        let [_, v] = turned(p, 10.0);
        on_disc(
            p,
            if v > 60.0 {
                Label::Red
            } else if v.abs() < 5.0 {
                Label::Body
            } else {
                Label::White
            },
        )
    };
    assert!(Scene::of(&none).read().piece.margin_px.is_none());
}

/// The normal distribution function; the error function by Abramowitz & Stegun (1964) 7.1.26, within 1.5e-7.
fn normal(z: f64) -> f64 {
    let x = z.abs() / 2f64.sqrt();
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let poly = t
        * (0.254_829_592
            + t * (-0.284_496_736 + t * (1.421_413_741 + t * (-1.453_152_027 + t * 1.061_405_429))));
    let erf = 1.0 - poly * (-x * x).exp();
    if z < 0.0 { 0.5 * (1.0 - erf) } else { 0.5 * (1.0 + erf) }
}

#[test]
fn a_step_blurred_by_a_normal_distribution_rises_in_2_563_standard_deviations() {
    // 10 % and 90 % of the normal distribution lie at -1.2816 and 1.2816 standard deviations.
    for sigma in [1.5, 2.5, 4.0] {
        for angle in [0.0, 13.0, 45.0, 71.0] {
            // Stripes 50 pixels wide, 25 from a border to the middle of one: more than twice the widest step.
            let stripe = |p: [f64; 2]| (turned(p, angle)[1].rem_euclid(100.0) - 50.0).abs() - 25.0;
            let label = |p: [f64; 2]| on_disc(p, painted(stripe(p) < 0.0));
            let light = |p: [f64; 2]| 0.06 + 0.44 * normal(stripe(p) / sigma);
            let mut scene = Scene::of(&label);
            (scene.light, scene.edge_px) = (&light, Some(2.563 * (1.2 * 1.2 + 1.0 / 6.0f64).sqrt()));
            let paint = scene.read().paint.unwrap();
            let (found, wanted) = (paint.edge_px.unwrap().p50, 2.0 * 1.2816 * sigma);
            assert!((found / wanted - 1.0).abs() < 0.06, "{sigma} at {angle}: {found} for {wanted}");
            match paint.edge_own_px {
                // Variances of blurs add: 1.2 pixels of the picture's own are taken off. Both widths are read between
                // pixels, along straight lines: a triangle filter, whose variance is 1/6.
                Some(own) => {
                    let wanted = 2.563 * (sigma * sigma - 1.2 * 1.2f64).sqrt();
                    assert!((own / wanted - 1.0).abs() < 0.1, "{sigma} at {angle}: {own} for {wanted}");
                }
                None => assert_eq!(sigma, 1.5, "at {angle}"),
            }
        }
    }
}

#[test]
fn edges_as_sharp_as_the_picture_are_not_told_apart_from_its_blur() {
    let stripe = |p: [f64; 2]| (turned(p, 13.0)[1].rem_euclid(80.0) - 40.0).abs() - 20.0;
    let label = |p: [f64; 2]| on_disc(p, painted(stripe(p) < 0.0));
    let light = |p: [f64; 2]| 0.06 + 0.44 * normal(stripe(p) / 2.0);
    let mut scene = Scene::of(&label);
    (scene.light, scene.edge_px) = (&light, Some(5.0));
    let reading = scene.read();
    assert!(reading.paint.as_ref().unwrap().edge_own_px.is_none());
    assert!(reading.null_because["paint.edge_own_px"].contains("the picture's own blur"));
}

#[test]
fn specks_and_hairlines_are_no_lines_and_do_no_harm() {
    let specks = draws(9);
    for share in [1.5, 0.5, -0.5] {
        let label = |p: [f64; 2]| on_disc(p, painted(specks[p[1] as usize * SIDE + p[0] as usize] > share));
        let found = Scene::of(&label).read().paint.unwrap();
        assert!(found.line_width_px.is_none_or(|width| width.p95 < 12.0), "{share}: {found:?}");
    }
    let hair = |p: [f64; 2]| on_disc(p, painted((turned(p, 0.0)[1].rem_euclid(20.0)) < 1.0));
    let found = Scene::of(&hair).read().paint.unwrap().line_width_px;
    assert!(found.is_none(), "{found:?}");
}
