//! Outlines on drawn scenes: pieces are found on many grounds, and what is no piece is left out or said.
//!
//! The checks are the shapes drawn here (seeded noise), not figures of the program.

mod drawn;

use drawn::{Noise, card};
use sherdlight::card::CorrectedImage;
use sherdlight::colour::LabD50;
use sherdlight::surface::{Label, Outline, SurfaceError, SurfaceMap, SurfaceSettings, map_surfaces};

const WIDTH: usize = 600;
const HEIGHT: usize = 450;
const WHITE: [f64; 3] = [80.0, 1.0, 9.0];
const RED: [f64; 3] = [41.0, 27.0, 23.0];
const BLACK: [f64; 3] = [31.0, 1.0, 4.0];
const SKIN: [f64; 3] = [65.0, 13.0, 17.0];
const LEAF: [f64; 3] = [42.0, -22.0, 28.0];

/// Colour of the ground at a place, with a draw of noise for its grain.
type Ground = fn(f64, f64, f64) -> [f64; 3];

const GROUNDS: [(&str, Ground); 6] = [
    ("board", |_, _, _| [55.0, 0.0, 4.0]),
    ("cloth", |x, y, n| [50.0 + 3.0 * (x * 1.2).sin() + 3.0 * (y * 1.2).sin() + n, 2.0, -6.0]),
    ("wood", |x, y, n| [52.0 + 5.0 * (y / 9.0 + (x / 70.0).sin()).sin() + n, 11.0, 24.0]),
    ("sand", |_, _, n| [64.0 + 4.0 * n, 5.0, 16.0]),
    ("concrete", |x, y, n| [62.0 + 2.0 * (x / 40.0).sin() * (y / 50.0).cos() + 2.0 * n, 0.0, 2.0]),
    ("grass", |_, _, n| [42.0 + 8.0 * n, -14.0 + 3.0 * n, 28.0]),
];

/// A disc: middle, radius.
type Disc = [f64; 3];

fn on(disc: Disc, x: f64, y: f64) -> bool {
    (x - disc[0]).hypot(y - disc[1]) < disc[2]
}

/// White slip, a red band at the rim, black lines.
fn painted(disc: Disc, x: f64, y: f64) -> [f64; 3] {
    let r = (x - disc[0]).hypot(y - disc[1]) / disc[2];
    if r > 0.85 {
        RED
    } else if (r * 8.0) as usize % 2 == 1 && y < disc[1] {
        BLACK
    } else {
        WHITE
    }
}

/// A picture of the ground, in light that falls off to the right, with soft ground shadows of `discs` to their lower
/// right, and over all what `paint` gives.
fn scene(ground: Ground, discs: &[Disc], paint: impl Fn(f64, f64) -> Option<[f64; 3]>) -> CorrectedImage {
    let mut noise = Noise::new(11);
    let mut xyz = Vec::new();
    for i in 0..WIDTH * HEIGHT {
        let (x, y) = ((i % WIDTH) as f64 + 0.5, (i / WIDTH) as f64 + 0.5);
        let grain = noise.draw();
        let thing = paint(x, y);
        let shade = |d: &Disc| {
            0.5 * (((d[2] + 4.0) - (x - d[0] - 12.0).hypot(y - d[1] - 10.0)) / 16.0).clamp(0.0, 1.0)
        };
        let shadow = if thing.is_some() { 0.0 } else { discs.iter().map(shade).fold(0.0, f64::max) };
        let c = LabD50::from(thing.unwrap_or_else(|| ground(x, y, grain))).to_xyz();
        let light = (1.0 - 0.25 * x / WIDTH as f64) * (1.0 - shadow) * (1.0 + 0.015 * noise.draw());
        xyz.push([c.x, c.y, c.z].map(|v| (v * light + 0.0008 * noise.draw()) as f32));
    }
    let clipped = vec![false; xyz.len()];
    CorrectedImage { width: WIDTH, height: HEIGHT, factor: 2, light: xyz.clone(), clipped, xyz }
}

fn mapped(image: &CorrectedImage) -> Result<SurfaceMap, SurfaceError> {
    map_surfaces(image, &card(), &SurfaceSettings::default())
}

