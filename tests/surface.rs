//! Surfaces on drawn scenes: what is planted must be found, under any light and exposure.
//!
//! The checks are properties of the scenes drawn here (seeded noise), not figures of the program.

mod drawn;

use drawn::{Noise, card};
use sherdlight::card::CorrectedImage;
use sherdlight::colour::LabD50;
use sherdlight::surface::{Label, Outline, SurfaceError, SurfaceMap, SurfaceSettings, map_surfaces};

const WIDTH: usize = 420;
const HEIGHT: usize = 320;
/// The plate: x0, y0, x1, y1.
const PLATE: [usize; 4] = [110, 50, 330, 270];

/// Colours of common practice for such ware: white slip, red ochre, black paint, brown clay.
const WHITE: [f64; 3] = [80.0, 1.0, 9.0];
const RED: [f64; 3] = [41.0, 27.0, 23.0];
const BLACK: [f64; 3] = [31.0, 1.0, 4.0];
const BODY: [f64; 3] = [53.0, 7.0, 18.0];
const GROUND: [f64; 3] = [58.0, -1.0, -2.0];

fn planted(x: usize, y: usize) -> Label {
    let [x0, y0, x1, y1] = PLATE;
    if x < x0 || x >= x1 || y < y0 || y >= y1 {
        return Label::Background;
    }
    let (u, v) = (x - x0, y - y0);
    match (u, v) {
        (0..60, _) => Label::Red,
        (60..70, _) => Label::Body,
        // Blocks of paint.
        (90..120, 20..60) | (150..180, 20..60) | (90..120, 150..190) => Label::Black,
        // Lines 3 pixels wide, 9 apart.
        (90..200, 80..130) if (v - 80) % 12 < 3 => Label::Black,
        _ => Label::White,
    }
}

fn scene(plan: impl Fn(usize, usize) -> Label, light: impl Fn(f64, f64) -> f64) -> CorrectedImage {
    let mut noise = Noise::new(3);
    let mut xyz = Vec::new();
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let lab = match plan(x, y) {
                Label::White => WHITE,
                Label::Red => RED,
                Label::Black => BLACK,
                Label::Body => BODY,
                _ => GROUND,
            };
            let c = LabD50::from(lab).to_xyz();
            let lit = light(x as f64 / WIDTH as f64, y as f64 / HEIGHT as f64);
            let grain = 1.0 + 0.02 * noise.draw();
            xyz.push([c.x, c.y, c.z].map(|v| (v * lit * grain + 0.0008 * noise.draw()) as f32));
        }
    }
    CorrectedImage {
        width: WIDTH,
        height: HEIGHT,
        factor: 2,
        light: xyz.clone(),
        clipped: vec![false; xyz.len()],
        xyz,
    }
}

fn mapped(image: &CorrectedImage) -> SurfaceMap {
    map_surfaces(image, &card(), &SurfaceSettings::default()).expect("a plate is there")
}

fn overlap(map: &SurfaceMap, plan: impl Fn(usize, usize) -> Label, label: Label) -> f64 {
    let (mut both, mut any) = (0, 0);
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let (p, q) = (map.labels[y * WIDTH + x] == label, plan(x, y) == label);
            both += usize::from(p && q);
            any += usize::from(p || q);
        }
    }
    both as f64 / any.max(1) as f64
}

fn ramp(x: f64, y: f64) -> f64 {
    1.0 - 0.5 * x - 0.1 * y
}

#[test]
fn four_surfaces_and_the_outline_are_found() {
    let map = mapped(&scene(planted, |_, _| 1.0));
    assert_eq!(map.pieces.len(), 1);
    for label in [Label::White, Label::Red, Label::Black, Label::Body] {
        let share = overlap(&map, planted, label);
        assert!(share > 0.9, "{}: {share:.3}", label.name());
    }
    let piece = &map.pieces[0];
    let side = (PLATE[2] - PLATE[0]) as f64;
    assert!((piece.area as f64 / (side * side) - 1.0).abs() < 0.03);
    // Outline corners are full-size pixels: the picture is reduced by 2.
    assert!(piece.outline_px.len() >= 4);
    let far = |p: &[f64; 2]| {
        let off = |v: f64, a: usize, b: usize| (v / 2.0 - a as f64).abs().min((v / 2.0 - b as f64).abs());
        off(p[0], PLATE[0], PLATE[2]).min(off(p[1], PLATE[1], PLATE[3]))
    };
    assert!(piece.outline_px.iter().all(|p| far(p) < 4.0));
    assert_eq!(map.labels[20 * WIDTH + 20], Label::Card);
    assert!(map.labels.iter().zip(&map.piece_of).all(|(l, &n)| l.on_piece() == (n > 0)));
}

#[test]
fn three_pixel_lines_are_kept() {
    let map = mapped(&scene(planted, ramp));
    let lines = |x: usize, y: usize| {
        let inside = (200..310).contains(&x) && (130..180).contains(&y);
        if inside { planted(x, y) } else { Label::Background }
    };
    let (mut kept, mut drawn) = (0, 0);
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            if lines(x, y) == Label::Black {
                drawn += 1;
                kept += usize::from(map.labels[y * WIDTH + x] == Label::Black);
            }
        }
    }
    assert!(kept as f64 > 0.95 * drawn as f64, "{kept} of {drawn}");
}

