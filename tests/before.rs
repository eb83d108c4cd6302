//! A fired piece against a photograph of it before the fire, as a person meets it. The demo jar was rendered in both states, so
//! what is left of its paint is known exactly (`demo-images/truth.json`).

use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};

const FIRED: &str = "03-long-ember-jar.jpg";
const UNFIRED: &str = "unfired/03-long-ember-jar-unfired.jpg";

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-images").join(name)
}

/// Exit code, standard output, standard error.
fn sherdlight(arguments: &[&str]) -> (i32, String, String) {
    let mut program = Command::cargo_bin("sherdlight").unwrap();
    let output = program.env("SOURCE_DATE_EPOCH", "1777832400").args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

fn score(fired: &Path, before: &Path, more: &[&str]) -> (i32, String, String) {
    let [fired, before] = [fired, before].map(|path| path.to_str().unwrap());
    let mut arguments = vec!["score", fired, "--before", before, "--card", "chart24-iso", "--json"];
    arguments.extend(more);
    sherdlight(&arguments)
}

fn truth(name: &str) -> Value {
    let file = std::fs::read_to_string(demo("truth.json")).unwrap();
    let all: Value = serde_json::from_str(&file).unwrap();
    all["pictures"].as_array().unwrap().iter().find(|t| t["name"] == name).unwrap().clone()
}

#[test]
fn what_the_fire_took_of_the_jar() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let page = folder.path().join("jar.html");
    let page = page.to_str().unwrap();
    let (code, json, err) = score(
        &demo(FIRED),
        &demo(UNFIRED),
        &["--threads", "2", "--out", out, "--labels", out, "--report", page],
    );
    assert_eq!(code, 0, "{err}");
    let record: Value = serde_json::from_str(&json).unwrap();
    let survival = &record["survival"];
    let number = |value: &Value| value.as_f64().unwrap();
    let shares = ["kept", "thinned", "lost"].map(|name| number(&survival[name]));
    assert!((shares.iter().sum::<f64>() - 1.0).abs() < 0.002, "{shares:?}");
    let retained = number(&survival["retained_fraction"]);
    assert!((shares[0] + shares[1] - retained).abs() < 0.002);
    let planted = number(&truth("03-long-ember-jar")["paint"]["retained_fraction"]);
    assert!((retained - planted).abs() <= number(&survival["u95"]), "{retained} for {planted}");
    // Without the first photograph much that burned off is not even seen as paint; the labels and the paint follow it.
    let paint = number(&record["paint"]["retained_fraction"]);
    assert!((paint - retained).abs() < 0.03, "{paint} and {retained}");
    let labels = image::open(folder.path().join("03-long-ember-jar.labels.png")).unwrap().to_luma8();
    let planted = image::open(demo("labels/03-long-ember-jar.labels.png")).unwrap().to_luma8();
    let (mut both, mut either) = (0.0, 0.0);
    for (found, planted) in labels.pixels().zip(planted.pixels()) {
        let lost = [found.0[0] == 6, planted.0[0] == 6];
        both += f64::from(u8::from(lost[0] && lost[1]));
        either += f64::from(u8::from(lost[0] || lost[1]));
    }
    assert!(both / either > 0.7, "lost paint: intersection over union {}", both / either);
    // Strokes lie on the piece, the largest first.
    let strokes = survival["strokes"].as_array().unwrap();
    let areas: Vec<f64> = strokes.iter().map(|stroke| number(&stroke["area_px"])).collect();
    assert!(strokes.len() > 5 && areas.is_sorted_by(|one, other| one >= other), "{areas:?}");
    assert!(areas.iter().sum::<f64>() <= number(&survival["laid_px"]));
    assert!(survival["same_places_px"].as_array().unwrap().len() > 50);
    let picture = record["outputs"]["survival"].as_str().unwrap();
    let picture = image::open(folder.path().join(picture)).unwrap();
    assert_eq!(picture.width(), 1600);
    let html = std::fs::read_to_string(page).unwrap();
    assert!(html.contains("of the paint laid still reads"), "the page tells nothing of it");

    // The photograph before the fire is found again, by what is in it, and gives the same numbers.
    let photos = demo("");
    let (code, said, err) = sherdlight(&["verify", page, "--photos", photos.to_str().unwrap()]);
    assert_eq!(code, 0, "{said}{err}");
    assert!(said.contains("the same numbers"), "{said}");
    let alone = tempfile::tempdir().unwrap();
    std::fs::copy(demo(FIRED), alone.path().join(FIRED)).unwrap();
    let moved = tempfile::tempdir().unwrap();
    let moved_page = moved.path().join("jar.html");
    // A page never says where files lay, so from another folder the first photograph is not found.
    std::fs::copy(page, &moved_page).unwrap();
    let arguments = ["verify", moved_page.to_str().unwrap(), "--photos", alone.path().to_str().unwrap()];
    let (code, said, _) = sherdlight(&arguments);
    assert_ne!(code, 0);
    assert!(said.contains("the photograph before the fire"), "{said}");

    let (_, again, _) =
        score(&demo(FIRED), &demo(UNFIRED), &["--threads", "1", "--out", out, "--labels", out]);
    assert_eq!(json, again, "not the same on one thread as on two");
}

#[test]
fn another_pot_is_refused() {
    let (code, json, err) = score(&demo("01-first-frost-jar.jpg"), &demo(UNFIRED), &[]);
    assert_eq!(code, 3, "{err}");
    assert!(err.contains("does not show this piece"), "{err}");
    let record: Value = serde_json::from_str(&json).unwrap();
    assert!(record["survival"].is_null());
    assert!(record["null_because"]["survival"].as_str().unwrap().contains("does not show this piece"));
    let codes = record["warnings"].as_array().unwrap().iter().map(|warning| &warning["code"]);
    assert!(codes.into_iter().any(|code| code == "another-piece"));
    // All else was measured.
    assert!(record["surfaces"]["white"]["lab"][0].is_number());
}

#[test]
fn what_cannot_be_a_photograph_before_the_fire_is_said() {
    let [fired, unfired] = [FIRED, UNFIRED].map(|name| demo(name).to_str().unwrap().to_owned());
    let second = demo("01-first-frost-jar.jpg").to_str().unwrap().to_owned();
    let readme = demo("README.md").to_str().unwrap().to_owned();
    for (arguments, code, said) in [
        (vec!["score", &fired, &second, "--before", &unfired], 2, "one photograph of the fired piece"),
        (vec!["score", &fired, "--before", &fired], 5, "it is the photograph of the fired piece"),
        (vec!["score", &fired, "--before", &readme], 5, "README.md' cannot be used"),
        (vec!["score", &fired, "--before", "nowhere.jpg"], 5, "nowhere.jpg' cannot be used"),
    ] {
        let (got, out, err) = sherdlight(&arguments);
        assert_eq!(got, code, "{arguments:?}: {err}");
        assert!(err.contains(said), "{arguments:?}: {err}");
        assert!(out.is_empty(), "{out}");
    }
}
