//! `card list | show | check` and `--patch-mm` as a person meets them: what is printed, written and refused.

use crate::support::sherdlight;
use std::path::{Path, PathBuf};

fn demo() -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-images");
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().path()).collect();
    paths.retain(|p| p.extension().is_some_and(|e| e == "jpg"));
    paths.sort();
    paths.remove(0)
}

fn sample(name: &str) -> String {
    format!("{}/tests/data/cards/{name}", env!("CARGO_MANIFEST_DIR"))
}

/// The chart's colours as CGATS text.
fn chart_text() -> String {
    let card = sherdlight::card::CardDefinition::load("chart24-iso").unwrap();
    let sets: Vec<String> = card
        .patches
        .iter()
        .map(|p| format!("{}\t\"{}\"\t{}\t{}\t{}", p.id, p.name, p.lab.l, p.lab.a, p.lab.b))
        .collect();
    format!(
        "CGATS.17\nORIGINATOR \"a test\"\nNUMBER_OF_FIELDS 5\nBEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B\n\
         END_DATA_FORMAT\nNUMBER_OF_SETS 24\nBEGIN_DATA\n{}\nEND_DATA\n",
        sets.join("\n")
    )
}

#[test]
fn list_and_show_tell_the_built_in_cards() {
    let list = sherdlight(&["card", "list"]);
    assert_eq!((list.code, list.err.as_str()), (0, ""));
    assert_eq!(list.out.lines().count(), 4, "{}", list.out);
    for id in ["chart24-a", "chart24-b", "chart24-iso"] {
        assert!(list.out.lines().any(|l| l.starts_with(id) && l.contains("4 rows of 6")), "{}", list.out);
        let show = sherdlight(&["card", "show", id]);
        assert_eq!((show.code, show.err.as_str()), (0, ""));
        for words in ["dark skin", "CIE 1931 2 degree", "D50", "colour-science", "Munsell", "N 9.5/"] {
            assert!(show.out.contains(words), "{words}: {}", show.out);
        }
    }
    let unknown = sherdlight(&["card", "show", "chart99"]);
    assert_eq!((unknown.code, unknown.out.as_str()), (5, ""));
    assert!(unknown.err.contains("chart24-b"), "{}", unknown.err);
}

#[test]
fn what_show_prints_as_json_loads_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("copy.json").to_str().unwrap().to_owned();
    for id in ["chart24-a", "chart24-b", "chart24-iso"] {
        let shown = sherdlight(&["card", "show", id, "--json"]);
        assert_eq!(shown.code, 0);
        std::fs::write(&path, &shown.out).unwrap();
        let again = sherdlight(&["card", "show", &path, "--json"]);
        assert_eq!(again.out, shown.out);
        let checked = sherdlight(&["card", "check", &path]);
        assert_eq!(checked.code, 0, "{}", checked.err);
        assert!(checked.out.starts_with("good: "), "{}", checked.out);
    }
}

#[test]
fn a_measured_file_is_checked_written_and_used() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    std::fs::write(at("measured.txt"), chart_text()).unwrap();
    let run = sherdlight(&["card", "check", &at("measured.txt"), "--out", &at("mine.json")]);
    assert_eq!(run.code, 0, "{}", run.err);
    for words in
        ["good: card 'measured'", "no illuminant", "no observer", "24-patch chart is taken", "written: "]
    {
        assert!(run.out.contains(words), "{words}: {}", run.out);
    }
    // A file that is there stays, unless told.
    std::fs::write(at("mine.json"), "precious").unwrap();
    let again = sherdlight(&["card", "check", &at("measured.txt"), "--out", &at("mine.json")]);
    assert_eq!(again.code, 5);
    assert!(again.err.contains("--replace"), "{}", again.err);
    assert_eq!(std::fs::read_to_string(at("mine.json")).unwrap(), "precious");
    let run = sherdlight(&["card", "check", &at("measured.txt"), "--out", &at("mine.json"), "--replace"]);
    assert_eq!(run.code, 0, "{}", run.err);
    // The same readings from the text, from the JSON made of it, and from the built-in table.
    let photo = demo().to_str().unwrap().to_owned();
    let records = |card: &str| {
        let run = sherdlight(&["score", &photo, "--json", "--card", card]);
        assert_eq!(run.code, 0, "{}", run.err);
        let record: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        (record["surfaces"].clone(), record["card"]["definition"].clone(), run.err)
    };
    let built_in = records("chart24-iso");
    for card in ["measured.txt", "mine.json"] {
        let own = records(&at(card));
        assert_eq!(own.0, built_in.0, "{card}");
        assert_eq!(own.1, "measured");
    }
    // What was assumed is said.
    assert!(records(&at("measured.txt")).2.contains("D50 is assumed"));
    assert!(!built_in.2.contains("assumed"));
}

#[test]
fn samples_without_a_layout_need_one() {
    let folder = tempfile::tempdir().unwrap();
    let layout = folder.path().join("layout.json").to_str().unwrap().to_owned();
    let regular = sample("cgats_sample_regular.txt");
    let run = sherdlight(&["card", "check", &regular]);
    assert_eq!(run.code, 5);
    assert!(run.err.contains("--layout"), "{}", run.err);
    std::fs::write(
        &layout,
        r#"{"layout": {"unit": "mm", "rows": 2, "columns": 3, "patch": [30, 20], "gap": [2, 2], "frame": [4, 4]}}"#,
    )
    .unwrap();
    let run = sherdlight(&["card", "check", &regular, "--layout", &layout]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("2 rows of 3, patches 30 x 20 mm"), "{}", run.out);
    // Four patches are too few for any correction.
    std::fs::write(
        &layout,
        r#"{"layout": {"unit": "mm", "rows": 2, "columns": 2, "patch": [30, 20], "gap": [2, 2], "frame": [4, 4]}}"#,
    )
    .unwrap();
    let run = sherdlight(&["card", "check", &sample("cgats_sample_quirks.txt"), "--layout", &layout]);
    assert_eq!(run.code, 5);
    assert!(run.err.contains("at least 6 patches"), "{}", run.err);
}

