//! The commands as a person meets them.

use crate::plan::FACTORS;
use assert_cmd::Command;
use std::fs;
use std::path::Path;

struct Run {
    code: i32,
    out: String,
    err: String,
}

fn trial(folder: &Path, arguments: &str) -> Run {
    let mut program = Command::cargo_bin("sherdlight").unwrap();
    let output =
        program.current_dir(folder).arg("trial").args(arguments.split_whitespace()).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Run { code: output.status.code().unwrap(), out: text(output.stdout), err: text(output.stderr) }
}

#[test]
fn a_plan_is_written_once_and_can_be_filled_in_and_compared() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("factors.csv"), FACTORS).unwrap();
    let planned = "plan --factors factors.csv --grid 3x4 --repeats 2 --seed 11 --out planned";
    let run = trial(folder.path(), planned);
    assert_eq!((run.code, &*run.out), (0, ""), "{}", run.err);
    assert!(run.err.contains("60 swatches on 6 tiles"), "{}", run.err);
    let table = fs::read_to_string(folder.path().join("planned/plan.csv")).unwrap();
    let page = fs::read(folder.path().join("planned/plan.svg")).unwrap();
    let again = trial(folder.path(), planned);
    assert_eq!(again.code, 5);
    assert!(again.err.contains("is there already and is not replaced"), "{}", again.err);
    assert_eq!(fs::read(folder.path().join("planned/plan.svg")).unwrap(), page);

    // Readings: 10 L* between two slips, a little scatter.
    let mut lines = table.lines();
    let mut filled = format!("{},l\n", lines.next().unwrap());
    for (number, line) in lines.enumerate() {
        let base = if line.contains("chalk") { 70.0 } else { 60.0 };
        filled += &format!("{line},{}\n", base + (number * 7 % 5) as f64 / 5.0);
    }
    fs::write(folder.path().join("readings.csv"), filled).unwrap();
    let run = trial(folder.path(), "compare readings.csv --by slip --value l");
    assert_eq!(run.code, 0, "{}", run.err);
    for wanted in ["l by slip: 54 swatches", "6 left out, blanks.", "bank buff - chalk", "differ", "Holm"] {
        assert!(run.out.contains(wanted), "{wanted} is missing in\n{}", run.out);
    }
    let run = trial(folder.path(), "compare readings.csv --by firing --value l --json");
    let told: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!((&told["scatter"], &told["pairs"][0]["answer"]), (&"tiles".into(), &"estimated".into()));
}

#[test]
fn faults_end_with_a_sentence_and_a_code() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("factors.csv"), FACTORS.replace("yes", "")).unwrap();
    let run = trial(folder.path(), "plan --factors factors.csv --grid 3x4 --seed 1 --out out");
    assert_eq!(run.code, 5);
    assert!(run.err.contains("factors.csv' cannot be used: the control's slip is missing"), "{}", run.err);
    assert!(!folder.path().join("out").exists());
    // A table has all its firings: one told beside it would go unheard.
    for usage in [
        "plan --factors factors.csv --grid 3 --seed 1 --out out",
        "compare x.csv --by tile --value l",
        "compare factors.csv --by slip --value l --firing first",
        "parts factors.csv --value l --firing first",
    ] {
        assert_eq!(trial(folder.path(), usage).code, 2, "{usage}");
    }
    let run = trial(folder.path(), "compare gone.csv --by slip --value l");
    assert_eq!(run.code, 5);
    assert!(run.err.contains("'gone.csv' cannot be read"), "{}", run.err);
}

/// The demo tile holds one row of four swatches of one paint, strongest first (`examples/render_demo`).
const SHEET: &str = "tile,row,column,swatch,role,slip,paint,coats,firing\n\
                     1,1,1,a,control,river white,reed,2,first\n\
                     1,1,2,b,trial,river white,reed,1,first\n\
                     1,1,3,c,trial,river white,bark,2,first\n\
                     1,1,4,d,trial,river white,bark,1,first\n";