fn of_discs(ground: Ground, discs: &[Disc]) -> CorrectedImage {
    scene(ground, discs, |x, y| discs.iter().find(|d| on(**d, x, y)).map(|d| painted(*d, x, y)))
}

/// Intersection over union of what is on a piece and a shape.
fn overlap(map: &SurfaceMap, shape: impl Fn(f64, f64) -> bool) -> f64 {
    let (mut both, mut any) = (0, 0);
    for (i, label) in map.labels.iter().enumerate() {
        let planted = shape((i % WIDTH) as f64 + 0.5, (i / WIDTH) as f64 + 0.5);
        both += usize::from(label.on_piece() && planted);
        any += usize::from(label.on_piece() || planted);
    }
    both as f64 / any.max(1) as f64
}

fn codes(map: &SurfaceMap) -> Vec<&str> {
    let own = map.pieces.iter().flat_map(|p| &p.warnings);
    map.warnings.iter().chain(own).map(|(code, _)| code.as_str()).collect()
}

#[test]
fn a_piece_is_found_on_every_ground_and_its_shadow_is_not() {
    let disc = [340.0, 240.0, 130.0];
    for (name, ground) in GROUNDS {
        let map = mapped(&of_discs(ground, &[disc])).unwrap_or_else(|e| panic!("{name}: {e}"));
        let share = overlap(&map, |x, y| on(disc, x, y));
        assert!(share > 0.95 && map.pieces.len() == 1, "{name}: {share:.3}, {} pieces", map.pieces.len());
        assert!(codes(&map).is_empty(), "{name}: {:?}", codes(&map));
    }
}

