//! The light ball and the form of a vessel, on scenes drawn from equations: what every place gets is exact.
//!
//! Light: E(n) = 1/2 + 1/2 n . u, the irradiance of a light that is brightest from u (order 1 of Ramamoorthi & Hanrahan
//! 2001, and order 0), seen with a lens so long that rays are parallel.

mod drawn;

use sherdlight::card::{CardPlace, CorrectedImage};
use sherdlight::light::{BALL_UNUSED, FORM_UNKNOWN, FormChoice, Level, View, find_levels, settle};
use sherdlight::surface::{Label, SurfaceMap, SurfaceSettings, map_surfaces};

const SIZE: [usize; 2] = [1000, 760];
/// Towards the light: from above and a little from the front.
const LIGHT: [f64; 3] = [-0.3, -0.85, -0.433];
/// Middle and radius of the ball.
const BALL: [f64; 3] = [760.0, 520.0, 70.0];
/// The cylinder: middle of its mouth, radius, height, and the sine of its lean towards the camera.
const MOUTH: [f64; 2] = [420.0, 200.0];
const RADIUS: f64 = 130.0;
const TALL: f64 = 360.0;
const LEAN: f64 = 0.35;

fn irradiance(n: [f64; 3]) -> f64 {
    0.5 + 0.5 * (0..3).map(|k| n[k] * LIGHT[k]).sum::<f64>()
}

/// Light on a normal over that on the card, which faces the camera.
fn relative(n: [f64; 3]) -> f64 {
    irradiance(n) / irradiance([0.0, 0.0, -1.0])
}

/// Light on the wall of the cylinder at a place, if it is wall.
fn on_wall(x: f64, y: f64) -> Option<f64> {
    let across = (x - MOUTH[0]) / RADIUS;
    if across.abs() >= 1.0 {
        return None;
    }
    let front = (1.0 - across * across).sqrt();
    let cosine = (1.0 - LEAN * LEAN).sqrt();
    let rim = MOUTH[1] + RADIUS * LEAN * front;
    let is_wall = y > rim && y < rim + TALL * cosine;
    is_wall.then(|| relative([across, LEAN * front, -cosine * front]))
}

fn in_mouth(x: f64, y: f64) -> bool {
    ((x - MOUTH[0]) / RADIUS).powi(2) + ((y - MOUTH[1]) / (RADIUS * LEAN)).powi(2) <= 1.0
}

/// What the ball gives back at a place, by its normal.
type Ball = fn([f64; 3]) -> f64;

fn matte(n: [f64; 3]) -> f64 {
    0.55 * relative(n)
}

/// The scene: grey ground, the piece as `piece` says (reflectance times light), the ball.
fn scene(ball: Ball, at: [f64; 3], piece: impl Fn(f64, f64) -> Option<f64>) -> CorrectedImage {
    let luminance = |x: f64, y: f64| {
        let (dx, dy) = ((x - at[0]) / at[2], (y - at[1]) / at[2]);
        let square = dx * dx + dy * dy;
        if square < 1.0 { ball([dx, dy, -(1.0 - square).sqrt()]) } else { piece(x, y).unwrap_or(0.08) }
    };
    // Grain of one part in a hundred.
    let mut noise = drawn::Noise::new(1);
    let xyz = (0..SIZE[0] * SIZE[1])
        .map(|i| luminance((i % SIZE[0]) as f64 + 0.5, (i / SIZE[0]) as f64 + 0.5))
        .map(|v| (v * (1.0 + 0.01 * noise.draw())) as f32)
        .map(|v| [0.9642 * v, v, 0.8249 * v])
        .collect::<Vec<_>>();
    CorrectedImage {
        width: SIZE[0],
        height: SIZE[1],
        factor: 1,
        light: xyz.clone(),
        clipped: vec![false; xyz.len()],
        xyz,
    }
}

/// White slip with black bands on the wall, dark inside.
fn cylinder(x: f64, y: f64) -> Option<f64> {
    let paint = if (y as usize / 25).is_multiple_of(3) { 0.06 } else { 0.6 };
    on_wall(x, y).map(|light| paint * light).or_else(|| in_mouth(x, y).then_some(0.2))
}

fn measured(image: &CorrectedImage, ball: [f64; 3], choice: FormChoice) -> (SurfaceMap, Vec<Option<Level>>) {
    let card = drawn::card();
    let settings = SurfaceSettings { ball: Some(ball), ..SurfaceSettings::default() };
    let mut map = map_surfaces(image, &card, &settings).expect("a piece is there");
    settle(image, &mut map);
    let place: &CardPlace = card.place.as_ref().expect("its place is told");
    let view = View::of(place, SIZE, Some(1000.0)).expect("a plane");
    let levels = find_levels(&view, image, &mut map, choice);
    (map, levels)
}

