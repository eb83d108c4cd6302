//! A load kept with its sheet, gone on with, read again, corrected.

use super::support::{Place, demo, sherdlight, text};
use serde_json::Value;
use std::fs;

const TILE: &str = "09-first-frost-tile.jpg";
const SHERD: &str = "05-wet-reed-sherd.jpg";

fn rows(place: &Place, table: &str) -> u64 {
    place.run(&["ledger", "check", "--json"]).json()[0]["rows"][table].as_u64().unwrap()
}

#[test]
fn a_photograph_is_read_once_and_its_table_is_the_same() {
    let place = Place::new();
    let folder = text(&place.photographs(&[TILE, SHERD], 1));
    let score = ["score", &folder, "--card", "chart24-iso", "--firing", "wet reed", "--json"];
    let (first, second) = (place.run(&score), place.run(&score));
    assert_eq!((first.code, second.code), (0, 0), "{}{}", first.err, second.err);
    assert_eq!(first.out, second.out);
    assert!(second.err.contains("2 photographs were read before"), "{}", second.err);
    assert_eq!((rows(&place, "passes"), rows(&place, "readings")), (2, 2));
    // Read again with the same settings it comes out the same, so nothing is entered.
    let again = place.run(&[&score[..], &["--again"]].concat());
    assert_eq!(again.out, first.out);
    assert!(again.err.contains("2 photographs were read again; 0 came out otherwise"), "{}", again.err);
    assert_eq!(rows(&place, "passes"), 2);
    // With other settings it is read anew; what was there is kept, and counts again with the first settings.
    let smudged = place.run(&[&score[..], &["--surface", "smudged"]].concat());
    assert!(!smudged.err.contains("read before"), "{}", smudged.err);
    assert_eq!(rows(&place, "passes"), 4);
    let back = place.run(&score);
    assert_eq!(back.out, first.out);
    assert!(back.err.contains("2 photographs were read before"), "{}", back.err);
    let photographs: Vec<Value> =
        place.whole().into_iter().filter_map(|line| line.get("photograph").cloned()).collect();
    for photograph in &photographs {
        let passes = photograph["passes"].as_array().unwrap();
        assert_eq!(passes.first().unwrap()["records"], passes.last().unwrap()["records"]);
        assert_eq!(passes.len(), 3);
    }
}

#[test]
fn a_kept_record_tells_its_reasons() {
    let place = Place::new();
    let folder = text(&place.photographs(&[TILE], 1));
    let out = place.text("out");
    place.run(&["score", &folder, "--card", "chart24-iso", "--firing", "wet reed", "--out", &out]);
    let kept = place.run(&["reasons", "--photo", "09-first-frost-tile-0.jpg"]);
    let file = sherdlight(&["reasons", &text(&place.at("out").join("records.jsonl"))]);
    assert_eq!((kept.code, file.code), (0, 0), "{}{}", kept.err, file.err);
    assert_eq!(kept.out, file.out);
    let none = place.run(&["reasons", "--photo", "other.jpg"]);
    assert!(none.code == 5 && none.err.contains("knows no photograph 'other.jpg'"), "{}", none.err);
}

#[test]
fn pictures_that_are_missing_are_made_without_a_new_reading() {
    let place = Place::new();
    let folder = text(&place.photographs(&[TILE], 1));
    let score = ["score", &folder, "--card", "chart24-iso", "--firing", "wet reed"];
    assert_eq!(place.run(&score).code, 0);
    let (out, report) = (place.text("out"), place.text("load.html"));
    let with = [&score[..], &["--out", &out]].concat();
    assert!(place.run(&with).err.contains("1 photograph was read again only to make the pictures"));
    assert!(place.at("out").join("09-first-frost-tile-0.overlay.jpg").is_file());
    let reported = place.run(&[&score[..], &["--report", &report]].concat());
    assert!(reported.err.contains("only to make the pictures"), "{}", reported.err);
    assert!(fs::read_to_string(&report).unwrap().contains("data:image/jpeg"));
    assert_eq!(rows(&place, "passes"), 1);
}

#[test]
fn a_photograph_that_cannot_be_measured_is_kept_with_its_reason() {
    let place = Place::new();
    let folder = place.photographs(&[TILE], 1);
    fs::write(folder.join("words.jpg"), "no picture").unwrap();
    let score = ["score", &text(&folder), "--card", "chart24-iso", "--firing", "wet reed"];
    let (first, second) = (place.run(&score), place.run(&score));
    assert_eq!((first.code, second.code), (3, 3));
    let line = |err: &str| err.lines().find(|line| line.contains("words.jpg:")).map(str::to_owned);
    assert!(line(&first.err).is_some());
    assert_eq!(line(&first.err), line(&second.err));
    assert!(second.err.contains("2 photographs were read before"), "{}", second.err);
    let shown = place.run(&["firing", "show", "wet reed"]).out;
    assert!(shown.contains("not measured") && shown.contains("words.jpg"), "{shown}");
}

