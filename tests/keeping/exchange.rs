//! Out and in again: exports, what they leave out, two ledgers that become one.

use super::support::{Place, demo, text};
use serde_json::Value;
use std::fs;

fn load(place: &Place) {
    let run = place.run(&[
        "score",
        &text(&demo("")),
        "--card",
        "chart24-iso",
        "--sheet",
        &text(&demo("sheet.csv")),
    ]);
    assert_eq!(run.code, 0, "{}", run.err);
    for edit in [
        &["firing", "edit", "wet reed", "--place", "behind the long barn", "--fuel", "reeds"][..],
        &["firing", "edit", "wet reed", "--fuel", "damp reeds", "--because", "it rained"],
        &["piece", "edit", "01", "--slip", "white batch 4"],
    ] {
        assert_eq!(place.run(edit).code, 0);
    }
    let log = place.file("log.csv", "time,probe 1 (C),probe 2 (C)\n14:00,20,25\n14:01,300,OL\n14:02,500,\n");
    assert_eq!(place.run(&["firing", "temperatures", &log, "--firing", "wet reed"]).code, 0);
}

/// A photograph whose camera wrote time and exposure.
fn with_exif(place: &Place) {
    let tile = text(&demo("09-first-frost-tile.jpg"));
    let run = super::support::sherdlight(&["score", &tile, "--card", "chart24-iso", "--json"]);
    let mut record = run.json().remove(0);
    record["photo"]["sha256"] = "ab".repeat(32).into();
    record["photo"]["taken"] = "2026-05-03T14:02:00".into();
    record["photo"]["exposure"] = serde_json::json!({"seconds": 0.01, "f_number": 5.6, "iso": 100.0});
    let file = place.file("exif.jsonl", record.to_string());
    assert_eq!(place.run(&["ledger", "import", &file]).code, 0);
}

fn export(place: &Place, name: &str, with: &[&str]) -> String {
    let file = place.text(name);
    let run = place.run(&[&["ledger", "export", "--json", &file], with].concat());
    assert_eq!(run.code, 0, "{}", run.err);
    file
}

#[test]
fn a_whole_export_makes_the_same_ledger_and_merges_without_doubles() {
    let (one, other) = (Place::new(), Place::new());
    load(&one);
    let file = export(&one, "all.jsonl", &["--with", "folders,places,exif"]);
    let first = other.run(&["ledger", "import", &file, "--json"]);
    assert_eq!(first.code, 0, "{}", first.err);
    assert_eq!(other.whole(), one.whole());
    let second = other.run(&["ledger", "import", &file, "--json"]).json().remove(0);
    assert_eq!(second["new"], serde_json::json!({}));
    assert_eq!(other.whole(), one.whole());
    assert_eq!(other.run(&["ledger", "check"]).code, 0);
}

#[test]
fn an_export_leaves_out_folders_places_and_exif_unless_asked() {
    let place = Place::new();
    load(&place);
    with_exif(&place);
    let told = ["behind the long barn", &text(&demo("")), "2026-05-03T14:02:00", "\"f_number\":5.6"];
    let plain = export(&place, "plain.jsonl", &[]);
    let whole = export(&place, "all.jsonl", &["--with", "folders,places,exif"]);
    let (plain, whole) = (fs::read_to_string(&plain).unwrap(), fs::read_to_string(&whole).unwrap());
    for word in told {
        assert!(whole.contains(word), "{word}");
        assert!(!plain.contains(word), "{word}");
    }
    // The plain export merges into the ledger it came from without a double, and fills nothing with less.
    let before = place.whole();
    let again = place.run(&["ledger", "import", &place.text("plain.jsonl"), "--json"]);
    assert_eq!(again.json()[0]["new"], serde_json::json!({}), "{}", again.err);
    assert_eq!(place.whole(), before);
    // And the whole one fills what the plain one left blank.
    let other = Place::new();
    other.run(&["ledger", "import", &place.text("plain.jsonl")]);
    other.run(&["ledger", "import", &place.text("all.jsonl")]);
    let firing = other.run(&["firing", "show", "wet reed", "--json"]).json().remove(0);
    assert_eq!(firing["values"]["place"], "behind the long barn");
    let photographs = |place: &Place| -> Vec<Value> {
        let lines = place.whole().into_iter();
        lines.filter_map(|line| line.get("photograph").map(|p| p["taken"].clone())).collect()
    };
    assert_eq!(photographs(&other), photographs(&place));
}

