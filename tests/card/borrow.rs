//! One card shot for a session: photographs made here at known exposures, their colours known.

use crate::scene::*;
use assert_cmd::Command;
use exif::experimental::Writer;
use exif::{Field, In, Rational, Tag, Value};
use image::ImageEncoder;
use serde_json::Value as Json;
use sherdlight::card::{CardShot, CardStatus, borrow_card, read_card};
use sherdlight::photo::{Exposure, Photo};
use sherdlight::reading::{Reading, WARNING_CODES};
use std::path::Path;

/// 1/64 s written as cameras write it, 1/60.
const BASE: f64 = 0.45;

fn exposure(seconds: f64) -> Exposure {
    Exposure { seconds: Some(seconds), f_number: Some(5.6), iso: Some(100.0) }
}

fn told(mut photo: Photo, hash: &str, exposure: Option<Exposure>) -> Photo {
    photo.facts.sha256 = hash.repeat(64);
    photo.facts.exposure = exposure;
    photo.facts.camera = Some("Maker Model".into());
    photo.facts.auto_white_balance = Some(false);
    photo
}

fn shot() -> CardShot {
    let photo =
        told(Scene { exposure: BASE, ..Scene::default() }.photo(even), "a", Some(exposure(1.0 / 60.0)));
    let reading = read_card(&photo, &settings()).expect("the card is seen");
    CardShot::new("card.jpg", &photo, reading)
}

fn agrees(reading: &Reading) {
    for (surface, wanted) in [(&reading.surfaces.white, WHITE), (&reading.surfaces.black, BLACK)] {
        let surface = surface.as_ref().expect("seen");
        for c in 0..3 {
            let off = (surface.lab[c] - wanted[c]).abs();
            assert!(off <= surface.u95[c], "{:?} for {wanted:?} +- {:?}", surface.lab, surface.u95);
        }
    }
}

/// Exposures of 0, +1, -2 stops in truth; the shutter's customary step says a little else.
#[test]
fn readings_agree_at_other_exposures() {
    let shot = shot();
    let own = reading_of(&Scene { exposure: BASE, ..Scene::default() }.photo(even), &shot.reading);
    agrees(&own);
    let mut widths = Vec::new();
    for (stops, seconds) in [(0.0, 1.0 / 60.0), (1.0, 1.0 / 30.0), (-2.0, 1.0 / 250.0)] {
        let scene =
            Scene { with_card: false, exposure: BASE * f64::powf(2.0, stops), seed: 99, ..Scene::default() };
        let photo = told(scene.photo(even), "b", Some(exposure(seconds)));
        let card = borrow_card(&shot, &photo, &settings(), false).expect("all is told");
        assert_eq!(card.status, CardStatus::Borrowed);
        assert!(card.place.is_none() && card.patches.is_empty());
        let ratio = card.borrowed.as_ref().unwrap().exposure_ratio;
        assert!((ratio / f64::powf(2.0, stops) - 1.0).abs() < 0.07, "{ratio}");
        let reading = reading_of(&photo, &card);
        agrees(&reading);
        assert!(reading.card.corners_px.is_none() && reading.light.ground.is_none());
        assert_eq!(reading.card.borrowed_from.as_ref().unwrap().path, "card.jpg");
        let text = &reading.warnings.iter().find(|w| w.code == "card-borrowed").expect("always said").text;
        assert!(text.contains("card.jpg") && text.contains(&format!("{ratio:.2} ±")), "{text}");
        assert!(reading.warnings.iter().all(|w| WARNING_CODES.contains(&w.code.as_str())));
        let white = reading.surfaces.white.unwrap();
        assert!(white.u95[0] > own.surfaces.white.as_ref().unwrap().u95[0]);
        widths.push(white.u95_parts["exposure"][0]);
    }
    // The same settings say more than others.
    assert!(widths[0] > 0.5 && widths[0] < widths[1] && (widths[1] - widths[2]).abs() < 0.5, "{widths:?}");
}

/// A camera's own tone curve (a power on the encoded value) is undone before the exposure is scaled.
#[test]
fn a_tone_curve_does_not_spoil_the_scaling() {
    let curved = |scene: Scene| {
        let mut picture = scene.draw(even);
        picture.pixels.iter_mut().for_each(|p| p.0 = p.0.map(|v| v.max(0.0).powf(0.85)));
        Photo::from_linear(picture)
    };
    let base = told(curved(Scene { exposure: BASE, ..Scene::default() }), "a", Some(exposure(1.0 / 64.0)));
    let shot = CardShot::new("card.jpg", &base, read_card(&base, &settings()).expect("seen"));
    let scene = Scene { with_card: false, exposure: BASE / 2.0, seed: 5, ..Scene::default() };
    let photo = told(curved(scene), "b", Some(exposure(1.0 / 128.0)));
    let card = borrow_card(&shot, &photo, &settings(), false).expect("all is told");
    let reading = reading_of(&photo, &card);
    agrees(&reading);
    assert!((reading.surfaces.white.unwrap().lab[0] - WHITE[0]).abs() < 1.5);
}

