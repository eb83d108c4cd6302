//! The light ball and the form of a vessel, on scenes drawn from equations: what every place gets is exact.
//!
//! Light: E(n) = 1/2 + 1/2 n . u, the irradiance of a light that is brightest from u (order 1 of Ramamoorthi & Hanrahan
//! 2001, and order 0), seen with a lens so long that rays are parallel.

mod drawn;

use sherdlight::card::{CardPlace, CorrectedImage};
use sherdlight::light::{BALL_UNUSED, FORM_UNKNOWN, FormChoice, Level, Source, View, find_levels, settle};
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

fn irradiance(light: [f64; 3], n: [f64; 3]) -> f64 {
    0.5 + 0.5 * (0..3).map(|k| n[k] * light[k]).sum::<f64>()
}

/// Light on a normal over that on the card, which faces the camera.
fn relative(light: [f64; 3], n: [f64; 3]) -> f64 {
    irradiance(light, n) / irradiance(light, [0.0, 0.0, -1.0])
}

/// Light on the wall of the cylinder at a place, if it is wall.
fn on_wall(light: [f64; 3], x: f64, y: f64) -> Option<f64> {
    let across = (x - MOUTH[0]) / RADIUS;
    if across.abs() >= 1.0 {
        return None;
    }
    let front = (1.0 - across * across).sqrt();
    let cosine = (1.0 - LEAN * LEAN).sqrt();
    let rim = MOUTH[1] + RADIUS * LEAN * front;
    let is_wall = y > rim && y < rim + TALL * cosine;
    is_wall.then(|| relative(light, [across, LEAN * front, -cosine * front]))
}

fn in_mouth(x: f64, y: f64) -> bool {
    ((x - MOUTH[0]) / RADIUS).powi(2) + ((y - MOUTH[1]) / (RADIUS * LEAN)).powi(2) <= 1.0
}

/// What the ball gives back at a place, by its normal.
type Ball = fn([f64; 3]) -> f64;

fn matte(n: [f64; 3]) -> f64 {
    0.55 * relative(LIGHT, n)
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
    cylinder_in(LIGHT, x, y)
}

