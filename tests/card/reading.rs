//! The colour card: definitions, finding, reading, correction.

use sherdlight::card::{
    CardDefinition, CardError, CardReading, CardSettings, CardStatus, Homography, WhyNot, read_card,
};
use sherdlight::colour::{LabD50, LinearRgb, ciede2000};
use sherdlight::photo::{LinearImage, Photo};

use crate::support::{Random, iso, light_of};

const WIDTH: usize = 900;
const HEIGHT: usize = 700;

/// Corners of a card turned and tilted in front of a camera, as in a pinhole.
fn corners(turn_deg: f64, tilt_deg: f64, side: f64) -> [[f64; 2]; 4] {
    let definition = iso();
    let [w, h] = definition.layout.extent();
    let (turn, tilt) = (turn_deg.to_radians(), tilt_deg.to_radians());
    [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|[u, v]| {
        let (x, y) = ((u - w / 2.0) * side, (v - h / 2.0) * side);
        let (x, y) = (x * turn.cos() - y * turn.sin(), x * turn.sin() + y * turn.cos());
        let depth = 1.0 + x * tilt.sin() / 1200.0;
        [450.0 + x * tilt.cos() / depth, 350.0 + y / depth]
    })
}

/// A picture of a card: flat patches on a dark frame on a grey ground, seeded noise.
fn draw(
    corners: &[[f64; 2]; 4],
    exposure: f64,
    noise: f64,
    patch: impl Fn(usize) -> [f64; 3],
) -> LinearImage {
    let definition = iso();
    let [w, h] = definition.layout.extent();
    let [pitch, _] = definition.layout.pitch();
    let to_card = Homography::from_corners(w, h, corners).and_then(|m| m.inverse()).expect("a rectangle");
    let colours: Vec<[f64; 3]> = (0..24).map(patch).collect();
    let mut random = Random::new(0x5eed_1234_5678_9abc);
    let mut pixels = Vec::with_capacity(WIDTH * HEIGHT);
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            let mut sum = [0.0; 3];
            for (i, j) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
                let [u, v] = to_card.apply([x as f64 + i, y as f64 + j]);
                let (column, row) = ((u / pitch).floor(), (v / pitch).floor());
                let on_patch = (0.0..6.0).contains(&column)
                    && (0.0..4.0).contains(&row)
                    && u - column * pitch <= 1.0
                    && v - row * pitch <= 1.0;
                let on_frame = u > -0.3 && v > -0.3 && u < w + 0.3 && v < h + 0.3;
                let light = if on_patch {
                    colours[row as usize * 6 + column as usize]
                } else if on_frame {
                    [0.02; 3]
                } else {
                    [0.3, 0.28, 0.25]
                };
                (0..3).for_each(|c| sum[c] += light[c] / 4.0);
            }
            // The noise of photons grows with the root of light.
            let light =
                sum.map(|v| exposure * v + noise * (exposure * v.max(0.0) + 0.01).sqrt() * random.normal());
            pixels.push(LinearRgb(light.map(|v| v as f32)));
        }
    }
    LinearImage { width: WIDTH, height: HEIGHT, pixels }
}

fn card_picture(corners: &[[f64; 2]; 4], exposure: f64, noise: f64) -> Photo {
    let definition = iso();
    Photo::from_linear(draw(corners, exposure, noise, |i| light_of(definition.patches[i].lab)))
}

fn settings() -> CardSettings {
    CardSettings { definition: Some(iso()), ..CardSettings::default() }
}

fn corner_error(reading: &CardReading, wanted: &[[f64; 2]; 4]) -> f64 {
    let place = reading.place.as_ref().expect("in this photograph");
    let off = |i: usize| {
        let (got, wanted) = (place.corners_px[i], wanted[i]);
        (got[0] - wanted[0]).hypot(got[1] - wanted[1])
    };
    (0..4).map(off).sum::<f64>() / 4.0 / place.patch_side_px
}