#[test]
fn what_differs_is_refused_or_said() {
    let shot = shot();
    let photo =
        || told(Scene { with_card: false, ..Scene::default() }.photo(even), "b", Some(exposure(0.02)));
    let code = |photo: &Photo, same| borrow_card(&shot, photo, &settings(), same).map_err(|e| e.code());

    let mut silent = photo();
    silent.facts.exposure = None;
    assert_eq!(code(&silent, false).unwrap_err(), "exposure-unknown");
    let card = code(&silent, true).expect("said to be the same");
    assert_eq!(card.borrowed.as_ref().unwrap().exposure_ratio, 1.0);
    assert!(card.warnings.iter().any(|(c, t)| c == "card-borrowed" && t.contains("as you said")));

    let mut other = photo();
    other.facts.camera = Some("Maker Other".into());
    assert_eq!(code(&other, true).unwrap_err(), "card-from-other-camera");
    let mut wide = photo();
    wide.facts.profile = Some("Display P3".into());
    assert_eq!(code(&wide, true).unwrap_err(), "card-from-other-profile");

    let mut automatic = photo();
    automatic.facts.auto_white_balance = Some(true);
    let said = |photo: &Photo| -> Vec<String> {
        code(photo, false).expect("borrowed").warnings.into_iter().map(|(code, _)| code).collect()
    };
    assert!(said(&automatic).contains(&"card-borrowed-auto-white-balance".to_owned()));
    assert_eq!(said(&photo()), ["card-borrowed"]);
    let mut unnamed = photo();
    (unnamed.facts.camera, unnamed.facts.auto_white_balance) = (None, None);
    assert_eq!(said(&unnamed), ["card-borrowed", "card-borrowed-doubtful"]);
}

#[test]
fn the_card_shot_itself_keeps_its_card_and_another_card_is_no_piece() {
    let shot = shot();
    let itself =
        told(Scene { exposure: BASE, ..Scene::default() }.photo(even), "a", Some(exposure(1.0 / 60.0)));
    let card = borrow_card(&shot, &itself, &settings(), false).unwrap();
    assert!(card.status == CardStatus::Found && card.borrowed.is_none() && card.place.is_some());

    let scene = Scene { exposure: BASE, seed: 3, ..Scene::default() };
    let photo = told(scene.photo(even), "b", Some(exposure(1.0 / 60.0)));
    let card = borrow_card(&shot, &photo, &settings(), false).unwrap();
    assert_eq!(card.status, CardStatus::Borrowed);
    let reading = reading_of(&photo, &card);
    agrees(&reading);
    assert!(reading.card.corners_px.is_none() && reading.card.candidates_px.len() == 1);
    let seen = reading.warnings.iter().find(|w| w.code == "card-seen-as-well").expect("said");
    assert!(seen.text.contains("CIEDE2000 0."), "{}", seen.text);
    assert!(reading.piece.outline_px.iter().all(|p| p[0] > 400.0), "the plate, not the card");
}

fn field(tag: Tag, value: Value) -> Field {
    Field { tag, ifd_num: In::PRIMARY, value }
}

/// An 8-bit sRGB PNG (curve of IEC 61966-2-1) with the camera's notes; without seconds it has none.
fn write(path: &Path, scene: Scene, seconds: Option<(u32, u32)>) {
    let picture = scene.draw(even);
    let code = |v: f32| {
        let v = f64::from(v);
        let encoded = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
        (255.0 * encoded).round() as u8
    };
    let bytes: Vec<u8> = picture.pixels.iter().flat_map(|p| p.0.map(code)).collect();
    let mut file = Vec::new();
    let mut encoder = image::codecs::png::PngEncoder::new(&mut file);
    if let Some((num, denom)) = seconds {
        let fields = [
            field(Tag::Make, Value::Ascii(vec![b"Maker".to_vec()])),
            field(Tag::Model, Value::Ascii(vec![b"Model".to_vec()])),
            field(Tag::ExposureTime, Value::Rational(vec![Rational { num, denom }])),
            field(Tag::FNumber, Value::Rational(vec![Rational { num: 56, denom: 10 }])),
            field(Tag::PhotographicSensitivity, Value::Short(vec![100])),
            field(Tag::WhiteBalance, Value::Short(vec![1])),
        ];
        let mut writer = Writer::new();
        fields.iter().for_each(|f| writer.push_field(f));
        let mut block = std::io::Cursor::new(Vec::new());
        writer.write(&mut block, true).expect("written");
        encoder.set_exif_metadata(block.into_inner()).expect("exif");
    }
    encoder
        .write_image(&bytes, WIDTH as u32, HEIGHT as u32, image::ExtendedColorType::Rgb8)
        .expect("encoded");
    std::fs::write(path, file).expect("written");
}