#[test]
fn the_sheet_fills_firings_recipes_pieces_and_places_and_a_new_sheet_corrects_them() {
    let place = Place::new();
    let folder = text(&place.photographs(&[TILE], 1));
    let sheet = |body: &str| place.file("sheet.csv", body);
    let head = "File;Piece;Firing;Clay;Slip;Red;Paint;Place;Shape;Size;State;Soak test;Flaws;Notes\r\n";
    let first = sheet(&format!(
        "\u{feff}{head}09-first-frost-tile-0.jpg;T1;first frost;river;batch 3;;;middle;tile;\"12,5 cm\";fired;;hair crack;\r\n"
    ));
    let score = |sheet: &str| place.run(&["score", &folder, "--card", "chart24-iso", "--sheet", sheet]);
    let kept = score(&first);
    assert_eq!(kept.code, 0, "{}", kept.err);
    let piece = place.run(&["piece", "show", "T1", "--json"]).json().remove(0);
    assert_eq!(piece["values"]["size"], "12,5 cm");
    assert_eq!(piece["values"]["clay"], "river");
    assert_eq!(piece["values"].get("red"), None, "unknown stays empty");
    assert_eq!(piece["loads"][0]["values"]["flaws"], "hair crack");
    assert_eq!(rows(&place, "recipes"), 2);
    let second = sheet(&format!(
        "{head}09-first-frost-tile-0.jpg;T2;first frost;river;batch 4;;;windward edge;tile;;;;;\n"
    ));
    let corrected = score(&second);
    assert!(corrected.err.contains("piece was 'T1', now 'T2'"), "{}", corrected.err);
    assert!(
        corrected.err.contains("read before"),
        "a corrected sheet needs no new reading: {}",
        corrected.err
    );
    let glances = place.run(&["firing", "show", "first frost", "--json"]).json().remove(0);
    assert_eq!(glances["readings"][0]["piece"], "T2");
    assert_eq!(rows(&place, "pieces"), 2, "the first is kept");
}

#[test]
fn what_does_not_fit_the_sheet_is_told_by_row_and_column_and_nothing_is_kept() {
    let place = Place::new();
    let folder = text(&place.photographs(&[TILE, SHERD], 1));
    let sheet = place.file(
        "sheet.csv",
        "file,piece,colour,state\n09-first-frost-tile-0.jpg,1,,half fired\nnone.jpg,2,,\n,3,,\nnone.jpg,4,,\n",
    );
    let score = ["score", &folder, "--card", "chart24-iso", "--sheet", &sheet, "--firing", "wet reed"];
    let refused = place.run(&score);
    assert_eq!(refused.code, 5);
    for told in [
        "row 1, column colour",
        "row 2, column state",
        "row 3, column file: 'none.jpg' is none of the photographs",
        "row 4, column file: piece '3' has no photograph",
        "row 5, column file",
        "05-wet-reed-sherd-0.jpg: the sheet names no piece",
    ] {
        assert!(refused.err.contains(told), "{told}: {}", refused.err);
    }
    assert!(!place.at("ledger.sqlite").exists());
    let partial = place.run(&[&score[..], &["--partial"]].concat());
    assert_eq!(partial.code, 0, "{}", partial.err);
    assert_eq!(rows(&place, "readings"), 2);
    assert_eq!(place.run(&["piece", "list", "--json"]).json().len(), 1, "piece 3, which has no photograph");
}

#[test]
fn one_name_for_two_photographs_and_two_names_for_one_are_told() {
    let place = Place::new();
    for (folder, which) in [("a", TILE), ("b", SHERD)] {
        fs::create_dir(place.at(folder)).unwrap();
        fs::copy(demo(which), place.at(folder).join("shot-1.jpg")).unwrap();
    }
    let sheet = place.file("sheet.csv", "file,piece\nshot-1.jpg,jar\n");
    let (a, b) = (place.text("a"), place.text("b"));
    let run = place.run(&["score", &a, &b, "--sheet", &sheet, "--firing", "wet reed"]);
    assert!(
        run.code == 5 && run.err.contains("row 2, column file: 'shot-1.jpg' is the name of 2"),
        "{}",
        run.err
    );
    fs::copy(demo(TILE), place.at("a").join("shot-2.jpg")).unwrap();
    let sheet = place.file("sheet.csv", "file,piece\nshot-1.jpg,jar\nshot-2.jpg,dish\n");
    let run = place.run(&["score", &a, "--sheet", &sheet, "--firing", "wet reed"]);
    assert!(run.code == 5 && run.err.contains("is the same picture as"), "{}", run.err);
    assert!(!place.at("ledger.sqlite").exists());
}

#[test]
fn names_of_files_carry_firing_and_piece() {
    let place = Place::new();
    let folder = place.at("shots");
    fs::create_dir(&folder).unwrap();
    fs::copy(demo(TILE), folder.join("first frost_T1_front.jpg")).unwrap();
    let score = ["score", &text(&folder), "--card", "chart24-iso", "--file-names", "{firing}_{piece}_*"];
    let run = place.run(&score);
    assert_eq!(run.code, 0, "{}", run.err);
    let glances = place.run(&["firing", "show", "first frost", "--json"]).json().remove(0);
    assert_eq!(glances["readings"][0]["piece"], "T1");
    fs::copy(demo(SHERD), folder.join("other.jpg")).unwrap();
    let refused = place.run(&score);
    assert_eq!(refused.code, 5);
    assert!(refused.err.contains("does not fit {firing}_{piece}_*"), "{}", refused.err);
    assert_eq!(sherdlight(&["score", &text(&folder), "--file-names", "{pot}"]).code, 2);
}