#[test]
fn two_ledgers_that_differ_keep_this_ones_value_and_say_so() {
    let (one, other) = (Place::new(), Place::new());
    one.run(&["firing", "add", "wet reed", "--fuel", "reeds", "--weather", "still"]);
    one.run(&["firing", "add", "first frost"]);
    other.run(&["firing", "add", "wet reed", "--fuel", "straw", "--cover", "sherds"]);
    let file = export(&other, "other.jsonl", &[]);
    let run = one.run(&["ledger", "import", &file]);
    assert!(
        run.err.contains("firing wet reed: fuel is 'reeds' here and 'straw' there; 'reeds' stays"),
        "{}",
        run.err
    );
    let firing = one.run(&["firing", "show", "wet reed", "--json"]).json().remove(0);
    let wanted = serde_json::json!({"fuel": "reeds", "weather": "still", "cover": "sherds"});
    assert_eq!(firing["values"], wanted);
}

#[test]
fn records_of_a_run_without_a_ledger_are_taken_in() {
    let (kept, taken) = (Place::new(), Place::new());
    let folder = text(&kept.photographs(&["09-first-frost-tile.jpg", "05-wet-reed-sherd.jpg"], 1));
    let score = ["score", &folder, "--card", "chart24-iso"];
    assert_eq!(kept.run(&[&score[..], &["--firing", "wet reed"]].concat()).code, 0);
    let out = taken.text("out");
    assert_eq!(super::support::sherdlight(&[&score[..], &["--out", &out]].concat()).code, 0);
    let records = text(&taken.at("out").join("records.jsonl"));
    let import = taken.run(&["ledger", "import", &records, "--json"]);
    assert_eq!(import.json()[0]["new"]["readings"], 2, "{}", import.err);
    assert_eq!(taken.run(&["ledger", "import", &records, "--json"]).json()[0]["new"], serde_json::json!({}));
    // And the photographs are then known: they need not be read again.
    let known = taken.run(&[&score[..], &["--firing", "wet reed"]].concat());
    assert!(known.err.contains("2 photographs were read before"), "{}", known.err);
}

#[test]
fn a_file_of_records_fills_blanks_and_changes_nothing() {
    let place = Place::new();
    let tile = "09-first-frost-tile.jpg";
    let folder = text(&place.photographs(&[tile], 1));
    let sheet = place.file("sheet.csv", "file,piece,slip\n09-first-frost-tile-0.jpg,T1,white A\n");
    let score = ["score", &folder, "--card", "chart24-iso", "--sheet", &sheet];
    let old = super::support::sherdlight(&[&score[..], &["--json"]].concat());
    let records = place.file("old.jsonl", &old.out);
    assert_eq!(place.run(&[&score[..], &["--firing", "wet reed"]].concat()).code, 0);
    // Read since with other settings, and corrected by hand.
    let other = ["score", &folder, "--card", "chart24-b", "--sheet", &sheet, "--firing", "wet reed"];
    assert_eq!(place.run(&other).code, 0);
    assert_eq!(place.run(&["piece", "edit", "T1", "--slip", "white B"]).code, 0);
    let before = place.whole();
    let run = place.run(&["ledger", "import", &records]);
    assert!(run.err.contains("slip is 'white B' here and 'white A' there; 'white B' stays"), "{}", run.err);
    assert_eq!(place.whole(), before);
}

#[test]
fn the_reading_that_counts_goes_along() {
    let (one, other) = (Place::new(), Place::new());
    let folder = text(&one.photographs(&["09-first-frost-tile.jpg"], 1));
    for card in ["chart24-iso", "chart24-b", "chart24-iso"] {
        assert_eq!(one.run(&["score", &folder, "--card", card, "--firing", "wet reed"]).code, 0);
    }
    let file = export(&one, "all.jsonl", &["--with", "folders,places,exif"]);
    for _ in 0..2 {
        assert_eq!(other.run(&["ledger", "import", &file]).code, 0);
        assert_eq!(other.whole(), one.whole());
    }
}