#[test]
fn built_in_tables_are_in_order() {
    for id in CardDefinition::ids() {
        let card = CardDefinition::load(id).expect(id);
        assert_eq!((card.layout.rows, card.layout.columns, card.patches.len()), (4, 6, 24), "{id}");
        for (i, patch) in card.patches.iter().enumerate() {
            assert_eq!(patch.id, (i + 1).to_string(), "{id}");
        }
        assert!(!card.source.is_empty());
        // The last row is the grey scale: lightness falls, chroma is low.
        let row: Vec<LabD50> = card.patches[18..].iter().map(|p| p.lab).collect();
        assert!(row.windows(2).all(|w| w[0].l > w[1].l + 10.0), "{id}");
        assert!(row.iter().all(|c| c.a.hypot(c.b) < 3.5), "{id}");
        assert!(card.neutrals() == [18, 19, 20, 21, 22, 23], "{id}");
    }
}

/// The two editions differ by a mean CIEDE2000 of 0.85, 1.95 at most, on the white patch (computed
/// with colour-science 0.4.7 from the maker's published tables).
#[test]
fn editions_differ_as_published() {
    let (a, b) = (CardDefinition::load("chart24-a").unwrap(), CardDefinition::load("chart24-b").unwrap());
    let differences: Vec<f64> =
        a.patches.iter().zip(&b.patches).map(|(p, q)| ciede2000(p.lab, q.lab)).collect();
    assert!((differences.iter().sum::<f64>() / 24.0 - 0.85).abs() < 0.005);
    let largest = (0..24).max_by(|&i, &j| differences[i].total_cmp(&differences[j])).unwrap();
    assert_eq!(largest, 18);
    assert!((differences[18] - 1.95).abs() < 0.005);
}

#[test]
fn definitions_that_cannot_be_used_say_why() {
    let reason = |text: &str| CardDefinition::load(text).unwrap_err().to_string();
    assert!(reason("chart25").contains("chart24-a"));
    assert!(reason("nowhere/mine.json").contains("cannot be read"));
    let good = std::fs::read_to_string("calibration/cards/chart24-b.json").unwrap();
    let bad = |from: &str, to: &str| {
        assert!(good.contains(from));
        CardDefinition::from_json("mine", &good.replacen(from, to, 1)).unwrap_err().to_string()
    };
    assert!(bad("\"rows\": 4", "\"rows\": 5").contains("24 patches are listed, the layout has 30"));
    assert!(bad("\"D50\"", "\"D65\"").contains("D50"));
    assert!(bad("\"id\": \"2\"", "\"id\": \"1\"").contains("twice"));
    assert!(bad("95.190", "9519.0").contains("no possible colour"));
    assert!(bad("\"rows\"", "\"rowes\"").contains("rowes"));
    assert!(CardDefinition::from_json("mine", "").is_err());

    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.json");
    std::fs::write(
        &path,
        format!(
            "\u{feff}{}",
            good.replace("\"unit\": \"patch\"", "\"unit\": \"mm\"").replace("[1.0, 1.0]", "[40, 40]")
        ),
    )
    .unwrap();
    let mine = CardDefinition::load(path.to_str().unwrap()).unwrap();
    assert_eq!(mine.layout.patch_mm(), Some(40.0));
}

#[test]
fn found_at_any_turn_and_tilt_with_the_same_values() {
    let definition = iso();
    for turn in 0..8 {
        for tilt in [0.0, 25.0, 40.0] {
            let corners = corners(f64::from(turn) * 45.0 + 7.0, tilt, 52.0);
            let reading = read_card(&card_picture(&corners, 0.8, 0.004), &settings())
                .unwrap_or_else(|e| panic!("turn {turn} tilt {tilt}: {e}"));
            assert_eq!(reading.status, CardStatus::Found);
            assert!(corner_error(&reading, &corners) < 0.1, "turn {turn} tilt {tilt}");
            for (patch, wanted) in reading.patches.iter().zip(&definition.patches) {
                let off = ciede2000(patch.lab_corrected, wanted.lab);
                assert!(off < 0.5, "turn {turn} tilt {tilt} patch {}: {off}", patch.id);
            }
        }
    }
}

