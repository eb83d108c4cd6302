//! Firings, recipes and pieces: entered, corrected, shown.

use super::support::{Place, demo, text};
use serde_json::{Value, json};

#[test]
fn a_firing_keeps_what_was_told_and_nothing_else() {
    let place = Place::new();
    let told =
        ["firing", "add", "first frost", "--date", "2026-04-02", "--pre-warm", "0", "--start", "14:05"];
    assert_eq!(place.run(&told).code, 0);
    let firing = place.run(&["firing", "show", "first frost", "--json"]).json().remove(0);
    // Unknown is not there, and a nought that was told is a nought.
    assert_eq!(firing["values"], json!({"date": "2026-04-02", "pre-warm": 0.0, "start": "14:05"}));
    assert_eq!(place.run(&told).code, 5, "the name is taken");
    assert_eq!(place.run(&["firing", "show", "last frost"]).code, 5);
}

#[test]
fn a_correction_keeps_the_first_value_and_its_reason() {
    let place = Place::new();
    place.run(&["firing", "add", "long ember", "--peak-celsius", "640"]);
    let edit = |value: &str, why: &str| {
        place.run(&["firing", "edit", "long ember", "--peak-celsius", value, "--because", why])
    };
    assert_eq!(edit("690", "misread").code, 0);
    assert!(edit("690", "again").err.contains("Nothing changed"));
    assert_eq!(place.run(&["firing", "edit", "long ember", "--clear", "peak-celsius"]).code, 0);
    let shown = place.run(&["firing", "show", "long ember"]).out;
    assert!(shown.contains("peak celsius was '640', now '690' (misread)"), "{shown}");
    assert!(shown.contains("peak celsius was '690', now unknown"), "{shown}");
    let firing = place.run(&["firing", "show", "long ember", "--json"]).json().remove(0);
    assert_eq!(firing["values"], json!({}));
    let was: Vec<&Value> = firing["corrections"].as_array().unwrap().iter().map(|c| &c["was"]).collect();
    assert_eq!(was, [&json!(640.0), &json!(690.0)]);
    // Both stand in the exports.
    place.run(&["ledger", "export", "--csv", &place.text("tables")]);
    let table = std::fs::read_to_string(place.at("tables").join("corrections.csv")).unwrap();
    assert!(table.contains("firings,long ember,peak_celsius,640,690,misread,"), "{table}");
}

#[test]
fn a_name_can_be_put_right_and_a_place_in_a_firing_be_cleared() {
    let place = Place::new();
    let run =
        place.run(&["piece", "add", "jar", "--firing", "wet red", "--flaws", "spall", "--shape", "jar"]);
    assert!(run.err.contains("The firing 'wet red' is new in the ledger"), "{}", run.err);
    assert_eq!(place.run(&["piece", "edit", "jar", "--flaws", "own crack"]).code, 0);
    assert_eq!(place.run(&["firing", "edit", "wet red", "--rename", "wet reed"]).code, 0);
    assert_eq!(place.run(&["firing", "show", "wet red"]).code, 5);
    let shown = place.run(&["firing", "show", "wet reed"]).out;
    assert!(shown.contains("name was 'wet red', now 'wet reed'"), "{shown}");
    // Of a firing that the piece did not lie in nothing is changed at all.
    assert_eq!(
        place.run(&["piece", "edit", "jar", "--shape", "bowl", "--firing", "none", "--flaws", "x"]).code,
        5
    );
    assert_eq!(place.run(&["piece", "edit", "jar", "--firing", "wet reed", "--clear", "flaws"]).code, 0);
    let piece = place.run(&["piece", "show", "jar", "--json"]).json().remove(0);
    assert_eq!(piece["values"], json!({"shape": "jar", "flaws": "own crack"}));
    assert_eq!(piece["loads"][0]["values"], json!({}));
    assert_eq!(place.run(&["firing", "add", "two\nlines"]).code, 2);
}