fn says(map: &SurfaceMap, code: &str) -> bool {
    let own = map.pieces.iter().flat_map(|piece| &piece.warnings);
    map.warnings.iter().chain(own).any(|(said, _)| said == code)
}

#[test]
fn the_light_on_a_wall_comes_back() {
    let (map, levels) = measured(&scene(matte, BALL, cylinder), BALL, FormChoice::Auto);
    let level = levels[0].expect("ball and form tell the light");
    let mut errors: Vec<f64> = (0..SIZE[0] * SIZE[1])
        .filter(|&at| map.piece_of[at] == 1)
        .filter_map(|at| {
            let exact = on_wall((at % SIZE[0]) as f64 + 0.5, (at / SIZE[0]) as f64 + 0.5)?;
            Some((level.factor * f64::from(map.light[at]) / exact - 1.0).abs())
        })
        .collect();
    errors.sort_by(f64::total_cmp);
    assert!(errors.len() > 50_000);
    let median = errors[errors.len() / 2];
    // The wall leans away from the light: with the card's light on its brightest part it would be a quarter off.
    assert!(median < 0.05 && level.factor < 0.9, "median error {median}, {level:?}");
    assert!(level.u95 > 0.05 && level.u95 < 0.25, "{level:?}");
}

/// The ball's own colour drops out.
#[test]
fn a_darker_ball_tells_the_same() {
    let darker: Ball = |n| 0.4 * matte(n) / 0.55;
    let of =
        |ball| measured(&scene(ball, BALL, cylinder), BALL, FormChoice::Auto).1[0].expect("a level").factor;
    assert!((of(matte) / of(darker) - 1.0).abs() < 0.01);
}

#[test]
fn a_bad_ball_is_not_used_and_said() {
    let shadow: Ball = |n| matte(n) * if n[0] + 0.4 * n[1] > 0.1 { 0.4 } else { 1.0 };
    let shining: Ball = |n| matte(n) + 1.2 * (-((n[0] + 0.3).powi(2) + (n[1] + 0.4).powi(2)) / 0.03).exp();
    let onion: Ball = |n| matte(n) * if (10.0 * n[0]).sin() > 0.0 { 1.0 } else { 0.7 };
    let cut = [980.0, 520.0, 70.0];
    let small = [760.0, 520.0, 8.0];
    for (why, ball, at) in [
        ("shadow", shadow, BALL),
        ("shine", shining, BALL),
        ("stripes", onion, BALL),
        ("cut", matte, cut),
        ("small", matte, small),
    ] {
        let (map, levels) = measured(&scene(ball, at, cylinder), at, FormChoice::Auto);
        assert!(levels[0].is_none() && says(&map, BALL_UNUSED), "{why}: {levels:?}");
    }
}

/// An outline without symmetry is no round vessel; told to be flat, it has the card's light.
#[test]
fn a_piece_without_symmetry_is_said_and_can_be_told_flat() {
    let sherd = |x: f64, y: f64| {
        let is_in =
            x > 250.0 && y > 180.0 && x + 0.4 * y < 640.0 && y - 0.3 * x < 400.0 && x - 1.5 * y < -20.0;
        is_in.then_some(if (y as usize / 25).is_multiple_of(3) { 0.06 } else { 0.6 })
    };
    let image = scene(matte, BALL, sherd);
    let (map, levels) = measured(&image, BALL, FormChoice::Auto);
    assert!(levels[0].is_none() && says(&map, FORM_UNKNOWN), "{levels:?}");
    let (map, levels) = measured(&image, BALL, FormChoice::Flat);
    let level = levels[0].expect("a level");
    assert!((level.factor - 1.0).abs() < 0.05 && !says(&map, FORM_UNKNOWN), "{level:?}");
}

#[test]
fn without_a_ball_nothing_is_told() {
    let image = scene(matte, [5000.0, 5000.0, 1.0], cylinder);
    let card = drawn::card();
    let mut map = map_surfaces(&image, &card, &SurfaceSettings::default()).expect("a piece is there");
    settle(&image, &mut map);
    let light = map.light.clone();
    let view = View::of(card.place.as_ref().expect("its place"), SIZE, None).expect("a plane");
    let levels = find_levels(&view, &image, &mut map, FormChoice::Auto);
    assert!(levels.iter().all(Option::is_none) && map.light == light);
    assert!(!map.labels.contains(&Label::Ball) && !says(&map, BALL_UNUSED) && !says(&map, FORM_UNKNOWN));
}
