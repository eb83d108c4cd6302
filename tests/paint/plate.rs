//! A plate with a red band, a margin of clay and strokes on brushed slip, drawn exactly.

use crate::drawn::{Noise, card};
use sherdlight::card::CorrectedImage;
use sherdlight::colour::LabD50;
use sherdlight::surface::{Label, SurfaceMap, SurfaceSettings, map_surfaces};

/// The plate lies as far from all edges, so that a turned picture keeps the card's corner free.
const MARGIN: usize = 130;
/// Columns and rows of the plate.
pub const PLATE: [usize; 2] = [440, 360];
/// Columns and rows of the picture.
pub const PICTURE: [usize; 2] = [PLATE[0] + 2 * MARGIN, PLATE[1] + 2 * MARGIN];
/// Where the red band ends, and where the slip begins.
pub const BAND: [usize; 2] = [90, 104];
/// Strokes on the slip, five in a row.
pub const STROKES: usize = 15;

/// CIELAB (D50) of such ware, common practice.
pub const WHITE: [f64; 3] = [80.0, 1.0, 9.0];
pub const RED: [f64; 3] = [41.0, 27.0, 23.0];
pub const BLACK: [f64; 3] = [31.0, 1.0, 4.0];
pub const BODY: [f64; 3] = [53.0, 7.0, 18.0];
const GROUND: [f64; 3] = [58.0, -1.0, -2.0];

/// What is drawn at a place: its true label, and X, Y, Z under D50.
#[derive(Clone, Copy)]
pub struct Place {
    pub label: Label,
    pub xyz: [f64; 3],
}

impl Place {
    pub fn of(label: Label, lab: [f64; 3]) -> Self {
        let c = LabD50::from(lab).to_xyz();
        Self { label, xyz: [c.x, c.y, c.z] }
    }

    pub fn slip() -> Self {
        Self::of(Label::White, WHITE)
    }

    pub fn red() -> Self {
        Self::of(Label::Red, RED)
    }

    /// Paint that keeps a share of the contrast of sound paint with slip, on the scale of L*.
    pub fn paint(label: Label, contrast: f64) -> Self {
        Self::of(label, [0, 1, 2].map(|k| WHITE[k] + contrast * (BLACK[k] - WHITE[k])))
    }

    pub fn black() -> Self {
        Self::paint(Label::Black, 1.0)
    }

    /// Slip that gives back this share of its light: a trace that kept the tint of its slip.
    pub fn trace(share: f64) -> Self {
        Self { label: Label::LostPaint, xyz: Self::slip().xyz.map(|v| v * share) }
    }
}

/// Number of the stroke at a place: 16 pixels wide, 80 long, apart by more than twice that width.
pub fn stroke(x: usize, y: usize) -> Option<usize> {
    let (x, y) = (x.checked_sub(130)?, y.checked_sub(30)?);
    let inside = x % 60 < 16 && x / 60 < 5 && y % 110 < 80 && y / 110 < 3;
    inside.then(|| x / 60 + 5 * (y / 110))
}

/// The plate with what `paint` makes of each stroke.
pub fn plate(paint: impl Fn(usize) -> Place) -> impl Fn(usize, usize) -> Place {
    move |x, y| match stroke(x, y) {
        _ if x < BAND[0] => Place::red(),
        _ if x < BAND[1] => Place::of(Label::Body, BODY),
        Some(k) => paint(k),
        None => Place::slip(),
    }
}

/// A drawing: places of the plate, and the light on each place of it, both in pixels of the plate.
pub struct Drawing<P, L> {
    pub plan: P,
    pub light: L,
    /// Marks of the brush in the slip, standard deviation as a share of its light.
    pub brushed: f64,
}

impl<P: Fn(usize, usize) -> Place, L: Fn(f64, f64) -> f64> Drawing<P, L> {
    fn place(&self, i: usize) -> Option<Place> {
        let (x, y) = ((i % PICTURE[0]).checked_sub(MARGIN)?, (i / PICTURE[0]).checked_sub(MARGIN)?);
        (x < PLATE[0] && y < PLATE[1]).then(|| (self.plan)(x, y))
    }

    /// The true labels of the picture.
    pub fn truth(&self) -> Vec<Label> {
        let label = |i| self.place(i).map_or(Label::Background, |p| p.label);
        (0..PICTURE[0] * PICTURE[1]).map(label).collect()
    }