#[test]
fn an_import_with_bad_lines_takes_nothing_unless_told() {
    let place = Place::new();
    let good = r#"{"firing":{"name":"wet reed","values":{"fuel":"reeds"},"entered":"2026-05-03T12:00:00Z"}}"#;
    let file = place.file("mixed.jsonl", format!("{good}\nno line\n\n{{\"schema\":\"other/9\"}}\n"));
    let refused = place.run(&["ledger", "import", &file]);
    assert_eq!(refused.code, 5);
    assert!(refused.err.contains("row 2: ") && refused.err.contains("row 4: "), "{}", refused.err);
    assert!(place.run(&["firing", "list", "--json"]).out.is_empty());
    assert_eq!(place.run(&["ledger", "import", &file, "--partial"]).code, 3);
    for (line, told) in [
        (r#"{"firing":{"name":" ","entered":"x"}}"#, "a firing needs a name"),
        (r#"{"firing":{"name":"a","values":{"peak-celsius":"hot"},"entered":"x"}}"#, "a number of degrees C"),
        (r#"{"firing":{"name":"a","values":{"date":"yesterday"},"entered":"x"}}"#, "a day is wanted"),
        (r#"{"firing":{"name":"a","values":{"colour":"x"},"entered":"x"}}"#, "has no field 'colour'"),
        (r#"{"recipe":{"name":"a","entered":"x"}}"#, "the kind of this recipe"),
        (r#"{"piece":{"name":"a","values":{"slip":""},"entered":"x"}}"#, "slip is empty"),
    ] {
        let bad = place.file("bad.jsonl", format!("{line}\n"));
        let run = place.run(&["ledger", "import", &bad]);
        assert!(
            run.code == 5 && run.err.contains("row 1: ") && run.err.contains(told),
            "{line}: {}",
            run.err
        );
    }
    assert_eq!(place.run(&["firing", "list", "--json"]).json().len(), 1);
}

#[test]
fn tables_are_safe_in_a_spreadsheet_and_never_replace_a_file() {
    let place = Place::new();
    load(&place);
    for (name, words) in [("=1+1", "@now"), ("+danger", " -cmd"), ("plain", "a,\"b\"\nc")] {
        assert_eq!(place.run(&["firing", "add", name, "--notes", words]).code, 0);
    }
    let folder = place.text("tables");
    let export = place.run(&["ledger", "export", "--csv", &folder]);
    assert_eq!(export.code, 0, "{}", export.err);
    let read = |name: &str| -> Vec<csv::StringRecord> {
        let reader = csv::Reader::from_path(place.at("tables").join(name)).unwrap();
        reader.into_records().map(Result::unwrap).collect()
    };
    let firings = read("firings.csv");
    let named = |name: &str| firings.iter().find(|row| &row[0] == name).unwrap();
    assert!(named("'=1+1").iter().any(|cell| cell == "'@now"));
    assert!(named("'+danger").iter().any(|cell| cell == "'-cmd"));
    assert!(named("plain").iter().any(|cell| cell == "a,\"b\"\nc"));
    let surfaces = read("surfaces.csv");
    assert!(surfaces.len() > 30);
    assert!(surfaces.iter().any(|row| row[9].parse::<f64>().is_ok_and(|b| b < 0.0) || &row[8] < "0"));
    let again = place.run(&["ledger", "export", "--csv", &folder]);
    assert_eq!(again.code, 5, "nothing is overwritten");
}

#[test]
fn a_backup_is_whole_and_new() {
    let place = Place::new();
    load(&place);
    let copy = place.text("copy.sqlite");
    assert_eq!(place.run(&["ledger", "backup", &copy]).code, 0);
    assert_eq!(place.run(&["ledger", "backup", &copy]).code, 5, "it is not replaced");
    let check = super::support::sherdlight(&[
        "ledger",
        "check",
        "--ledger",
        &copy,
        "--photos",
        &text(&demo("")),
        "--json",
    ]);
    assert_eq!(check.code, 0, "{}", check.out);
    assert_eq!(check.json()[0]["photographs_found"], 11);
}