#[test]
fn pieces_clearly_apart_are_each_found() {
    let discs = [[190.0, 300.0, 90.0], [330.0, 130.0, 80.0], [480.0, 300.0, 75.0]];
    for (name, ground) in GROUNDS {
        let map = mapped(&of_discs(ground, &discs)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(map.pieces.len(), 3, "{name}");
        assert!(map.pieces.windows(2).all(|p| p[0].area >= p[1].area));
        for disc in discs {
            let number = map.piece_of[disc[1] as usize * WIDTH + disc[0] as usize];
            let area = map.pieces[usize::from(number) - 1].area as f64;
            let drawn = std::f64::consts::PI * disc[2] * disc[2];
            assert!((area / drawn - 1.0).abs() < 0.06, "{name}: {area} for {drawn:.0}");
        }
    }
}

#[test]
fn a_piece_of_one_surface_is_found() {
    let disc = [340.0, 240.0, 130.0];
    for (name, lab) in [("white", WHITE), ("red", RED), ("black", BLACK)] {
        let map = mapped(&scene(GROUNDS[3].1, &[disc], |x, y| on(disc, x, y).then_some(lab))).expect(name);
        assert!(overlap(&map, |x, y| on(disc, x, y)) > 0.97, "{name}");
    }
}

#[test]
fn a_hand_beside_or_on_the_piece_is_left_out() {
    let disc = [300.0, 200.0, 110.0];
    // A finger as wide as 50 pixels comes from the right edge, short of the piece or over its rim.
    for (name, tip) in [("beside", 450.0), ("holding", 380.0)] {
        let hand = |x: f64, y: f64| x > tip && (y - 220.0).abs() < 25.0;
        let image = scene(GROUNDS[0].1, &[disc], |x, y| {
            if hand(x, y) { Some(SKIN) } else { on(disc, x, y).then(|| painted(disc, x, y)) }
        });
        let map = mapped(&image).expect(name);
        let share = overlap(&map, |x, y| on(disc, x, y) && !hand(x, y));
        assert!(share > 0.95, "{name}: {share:.3}");
        assert_eq!(codes(&map), ["hand-left-out"], "{name}");
    }
}

#[test]
fn a_ball_is_no_piece_and_a_flat_disc_is_no_ball() {
    let (disc, ball) = ([300.0, 240.0, 110.0], [500.0, 330.0, 40.0]);
    // Lambert's cosine law, light from the upper left, with a share from the whole sky.
    let lit = |x: f64, y: f64| {
        let (u, v) = ((x - ball[0]) / ball[2], (y - ball[1]) / ball[2]);
        let z = (1.0 - u * u - v * v).max(0.0).sqrt();
        0.3 + 0.7 * ((-0.5 * u - 0.5 * v + 0.5f64.sqrt() * z).max(0.0))
    };
    let lab_of = |y: f64| [116.0 * y.cbrt() - 16.0, 1.0, 6.0];
    for (round, label) in [(true, Label::Ball), (false, Label::White)] {
        let image = scene(GROUNDS[1].1, &[disc], |x, y| {
            if on(ball, x, y) {
                Some(lab_of(if round { 0.8 * lit(x, y) } else { 0.6 }))
            } else {
                on(disc, x, y).then(|| painted(disc, x, y))
            }
        });
        let map = mapped(&image).expect("a piece is there");
        assert_eq!(map.labels[ball[1] as usize * WIDTH + ball[0] as usize], label);
        assert_eq!(map.pieces.len(), if round { 1 } else { 2 });
    }
}

#[test]
fn a_piece_cut_by_the_frame_is_measured_and_said() {
    let disc = [500.0, 240.0, 150.0];
    let map = mapped(&of_discs(GROUNDS[1].1, &[disc])).expect("most of it is in view");
    assert!(overlap(&map, |x, y| on(disc, x, y)) > 0.93);
    assert_eq!(codes(&map), ["piece-cut"]);
    assert!(map.pieces[0].warnings[0].1.contains("right"), "{}", map.pieces[0].warnings[0].1);
}

#[test]
fn a_leaf_is_no_pottery() {
    let (leaf, disc) = ([430.0, 240.0, 110.0], [190.0, 260.0, 100.0]);
    let alone = scene(GROUNDS[0].1, &[leaf], |x, y| on(leaf, x, y).then_some(LEAF));
    assert!(matches!(mapped(&alone), Err(SurfaceError::NotPottery)));
    let told =
        SurfaceSettings { outline: Some(Outline::Box([600.0, 200.0, 520.0, 560.0])), ..Default::default() };
    let map = map_surfaces(&alone, &card(), &told).expect("an outline told by hand is measured");
    assert!(codes(&map).contains(&"not-pottery"));
    let beside = scene(GROUNDS[0].1, &[leaf, disc], |x, y| {
        if on(leaf, x, y) { Some(LEAF) } else { on(disc, x, y).then(|| painted(disc, x, y)) }
    });
    let map = mapped(&beside).expect("a piece lies beside it");
    assert_eq!((map.pieces.len(), codes(&map)), (1, vec!["not-pottery"]));
    assert!(overlap(&map, |x, y| on(disc, x, y)) > 0.95);
}

#[test]
fn two_hundred_sherds_are_taken_as_far_as_they_are_large_enough() {
    // 20 rows of 15, a third of them tiny; the card's corner stays free.
    let sherds: Vec<Disc> = (0..300)
        .map(|k| {
            (
                20.0 + (k % 20) as f64 * 29.5,
                20.0 + (k / 20) as f64 * 29.0,
                if k % 3 == 0 { 3.0 } else { 10.0 },
            )
        })
        .filter(|(x, y, _)| *x > 135.0 || *y > 105.0)
        .map(|(x, y, r)| [x, y, r])
        .collect();
    let large = sherds.iter().filter(|d| d[2] > 5.0).count();
    let map = mapped(&scene(GROUNDS[0].1, &[], |x, y| sherds.iter().any(|d| on(*d, x, y)).then_some(RED)));
    match map {
        Ok(map) => assert!(
            map.pieces.len() <= large && map.pieces.len() > large / 2,
            "{} of {large}",
            map.pieces.len()
        ),
        Err(e) => panic!("{e}"),
    }
}

#[test]
fn a_sheet_under_card_and_piece_is_no_piece() {
    let disc = [360.0, 230.0, 100.0];
    let sheet = |x: f64, y: f64| x > 2.0 && x < 560.0 && y > 2.0 && y < 400.0;
    let image = scene(GROUNDS[2].1, &[], |x, y| {
        if on(disc, x, y) { Some(painted(disc, x, y)) } else { sheet(x, y).then_some([93.0, 0.0, 1.0]) }
    });
    let map = mapped(&image).expect("a piece lies on the sheet");
    assert!(overlap(&map, |x, y| on(disc, x, y)) > 0.95);
}