    /// The picture: edges a pixel soft (weights 1 2 1 both ways), 2 % grain.
    pub fn picture(&self) -> CorrectedImage {
        let [width, height] = PICTURE;
        let brush = Streaks::new(5);
        let mut drawn: Vec<[f64; 3]> = (0..width * height)
            .map(|i| match self.place(i) {
                Some(p) if matches!(p.label, Label::White | Label::LostPaint) => {
                    let mark = 1.0 + self.brushed * brush.at((i % width) as f64, (i / width) as f64);
                    p.xyz.map(|v| v * mark)
                }
                Some(p) => p.xyz,
                None => Place::of(Label::Background, GROUND).xyz,
            })
            .collect();
        for step in [1, width] {
            let sharp = drawn.clone();
            for i in step..drawn.len() - step {
                drawn[i] =
                    [0, 1, 2].map(|c| (sharp[i - step][c] + 2.0 * sharp[i][c] + sharp[i + step][c]) / 4.0);
            }
        }
        let mut noise = Noise::new(3);
        let mut lit = |i: usize, xyz: [f64; 3]| {
            let at = |v: usize| v as f64 + 0.5 - MARGIN as f64;
            let light = (self.light)(at(i % width), at(i / width)) * (1.0 + 0.02 * noise.draw());
            xyz.map(|v| (v * light + 0.0008 * noise.draw()) as f32)
        };
        let xyz: Vec<[f32; 3]> = drawn.into_iter().enumerate().map(|(i, xyz)| lit(i, xyz)).collect();
        CorrectedImage { width, height, factor: 1, light: xyz.clone(), clipped: vec![false; xyz.len()], xyz }
    }

    /// What the program makes of it.
    pub fn settled(&self) -> SurfaceMap {
        settled(&self.picture())
    }
}

/// Map and light of a picture.
pub fn settled(image: &CorrectedImage) -> SurfaceMap {
    settled_as(image, &SurfaceSettings::default())
}

/// The same, told how.
pub fn settled_as(image: &CorrectedImage, settings: &SurfaceSettings) -> SurfaceMap {
    let mut map = map_surfaces(image, &card(), settings).expect("a plate is there");
    sherdlight::light::settle(image, &mut map);
    map
}

/// Marks of a brush drawn along rows: noise on a lattice 60 pixels long and 5 high, smooth in between.
struct Streaks(Vec<f64>);

impl Streaks {
    const LONG: f64 = 60.0;
    const HIGH: f64 = 5.0;
    const ACROSS: usize = 16;

    fn new(seed: u64) -> Self {
        let mut noise = Noise::new(seed);
        Self((0..Self::ACROSS * 128).map(|_| noise.draw()).collect())
    }

    fn at(&self, x: f64, y: f64) -> f64 {
        let (x, y) = (x / Self::LONG, y / Self::HIGH);
        let smooth = |v: f64| v.fract() * v.fract() * (3.0 - 2.0 * v.fract());
        let node = |dx: usize, dy: usize| self.0[(y as usize + dy) * Self::ACROSS + x as usize + dx];
        let along = |dy: usize| node(0, dy) + smooth(x) * (node(1, dy) - node(0, dy));
        along(0) + smooth(y) * (along(1) - along(0))
    }
}

/// Share of the places with a true label, two pixels inside its edges, for which the map's label passes.
pub fn told(map: &SurfaceMap, truth: &[Label], of: Label, pass: impl Fn(Label) -> bool) -> f64 {
    share_of(map, |i| inner(truth, i) && truth[i] == of, pass)
}

/// Share of the places chosen for which the map's label passes.
pub fn share_of(map: &SurfaceMap, chosen: impl Fn(usize) -> bool, pass: impl Fn(Label) -> bool) -> f64 {
    let places: Vec<usize> = (0..map.labels.len()).filter(|&i| chosen(i)).collect();
    assert!(places.len() > 100, "only {} places chosen", places.len());
    places.iter().filter(|&&i| pass(map.labels[i])).count() as f64 / places.len() as f64
}

/// Whether a place has no other true label within two pixels along rows and columns.
pub fn inner(truth: &[Label], i: usize) -> bool {
    [1, 2, PICTURE[0], 2 * PICTURE[0]].iter().all(|&d| {
        let same = |j: Option<usize>| j.and_then(|j| truth.get(j)) == Some(&truth[i]);
        same(i.checked_sub(d)) && same(i.checked_add(d))
    })
}
