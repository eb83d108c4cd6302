//! A card of one's own, learned beside a known one: drawn pictures with planted colours.

use crate::support::{Random, eight_bit, light_of, sherdlight};
use sherdlight::card::{
    CardDefinition, CardError, CardLayout, CardSettings, Homography, LearnError, LearnSettings, LearnView,
    Learned, TurnFrom, learn_card, learn_view, read_card,
};
use sherdlight::colour::{LabD50, LinearRgb, ciede2000};
use sherdlight::photo::{LinearImage, Photo};

/// Twelve invented tiles, as a potter might fire them; three rows of four.
const TILES: [(&str, [f64; 3]); 12] = [
    ("white slip", [86.0, 1.0, 6.5]),
    ("cream slip", [76.0, 3.5, 15.0]),
    ("buff", [66.0, 9.0, 22.0]),
    ("ochre", [60.0, 14.0, 39.0]),
    ("red slip", [44.0, 29.0, 26.0]),
    ("dark red", [33.0, 21.0, 17.0]),
    ("brown body", [41.0, 11.0, 18.0]),
    ("black paint", [22.0, 1.0, 1.5]),
    ("grey", [55.0, -0.5, 1.0]),
    ("green glaze", [50.0, -16.0, 13.0]),
    ("blue glaze", [38.0, 3.0, -20.0]),
    ("pink", [66.0, 19.0, 9.0]),
];

const LAYOUT: &str = r#"{"layout": {"unit": "mm", "rows": 3, "columns": 4, "patch": [30, 20], "gap": [4, 4], "frame": [5, 5]}}"#;

fn layout() -> CardLayout {
    load_layout(LAYOUT)
}

fn load_layout(json: &str) -> CardLayout {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("layout.json");
    std::fs::write(&path, json).unwrap();
    CardLayout::load(path.to_str().unwrap()).unwrap()
}

fn settings(layout: CardLayout) -> LearnSettings {
    LearnSettings { id: "my-tiles".into(), layout, beside: CardDefinition::load("chart24-iso").unwrap() }
}

const WIDTH: usize = 1200;
const HEIGHT: usize = 800;

/// A card in a picture: what it looks like and where it lies.
struct Laid {
    extent: [f64; 2],
    pitch: [f64; 2],
    tall: f64,
    columns: usize,
    rows: usize,
    colours: Vec<[f64; 3]>,
    corners: [[f64; 2]; 4],
}

impl Laid {
    fn known(middle: [f64; 2], turn: f64, side: f64) -> Self {
        let card = CardDefinition::load("chart24-iso").unwrap();
        let colours = card.patches.iter().map(|p| light_of(p.lab)).collect();
        Self::new(&card.layout, colours, middle, turn, side)
    }
    fn tiles(middle: [f64; 2], turn: f64, side: f64) -> Self {
        Self::new(&layout().layout, TILES.iter().map(|t| light_of(t.1.into())).collect(), middle, turn, side)
    }
    fn new(
        layout: &sherdlight::card::Layout,
        colours: Vec<[f64; 3]>,
        middle: [f64; 2],
        turn: f64,
        side: f64,
    ) -> Self {
        let [w, h] = layout.extent();
        let (sin, cos) = turn.to_radians().sin_cos();
        let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|[u, v]| {
            let (x, y) = ((u - w / 2.0) * side, (v - h / 2.0) * side);
            // A slight tilt, as a hand-held camera has.
            let depth = 1.0 + x * 8e-5 + y * 5e-5;
            [middle[0] + (x * cos - y * sin) / depth, middle[1] + (x * sin + y * cos) / depth]
        });
        Self {
            extent: [w, h],
            pitch: layout.pitch(),
            tall: layout.tall(),
            columns: layout.columns,
            rows: layout.rows,
            colours,
            corners,
        }
    }
    fn light(&self, map: &Homography, at: [f64; 2]) -> Option<[f64; 3]> {
        let [u, v] = map.apply(at);
        let [w, h] = self.extent;
        if !(u > -0.2 && v > -0.2 && u < w + 0.2 && v < h + 0.2) {
            return None;
        }
        let (column, row) = ((u / self.pitch[0]).floor(), (v / self.pitch[1]).floor());
        let on_patch = (0.0..self.columns as f64).contains(&column)
            && (0.0..self.rows as f64).contains(&row)
            && u - column * self.pitch[0] <= 1.0
            && v - row * self.pitch[1] <= self.tall;
        let board = [0.035, 0.034, 0.033];
        Some(if on_patch { self.colours[row as usize * self.columns + column as usize] } else { board })
    }
}