#[test]
fn labels_do_not_change_with_smooth_light_or_exposure() {
    let even = mapped(&scene(planted, |_, _| 1.0));
    let plate = ((PLATE[2] - PLATE[0]) * (PLATE[3] - PLATE[1])) as f64;
    for (name, image) in [
        ("ramp", scene(planted, ramp)),
        ("half the exposure", scene(planted, |_, _| 0.5)),
        ("brighter", scene(planted, |_, _| 1.25)),
    ] {
        let map = mapped(&image);
        let moved = map.labels.iter().zip(&even.labels).filter(|(p, q)| p != q).count() as f64;
        assert!(moved < 0.03 * plate, "{name}: {:.4} of the plate moved", moved / plate);
    }
}

#[test]
fn the_planted_light_is_found() {
    let map = mapped(&scene(planted, ramp));
    // White at both ends of the plate: the ratio of light there is known.
    let (near, far) = ((190, 160), (325, 160));
    let at = |(x, y): (usize, usize)| f64::from(map.light[y * WIDTH + x]);
    let of = |(x, y): (usize, usize)| ramp(x as f64 / WIDTH as f64, y as f64 / HEIGHT as f64);
    let found = at(far) / at(near);
    let want = of(far) / of(near);
    assert!((found / want - 1.0).abs() < 0.05, "{found:.3} for {want:.3}");
    assert!(map.light.iter().zip(&map.piece_of).all(|(&l, &n)| n > 0 || l == 1.0));
}

#[test]
fn absent_surfaces_stay_absent() {
    let [x0, y0, x1, y1] = PLATE;
    let plain = |x: usize, y: usize| {
        if (x0..x1).contains(&x) && (y0..y1).contains(&y) { Label::White } else { Label::Background }
    };
    let map = mapped(&scene(plain, ramp));
    let area = map.pieces[0].area as f64;
    for label in
        [Label::Red, Label::Black, Label::Body, Label::LostPaint, Label::Glare, Label::Shade, Label::Cloud]
    {
        let n = map.labels.iter().filter(|&&l| l == label).count() as f64;
        assert!(n < 0.005 * area, "{}: {n}", label.name());
    }
}

#[test]
fn a_soft_dark_blotch_is_a_cloud_and_a_ramp_is_none() {
    // Soot covers up to 0.8 in the middle of a blotch on the white field and fades over 30 pixels.
    let (cx, cy) = (250.0, 215.0);
    let soot = |x: f64, y: f64| {
        let r = ((x * WIDTH as f64 - cx).powi(2) + (y * HEIGHT as f64 - cy).powi(2)).sqrt();
        1.0 - 0.8 * (1.0 - ((r - 20.0) / 30.0).clamp(0.0, 1.0))
    };
    let settled = |image: &CorrectedImage| {
        let mut map = mapped(image);
        sherdlight::light::settle(image, &mut map);
        map
    };
    let map = settled(&scene(planted, |x, y| ramp(x, y) * soot(x, y)));
    let at = |x: usize, y: usize| map.labels[y * WIDTH + x];
    assert_eq!(at(250, 215), Label::Cloud);
    assert_eq!(at(250, 65), Label::White);
    let clean = settled(&scene(planted, ramp));
    assert!(!clean.labels.contains(&Label::Cloud));
}

#[test]
fn outlines_told_by_hand_are_kept_to() {
    let image = scene(planted, |_, _| 1.0);
    let told = |outline| {
        map_surfaces(&image, &card(), &SurfaceSettings { outline: Some(outline), ..Default::default() })
    };
    // A triangle inside the plate, full-size pixels.
    let corners = vec![[300.0, 200.0], [600.0, 200.0], [300.0, 500.0]];
    let map = told(Outline::Polygon(corners)).expect("it holds much of the plate");
    let area = map.labels.iter().filter(|l| l.on_piece()).count() as f64;
    assert!((area / (150.0 * 150.0 / 2.0) - 1.0).abs() < 0.02, "{area}");
    let around = told(Outline::Box([180.0, 60.0, 540.0, 540.0])).expect("the plate lies inside");
    assert!(overlap(&around, planted, Label::Red) > 0.9);
    for nothing in [
        Outline::Box([5000.0, 10.0, 50.0, 50.0]),
        Outline::Box([f64::NAN, 10.0, 50.0, 50.0]),
        Outline::Polygon(vec![[10.0, 10.0], [12.0, 10.0], [12.0, 12.0]]),
        Outline::Polygon(vec![[f64::NAN; 2]; 3]),
        Outline::Polygon(Vec::new()),
    ] {
        assert!(matches!(told(nothing), Err(SurfaceError::EmptyOutline)));
    }
}

#[test]
fn an_empty_picture_has_no_piece() {
    let image = scene(|_, _| Label::Background, ramp);
    let found = map_surfaces(&image, &card(), &SurfaceSettings::default());
    assert!(matches!(found, Err(SurfaceError::NoPiece)));
    for (width, height) in [(1, 1), (2, 3), (40, 1)] {
        let n = width * height;
        let tiny = CorrectedImage {
            width,
            height,
            factor: 1,
            xyz: vec![[0.3, 0.3, 0.2]; n],
            light: vec![[0.3; 3]; n],
            clipped: vec![false; n],
        };
        assert!(map_surfaces(&tiny, &card(), &SurfaceSettings::default()).is_err());
    }
}

#[test]
fn the_map_is_the_same_for_any_number_of_threads() {
    let image = scene(planted, ramp);
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        pool.install(|| mapped(&image))
    };
    let (one, four) = (run(1), run(4));
    assert_eq!(one.labels, four.labels);
    assert!(one.light.iter().zip(&four.light).all(|(p, q)| p.to_bits() == q.to_bits()));
}