#[test]
fn nothing_is_found_where_no_card_is() {
    let grey = |v: f64| LinearRgb([v as f32; 3]);
    let paint = |f: &mut dyn FnMut(usize, usize) -> LinearRgb| {
        let pixels = (0..WIDTH * HEIGHT).map(|i| f(i % WIDTH, i / WIDTH)).collect();
        Photo::from_linear(LinearImage { width: WIDTH, height: HEIGHT, pixels })
    };
    let mut random = Random::new(99);
    let pictures = [
        ("noise", paint(&mut |_, _| LinearRgb([0; 3].map(|_| random.unit() as f32)))),
        ("stripes", paint(&mut |x, _| grey(if x / 40 % 2 == 0 { 0.8 } else { 0.05 }))),
        ("chequerboard", paint(&mut |x, y| grey(if (x / 50 + y / 50) % 2 == 0 { 0.8 } else { 0.05 }))),
        ("plain", paint(&mut |_, _| grey(0.4))),
    ];
    for (name, photo) in pictures {
        assert!(matches!(read_card(&photo, &settings()), Err(CardError::NotFound { .. })), "{name}");
    }
    // Grids of the card's layout in other colours, and the card's colours in another order.
    let definition = iso();
    for seed in 1..=12u64 {
        let mut random = Random::new(seed * 7919);
        let shuffled = seed % 2 == 0;
        let colours: Vec<[f64; 3]> = if shuffled {
            let mut order: Vec<usize> = (0..24).collect();
            (1..24).rev().for_each(|i| order.swap(i, (random.unit() * (i + 1) as f64) as usize));
            order.iter().map(|&i| light_of(definition.patches[i].lab)).collect()
        } else {
            (0..24).map(|_| [0; 3].map(|_| random.unit())).collect()
        };
        let picture = draw(&corners(30.0, 10.0, 52.0), 0.8, 0.004, |i| colours[i]);
        assert!(read_card(&Photo::from_linear(picture), &settings()).is_err(), "seed {seed}");
    }
}

#[test]
fn pictures_too_small_for_anything_are_refused() {
    for (width, height) in [(0, 0), (1, 1), (3, 200), (20, 20)] {
        let pixels = vec![LinearRgb([0.2; 3]); width * height];
        let photo = Photo::from_linear(LinearImage { width, height, pixels });
        assert!(read_card(&photo, &settings()).is_err());
        let told = CardSettings { corners: Some(corners(0.0, 0.0, 50.0)), ..settings() };
        assert!(read_card(&photo, &told).is_err());
    }
}

#[test]
fn told_corners_are_used_as_they_are() {
    let corners = corners(100.0, 20.0, 50.0);
    let photo = card_picture(&corners, 0.8, 0.004);
    let told = CardSettings { corners: Some(corners), ..settings() };
    let reading = read_card(&photo, &told).unwrap();
    assert_eq!(reading.status, CardStatus::Given);
    assert!(corner_error(&reading, &corners) < 1e-9);
    assert!(reading.held_out.mean < 0.3);
    assert_eq!(reading.place.as_ref().unwrap().mm_per_px, None);
    // The other way round they are those of a mirrored card.
    let [a, b, c, d] = corners;
    for wrong in [[b, a, d, c], [a, b, d, c], [a, a, a, a], [[f64::NAN; 2]; 4]] {
        let told = CardSettings { corners: Some(wrong), ..settings() };
        assert!(matches!(read_card(&photo, &told), Err(CardError::NotFound { .. })));
    }
    let outside = corners.map(|[x, y]| [x + 5000.0, y]);
    let told = CardSettings { corners: Some(outside), ..settings() };
    assert!(matches!(read_card(&photo, &told), Err(CardError::TooFewPatches { .. })));
    // With the size of the card in hand, lengths are known.
    let sized =
        CardSettings { definition: Some(iso().with_patch_mm(40.0)), corners: Some(corners), ..settings() };
    let scale = read_card(&photo, &sized).unwrap().place.unwrap().mm_per_px.unwrap();
    assert!((scale * reading.place.unwrap().patch_side_px - 40.0).abs() < 1e-9);
}

