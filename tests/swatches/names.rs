//! Names of swatches, and the whole command on the demo tile, whose paint was rendered at four strengths.

use sherdlight::ledger::SwatchNames;
use sherdlight::reading::Swatch;
use std::path::Path;
use std::process::{Command, Output};

fn names(text: &str) -> Result<SwatchNames, String> {
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), text).expect("written");
    SwatchNames::read(file.path()).map_err(|error| error.to_string())
}

fn swatches(count: usize) -> Vec<Swatch> {
    (1..=count).map(|column| Swatch { row: 1, column, ..Swatch::default() }).collect()
}

#[test]
fn swatches_get_their_names_by_row_and_column() {
    let names = names("row;column;name\n1;2;reed\n1;1;bark\n").expect("a list");
    let mut seen = swatches(2);
    names.apply(Path::new("a.jpg"), &mut seen).expect("names");
    assert_eq!([&*seen[0].id, &*seen[1].id], ["bark", "reed"]);
}

#[test]
fn a_list_that_tells_of_a_photograph_goes_before_one_for_all() {
    let names = names("file,row,column,name\n,1,1,any\nturn-2.jpg,1,1,second\n").expect("a list");
    for (file, wanted) in [("in/turn-1.jpg", "any"), ("in/turn-2.jpg", "second")] {
        let mut seen = swatches(1);
        names.apply(Path::new(file), &mut seen).expect("names");
        assert_eq!(seen[0].id, wanted);
    }
}

#[test]
fn more_swatches_than_names_and_more_names_than_swatches_are_told() {
    let names = names("row,column,name\n1,1,bark\n1,2,reed\n").expect("a list");
    let why = names.apply(Path::new("a.jpg"), &mut swatches(3)).expect_err("a name is missing");
    assert!(why.contains("no name for row 1, column 3"), "{why}");
    let why = names.apply(Path::new("a.jpg"), &mut swatches(1)).expect_err("a swatch is missing");
    assert!(why.contains("'reed' (row 1, column 2)"), "{why}");
}

#[test]
fn faults_of_the_list_are_told_by_row_and_column() {
    for (text, wanted) in [
        ("row,column,name\n1,1,bark\n1,2,bark\n", "'bark' stands in row 2 already"),
        ("row,column,name\n1,1,bark\n1,1,reed\n", "row 1, column 1 stands in row 2 already"),
        ("row,column,name\n0,1,bark\n", "'0' is no whole number from 1"),
        ("row,column\n1,1\n", "column name: this column is missing"),
        ("row,column,name,surface\n1,1,bark,blue\n", "'blue' is no surface"),
    ] {
        let why = names(text).expect_err(text);
        assert!(why.contains(wanted), "{text}: {why}");
    }
}

fn tiles(arguments: &[&str]) -> Output {
    let tile = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-images/09-first-frost-tile.jpg");
    let mut command = Command::new(env!("CARGO_BIN_EXE_sherdlight"));
    command.arg("tiles").arg(tile).args(arguments).output().expect("it runs")
}

/// Four strengths of one paint, 1, 0.92, 0.84 and 0.76, from left to right (`examples/render_demo`).
#[test]
fn the_demo_tile_is_ranked_by_the_strength_of_its_paint() {
    let out = tempfile::tempdir().expect("a folder");
    let folder = out.path().to_string_lossy().into_owned();
    let run = tiles(&["--grid", "1x4", "--json", "--out", &folder]);
    assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
    let record: serde_json::Value = serde_json::from_slice(&run.stdout).expect("a record");
    let swatches = record["swatches"].as_array().expect("swatches");
    let ranks: Vec<u64> = swatches.iter().filter_map(|s| s["rank"].as_u64()).collect();
    assert_eq!(ranks, [1, 2, 3, 4]);
    assert!(swatches.iter().all(|s| s["like"].as_array().is_some_and(Vec::is_empty)));
    assert!(swatches.iter().all(|s| s["label"] == 3 && s["left_out"].is_null()));
    for file in ["records.jsonl", "swatches.csv", "09-first-frost-tile.swatches.jpg"] {
        assert!(out.path().join(file).is_file(), "{file}");
    }
    let csv = std::fs::read_to_string(out.path().join("swatches.csv")).expect("a table");
    assert_eq!(csv.lines().count(), 5);
    // One thread gives the same bytes.
    let again = tiles(&["--grid", "1x4", "--json", "--threads", "1", "--out", &folder]);
    assert_eq!(again.stdout, run.stdout);
}

#[test]
fn a_grid_that_is_not_there_is_an_input_that_failed() {
    let run = tiles(&["--grid", "2x4"]);
    assert_eq!(run.status.code(), Some(4));
    let said = String::from_utf8_lossy(&run.stderr).into_owned();
    assert!(said.contains("a grid of 2x4 was told, but the piece shows 1x4"), "{said}");
    assert!(tiles(&["--grid", "4"]).status.code() == Some(2));
}
