//! Files that are no ledger, damaged, newer, older, closed to writing, or with no room: a sentence, code 5, and untouched.

use super::support::{Place, sherdlight, text};
use sherdlight::ledger::{LAYOUT, Ledger, LedgerError};
use std::fs;
use std::io::Read;
use std::path::Path;

fn refused(place: &Place, told: &str) {
    let file = place.at("ledger.sqlite");
    let before = fs::read(&file).unwrap();
    for command in [&["firing", "add", "wet reed"][..], &["firing", "list"], &["ledger", "check"], &["trend"]]
    {
        let run = place.run(command);
        assert_eq!(run.code, 5, "{command:?}: {}", run.err);
        assert!(run.err.contains(told), "{command:?}: {}", run.err);
        assert_eq!(run.err.lines().count(), 1, "{}", run.err);
    }
    assert!(fs::read(&file).unwrap() == before, "{told}: the file was changed");
    let beside: Vec<_> =
        fs::read_dir(file.parent().unwrap()).unwrap().map(|e| e.unwrap().file_name()).collect();
    assert_eq!(beside, ["ledger.sqlite"], "{told}");
}

/// A ledger with a firing.
fn ledger() -> Place {
    let place = Place::new();
    assert_eq!(place.run(&["firing", "add", "first frost", "--fuel", "oak"]).code, 0);
    place
}

/// Changes a number in the first bytes (SQLite file format, 1.3): user version at 60, application id at 68.
fn stamp(path: &Path, at: usize, number: u32) {
    let mut bytes = fs::read(path).unwrap();
    bytes[at..at + 4].copy_from_slice(&number.to_be_bytes());
    fs::write(path, bytes).unwrap();
}

#[test]
fn other_files_are_not_touched() {
    let place = Place::new();
    place.file("ledger.sqlite", "file,piece\n");
    refused(&place, "it is no SQLite file");
    let place = ledger();
    stamp(&place.at("ledger.sqlite"), 68, 0);
    refused(&place, "it is the database of another program");
    let place = ledger();
    stamp(&place.at("ledger.sqlite"), 60, LAYOUT + 1);
    refused(&place, "newer version of this program");
}

#[test]
fn a_damaged_ledger_is_told_and_left() {
    let place = ledger();
    let file = place.at("ledger.sqlite");
    let whole = fs::read(&file).unwrap();
    fs::write(&file, &whole[..whole.len() / 2]).unwrap();
    refused(&place, "is damaged");
    fs::write(&file, &whole[..60]).unwrap();
    refused(&place, "is damaged");
    // A page of the middle overwritten.
    let mut torn = whole.clone();
    let middle = torn.len() / 2;
    torn[middle - 8000..middle + 30_000].fill(0xAA);
    fs::write(&file, &torn).unwrap();
    let check = place.run(&["ledger", "check"]);
    assert_eq!(check.code, 5, "{}{}", check.out, check.err);
    assert_eq!(place.run(&["firing", "add", "wet reed"]).code, 5);
    assert!(fs::read(&file).unwrap() == torn);
}

#[test]
fn a_record_that_was_changed_is_found() {
    let place = Place::new();
    let folder = text(&place.photographs(&["09-first-frost-tile.jpg"], 1));
    place.run(&["score", &folder, "--card", "chart24-iso", "--firing", "wet reed"]);
    let other = rusqlite::Connection::open(place.at("ledger.sqlite")).unwrap();
    // The tables guard themselves against any client; one that takes the guard away is still found out.
    for change in [
        "UPDATE readings SET grade = 'sound'",
        "DELETE FROM readings",
        "DELETE FROM passes",
        "UPDATE passes SET settings_id = 2",
        "UPDATE surfaces SET l = 90",
    ] {
        let refused = other.execute_batch(change).unwrap_err().to_string();
        assert!(refused.contains("keeps what was entered"), "{change}: {refused}");
    }
    other
        .execute_batch("DROP TRIGGER records_as_entered; UPDATE records SET record = zeroblob(100)")
        .unwrap();
    let check = place.run(&["ledger", "check"]);
    assert_eq!(check.code, 5);
    assert!(check.out.contains("no longer fits its hash"), "{}", check.out);
}

#[test]
fn a_change_by_any_client_is_kept_as_a_correction() {
    let place = ledger();
    let other = rusqlite::Connection::open(place.at("ledger.sqlite")).unwrap();
    other.execute_batch("UPDATE firings SET fuel = 'ash' WHERE name = 'first frost'").unwrap();
    assert!(other.execute_batch("DELETE FROM firings").is_err());
    drop(other);
    assert!(place.run(&["firing", "show", "first frost"]).out.contains("fuel was 'oak', now 'ash'"));
}

#[test]
fn a_ledger_marked_read_only_is_shown_and_not_written() {
    let place = ledger();
    let file = place.at("ledger.sqlite");
    let mut rights = fs::metadata(&file).unwrap().permissions();
    rights.set_readonly(true);
    fs::set_permissions(&file, rights).unwrap();
    let before = fs::read(&file).unwrap();
    let run = place.run(&["firing", "add", "wet reed"]);
    assert_eq!(run.code, 5);
    assert!(run.err.contains("may not be written"), "{}", run.err);
    assert_eq!(place.run(&["firing", "list"]).code, 0);
    assert!(fs::read(&file).unwrap() == before);
}