#[test]
fn patches_left_out_are_predicted_all_the_same() {
    let corners = corners(0.0, 15.0, 50.0);
    let photo = card_picture(&corners, 0.8, 0.004);
    let skip: Vec<String> = ["2", "6", "10", "19"].map(String::from).to_vec();
    let reading = read_card(&photo, &CardSettings { skip: skip.clone(), ..settings() }).unwrap();
    for patch in &reading.patches {
        let told = skip.contains(&patch.id);
        assert_eq!(patch.why_not == Some(WhyNot::Told), told, "{}", patch.id);
        assert!(!(told && patch.used));
        let off = ciede2000(patch.lab_corrected, patch.lab_reference);
        assert!(off < 0.5, "{}: {off}", patch.id);
    }
    let all = (1..=20).map(|n| n.to_string()).collect();
    let error = read_card(&photo, &CardSettings { skip: all, ..settings() }).unwrap_err();
    assert!(matches!(error, CardError::TooFewPatches { usable, total: 24 } if usable <= 4));
}

#[test]
fn clipped_shaded_and_covered_patches_are_left_out() {
    let definition = iso();
    let corners = corners(3.0, 5.0, 52.0);
    // White and light grey over the top of the encoding, neutral 5 in shade, moderate red painted over.
    let picture = draw(&corners, 1.25, 0.004, |i| {
        let light = light_of(definition.patches[i].lab);
        match i {
            21 => light.map(|v| 0.45 * v),
            8 => [0.1, 0.5, 0.2],
            _ => light,
        }
    });
    let reading = read_card(&Photo::from_linear(picture), &settings()).unwrap();
    let why = |n: usize| reading.patches[n - 1].why_not;
    assert_eq!(why(19), Some(WhyNot::Clipped));
    assert_eq!(why(22), Some(WhyNot::Shaded));
    assert_eq!(why(9), Some(WhyNot::Covered));
    assert!(reading.held_out.mean < 0.5);
    assert_eq!(why(2), None);
}

/// Patches that are each off in a way of their own cannot be put right by any model of a camera.
#[test]
fn a_correction_that_makes_nothing_better_is_refused() {
    let definition = iso();
    let corners = corners(0.0, 0.0, 50.0);
    // Up or down by the bits of the patch's number: no offset, no tint, no tone in common.
    let off = |i: usize, bit: usize| if i >> bit & 1 == 0 { 5.0 } else { -5.0 };
    let colours: Vec<[f64; 3]> = (0..24)
        .map(|i| {
            let LabD50 { l, a, b } = definition.patches[i].lab;
            light_of(LabD50 { l: (l + off(i, 0)).clamp(5.0, 95.0), a: a + off(i, 1), b: b + off(i, 2) })
        })
        .collect();
    let photo = Photo::from_linear(draw(&corners, 1.0, 0.002, |i| colours[i]));
    let told = CardSettings { corners: Some(corners), ..settings() };
    match read_card(&photo, &told) {
        Err(CardError::NoBetter { before, after }) => assert!(before > 3.0 && after >= before),
        other => panic!("{:?}", other.map(|r| r.held_out)),
    }
    // A picture that is right as it came is no such case.
    let right = Photo::from_linear(draw(&corners, 1.0, 0.002, |i| light_of(definition.patches[i].lab)));
    assert!(read_card(&right, &told).is_ok());
}

#[test]
fn an_unknown_edition_counts_in_the_uncertainty() {
    let later = CardDefinition::load("chart24-b").unwrap();
    let corners = corners(0.0, 0.0, 50.0);
    let picture = draw(&corners, 0.8, 0.002, |i| light_of(later.patches[i].lab));
    let photo = Photo::from_linear(picture);
    let unknown = read_card(&photo, &CardSettings::default()).unwrap();
    assert_eq!(unknown.definition, "chart24-b");
    assert!(unknown.warnings.iter().any(|(code, _)| code == "card-edition-unknown"));
    let white = LinearRgb(unknown.patches[18].rgb_linear.map(|v| v as f32));
    let doubt = unknown.correction.edition_u95(white);
    // The whites of the editions differ by 1.35 in L*; a fit to all patches takes part of that.
    assert!(doubt.iter().all(|d| d.is_finite()) && doubt[0] > 0.3, "{doubt:?}");
    let known = read_card(&photo, &CardSettings { definition: Some(later), ..settings() }).unwrap();
    assert_eq!(known.correction.edition_u95(white), [0.0; 3]);
    assert!(known.warnings.is_empty(), "{:?}", known.warnings);
    for l in [0.0, 50.0, 100.0] {
        let u = known.correction.u95(LabD50 { l, a: 10.0, b: 120.0 });
        assert!(u.iter().all(|v| v.is_finite() && *v >= 0.0));
    }
}