#[test]
fn values_that_cannot_be_meant_are_refused_with_what_is_wanted() {
    let place = Place::new();
    let add = |option: &str, value: &str| place.run(&["firing", "add", "x", option, value]);
    for (option, value, wanted) in [
        ("--date", "2026-02-30", "a day is wanted"),
        ("--date", "3 May", "a day is wanted"),
        ("--pre-warm", "long", "a number of minutes"),
        ("--peak-celsius", "7000", "between 20 and 1400"),
        ("--start", "25:00", "a time is wanted"),
        ("--start", "14:05+99:00", "a time is wanted"),
    ] {
        let run = add(option, value);
        assert!(run.code == 2 && run.err.contains(wanted), "{option} {value}: {} {}", run.code, run.err);
    }
    assert!(!place.at("ledger.sqlite").exists());
    // Times stand as they were told, with a zone or without.
    assert_eq!(add("--start", "2026-05-03T14:05+02:00").code, 0);
    let firing = place.run(&["firing", "show", "x", "--json"]).json().remove(0);
    assert_eq!(firing["values"]["start"], "2026-05-03T14:05+02:00");
    assert_eq!(place.run(&["piece", "add", "p", "--state", "half fired"]).code, 2);
    assert_eq!(place.run(&["recipe", "add", "r"]).code, 2, "a recipe needs a kind");
    assert_eq!(place.run(&["recipe", "add", "r", "--kind", "glue"]).code, 2);
}

#[test]
fn pieces_name_their_recipes_and_what_befell_them_in_each_firing() {
    let place = Place::new();
    assert_eq!(place.run(&["recipe", "add", "river", "--kind", "clay"]).code, 0);
    assert_eq!(place.run(&["recipe", "add", "river", "--kind", "slip", "--coats", "2"]).code, 0);
    let add = ["piece", "add", "jar 3", "--clay", "river", "--slip", "river", "--shape", "jar"];
    assert_eq!(place.run(&[&add[..], &["--firing", "first frost", "--place", "lee side"]].concat()).code, 0);
    let again = ["piece", "add", "jar 3", "--firing", "wet reed", "--flaws", "spall at the foot"];
    assert_eq!(place.run(&again).code, 0);
    let piece = place.run(&["piece", "show", "jar 3", "--json"]).json().remove(0);
    assert_eq!(piece["values"], json!({"shape": "jar", "clay": "river", "slip": "river"}));
    let loads: Vec<&Value> = piece["loads"].as_array().unwrap().iter().map(|load| &load["values"]).collect();
    assert_eq!(loads, [&json!({"place": "lee side"}), &json!({"flaws": "spall at the foot"})]);
    assert!(place.run(&["piece", "show", "jar 3"]).out.contains("In 2 firings of this ledger: refired."));
    assert_eq!(place.run(&["recipe", "show", "river"]).code, 5, "two kinds bear this name");
    assert!(place.run(&["recipe", "show", "river", "--kind", "slip"]).out.contains("coats      2"));
    assert_eq!(place.run(&["piece", "add", "jar 4", "--place", "middle"]).code, 2, "no firing is named");
}

#[test]
fn a_table_of_entries_is_taken_whole_or_told_by_row_and_column() {
    let place = Place::new();
    let good = place.file("firings.csv", "Name;Date;Peak celsius\nwet reed;2026-05-03;702,5\nlong ember;;\n");
    assert_eq!(place.run(&["firing", "add", "--from", &good]).code, 0);
    let firings = place.run(&["firing", "list", "--json"]).json();
    assert_eq!(firings[0]["values"], json!({"date": "2026-05-03", "peak-celsius": 702.5}));
    assert_eq!(firings[1]["values"], json!({}));
    let bad = place.file(
        "more.csv",
        "name,date,colour\nwet reed,,\n,2026-05-03,\ndry reed,yesterday,\nnew moon,2026-06-01,\nnew moon,,\n",
    );
    let refused = place.run(&["firing", "add", "--from", &bad]);
    assert_eq!(refused.code, 5);
    for told in [
        "row 1, column colour",
        "row 2, column name: the firing 'wet reed' is in the ledger already",
        "row 3, column name",
        "row 4, column date: 'yesterday'",
        "row 6, column name: 'new moon' stands in row 5 already",
    ] {
        assert!(refused.err.contains(told), "{told}: {}", refused.err);
    }
    assert_eq!(place.run(&["firing", "list", "--json"]).json().len(), 2, "nothing was taken");
    let partial = place.run(&["firing", "add", "--from", &bad, "--partial"]);
    assert_eq!(partial.code, 3);
    assert_eq!(place.run(&["firing", "list", "--json"]).json().len(), 3);
}