/// A picture of cards on a grey-brown ground. `gains`: exposure and white balance of each channel;
/// `shade`: light at a place, relative to the rest.
fn draw(cards: &[&Laid], gains: [f64; 3], seed: u64, shade: impl Fn(f64, f64) -> f64) -> LinearImage {
    let maps: Vec<Homography> = cards
        .iter()
        .map(|c| {
            let map = Homography::from_corners(c.extent[0], c.extent[1], &c.corners);
            map.and_then(|m| m.inverse()).expect("a rectangle")
        })
        .collect();
    let mut random = Random::new(seed * 7919 + 12_345);
    let mut pixels = Vec::with_capacity(WIDTH * HEIGHT);
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let mut sum = [0.0; 3];
            for (i, j) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                let at = [x as f64 + i, y as f64 + j];
                let found = cards.iter().zip(&maps).find_map(|(c, m)| c.light(m, at));
                let light = found.unwrap_or([0.26, 0.24, 0.2]);
                (0..3).for_each(|c| sum[c] += light[c] * shade(at[0], at[1]) / 4.0);
            }
            let light = [0, 1, 2].map(|c| {
                let v = gains[c] * sum[c];
                // The noise of photons grows with the root of light.
                v + 0.004 * (v.max(0.0) + 0.01).sqrt() * random.normal()
            });
            pixels.push(LinearRgb(light.map(|v| v.min(1.0) as f32)));
        }
    }
    LinearImage { width: WIDTH, height: HEIGHT, pixels }
}

fn even(_: f64, _: f64) -> f64 {
    1.0
}

/// Exposure and white balance, place and turn of both cards, of five photographs.
fn shots() -> Vec<([f64; 3], Laid, Laid)> {
    let known = |x: f64, y: f64, turn: f64| Laid::known([x, y], turn, 72.0);
    let tiles = |x: f64, y: f64, turn: f64| Laid::tiles([x, y], turn, 105.0);
    vec![
        ([0.85, 0.8, 0.75], known(300.0, 400.0, 4.0), tiles(860.0, 400.0, 3.0)),
        ([0.95, 0.8, 0.55], known(880.0, 300.0, 178.0), tiles(330.0, 480.0, 186.0)),
        ([0.5, 0.5, 0.6], known(300.0, 330.0, 85.0), tiles(840.0, 420.0, 94.0)),
        ([0.6, 0.66, 0.7], known(330.0, 420.0, -6.0), tiles(880.0, 380.0, 176.0)),
        ([0.9, 0.84, 0.66], known(880.0, 420.0, 12.0), tiles(320.0, 400.0, -2.0)),
    ]
}

fn views(which: &[usize], settings: &LearnSettings) -> Vec<LearnView> {
    let shots = shots();
    which
        .iter()
        .map(|&i| {
            let (gains, known, tiles) = &shots[i];
            let photo = Photo::from_linear(draw(&[known, tiles], *gains, i as u64 + 1, even));
            learn_view(&photo, settings, None).unwrap_or_else(|e| panic!("shot {i}: {e}"))
        })
        .collect()
}

/// Largest CIEDE2000 from the planted colours, and how many of the 36 coordinates lie in their interval.
fn compare(learned: &Learned) -> (f64, usize) {
    let mut inside = 0;
    let mut largest: f64 = 0.0;
    for (patch, (_, planted)) in learned.definition.patches.iter().zip(&TILES) {
        largest = largest.max(ciede2000(patch.lab, (*planted).into()));
        let got: [f64; 3] = patch.lab.into();
        let u95 = patch.u95.unwrap();
        inside += (0..3).filter(|&k| (got[k] - planted[k]).abs() <= u95[k]).count();
    }
    (largest, inside)
}

