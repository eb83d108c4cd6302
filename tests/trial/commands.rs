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
    for usage in
        ["plan --factors factors.csv --grid 3 --seed 1 --out out", "compare x.csv --by tile --value l"]
    {
        assert_eq!(trial(folder.path(), usage).code, 2, "{usage}");
    }
    let run = trial(folder.path(), "compare gone.csv --by slip --value l");
    assert_eq!(run.code, 5);
    assert!(run.err.contains("'gone.csv' cannot be read"), "{}", run.err);
}