#[test]
fn a_temperature_log_is_told_kept_and_replaced_by_a_later_one() {
    let place = Place::new();
    // A triangle: 20 to 720 C in 70 minutes and back, so 140 * 20 / 700 = 4 minutes at or above 700 C.
    let row = |minute: i32| {
        let celsius = if minute <= 70 { 20 + 10 * minute } else { 20 + 10 * (140 - minute) };
        format!("{minute},{celsius}\n")
    };
    let log = |last: i32| format!("time (min),probe (C)\n{}", (0..=last).map(row).collect::<String>());
    let file = place.file("log.csv", log(100));
    let read = place.run(&["firing", "temperatures", &file, "--marks", "700", "--json"]);
    assert_eq!(read.code, 0, "{}", read.err);
    let figures = read.json().remove(0);
    assert_eq!(figures["probes"][0]["above"][0]["minutes"], 4.0);
    assert_eq!(figures["probes"][0]["peak"]["celsius"], 720.0);
    assert!(!place.at("ledger.sqlite").exists(), "it was only read");
    let keep = ["firing", "temperatures", &file, "--firing", "wet reed"];
    assert!(place.run(&keep).err.contains("Kept with the firing 'wet reed'"));
    assert!(place.run(&keep).err.contains("kept before"));
    place.file("log.csv", log(140));
    assert!(place.run(&keep).err.contains("Kept with"));
    let logs: Vec<Value> = place.whole().into_iter().filter_map(|l| l.get("temperatures").cloned()).collect();
    assert_eq!(logs.len(), 2, "the first is kept");
    let shown = place.run(&["firing", "show", "wet reed"]).out;
    assert_eq!(shown.matches("log.csv").count(), 1, "only the later one counts: {shown}");
    assert!(shown.contains("140.0 minutes"), "{shown}");
    // The first again: it counts again, and nothing is lost.
    place.file("log.csv", log(100));
    assert!(place.run(&keep).err.contains("Kept with"));
    assert!(place.run(&["firing", "show", "wet reed"]).out.contains("100.0 minutes"));
    let bare = place.file("bare.csv", "time (min),probe\n0,20\n1,30\n");
    let asked = place.run(&["firing", "temperatures", &bare]);
    assert!(asked.code == 5 && asked.err.contains("Say --unit C or --unit F"), "{}", asked.err);
}

#[test]
fn the_ledger_lies_where_the_environment_or_the_convention_says() {
    let place = Place::new();
    let program = || assert_cmd::Command::cargo_bin("sherdlight").unwrap();
    let (named, home) = (place.text("named.sqlite"), place.text("home"));
    let add = |command: &mut assert_cmd::Command| {
        command
            .args(["firing", "add", "wet reed"])
            .env("HOME", &home)
            .env_remove("XDG_DATA_HOME")
            .assert()
            .code(0);
    };
    std::fs::create_dir(place.at("home")).unwrap();
    add(program().env("SHERDLIGHT_LEDGER", &named));
    assert!(place.at("named.sqlite").is_file());
    // An empty variable is none.
    add(program().env("SHERDLIGHT_LEDGER", ""));
    let found = walk(&place.at("home"));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].ends_with("sherdlight/ledger.sqlite"), "{found:?}");
    #[cfg(target_os = "linux")]
    {
        // XDG Base Directory 0.8: data lie in XDG_DATA_HOME.
        let data = place.text("data");
        let mut command = program();
        command.env_remove("SHERDLIGHT_LEDGER").env("XDG_DATA_HOME", &data).env("HOME", &home);
        command.args(["firing", "add", "wet reed"]).assert().code(0);
        assert!(place.at("data/sherdlight/ledger.sqlite").is_file());
    }
}

fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] }).collect()
}

#[test]
fn a_trend_follows_the_slip_over_the_ledger() {
    let place = Place::new();
    let load = ["score", &text(&demo("")), "--card", "chart24-iso", "--sheet", &text(&demo("sheet.csv"))];
    assert_eq!(place.run(&load).code, 0);
    let trend = |more: &[&str]| place.run(&[&["trend", "--surface", "white", "--json"], more].concat());
    let white = trend(&[]).json().remove(0);
    let records = place.at("out");
    assert_eq!(place.run(&[&load[..], &["--out", &text(&records)]].concat()).code, 0);
    let of_files = super::support::sherdlight(&["trend", &text(&records.join("records.jsonl")), "--json"]);
    assert_eq!(white["points"], of_files.json()[0]["points"], "the ledger gives what the records give");
    assert_eq!(trend(&["--recipe", "no such batch"]).code, 4);
    let by_firing = trend(&["--by", "firing"]).json().remove(0);
    assert_eq!(by_firing["by"], "firing");
    let chart = place.text("white.svg");
    assert_eq!(place.run(&["trend", "--value", "L", "--svg", &chart]).code, 0);
    assert!(std::fs::read_to_string(&chart).unwrap().starts_with("<svg"));
}
