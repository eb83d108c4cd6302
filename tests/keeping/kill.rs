//! Killed at any moment a load loses nothing, and two programs at once lose nothing either.

use super::support::{Place, text};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Moments at which a load is killed.
const KILLS: u32 = 50;

fn score(place: &Place, folder: &Path) -> Child {
    Command::new(assert_cmd::cargo::cargo_bin("sherdlight"))
        .args(["score", &text(folder), "--card", "chart24-iso", "--firing", "long ember"])
        .args(["--ledger", &place.text("ledger.sqlite")])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Numbers in 0 to 1 (Knuth's MMIX generator, constants from memory).
fn luck(seed: &mut u64) -> f64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 11) as f64 / (1u64 << 53) as f64
}

#[test]
fn a_load_killed_fifty_times_ends_like_an_unbroken_one() {
    let names = ["05-wet-reed-sherd.jpg", "08-wet-reed-red-sherd.jpg", "09-first-frost-tile.jpg"];
    let unbroken = Place::new();
    let folder = unbroken.photographs(&names, 8);
    let begun = Instant::now();
    assert!(score(&unbroken, &folder).wait().unwrap().success());
    let whole = begun.elapsed();
    let wanted = unbroken.whole();
    assert_eq!(wanted.iter().filter(|line| line.get("photograph").is_some()).count(), 24);

    let mut seed = 5;
    let mut place = Place::new();
    let (mut before, mut broken_off) = (0, 0);
    for kill in 0..KILLS {
        let mut child = score(&place, &folder);
        // Mostly within what is left of the load; some at once, while the file is opened or made.
        let left = whole.mul_f64((24 - before) as f64 / 24.0);
        let wait = if kill % 5 == 0 { Duration::from_millis(40) } else { left.min(whole / 4) };
        sleep(wait.mul_f64(luck(&mut seed)));
        child.kill().unwrap();
        broken_off += u32::from(!child.wait().unwrap().success());
        // Killed before the first entry there is no file, or an empty one: at once, or when what was begun is taken back.
        let empty = || place.at("ledger.sqlite").metadata().map_or(0, |file| file.len()) == 0;
        let check = if empty() { None } else { Some(place.run(&["ledger", "check", "--json"])) };
        let Some(check) = check.filter(|_| before > 0 || !empty()) else {
            assert_eq!(before, 0, "kill {kill}: the file is gone");
            continue;
        };
        assert_eq!(check.code, 0, "kill {kill}: {} {}", check.out, check.err);
        let kept = check.json()[0]["rows"]["readings"].as_u64().unwrap();
        assert!(kept >= before, "kill {kill}: {kept} readings after {before}");
        before = kept;
        if kept == 24 {
            assert_eq!(place.whole(), wanted, "kill {kill}");
            (place, before) = (Place::new(), 0);
        }
    }
    assert!(broken_off >= KILLS / 2, "{broken_off} of {KILLS} were broken off");
    assert!(score(&place, &folder).wait().unwrap().success());
    assert_eq!(place.whole(), wanted);
}

#[test]
fn two_programs_at_once_lose_nothing_and_double_nothing() {
    let names = ["05-wet-reed-sherd.jpg", "08-wet-reed-red-sherd.jpg", "09-first-frost-tile.jpg"];
    let (alone, both) = (Place::new(), Place::new());
    let folder = alone.photographs(&names, 4);
    assert!(score(&alone, &folder).wait().unwrap().success());
    // The same load twice, and while these run a firing is entered.
    let mut children = [score(&both, &folder), score(&both, &folder)];
    let entered = both.run(&["firing", "add", "wet reed", "--fuel", "reeds"]);
    assert_eq!(entered.code, 0, "{}", entered.err);
    assert!(children.iter_mut().all(|child| child.wait().unwrap().success()));
    let mut lines = both.whole();
    let reeds = |line: &serde_json::Value| line["firing"]["name"] == "wet reed";
    assert_eq!(lines.iter().filter(|line| reeds(line)).count(), 1);
    lines.retain(|line| !reeds(line));
    assert_eq!(lines, alone.whole());
    assert_eq!(both.run(&["ledger", "check"]).code, 0);
}