#[test]
fn a_homography_goes_there_and_back() {
    let mut random = Random::new(4711);
    for _ in 0..200 {
        let corners = [[0.0, 0.0], [100.0, 0.0], [100.0, 80.0], [0.0, 80.0]]
            .map(|[x, y]| [x + 30.0 * random.unit(), y + 30.0 * random.unit()]);
        let map = Homography::from_corners(6.0, 4.0, &corners).expect("convex");
        let back = map.inverse().unwrap();
        let points: Vec<[f64; 2]> = (0..10).map(|_| [6.0 * random.unit(), 4.0 * random.unit()]).collect();
        let images: Vec<[f64; 2]> = points.iter().map(|p| map.apply(*p)).collect();
        for (p, q) in points.iter().zip(&images) {
            let r = back.apply(*q);
            assert!((r[0] - p[0]).hypot(r[1] - p[1]) < 1e-9);
            // The area is that of the image of a small square.
            let step = 1e-4;
            let (a, b) = (map.apply([p[0] + step, p[1]]), map.apply([p[0], p[1] + step]));
            let area = (a[0] - q[0]) * (b[1] - q[1]) - (a[1] - q[1]) * (b[0] - q[0]);
            assert!((area / (step * step) / map.area(*p) - 1.0).abs() < 1e-3);
        }
        // Ten exact points give the same map back.
        let again = Homography::fit(&points, &images).unwrap();
        let (one, two) = (map.apply([3.0, 2.0]), again.apply([3.0, 2.0]));
        assert!((one[0] - two[0]).hypot(one[1] - two[1]) < 1e-6);
    }
    let line = [[0.0, 0.0], [1.0, 1.0], [2.0, 2.0], [3.0, 3.0]];
    assert!(Homography::from_corners(6.0, 4.0, &line).is_none());
}

/// The folder of photographs with known corners, where `SHERDLIGHT_TRUTH` names it.
#[test]
fn photographs_with_known_corners() {
    #![allow(clippy::print_stderr)]
    let Some(folder) = std::env::var_os("SHERDLIGHT_TRUTH") else {
        eprintln!("SHERDLIGHT_TRUTH is not set: no photographs with known corners were read");
        return;
    };
    let folder = std::path::Path::new(&folder).join("photos");
    let mut rows = csv::Reader::from_path(folder.join("photos.csv")).expect("photos.csv");
    let header = rows.headers().unwrap().clone();
    let (mut cards, mut found, mut claimed) = (0, 0, Vec::new());
    for row in rows.records() {
        let row = row.unwrap();
        let get = |name: &str| header.iter().position(|h| h == name).map_or("", |i| &row[i]);
        let number = |name: String| get(&name).parse::<f64>().unwrap();
        let photo = sherdlight::photo::read(&folder.join(get("file")), &Default::default()).unwrap();
        let reading = read_card(&photo, &CardSettings::default());
        if get("kind") != "card" {
            claimed.extend(reading.is_ok().then(|| get("file").to_owned()));
            continue;
        }
        cards += 1;
        let wanted = [1, 6, 24, 19].map(|k| [number(format!("p{k}_x")), number(format!("p{k}_y"))]);
        found += usize::from(reading.is_ok_and(|r| corner_error(&r, &wanted) < 0.25));
    }
    eprintln!(
        "cards found within a quarter of a patch side: {found} of {cards}; claimed where none is: {claimed:?}"
    );
    assert!(claimed.is_empty());
    assert!(cards > 0 && found * 26 >= cards * 21);
}