#[test]
fn planted_colours_come_back_within_their_intervals() {
    let settings = settings(layout());
    let views = views(&[0, 1, 2, 3, 4], &settings);
    for (view, (_, _, tiles)) in views.iter().zip(shots()) {
        // Found where it lies, whichever way round.
        let near = |c: &[f64; 2]| {
            let distance = |p: &[f64; 2]| (p[0] - c[0]).hypot(p[1] - c[1]);
            view.corners_px.iter().map(distance).fold(f64::INFINITY, f64::min)
        };
        assert!(tiles.corners.iter().all(|c| near(c) < 3.0), "{:?} {:?}", view.corners_px, tiles.corners);
    }
    let learned = learn_card(&views, &settings).unwrap();
    let (largest, inside) = compare(&learned);
    assert!(largest < 0.2, "{largest}");
    // 95 in 100 are promised.
    assert!(inside >= 35, "{inside} of 36");
    // Nor are the intervals idle: twice the just noticeable at most, on these clean pictures.
    assert!(learned.definition.patches.iter().all(|p| p.u95.unwrap().iter().all(|u| *u < 4.0)));
    assert_eq!(learned.views[0].turn, TurnFrom::TopLeft);
    for (view, (_, _, tiles)) in learned.views.iter().zip(shots()) {
        assert!(view.used);
        let off = (0..4).map(|i| {
            (view.corners_px[i][0] - tiles.corners[i][0]).hypot(view.corners_px[i][1] - tiles.corners[i][1])
        });
        assert!(off.fold(0.0, f64::max) < 3.0, "{:?} {:?}", view.corners_px, tiles.corners);
    }
    assert!(learned.definition.source.contains("5 photographs beside the card chart24-iso"));
    assert!(learned.remarks.iter().any(|r| r.contains("nearest to the top left")), "{:?}", learned.remarks);
    // What is written is read again.
    let again = CardDefinition::from_json("mine", &learned.definition.to_json()).unwrap();
    assert_eq!(again, learned.definition);
}

/// A camera with its own tone curve, colour mixing and noise, in light that falls off across the table:
/// what the interval promises must still hold.
#[test]
fn intervals_hold_for_a_camera_with_a_mind_of_its_own() {
    let settings = settings(layout());
    let (mut inside, mut worst, mut widest): (usize, f64, f64) = (0, 0.0, 0.0);
    for camera in 0..3u64 {
        let mut random = Random::new(camera * 104_729 + 77);
        let (s_curve, power) = (0.1 + 0.3 * random.unit(), 0.9 + 0.2 * random.unit());
        let mix = [0, 1, 2].map(|_| [0; 2].map(|_| -0.02 + 0.1 * random.unit()));
        let views: Vec<LearnView> = [[0, 1, 2], [4, 3, 1], [0, 2, 4]][camera as usize]
            .iter()
            .map(|&i| {
                let (gains, known, tiles) = &shots()[i];
                let slope = [0; 2].map(|_| 2e-4 * (random.unit() - 0.5));
                let light = |x: f64, y: f64| 1.0 + slope[0] * (x - 600.0) + slope[1] * (y - 400.0);
                let mut image = draw(&[known, tiles], *gains, camera * 10 + i as u64, light);
                for pixel in &mut image.pixels {
                    let rgb = pixel.0.map(f64::from);
                    let mixed = [0, 1, 2].map(|c: usize| {
                        let (one, two) = (rgb[(c + 1) % 3], rgb[(c + 2) % 3]);
                        (1.0 - mix[c][0] - mix[c][1]) * rgb[c] + mix[c][0] * one + mix[c][1] * two
                    });
                    pixel.0 = mixed.map(|v| {
                        // An S and a power on the root of light.
                        let e = v.clamp(0.0, 1.0).sqrt().powf(power);
                        let e = (1.0 - s_curve) * e + s_curve * (3.0 * e * e - 2.0 * e * e * e);
                        (e * e) as f32
                    });
                }
                learn_view(&Photo::from_linear(image), &settings, None).unwrap()
            })
            .collect();
        let learned = learn_card(&views, &settings).unwrap();
        let (largest, within) = compare(&learned);
        inside += within;
        worst = worst.max(largest);
        let u95 = learned.definition.patches.iter().flat_map(|p| p.u95.unwrap());
        widest = u95.fold(widest, f64::max);
    }
    // 95 in 100.
    assert!(inside >= 103, "{inside} of 108");
    // And wide intervals are of no use: under five, where five is plain to the eye.
    assert!(worst < 5.0 && widest < 5.0, "{worst} {widest}");
}