#[test]
fn a_folder_that_is_not_there_and_a_folder_for_a_file_are_told() {
    let place = Place::new();
    let at = |name: &str| sherdlight(&["firing", "add", "wet reed", "--ledger", &place.text(name)]);
    let run = at("no/such/ledger.sqlite");
    assert!(run.code == 5 && run.err.contains("no such folder"), "{}", run.err);
    fs::create_dir(place.at("folder")).unwrap();
    let run = at("folder");
    assert!(run.code == 5 && run.err.contains("it is a folder"), "{}", run.err);
    for command in [&["firing", "list"][..], &["firing", "edit", "wet reed", "--fuel", "oak"]] {
        let run = place.run(command);
        assert!(run.code == 5 && run.err.contains("there is no ledger at"), "{}", run.err);
    }
    assert!(!place.at("ledger.sqlite").exists());
    let run = sherdlight(&["firing", "add", "wet reed", "--ledger", ":memory:"]);
    assert!(run.code == 5 && run.err.contains("no file on the disk"), "{}", run.err);
    assert_eq!(place.run(&["firing", "add", "wet reed"]).code, 0);
    let run = place.run(&["ledger", "check", "--photos", &place.text("none")]);
    assert!(run.code == 5 && run.err.contains("no such folder"), "{}", run.err);
}

#[cfg(unix)]
#[test]
fn a_full_disk_takes_back_what_did_not_fit() {
    let place = Place::new();
    let folder = text(&place.photographs(&["09-first-frost-tile.jpg", "05-wet-reed-sherd.jpg"], 6));
    let ledger = place.text("ledger.sqlite");
    let score = ["score", &folder, "--card", "chart24-iso", "--firing", "wet reed", "--ledger", &ledger];
    // A limit on the size of files stands for a full disk: writing beyond it fails in the same place (EFBIG for ENOSPC).
    let program = assert_cmd::cargo::cargo_bin("sherdlight");
    let run = std::process::Command::new("bash")
        .args(["-c", "trap '' XFSZ; ulimit -f 1500; exec \"$@\"", "limited"])
        .arg(program)
        .args(score)
        .output()
        .unwrap();
    let err = String::from_utf8_lossy(&run.stderr).into_owned();
    assert_eq!(run.status.code(), Some(5), "{err}");
    assert!(err.contains("there is no room left"), "{err}");
    let check = place.run(&["ledger", "check", "--json"]);
    assert_eq!(check.code, 0, "{}{}", check.out, check.err);
    let kept = check.json()[0]["rows"]["readings"].as_u64().unwrap();
    assert!(kept < 12, "{kept}");
    // With room again the same command goes on.
    let on = sherdlight(&score);
    assert_eq!(on.code, 0, "{}", on.err);
    assert_eq!(place.run(&["ledger", "check", "--json"]).json()[0]["rows"]["readings"], 12);
}

/// Ledgers that earlier layouts made; one more is added with each new layout.
const OLDER: [(&str, u32); 3] =
    [("layout-1.sqlite.gz", 1), ("layout-2.sqlite.gz", 2), ("layout-3.sqlite.gz", 3)];

#[test]
fn ledgers_of_every_earlier_layout_open_with_all_they_hold() {
    assert_eq!(OLDER.len() as u32, LAYOUT, "keep a ledger of the newest layout as well");
    for (name, layout) in OLDER {
        let place = Place::new();
        let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/ledgers").join(name);
        let mut bytes = Vec::new();
        flate2::read::GzDecoder::new(fs::File::open(kept).unwrap()).read_to_end(&mut bytes).unwrap();
        fs::write(place.at("ledger.sqlite"), &bytes).unwrap();
        let lines = place.whole();
        let count = |word: &str| lines.iter().filter(|line| line.get(word).is_some()).count();
        assert_eq!(
            (count("firing"), count("recipe"), count("piece"), count("photograph"), count("temperatures")),
            (3, 6, 11, 11, 1),
            "{name}"
        );
        let shown = place.run(&["firing", "show", "wet reed"]).out;
        assert!(shown.contains("fuel was 'reeds', now 'damp reeds' (it rained)"), "{shown}");
        let check = place.run(&["ledger", "check", "--json"]).json().remove(0);
        assert_eq!(check["layout"], LAYOUT);
        assert_eq!(check["problems"], serde_json::json!([]));
        // Swatches of tiles are kept since the third.
        assert_eq!(check["rows"]["swatches"], if layout < 3 { 0 } else { 4 });
        let backup = place.at(&format!("ledger.sqlite.layout-{layout}.backup"));
        assert_eq!(backup.exists(), layout < LAYOUT, "{name}");
        if backup.exists() {
            // SQLite's own copy: the same pages, a new change counter; the layout stands at byte 60.
            let copy = fs::read(&backup).unwrap();
            assert_eq!((copy.len(), &copy[60..64]), (bytes.len(), &layout.to_be_bytes()[..]), "{name}");
        }
    }
}

#[test]
fn what_lies_beside_is_told_by_the_library_too() {
    let place = ledger();
    let file = place.at("ledger.sqlite");
    assert!(Ledger::open(&file).is_ok());
    stamp(&file, 60, 99);
    assert!(matches!(Ledger::look(&file), Err(LedgerError::Newer { found: 99, .. })));
}