fn run(arguments: &[&str]) -> (i32, Vec<Json>, String) {
    let output = Command::cargo_bin("sherdlight").unwrap().args(arguments).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let records = text.lines().filter_map(|line| serde_json::from_str(line).ok()).collect();
    (output.status.code().unwrap(), records, String::from_utf8(output.stderr).unwrap())
}

#[test]
fn the_program_borrows_for_a_session() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (card, bright, silent) = (at("card.png"), at("bright.png"), at("silent.png"));
    let bare = Scene { with_card: false, exposure: BASE, seed: 11, ..Scene::default() };
    write(Path::new(&card), Scene { exposure: BASE, ..Scene::default() }, Some((1, 60)));
    write(Path::new(&bright), Scene { exposure: 2.0 * BASE, ..bare }, Some((1, 30)));
    write(Path::new(&silent), bare, None);

    let base = ["score", "--json", "--quiet", "--card", "chart24-iso", "--card-from", &card];
    let (code, records, err) = run(&[&base[..], &[&card, &bright, &silent]].concat());
    assert_eq!((code, records.len()), (3, 3), "{err}");
    assert_eq!(records[0]["card"]["status"], "found");
    assert!(records[0]["card"]["borrowed_from"].is_null());
    let borrowed = &records[1]["card"];
    assert_eq!(borrowed["status"], "borrowed");
    assert!(borrowed["corners_px"].is_null() && borrowed["patches"].as_array().unwrap().is_empty());
    assert_eq!(borrowed["borrowed_from"]["sha256"], records[0]["photo"]["sha256"]);
    assert_eq!(borrowed["borrowed_from"]["exposure_ratio"], 2.0);
    assert_eq!(borrowed["held_out_de00"], records[0]["card"]["held_out_de00"]);
    let white = |record: &Json| record["surfaces"]["white"]["lab"][0].as_f64().unwrap();
    assert!((white(&records[1]) - WHITE[0]).abs() < 1.0 && (white(&records[0]) - WHITE[0]).abs() < 1.0);
    assert_eq!(records[2]["error"]["code"], "exposure-unknown");
    assert!(records[2]["error"]["text"].as_str().unwrap().contains("--same-exposure"), "{}", records[2]);

    let page = at("page.html");
    let told = ["--same-exposure", "--report", &page, &silent];
    let (code, again, err) = run(&[&base[..], &told[..]].concat());
    assert_eq!(code, 0, "{err}");
    assert_eq!(again[0]["card"]["borrowed_from"]["exposure_ratio"], 1.0);
    assert!((white(&again[0]) - WHITE[0]).abs() < 1.0);
    assert_ne!(again[0]["made_by"]["settings_sha256"], records[0]["made_by"]["settings_sha256"]);
    let page = std::fs::read_to_string(page).unwrap();
    assert!(page.contains("Exposure against the card shot") && page.contains("card.png"));

    let matched =
        ["match", "--json", "--card", "chart24-iso", "--card-from", &card, &bright, "--reference", &card];
    let (code, records, err) = run(&matched);
    assert_eq!(code, 0, "{err}");
    assert_eq!(records[0]["card"]["status"], "borrowed");
    let differences = records[0]["comparison"]["differences"].as_array().unwrap().clone();
    assert!(differences.iter().all(|d| d["differs"] == false), "{differences:?}");
}

#[test]
fn a_card_shot_that_cannot_be_read_is_a_fault_of_the_settings() {
    let folder = tempfile::tempdir().unwrap();
    let plain = folder.path().join("plain.png");
    image::RgbImage::from_pixel(300, 200, image::Rgb([90, 90, 90])).save(&plain).unwrap();
    let plain = plain.to_str().unwrap();
    for (arguments, code, words) in [
        (vec!["score", plain, "--card-from", plain], 5, "card shot"),
        (vec!["score", plain, "--card-from", "no/such.jpg"], 5, "card shot"),
        (vec!["score", plain, "--same-exposure"], 2, "--card-from"),
    ] {
        let (got, records, err) = run(&arguments);
        assert_eq!((got, records.len()), (code, 0), "{arguments:?}: {err}");
        assert!(err.contains(words), "{err}");
    }
}