/// What all views share does not average away; what differs between them does.
#[test]
fn more_photographs_narrow_the_intervals_but_not_below_the_known_cards_part() {
    let settings = settings(layout());
    let all = views(&[0, 1, 2, 3, 4], &settings);
    let mean_u95 = |views: &[LearnView]| {
        let learned = learn_card(views, &settings).unwrap();
        let sum: f64 = learned.definition.patches.iter().map(|p| p.u95.unwrap()[0]).sum();
        sum / 12.0
    };
    let correction: f64 =
        all.iter().map(|v| v.known.correction.u95(LabD50 { l: 50.0, a: 5.0, b: 10.0 })[0]).sum::<f64>() / 5.0;
    let (three, five) = (mean_u95(&all[..3]), mean_u95(&all));
    assert!(five <= three * 1.05 && five > 0.7 * correction, "{three} {five} {correction}");
    // A known card whose own colours are uncertain widens all of them.
    let mut unsure = settings.clone();
    unsure.beside.patches.iter_mut().for_each(|p| p.u95 = Some([3.0; 3]));
    let learned = learn_card(&all, &unsure).unwrap();
    assert!(learned.definition.patches.iter().all(|p| p.u95.unwrap().iter().all(|u| *u >= 3.0)));
}

#[test]
fn the_learned_card_is_found_and_corrects_alone() {
    let settings = settings(layout());
    let learned = learn_card(&views(&[0, 2, 4], &settings), &settings).unwrap();
    for (seed, turn) in [(50, 10.0), (51, 100.0), (52, 200.0), (53, 290.0)] {
        let tiles = Laid::tiles([600.0, 400.0], turn, 100.0);
        let photo = Photo::from_linear(draw(&[&tiles], [0.62, 0.8, 0.9], seed, even));
        let card = CardSettings { definition: Some(learned.definition.clone()), ..CardSettings::default() };
        let reading = read_card(&photo, &card).unwrap_or_else(|e| panic!("turn {turn}: {e}"));
        let corners = reading.place.as_ref().unwrap().corners_px;
        for (got, wanted) in corners.iter().zip(&tiles.corners) {
            assert!((got[0] - wanted[0]).hypot(got[1] - wanted[1]) < 12.0, "{corners:?} {:?}", tiles.corners);
        }
        for (patch, (name, planted)) in reading.patches.iter().zip(&TILES) {
            let off = ciede2000(patch.lab_corrected, (*planted).into());
            assert!(off < 1.5, "turn {turn} {name}: {off}");
        }
    }
}

#[test]
fn about_right_colours_in_the_layout_tell_the_turn() {
    let patches: Vec<String> = TILES
        .iter()
        .enumerate()
        .map(|(i, (name, lab))| {
            let rough = lab.map(|v| (v / 10.0_f64).round() * 10.0);
            format!("{{\"id\": \"T{}\", \"name\": \"{name}\", \"lab\": {rough:?}}}", i + 1)
        })
        .collect();
    let json = format!("{}, \"patches\": [{}]}}", &LAYOUT[..LAYOUT.len() - 1], patches.join(", "));
    let with_colours = settings(load_layout(&json));
    // The tiles lie upside down in this shot: without colours the last one is taken for the first.
    let learned = learn_card(&views(&[1], &with_colours), &with_colours).unwrap();
    assert_eq!(learned.views[0].turn, TurnFrom::Layout);
    assert!(compare(&learned).0 < 1.5);
    assert_eq!(learned.definition.patches[4].id, "T5");
    assert_eq!(learned.definition.patches[4].name, "red slip");
    assert!(learned.remarks.iter().any(|r| r.contains("one photograph only")));
    let without = settings(layout());
    let learned = learn_card(&views(&[1], &without), &without).unwrap();
    assert!(compare(&learned).0 > 10.0);
    assert!(ciede2000(learned.definition.patches[11].lab, TILES[0].1.into()) < 1.5);
}

#[test]
fn corners_told_by_hand_are_taken_as_told() {
    let settings = settings(layout());
    let (gains, known, tiles) = &shots()[1];
    let photo = Photo::from_linear(draw(&[known, tiles], *gains, 9, even));
    let view = learn_view(&photo, &settings, Some(tiles.corners)).unwrap();
    let learned = learn_card(&[view], &settings).unwrap();
    assert_eq!(learned.views[0].turn, TurnFrom::Told);
    assert!(compare(&learned).0 < 1.5);
    let [a, b, c, d] = tiles.corners;
    for wrong in [[b, a, d, c], [a, a, a, a], [[f64::NAN; 2]; 4]] {
        assert!(matches!(learn_view(&photo, &settings, Some(wrong)), Err(CardError::NotFound { .. })));
    }
    let outside = [a, b, c, d].map(|[x, y]| [x + 9000.0, y]);
    let view = learn_view(&photo, &settings, Some(outside)).unwrap();
    assert!(matches!(learn_card(&[view], &settings), Err(LearnError::Unseen { ids }) if ids.len() == 12));
}

