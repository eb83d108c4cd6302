//! Random shots: a piece of the studio, another camera, light, view and firing.

use super::camera::Model;
use super::pictures::{self, Picture};
use super::scene::{Ground, Light};
use super::shapes::V3;
use super::skin::Faults;
use nalgebra::Rotation3;

/// Numbers by a seed (SplitMix64: Steele, Lea & Flood 2014).
pub struct Dice(u64);

impl Dice {
    /// One stream a shot.
    pub fn new(seed: u64, stream: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ stream.wrapping_mul(0xd1b5_4a32_d192_ed03))
    }
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    /// A whole number below `n`.
    pub fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
    /// Even between two ends.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }
    /// `value` moved by up to `by` either way.
    fn about(&mut self, value: f64, by: f64) -> f64 {
        self.between(value - by, value + by)
    }
    fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[self.below(choices.len())]
    }
}

/// The key light from about where it was, and as much sky as from a lamp in a room to the open shade.
fn light(key: V3, dice: &mut Dice) -> Light {
    Light {
        kelvin: dice.between(4_300.0, 7_800.0),
        to_key: V3::new(dice.about(key.x, 0.3), dice.about(key.y, 0.2), dice.about(key.z, 0.15)).normalize(),
        share: dice.between(0.05, 0.7),
        width: dice.between(0.1, 0.5),
    }
}

/// Vessels are not always shot upright: half of them stand, leaning by a few degrees where the ground is uneven; jars
/// and bowls lie on their side as well, mouth or base towards the camera or away from it, and bowls on their rim. Dishes
/// that are seen into are propped up.
fn lay(picture: &mut Picture, dice: &mut Dice) {
    let (tilt, round) = match (picture.object, dice.below(4)) {
        ("bowl_inside", _) => (dice.between(0.0, 35.0), dice.about(0.0, 50.0)),
        (_, 0 | 1) => (dice.between(0.0, 6.0), dice.about(0.0, 180.0)),
        ("bowl_outside", 2) => (180.0, 0.0),
        // On its side: turned about the way to the camera (y) so far, then round the upright.
        _ => (dice.between(70.0, 110.0) * dice.one_of(&[1.0, -1.0]), dice.about(0.0, 60.0)),
    };
    // Leaning sideways first; dishes lean towards the camera, where their inside is seen.
    let lean = if picture.object == "bowl_inside" { V3::x_axis() } else { V3::y_axis() };
    let turn = Rotation3::from_axis_angle(&V3::z_axis(), round.to_radians())
        * Rotation3::from_axis_angle(&lean, tilt.to_radians());
    picture.turned(turn);
}

/// The shot of that number.
pub fn picture(shot: usize, dice: &mut Dice) -> Picture {
    let mut all = pictures::all();
    let mut picture = all.swap_remove(shot % all.len());
    picture.camera = Model {
        id: "drawn",
        curves: [[600.0, 35.0], [534.0, 40.0], [455.0, 28.0]]
            .map(|[peak, width]| [dice.about(peak, 7.0), dice.about(width, 4.0)]),
        balance: [dice.about(1.0, 0.04), dice.about(1.0, 0.04)],
        full_well: dice.between(6_000.0, 30_000.0),
        blur: dice.between(0.5, 1.0),
        vignetting: dice.between(0.02, 0.1),
        // What a real shot has and a clean rendering lacks, as wide as is common: stray light of up to 2 % of the picture's
        // mean, the contrast curve of an ordinary picture style, and a card that is not quite its table (from memory).
        flare: dice.between(0.0, 0.02),
        curve: dice.between(0.0, 0.3),
        print: dice.between(0.0, 0.02),
    };
    picture.light = light(picture.light.to_key, dice);
    if matches!(picture.object, "jar" | "bowl_outside" | "bowl_inside") {
        lay(&mut picture, dice);
    }
    picture.moved(
        [dice.about(0.0, 40.0), dice.about(0.0, 40.0), dice.about(0.0, 30.0)],
        dice.between(0.93, 1.03),
    );
    let turned = dice.one_of(&[0.0, 180.0]) + dice.about(0.0, 12.0);
    picture.card.turn(turned);
    picture.ground = dice.one_of(&[Ground::Cloth, Ground::Board, Ground::Sand, Ground::Wood]);
    picture.white = dice.one_of(&["white", "cream"]);
    picture.red = dice.one_of(&["red", "deep red"]);
    picture.gloss[0] *= dice.between(0.6, 1.2);
    let mut flaw = |most: f64| if dice.below(4) == 0 { dice.between(0.1, most) } else { 0.0 };
    let [greying, buffing, burn_out, dull_red] = [flaw(0.9), flaw(0.9), flaw(0.9), flaw(0.9)];
    picture.faults = Faults { greying, buffing, burn_out, dull_red, ..picture.faults };
    picture.seed ^= dice.next() >> 16;
    picture
}