#[test]
fn photographs_are_read_into_the_sheet_of_their_plan() {
    let folder = tempfile::tempdir().unwrap();
    let tile = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-images/09-first-frost-tile.jpg");
    fs::copy(tile, folder.path().join("tile.jpg")).unwrap();
    fs::write(folder.path().join("plan.csv"), SHEET).unwrap();
    let run = trial(folder.path(), "read plan.csv tile.jpg --out read.csv");
    assert_eq!(run.code, 0, "{}", run.err);
    let table = fs::read_to_string(folder.path().join("read.csv")).unwrap();
    let mut rows = csv::Reader::from_reader(table.as_bytes());
    let header: Vec<String> = rows.headers().unwrap().iter().map(str::to_owned).collect();
    assert!(
        header.starts_with(&SHEET.lines().next().unwrap().split(',').map(str::to_owned).collect::<Vec<_>>())
    );
    let at = header.iter().position(|name| name == "l").unwrap();
    let l: Vec<f64> = rows.records().map(|row| row.unwrap()[at].parse().unwrap()).collect();
    assert!(l.len() == 4 && l.windows(2).all(|pair| pair[0] < pair[1]), "{l:?}");
    // It goes on to the comparison as it is, and is not written over.
    let compared = trial(folder.path(), "compare read.csv --by paint --value l");
    assert_eq!(compared.code, 0, "{}", compared.err);
    assert_eq!(trial(folder.path(), "read plan.csv tile.jpg --out read.csv").code, 5);
    assert_eq!(fs::read_to_string(folder.path().join("read.csv")).unwrap(), table);
}

/// The plan leaves the first row of the tile empty: its swatches lie in the second all the same.
#[test]
fn a_tile_that_the_plan_does_not_fill_is_read_in_its_places() {
    let folder = tempfile::tempdir().unwrap();
    let tile = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-images/09-first-frost-tile.jpg");
    fs::copy(tile, folder.path().join("tile.jpg")).unwrap();
    fs::write(folder.path().join("plan.csv"), SHEET.replace("1,1,", "1,2,")).unwrap();
    let run = trial(folder.path(), "read plan.csv tile.jpg --out read.csv");
    assert_eq!(run.code, 0, "{}", run.err);
    let table = fs::read_to_string(folder.path().join("read.csv")).unwrap();
    assert!(
        table.lines().skip(1).all(|line| line.starts_with("1,2,") && line.ends_with(",true,")),
        "{table}"
    );
}

#[test]
fn photographs_that_do_not_fit_the_plan_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let tile = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-images/09-first-frost-tile.jpg");
    fs::copy(tile, folder.path().join("tile.jpg")).unwrap();
    fs::write(folder.path().join("plan.csv"), SHEET).unwrap();
    let larger = SHEET.to_owned() + "1,2,4,e,trial,river white,bark,3,first\n";
    fs::write(folder.path().join("larger.csv"), larger).unwrap();
    fs::write(folder.path().join("twice.csv"), SHEET.to_owned() + "1,1,4,e,trial,river white,bark,3,first\n")
        .unwrap();
    for (arguments, code, wanted) in [
        ("read plan.csv tile.jpg tile.jpg --out r.csv", 2, "2 photographs for 1 tiles"),
        ("read plan.csv tile.jpg --tiles 3 --out r.csv", 2, "the plan has no tile 3"),
        ("read larger.csv tile.jpg --out r.csv", 4, "a grid of 2x4 was told, but the piece shows 1x4"),
        ("read twice.csv tile.jpg --out r.csv", 5, "row 1, column 4 of tile 1 stands in row 5 already"),
    ] {
        let run = trial(folder.path(), arguments);
        assert_eq!(run.code, code, "{arguments}: {}", run.err);
        assert!(run.err.contains(wanted), "{arguments}: {}", run.err);
        assert!(!folder.path().join("r.csv").exists());
    }
}