#[test]
fn clipped_patches_are_left_out_and_refused_where_clipped_everywhere() {
    let settings = settings(layout());
    // The whitest tile stands above the known card's white and clips when the exposure is high.
    let shot = |gain: f64, seed: u64| {
        let known = Laid::known([300.0, 400.0], 4.0, 72.0);
        let mut tiles = Laid::tiles([860.0, 400.0], 3.0, 105.0);
        tiles.colours[0] = [1.3; 3];
        let photo = Photo::from_linear(draw(&[&known, &tiles], [gain; 3], seed, even));
        learn_view(&photo, &settings, None).unwrap()
    };
    let both = [shot(0.95, 1), shot(0.6, 2)];
    let learned = learn_card(&both, &settings).unwrap_err();
    // Brighter than the perfect diffuser: learned, but no colour of a surface.
    assert!(learned.to_string().contains("patch 1, lab: no possible colour"), "{learned}");
    let error = learn_card(&both[..1], &settings).unwrap_err();
    assert!(matches!(&error, LearnError::Unseen { ids } if *ids == ["1"]), "{error}");
    // A tile that clips in one of two photographs.
    let shot = |gain: f64, seed: u64| {
        let (_, known, tiles) = &shots()[0];
        let mut image = draw(&[known, tiles], [gain; 3], seed, even);
        image.pixels.iter_mut().for_each(|p| p.0 = p.0.map(|v| if v > 0.66 { 1.0 } else { v }));
        learn_view(&Photo::from_linear(image), &settings, None).unwrap()
    };
    let learned = learn_card(&[shot(1.0, 3), shot(0.6, 4)], &settings).unwrap();
    assert_eq!(learned.patches[0].used, [1]);
    assert_eq!(learned.patches[4].used, [0, 1]);
    assert!(compare(&learned).0 < 2.0);
}

#[test]
fn a_view_with_a_shadow_is_left_out_and_said() {
    let settings = settings(layout());
    let mut all = views(&[0, 1, 4], &settings);
    let (gains, known, tiles) = &shots()[3];
    let shaded = draw(&[known, tiles], *gains, 77, |x, _| if x > 600.0 { 0.6 } else { 1.0 });
    all.push(learn_view(&Photo::from_linear(shaded), &settings, None).unwrap());
    let learned = learn_card(&all, &settings).unwrap();
    let used: Vec<bool> = learned.views.iter().map(|v| v.used).collect();
    assert_eq!(used, [true, true, true, false]);
    assert!(learned.remarks.iter().any(|r| r.contains("photograph 4 disagrees")), "{:?}", learned.remarks);
    assert!(compare(&learned).0 < 1.0);
    // A shadow on one tile only: that tile of that view is left out.
    let mut all = views(&[0, 1, 4], &settings);
    let mut spoiled = Laid::tiles([880.0, 380.0], 176.0, 105.0);
    spoiled.colours[5] = [0.4, 0.1, 0.3];
    let photo = Photo::from_linear(draw(&[known, &spoiled], *gains, 78, even));
    all.push(learn_view(&photo, &settings, None).unwrap());
    let learned = learn_card(&all, &settings).unwrap();
    assert_eq!(learned.patches[5].outliers, [3]);
    assert_eq!(learned.patches[4].outliers, [0usize; 0]);
    assert!(compare(&learned).0 < 1.0);
}

#[test]
fn what_cannot_be_learned_says_why() {
    let settings = settings(layout());
    assert!(matches!(learn_card(&[], &settings), Err(LearnError::NoViews)));
    // No new card, no known card.
    let known = Laid::known([300.0, 400.0], 4.0, 72.0);
    let tiles = Laid::tiles([860.0, 400.0], 3.0, 105.0);
    let alone = Photo::from_linear(draw(&[&known], [0.8; 3], 5, even));
    let error = learn_view(&alone, &settings, None).unwrap_err();
    assert!(error.to_string().contains("no grid of 3 rows of 4 patches beside the known card"), "{error}");
    let error = learn_view(&Photo::from_linear(draw(&[&tiles], [0.8; 3], 6, even)), &settings, None);
    assert!(matches!(error, Err(CardError::NotFound { .. })));
    // Tiles that are the same upside down: a second view cannot be turned to the first.
    let twin = |turn: f64, seed: u64| {
        let mut tiles = Laid::tiles([860.0, 400.0], turn, 105.0);
        (0..6).for_each(|i| tiles.colours[11 - i] = tiles.colours[i]);
        learn_view(&Photo::from_linear(draw(&[&known, &tiles], [0.8; 3], seed, even)), &settings, None)
            .unwrap()
    };
    let error = learn_card(&[twin(3.0, 7), twin(5.0, 8)], &settings).unwrap_err();
    assert!(matches!(error, LearnError::Turn { view: 1, .. }), "{error}");
}