#[test]
fn bad_card_files_leave_with_5_and_name_line_and_field() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("card.txt").to_str().unwrap().to_owned();
    let photo = demo().to_str().unwrap().to_owned();
    let good = chart_text();
    let json = sherdlight::card::CardDefinition::load("chart24-b").unwrap().to_json();
    // Line 11 of the text and line 21 of the JSON hold the third and the second patch.
    let text_line = |new: &str| {
        let mut lines: Vec<&str> = good.lines().collect();
        lines[10] = new;
        lines.join("\n")
    };
    let json_line = 1 + json.lines().position(|l| l.contains("\"id\": \"2\"")).unwrap();
    let at = |field: &str| format!("line {json_line}, {field}");
    let cases: Vec<(String, String)> = vec![
        (text_line("3\tx\t50,3\t-4\t-21"), "line 11, LAB_L: '50,3' has a decimal comma".into()),
        (text_line("3\tx\t50.3\tNaN\t-21"), "line 11, LAB_A: 'NaN' is no finite number".into()),
        (text_line("2\tx\t50.3\t-4\t-21"), "line 11, SAMPLE_ID: '2' stands twice".into()),
        (text_line("\"3\tx\t50.3\t-4\t-21"), "line 11: a double quote is opened".into()),
        (text_line("3\tx\t50.3\t-4"), "line 11: 4 values stand here, 5 fields are named".into()),
        (text_line(""), "23 sets and no layout".into()),
        (good.replace("END_DATA\n", ""), "END_DATA is missing".into()),
        (good.replace("LAB_", "RGB_"), "RGB values belong to one device".into()),
        (json.replace("[64.66,", "[NaN,"), at("lab: expected value")),
        (
            json.replace("[64.66,", "[64,66,"),
            at("patch 2, lab: three numbers in brackets are wanted, with decimal points"),
        ),
        (json.replace("\"id\": \"2\"", "\"id\": \"1\""), at("patch 2, id: patch '1' is listed twice")),
        (
            json.replace("\"patch\": [1.0, 1.0]", "\"patch\": [-1.0, 1.0]"),
            "layout, patch: both lengths must be above 0".into(),
        ),
        (
            json.replace("\"rows\": 4", "\"rows\": 3"),
            "patches: 24 patches are listed, the layout has 18".into(),
        ),
        (
            json.replace("\"columns\": 6", "\"columns\": 2500"),
            "layout, columns: must lie between 2 and 40, is 2500".into(),
        ),
    ];
    for (text, wanted) in cases {
        std::fs::write(&path, text).unwrap();
        let out = folder.path().join("out.json");
        let check = sherdlight(&["card", "check", &path, "--out", out.to_str().unwrap()]);
        assert_eq!((check.code, check.out.as_str()), (5, ""), "{wanted}: {}", check.err);
        assert!(check.err.contains(&wanted), "wanted '{wanted}' in: {}", check.err);
        assert!(!out.exists(), "{wanted}");
        // The same when a photograph is to be read with it: nothing is measured.
        let score = sherdlight(&["score", "--json", &photo, "--card", &path]);
        assert_eq!((score.code, score.out.as_str()), (5, ""), "{wanted}: {}", score.err);
        assert!(score.err.contains(&wanted), "wanted '{wanted}' in: {}", score.err);
    }
    // Line ends of other systems and a missing last one are no fault.
    for text in [good.replace('\n', "\r\n"), good.replace('\n', "\r"), good.trim_end().into()] {
        std::fs::write(&path, text).unwrap();
        assert_eq!(sherdlight(&["card", "check", &path]).code, 0);
    }
}

#[test]
fn the_width_of_a_patch_gives_lengths_in_mm() {
    let photo = demo().to_str().unwrap().to_owned();
    let scale = |more: &[&str]| {
        let mut arguments = vec!["score", "--json", photo.as_str()];
        arguments.extend(more);
        let run = sherdlight(&arguments);
        assert_eq!(run.code, 0, "{}", run.err);
        let record: serde_json::Value = serde_json::from_str(&run.out).unwrap();
        let corner = |i: usize, k: usize| record["card"]["corners_px"][i][k].as_f64().unwrap();
        let width = (corner(1, 0) - corner(0, 0)).hypot(corner(1, 1) - corner(0, 1));
        (record["card"]["mm_per_px"].as_f64(), width)
    };
    assert_eq!(scale(&["--card", "chart24-iso"]).0, None);
    for card in [&["--card", "chart24-iso"][..], &[]] {
        let (mm_per_px, width) = scale(&[card, &["--patch-mm", "400"]].concat());
        let mm_per_px = mm_per_px.unwrap();
        // Six patches and five gaps of 0.15; the gaps of the card in hand may be a little wider or narrower.
        assert!((mm_per_px * width / 6.75 / 400.0 - 1.0).abs() < 0.08, "{mm_per_px} {width}");
        let half = scale(&[card, &["--patch-mm", "200"]].concat()).0.unwrap();
        assert!((mm_per_px / half - 2.0).abs() < 0.002, "{mm_per_px} {half}");
    }
    for nonsense in ["0", "-3", "NaN", "inf", "1e9", "12,5", "wide", ""] {
        let run = sherdlight(&["score", &photo, &format!("--patch-mm={nonsense}")]);
        assert_eq!(run.code, 2, "{nonsense}: {}", run.err);
        assert!(run.err.contains("between 1 and 500 mm"), "{}", run.err);
    }
}
