//! A map and a picture drawn by asking, at the middle of each pixel, what lies there.

use sherdlight::card::{CardPlace, CardReading, CardStatus, CorrectedImage};
use sherdlight::colour::LinearRgb;
use sherdlight::photo::{LinearImage, Photo};
use sherdlight::reading::{MadeBy, Reading, Sources, measure, to_json_line};
use sherdlight::surface::{Label, Piece, SurfaceMap};

pub const SIDE: usize = 400;
pub const MIDDLE: [f64; 2] = [200.3, 199.6];

/// Reflectance that stands for a label.
pub fn reflectance(label: Label) -> f64 {
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
pub struct Scene<'a> {
    pub label: &'a dyn Fn([f64; 2]) -> Label,
    pub light: &'a dyn Fn([f64; 2]) -> f64,
    pub factor: usize,
    pub place: Option<CardPlace>,
    pub edge_px: Option<f64>,
}

impl<'a> Scene<'a> {
    pub fn of(label: &'a dyn Fn([f64; 2]) -> Label) -> Self {
        Self { label, light: &|_| f64::NAN, factor: 1, place: None, edge_px: None }
    }

    pub fn read(&self) -> Reading {
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
pub fn reasons_are_given(reading: &Reading) {
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
pub fn turned([x, y]: [f64; 2], degrees: f64) -> [f64; 2] {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let [x, y] = [x - MIDDLE[0], y - MIDDLE[1]];
    [cos * x + sin * y, cos * y - sin * x]
}

/// A round white piece with something on it.
pub fn on_disc(p: [f64; 2], label: Label) -> Label {
    let [x, y] = turned(p, 0.0);
    if x.hypot(y) < 170.0 { label } else { Label::Background }
}

/// In stripes 40 px wide, 100 from one to the next.
pub fn is_striped(p: [f64; 2]) -> bool {
    (turned(p, 30.0)[1].rem_euclid(100.0) - 50.0).abs() < 20.0
}

/// In round spots that cover a quarter of everything.
pub fn is_spotted(p: [f64; 2]) -> bool {
    let [x, y] = p.map(|v| v.rem_euclid(25.0) - 12.5);
    x.hypot(y) < 7.0
}

pub fn painted(yes: bool) -> Label {
    if yes { Label::Black } else { Label::White }
}

/// Seeded draws of mean 0 and standard deviation 1: sums of twelve uniform ones (Knuth's MMIX constants).
pub fn draws(seed: u64) -> Vec<f64> {
    let mut state = seed;
    let mut uniform = move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    (0..SIDE * SIDE).map(|_| (0..12).map(|_| uniform()).sum::<f64>() - 6.0).collect()
}