fn cylinder_in(light: [f64; 3], x: f64, y: f64) -> Option<f64> {
    // Bands run round the pot: each is as far below the rim everywhere.
    let across = ((x - MOUTH[0]) / RADIUS).clamp(-1.0, 1.0);
    let below = y - MOUTH[1] - RADIUS * LEAN * (1.0 - across * across).sqrt();
    let paint = if (below.max(0.0) as usize / 25).is_multiple_of(3) { 0.06 } else { 0.6 };
    on_wall(light, x, y).map(|light| paint * light).or_else(|| in_mouth(x, y).then_some(0.2))
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
            let exact = on_wall(LIGHT, (at % SIZE[0]) as f64 + 0.5, (at / SIZE[0]) as f64 + 0.5)?;
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

/// A bowl on its side turns its base to the camera: a truncated cone, base 70 wide and 0.7 wider each step. Its outline
/// could be that of a bowl seen into; the bands tell. Light on base or wall at a place, how far along the axis it lies, and
/// whether it is the base.
fn on_lying_bowl(x: f64, y: f64) -> Option<(f64, f64, bool)> {
    let (sine, cosine) = (0.45, f64::sqrt(1.0 - 0.45 * 0.45));
    let (narrow, flare, tall) = (70.0, 0.7, 150.0);
    // The axis runs to the right of the picture and away from the camera.
    let (along, across) = (x - 300.0, y - 330.0);
    let is_base = across.powi(2) + (along / sine).powi(2) < narrow * narrow;
    if is_base {
        return Some((relative(LIGHT, [-cosine, 0.0, -sine]), 0.0, true));
    }
    // Depth z on the wall: across^2 + (z cosine - along sine)^2 = (narrow + flare h)^2 with h = along cosine + z sine.
    let begin = narrow + flare * along * cosine;
    let square = cosine * cosine - (flare * sine).powi(2);
    let half = -along * sine * cosine - begin * flare * sine;
    let rest = across.powi(2) + (along * sine).powi(2) - begin * begin;
    let root = half * half - square * rest;
    let z = (-half - root.max(0.0).sqrt()) / square;
    let height = along * cosine + z * sine;
    if root < 0.0 || !(0.0..tall).contains(&height) {
        return None;
    }
    let wide = narrow + flare * height;
    let radial = [across / wide, (z * cosine - along * sine) / wide];
    let long = f64::hypot(1.0, flare);
    // Radially out, less the flare along the axis.
    let normal = [
        (-radial[1] * sine - flare * cosine) / long,
        radial[0] / long,
        (radial[1] * cosine - flare * sine) / long,
    ];
    Some((relative(LIGHT, normal), height, false))
}

#[test]
fn the_bands_tell_a_base_from_a_mouth() {
    let bowl = |x: f64, y: f64| {
        let (light, height, is_base) = on_lying_bowl(x, y)?;
        let paint = if !is_base && (height as usize / 12).is_multiple_of(3) { 0.06 } else { 0.6 };
        Some(paint * light)
    };
    let (map, levels) = measured(&scene(matte, BALL, bowl), BALL, FormChoice::Auto);
    let level = levels[0].expect("ball and form tell the light");
    for base in [false, true] {
        let mut errors: Vec<f64> = (0..SIZE[0] * SIZE[1])
            .filter(|&at| map.piece_of[at] == 1)
            .filter_map(|at| {
                let spot = on_lying_bowl((at % SIZE[0]) as f64 + 0.5, (at / SIZE[0]) as f64 + 0.5)?;
                (spot.2 == base).then(|| (level.factor * f64::from(map.light[at]) / spot.0 - 1.0).abs())
            })
            .collect();
        errors.sort_by(f64::total_cmp);
        assert!(errors.len() > 5_000);
        let median = errors[errors.len() / 2];
        assert!(median < 0.05, "base {base}: {median}, {level:?}");
    }
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
        assert!(
            levels[0].is_none_or(|l| l.source == Source::Form) && says(&map, BALL_UNUSED),
            "{why}: {levels:?}"
        );
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

/// Without a ball the light is guessed from the form. The intervals of 95 % hold the light on the wall under at least ten of
/// twelve lights, and are wider than with a ball.
#[test]
fn without_a_ball_the_form_lets_guess() {
    let card = drawn::card();
    let guessed = |light: [f64; 3], choice: FormChoice| {
        let image = scene(matte, [5000.0, 5000.0, 1.0], |x, y| cylinder_in(light, x, y));
        let mut map = map_surfaces(&image, &card, &SurfaceSettings::default()).expect("a piece is there");
        settle(&image, &mut map);
        let view = View::of(card.place.as_ref().expect("its place"), SIZE, Some(1000.0)).expect("a plane");
        let level = find_levels(&view, &image, &mut map, choice)[0];
        assert!(!map.labels.contains(&Label::Ball) && !says(&map, BALL_UNUSED) && !says(&map, FORM_UNKNOWN));
        level.inspect(|level| assert_eq!(level.source, Source::Form)).map(|level| (map, level))
    };
    let with_ball = measured(&scene(matte, BALL, cylinder), BALL, FormChoice::Auto).1[0].expect("a level");
    assert!(with_ball.source == Source::Ball);
    let mut held = 0;
    for k in 0..12 {
        // From left over the top of the photograph to the right, more or less towards the camera.
        let (turn, rise) = (-std::f64::consts::PI * f64::from(k) / 11.0, [0.9, 0.75, 0.6][k as usize % 3]);
        let flat = f64::sqrt(1.0 - rise * rise);
        let light = [flat * f64::cos(turn), flat * f64::sin(turn), -rise];
        // Where the light of no form is like the shading, nothing is guessed.
        let Some((map, level)) = guessed(light, FormChoice::Round) else { continue };
        let mut apart: Vec<f64> = (0..SIZE[0] * SIZE[1])
            .filter(|&at| map.piece_of[at] == 1)
            .filter_map(|at| {
                let exact = on_wall(light, (at % SIZE[0]) as f64 + 0.5, (at / SIZE[0]) as f64 + 0.5)?;
                Some((level.factor * f64::from(map.light[at]) / exact).ln())
            })
            .collect();
        apart.sort_by(f64::total_cmp);
        held += i32::from(apart[apart.len() / 2].abs() < level.u95);
        assert!(with_ball.u95 < level.u95, "{with_ball:?} {level:?}");
    }
    assert!(held >= 10, "{held} of 12");
    // The outline could be that of a tile: unless its form is told, nothing is guessed.
    assert!(guessed(LIGHT, FormChoice::Auto).is_none());
    // Told to lie flat, the piece gets the card's light in the middle of its field.
    let (map, level) = guessed(LIGHT, FormChoice::Flat).expect("told to be flat");
    let mut lights: Vec<f32> =
        (0..map.light.len()).filter(|&at| map.piece_of[at] == 1).map(|at| map.light[at]).collect();
    lights.sort_by(f32::total_cmp);
    let middle = level.factor * f64::from(lights[lights.len() / 2]);
    assert!((middle.ln()).abs() < level.u95, "{middle}: {level:?}");
}