// The command.

/// As an 8-bit PNG.
fn save(image: &LinearImage, path: &str) {
    eight_bit(image).save(path).unwrap();
}

#[test]
fn learned_by_the_command_and_used_by_score() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(at("layout.json"), LAYOUT).unwrap();
    for (i, (gains, known, tiles)) in shots().iter().enumerate().take(3) {
        save(&draw(&[known, tiles], *gains, i as u64 + 20, even), &at(&format!("{i}.png")));
    }
    let learn = |more: &[&str]| {
        let mut arguments = ["card", "learn"].map(str::to_owned).to_vec();
        arguments.extend(["--layout".into(), at("layout.json"), "--out".into(), at("tiles.json")]);
        arguments.extend(more.iter().map(|a| if a.ends_with(".png") { at(a) } else { (*a).to_owned() }));
        sherdlight(&arguments)
    };
    let run = learn(&["0.png", "1.png", "2.png", "--beside", "chart24-iso", "--id", "my-tiles"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("written: ") && run.out.contains("± L*, a*, b*"), "{}", run.out);
    assert!(run.err.contains("first patch: the corner nearest to the top left"), "{}", run.err);
    let card = CardDefinition::load(&at("tiles.json")).unwrap();
    assert_eq!(card.id, "my-tiles");
    for (patch, (name, planted)) in card.patches.iter().zip(&TILES) {
        assert!(ciede2000(patch.lab, (*planted).into()) < 1.0, "{name}");
    }
    // A file that is there stays; bad words and bad files have their codes.
    let run = learn(&["0.png", "--beside", "chart24-iso"]);
    assert_eq!(run.code, 5, "{}", run.err);
    assert!(run.err.contains("--replace"), "{}", run.err);
    let run = learn(&["0.png", "--beside", "chart24-iso", "--replace", "--corners", "1,2,3"]);
    assert_eq!(run.code, 2, "{}", run.err);
    let run = learn(&["0.png", "1.png", "--beside", "chart24-iso", "--replace", "--corners", "find"]);
    assert_eq!(run.code, 2, "{}", run.err);
    assert_eq!(learn(&["0.png", "--beside", "chart99", "--replace"]).code, 5);
    let run = learn(&["gone.png", "--beside", "chart24-iso", "--replace"]);
    assert_eq!(run.code, 4, "{}", run.err);
    assert_eq!(CardDefinition::load(&at("tiles.json")).unwrap(), card);
    // A photograph with the tiles alone beside a painted sherd.
    let tiles = Laid::tiles([330.0, 400.0], 5.0, 105.0);
    let mut image = draw(&[&tiles], [0.85, 0.8, 0.7], 30, even);
    let (white, red, black) = ([84.0, 1.0, 7.0], [43.0, 28.0, 26.0], [26.0, 1.0, 2.0]);
    for y in 200..600 {
        for x in 750..1100 {
            let lab = if y < 400 {
                if (x / 12) % 3 == 0 && y > 250 && y < 350 { black } else { white }
            } else {
                red
            };
            let noise = f64::from(((x * 7 + y * 13) % 11) as u32) / 11.0 - 0.5;
            let light = light_of(lab.into());
            image.pixels[y * WIDTH + x] =
                LinearRgb([0, 1, 2].map(|c| ([0.85, 0.8, 0.7][c] * light[c] * (1.0 + 0.02 * noise)) as f32));
        }
    }
    save(&image, &at("sherd.png"));
    let run = sherdlight(&["score", "--json", &at("sherd.png"), "--card", &at("tiles.json")]);
    assert_eq!(run.code, 0, "{}", run.err);
    let record: serde_json::Value = serde_json::from_str(run.out.lines().next().unwrap()).unwrap();
    assert_eq!(record["card"]["definition"], "my-tiles");
    assert!(record["card"]["mm_per_px"].is_number());
    for (surface, planted) in [("white", white), ("red", red)] {
        let lab: Vec<f64> = record["surfaces"][surface]["lab"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| v.as_f64().unwrap())
            .collect();
        let off = ciede2000([lab[0], lab[1], lab[2]].into(), planted.into());
        assert!(off < 2.0, "{surface}: {off}, {lab:?}");
    }
}
