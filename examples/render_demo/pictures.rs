//! The photographs of an invented studio, Copperwren Yard: what was shot, and how.

use super::camera::Model;
use super::coats::{inside, jar, outside, sherd};
use super::motifs::Motif::{Block, Diamonds, Dots, Leaves, Line, Rain, Slants, Stairs, Wave};
use super::scene::{Card, Ground, Light, Pose, View};
use super::shapes::Side::Outer;
use super::shapes::{Shape, V3, Vessel};
use super::skin::Coat::{Red, White};
use super::skin::{Faults, Row, Zone};
use super::slab::{Slab, broken};

/// One photograph.
pub struct Picture {
    pub name: &'static str,
    /// As in the truth: `jar`, `bowl_outside`, `bowl_inside`, `sherd`, `tile`.
    pub object: &'static str,
    pub shape: Shape,
    pub pose: Pose,
    pub zones: Vec<Zone>,
    pub rows: Vec<Row>,
    /// Names of the materials of the white and the red slip and of the paint.
    pub white: &'static str,
    pub red: &'static str,
    pub paint: &'static str,
    pub faults: Faults,
    /// Strength and exponent of the gloss of polished red.
    pub gloss: [f64; 2],
    pub card: Card,
    pub light: Light,
    pub ground: Ground,
    pub camera: Model,
    eye: [f64; 3],
    target: [f64; 3],
    /// Focal length as a share of the picture's width.
    focal: f64,
    pub seed: u64,
    /// Firing, slip, red, paint, place in the fire, notes: the row of the sheet.
    pub sheet: [&'static str; 6],
}

impl Picture {
    /// Seen from elsewhere (mm), nearer or farther by the focal length.
    #[allow(dead_code, reason = "for the random shots of `examples/intervals`")]
    pub fn moved(&mut self, by: [f64; 3], focal: f64) {
        self.eye = std::array::from_fn(|i| self.eye[i] + by[i]);
        self.focal *= focal;
    }
    /// Turned over, and set down on the ground where it stood.
    #[allow(dead_code, reason = "for the random shots of `examples/intervals`")]
    pub fn turned(&mut self, turn: nalgebra::Rotation3<f64>) {
        let half = V3::new(0.0, 0.0, self.shape.can().1 / 2.0);
        let middle = turn * half;
        let low = self.shape.lowest(&turn);
        let at = self.pose.at;
        self.pose = Pose { at: V3::new(at.x - middle.x, at.y - middle.y, -low), turn };
    }
    /// The view for a picture of that size.
    pub fn view(&self, size: [usize; 2]) -> View {
        View::new(self.eye, self.target, self.focal * size[0] as f64, size)
    }
}

/// Two cameras of our own.
const FIRST: Model = Model {
    id: "yard camera",
    curves: [[604.0, 36.0], [538.0, 38.0], [458.0, 27.0]],
    balance: [1.015, 0.99],
    full_well: 24000.0,
    blur: 0.65,
    vignetting: 0.06,
    flare: 0.0,
    curve: 0.0,
    print: 0.0,
};
const SECOND: Model = Model {
    id: "visitor's camera",
    curves: [[595.0, 33.0], [530.0, 42.0], [452.0, 30.0]],
    balance: [0.98, 1.02],
    full_well: 16000.0,
    blur: 0.75,
    vignetting: 0.09,
    flare: 0.0,
    curve: 0.0,
    print: 0.0,
};

fn light(kelvin: f64, to_key: [f64; 3], share: f64) -> Light {
    Light { kelvin, to_key: V3::from(to_key).normalize(), share, width: 0.24 }
}

/// Jars: the wall from base to rim.
const JAR: [[f64; 2]; 10] = [
    [0.0, 3.0],
    [38.0, 3.5],
    [66.0, 14.0],
    [100.0, 52.0],
    [118.0, 100.0],
    [108.0, 146.0],
    [76.0, 178.0],
    [58.0, 200.0],
    [58.0, 222.0],
    [70.0, 242.0],
];
const TALL_JAR: [[f64; 2]; 9] = [
    [0.0, 3.0],
    [42.0, 3.5],
    [62.0, 16.0],
    [88.0, 62.0],
    [104.0, 118.0],
    [98.0, 172.0],
    [68.0, 212.0],
    [56.0, 232.0],
    [64.0, 252.0],
];
const BOWL: [[f64; 2]; 6] =
    [[0.0, 3.0], [36.0, 4.0], [72.0, 20.0], [106.0, 52.0], [124.0, 88.0], [130.0, 112.0]];
const DISH: [[f64; 2]; 6] =
    [[0.0, 3.0], [44.0, 4.0], [84.0, 14.0], [118.0, 32.0], [138.0, 54.0], [146.0, 72.0]];

/// All photographs, in the order of their numbers.
pub fn all() -> Vec<Picture> {
    let sound = Faults::default();
    let side = ([50.0, -980.0, 400.0], [60.0, 0.0, 112.0], 1.55);
    let above = ([20.0, -640.0, 1010.0], [50.0, 0.0, 10.0], 1.75);
    let mut list = Vec::new();
    let mut add = |name,
                   object,
                   shape: Shape,
                   (zones, rows): (Vec<Zone>, Vec<Row>),
                   faults,
                   card,
                   light,
                   ground,
                   (eye, target, focal): ([f64; 3], [f64; 3], f64),
                   sheet| {
        list.push(Picture {
            name,
            object,
            shape,
            pose: Pose::upright(V3::new(-70.0, 0.0, 0.0)),
            zones,
            rows,
            white: "white",
            red: "red",
            paint: "black",
            faults,
            gloss: [0.10, 32.0],
            card,
            light,
            ground,
            camera: FIRST,
            eye,
            target,
            focal,
            seed: 1000 * (list.len() as u64 + 1),
            sheet,
        });
    };
    let vessel = |line: &[[f64; 2]], thick: f64| {
        let v = Vessel::turned(line, thick);
        let wall = v.wall();
        (Shape::Vessel(v), wall)
    };

    let (shape, wall) = vessel(&JAR, 6.0);
    let coats = jar(wall, 128.0, Stairs, 9.0, Dots);
    add(
        "01-first-frost-jar",
        "jar",
        shape,
        coats,
        sound,
        Card::placed([205.0, -20.0, 92.0], [0.05, -1.0, 0.28], 0.0, 0.8),
        light(5600.0, [0.55, -0.75, 0.62], 0.5),
        Ground::Cloth,
        side,
        ["first frost", "white batch 3", "ochre 2", "plant paint 5", "middle", "kept under cover to the end"],
    );

    let (shape, wall) = vessel(&DISH, 6.0);
    let coats = inside(wall, Wave, 10.0, Slants);
    add(
        "02-first-frost-dish",
        "bowl_inside",
        shape,
        coats,
        sound,
        Card::placed([232.0, -8.0, 3.0], [0.0, 0.0, 1.0], 84.0, 0.9),
        light(5200.0, [0.45, -0.2, 0.9], 0.5),
        Ground::Sand,
        above,
        ["first frost", "white batch 3", "ochre 2", "plant paint 5", "middle", ""],
    );

    let (shape, wall) = vessel(&TALL_JAR, 6.0);
    let coats = jar(wall, 136.0, Diamonds, 10.0, Slants);
    add(
        "03-long-ember-jar",
        "jar",
        shape,
        coats,
        Faults { burn_out: 0.65, ..sound },
        Card::placed([200.0, -30.0, 88.0], [0.1, -1.0, 0.32], -9.0, 0.8),
        light(6200.0, [0.5, -0.8, 0.7], 0.45),
        Ground::Wood,
        side,
        [
            "long ember",
            "white batch 3",
            "ochre 2",
            "plant paint 5",
            "windward edge",
            "burned on after the cover fell in",
        ],
    );

    let (shape, wall) = vessel(&BOWL, 6.0);
    let coats = outside(wall, Rain, 11.0);
    add(
        "04-wet-reed-bowl",
        "bowl_outside",
        shape,
        coats,
        Faults { greying: 0.8, ..sound },
        Card::placed([204.0, -20.0, 84.0], [0.0, -1.0, 0.3], 4.0, 0.76),
        light(6500.0, [0.6, -0.7, 0.7], 0.4),
        Ground::Board,
        ([50.0, -900.0, 300.0], [60.0, 0.0, 64.0], 1.5),
        ["wet reed", "white batch 3", "ochre 2", "plant paint 5", "lee side", "much smoke, fuel was damp"],
    );

    let corners = [
        [-70.0, -52.0],
        [-8.0, -66.0],
        [58.0, -50.0],
        [76.0, 6.0],
        [44.0, 58.0],
        [-22.0, 66.0],
        [-74.0, 30.0],
    ];
    let slab = Slab::new(&broken(&corners, 5), 6.0, 260.0);
    let mut coats = sherd(132.0, Leaves, Dots);
    coats.1[1].4 = 5.0;
    add(
        "05-wet-reed-sherd",
        "sherd",
        Shape::Slab(slab),
        coats,
        Faults { buffing: 0.75, ..sound },
        Card::placed([95.0, 0.0, 8.0], [0.0, 0.0, 1.0], 72.0, 0.5),
        light(5400.0, [0.5, 0.25, 0.9], 0.5),
        Ground::Cloth,
        ([10.0, -160.0, 640.0], [8.0, 0.0, 8.0], 1.75),
        [
            "wet reed",
            "white batch 4",
            "ochre 2",
            "plant paint 5",
            "middle",
            "piece of a trial bowl; batch 4 has iron in it",
        ],
    );

    let (shape, wall) = vessel(&JAR, 6.0);
    let coats = jar(wall, 128.0, Leaves, 14.0, Rain);
    let clouds: &[([f64; 3], f64)] = &[([-48.0, -100.0, 116.0], 66.0), ([66.0, -60.0, 160.0], 36.0)];
    add(
        "06-long-ember-clouded-jar",
        "jar",
        shape,
        coats,
        Faults { clouds, ..sound },
        Card::placed([196.0, -24.0, 120.0], [0.0, -1.0, 0.25], 90.0, 0.8),
        light(5800.0, [0.5, -0.8, 0.65], 0.45),
        Ground::Sand,
        side,
        ["long ember", "white batch 3", "ochre 2", "plant paint 5", "edge", "a log fell against it"],
    );

    let (shape, wall) = vessel(&DISH, 6.0);
    let coats = inside(wall, Leaves, 16.0, Dots);
    add(
        "07-wet-reed-dish",
        "bowl_inside",
        shape,
        coats,
        Faults { weak_black: 0.7, ..sound },
        Card::placed([218.0, 10.0, 20.0], [0.06, -0.1, 1.0], 215.0, 0.84),
        light(5000.0, [0.5, -0.15, 0.9], 0.5),
        Ground::Wood,
        above,
        ["wet reed", "white batch 3", "ochre 2", "plant paint 6, one thin coat", "lee side", ""],
    );

    let corners = [
        [-62.0, -60.0],
        [20.0, -68.0],
        [72.0, -30.0],
        [64.0, 34.0],
        [10.0, 64.0],
        [-58.0, 54.0],
        [-78.0, 0.0],
    ];
    let slab = Slab::new(&broken(&corners, 17), 7.0, 300.0);
    let mut coats = sherd(132.0, Stairs, Slants);
    coats.0 = vec![Zone(Outer, Red, 0.0, 58.0), Zone(Outer, White, 61.0, 122.0)];
    coats.1 = vec![
        Row(Outer, Line, 65.0, 68.0, 1.0, 1.0),
        Row(Outer, Stairs, 71.0, 96.0, 5.0, 1.0),
        Row(Outer, Slants, 101.0, 113.0, 9.0, 1.0),
    ];
    add(
        "08-wet-reed-red-sherd",
        "sherd",
        Shape::Slab(slab),
        coats,
        Faults { dull_red: 0.85, ..sound },
        Card::placed([98.0, 0.0, 8.0], [0.0, 0.05, 1.0], -14.0, 0.42),
        light(5600.0, [0.5, 0.3, 0.9], 0.5),
        Ground::Board,
        ([14.0, -140.0, 640.0], [14.0, 0.0, 8.0], 1.85),
        ["wet reed", "white batch 3", "ochre 2", "plant paint 5", "bottom", "lay in the smoke"],
    );

    let tile = Slab::new(&[[-70.0, -56.0], [70.0, -56.0], [70.0, 56.0], [-70.0, 56.0]], 8.0, f64::INFINITY);
    let mut rows = vec![Row(Outer, Line, 90.0, 94.0, 1.0, 1.0)];
    let strengths = [(0, 1.0), (1, 0.92), (2, 0.84), (3, 0.76)];
    rows.extend(strengths.map(|(cell, strength)| Row(Outer, Block(cell), 52.0, 82.0, 4.0, strength)));
    add(
        "09-first-frost-tile",
        "tile",
        Shape::Slab(tile),
        (vec![Zone(Outer, Red, 4.0, 40.0), Zone(Outer, White, 44.0, 104.0)], rows),
        sound,
        Card::placed([98.0, 0.0, 8.0], [0.0, 0.0, 1.0], 90.0, 0.46),
        light(5500.0, [0.45, 0.3, 0.9], 0.5),
        Ground::Cloth,
        ([4.0, -60.0, 660.0], [4.0, 0.0, 8.0], 1.95),
        ["first frost", "white batch 3", "ochre 2", "plant paint 5, four strengths", "middle", "test tile"],
    );

    let (shape, wall) = vessel(&BOWL, 6.0);
    let coats = outside(wall, Diamonds, 13.0);
    add(
        "10-old-bowl-reference",
        "bowl_outside",
        shape,
        coats,
        sound,
        Card::placed([-212.0, -20.0, 82.0], [0.0, -1.0, 0.28], 0.0, 0.76),
        light(5000.0, [-0.6, -0.7, 0.7], 0.45),
        Ground::Board,
        ([-60.0, -900.0, 300.0], [-62.0, 0.0, 64.0], 1.5),
        ["", "", "", "", "", "the bowl to be matched, shot by a visitor"],
    );
    let (shape, wall) = vessel(&BOWL, 6.0);
    let coats = outside(wall, Diamonds, 13.0);
    add(
        "11-first-frost-replica",
        "bowl_outside",
        shape,
        coats,
        sound,
        Card::placed([204.0, -20.0, 84.0], [0.0, -1.0, 0.3], 180.0, 0.76),
        light(6000.0, [0.6, -0.7, 0.7], 0.45),
        Ground::Cloth,
        ([50.0, -900.0, 300.0], [60.0, 0.0, 64.0], 1.5),
        ["first frost", "white batch 3", "ochre 2", "plant paint 5", "middle", "replica of the old bowl"],
    );
    list[9].pose.at.x = 70.0;
    list[9].camera = SECOND;
    list[9].white = "cream";
    list[9].red = "deep red";
    list
}

/// A piece of [`all`] before the fire: brown paint, whole; dull ochre; shot from a little farther to the side and in other
/// light.
#[allow(
    dead_code,
    reason = "for the demo photographs alone, not for the random shots of `examples/intervals`"
)]
pub fn unfired() -> Vec<Picture> {
    let mut list = all();
    let mut jar = list.swap_remove(2);
    jar.name = "03-long-ember-jar-unfired";
    jar.faults = Faults::default();
    (jar.paint, jar.red) = ("brown", "dull red");
    jar.gloss = [0.05, 32.0];
    jar.light = light(5600.0, [0.3, -0.9, 0.8], 0.4);
    jar.eye = [jar.eye[0] - 110.0, jar.eye[1] - 30.0, jar.eye[2] + 25.0];
    jar.sheet = ["", "white batch 3", "ochre 2", "plant paint 5", "", "before the fire"];
    vec![jar]
}
