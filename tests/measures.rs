//! Lengths and textures read off drawn maps, against exact geometry.
//!
//! A map is drawn by asking, at the middle of each pixel, what lies there: widths, sizes and angles are known exactly.

use sherdlight::card::{CardPlace, CardReading, CardStatus, CorrectedImage, Homography};
use sherdlight::colour::LinearRgb;
use sherdlight::photo::{LinearImage, Photo};
use sherdlight::reading::{MadeBy, Reading, Sources, measure, to_json_line};
use sherdlight::surface::{Label, Piece, SurfaceMap};

const SIDE: usize = 400;
const MIDDLE: [f64; 2] = [200.3, 199.6];

/// Reflectance that stands for a label.
fn reflectance(label: Label) -> f64 {
    match label {
        Label::White => 0.5,
        Label::Red => 0.15,
        Label::Body => 0.2,
        Label::Black => 0.06,
        Label::LostPaint => 0.4,
        _ => 0.3,
    }
}

/// What is drawn: a label and a reflectance for each place, full-size pixels.
struct Scene<'a> {
    label: &'a dyn Fn([f64; 2]) -> Label,
    light: &'a dyn Fn([f64; 2]) -> f64,
    factor: usize,
    place: Option<CardPlace>,
    edge_px: Option<f64>,
}

impl<'a> Scene<'a> {
    fn of(label: &'a dyn Fn([f64; 2]) -> Label) -> Self {
        Self { label, light: &|_| f64::NAN, factor: 1, place: None, edge_px: None }
    }

    fn read(&self) -> Reading {
        let side = SIDE * self.factor;
        let at = |i: usize, side: usize, step: f64| {
            [(i % side) as f64 + 0.5, (i / side) as f64 + 0.5].map(|v| v * step)
        };
        let seen = |p: [f64; 2]| match (self.light)(p) {
            light if light.is_finite() => light,
            _ => reflectance((self.label)(p)),
        };
        let pixels = (0..side * side).map(|i| LinearRgb([seen(at(i, side, 1.0)) as f32; 3])).collect();
        let photo = Photo::from_linear(LinearImage { width: side, height: side, pixels });
        let place = |i: usize| at(i, SIDE, self.factor as f64);
        let labels: Vec<Label> = (0..SIDE * SIDE).map(|i| (self.label)(place(i))).collect();
        let xyz: Vec<[f32; 3]> = (0..SIDE * SIDE).map(|i| [seen(place(i)) as f32; 3]).collect();
        let image = CorrectedImage {
            width: SIDE,
            height: SIDE,
            factor: self.factor,
            light: xyz.clone(),
            clipped: vec![false; xyz.len()],
            xyz,
        };
        let own: Vec<usize> = (0..SIDE * SIDE).filter(|&i| labels[i].on_piece()).collect();
        let rows = own.iter().map(|i| i / SIDE);
        let columns = own.iter().map(|i| i % SIDE);
        let (top, bottom) = (rows.clone().min().unwrap(), rows.max().unwrap());
        let (left, right) = (columns.clone().min().unwrap(), columns.max().unwrap());
        // The outline as the map gives it: the middles of the first and the last pixel of each row.
        let ends = |last: bool| {
            let labels = &labels;
            (top..=bottom).map(move |y| {
                let on = |x: &usize| labels[y * SIDE + x].on_piece();
                let x = if last { (0..SIDE).rfind(on) } else { (0..SIDE).find(on) };
                place(y * SIDE + x.unwrap())
            })
        };
        let outline_px = ends(false).chain(ends(true).collect::<Vec<_>>().into_iter().rev()).collect();
        let map = SurfaceMap {
            width: SIDE,
            height: SIDE,
            factor: self.factor,
            piece_of: labels.iter().map(|l| u8::from(l.on_piece())).collect(),
            labels,
            light: vec![1.0; SIDE * SIDE],
            pieces: vec![Piece {
                outline_px,
                bounds: [left, top, right + 1, bottom + 1],
                area: own.len(),
                doubtful_cloud: 0,
                warnings: vec![],
            }],
            warnings: vec![],
            smudged: false,
        };
        let mut card = CardReading {
            status: CardStatus::Found,
            definition: "chart24-iso".into(),
            place: self.place.clone(),
            warnings: Vec::new(),
            ..CardReading::none()
        };
        card.capture.edge_px = self.edge_px;
        let sources =
            Sources { path: "drawn", photo: &photo, card: &card, image: &image, map: &map, levels: &[] };
        let mut readings = measure(sources, &MadeBy::default());
        assert_eq!(readings.len(), 1);
        reasons_are_given(&readings[0]);
        readings.remove(0)
    }
}

/// Every measure that is null says why, none that is there does.
fn reasons_are_given(reading: &Reading) {
    let record: serde_json::Value = serde_json::from_str(&to_json_line(reading).unwrap()).unwrap();
    let paint = ["line_width_mm", "line_width_px", "edge_mm", "edge_px", "edge_own_px", "spottiness"];
    let piece = ["size_mm", "margin_mm", "margin_px", "white_unevenness"];
    let fields = [("piece", &piece[..]), ("paint", if record["paint"].is_null() { &[] } else { &paint })];
    for (part, names) in fields {
        for name in names {
            let reason = record["null_because"].get(format!("{part}.{name}"));
            assert_eq!(record[part][name].is_null(), reason.is_some(), "{part}.{name}: {reason:?}");
        }
    }
    for part in ["paint", "contrast"] {
        assert_eq!(record[part].is_null(), record["null_because"].get(part).is_some(), "{part}");
    }
}

/// Turned about the middle of the picture.
fn turned([x, y]: [f64; 2], degrees: f64) -> [f64; 2] {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let [x, y] = [x - MIDDLE[0], y - MIDDLE[1]];
    [cos * x + sin * y, cos * y - sin * x]
}

/// A round white piece with something on it.
fn on_disc(p: [f64; 2], label: Label) -> Label {
    let [x, y] = turned(p, 0.0);
    if x.hypot(y) < 170.0 { label } else { Label::Background }
}

fn painted(yes: bool) -> Label {
    if yes { Label::Black } else { Label::White }
}

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

/// Seeded draws of mean 0 and standard deviation 1: sums of twelve uniform ones (Knuth's MMIX constants).
fn draws(seed: u64) -> Vec<f64> {
    let mut state = seed;
    let mut uniform = move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    (0..SIDE * SIDE).map(|_| (0..12).map(|_| uniform()).sum::<f64>() - 6.0).collect()
}

#[test]
fn unevenness_is_the_deviation_from_place_to_place_without_noise_and_slow_changes() {
    let grain = draws(5);
    let stripe = |p: [f64; 2]| (turned(p, 30.0)[1].rem_euclid(100.0) - 50.0).abs() < 20.0;
    let label = |p: [f64; 2]| on_disc(p, painted(stripe(p)));
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
    let stripe = |p: [f64; 2]| (turned(p, 30.0)[1].rem_euclid(100.0) - 50.0).abs() < 20.0;
    let spot = |p: [f64; 2]| {
        let [x, y] = p.map(|v| v.rem_euclid(25.0) - 12.5);
        x.hypot(y) < 7.0
    };
    let spotty = |p: [f64; 2]| {
        on_disc(
            p,
            match (stripe(p), spot(p)) {
                (true, true) => Label::LostPaint,
                (true, false) => Label::Black,
                _ => Label::White,
            },
        )
    };
    let pale = |p: [f64; 2]| on_disc(p, painted(stripe(p)));
    let dim = |p: [f64; 2]| if stripe(p) { 0.2 } else { 0.5 };
    let spottiness = |scene: Scene| scene.read().paint.unwrap().spottiness.unwrap().value;
    let mut even = Scene::of(&pale);
    even.light = &dim;
    assert!(spottiness(even) < 0.01);
    assert!(spottiness(Scene::of(&spotty)) > 0.6);
}

#[test]
fn the_contrast_says_where_its_ratio_comes_from() {
    let touching =
        |p: [f64; 2]| on_disc(p, painted((turned(p, 30.0)[1].rem_euclid(100.0) - 50.0).abs() < 20.0));
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
    let y =
        |surface: Option<sherdlight::reading::Surface>| ((surface.unwrap().lab[0] + 16.0) / 116.0).powi(3);
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

#[test]
fn a_little_paint_that_seems_lost_may_be_none() {
    let stripe = |p: [f64; 2]| (turned(p, 30.0)[1].rem_euclid(100.0) - 50.0).abs() < 20.0;
    let read = |lost: f64| {
        let label = |p: [f64; 2]| {
            let is_lost = turned(p, 30.0)[0].rem_euclid(50.0) < 50.0 * lost;
            let paint = if is_lost { Label::LostPaint } else { Label::Black };
            on_disc(p, if stripe(p) { paint } else { Label::White })
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
    let stripe = |p: [f64; 2]| (turned(p, 30.0)[1].rem_euclid(100.0) - 50.0).abs() < 20.0;
    // Round spots that cover a quarter of it: what they are paler by, for mean 0 and standard deviation 1.
    let spot = |p: [f64; 2]| {
        let [x, y] = p.map(|v| v.rem_euclid(25.0) - 12.5);
        if x.hypot(y) < 7.0 { 3f64.sqrt() } else { -1.0 / 3f64.sqrt() }
    };
    let label = |p: [f64; 2]| on_disc(p, painted(stripe(p)));
    // Reflectance of the paint, and how much it varies.
    let read = |mean: f64, spots: f64| {
        let light = |p: [f64; 2]| match stripe(p) {
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
