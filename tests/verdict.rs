//! Grades, faults and differences from literal readings, no photograph.
//!
//! The rule of the grades is the project's own (DEVELOPERS.md); the limits in the starter file are common
//! practice. CIEDE2000 parts are checked against the published pairs in `tests/colour`.

use sherdlight::reading::{
    Clouds, Fault, Grade, OVEREXPOSED, Paint, Reading, Surface, Surfaces, Verdict, Warning,
};
use sherdlight::verdict::{Targets, compare, judge};

fn surface(lab: [f64; 3], u95: [f64; 3]) -> Option<Surface> {
    Some(Surface { area_px: 10_000, area_fraction: 0.4, lab, u95, ..Surface::default() })
}

/// A piece of one white, as light and as sure as told, with sound paint.
fn piece(l: f64, u95: f64) -> Reading {
    Reading {
        surfaces: Surfaces { white: surface([l, 1.0, 7.0], [u95, 0.5, 0.5]), ..Surfaces::default() },
        paint: Some(Paint { applied_px: 5000, retained_fraction: 1.0, u95: 0.05, ..Paint::default() }),
        clouds: Clouds { area_fraction: 0.0 },
        ..Reading::default()
    }
}

fn targets() -> Targets {
    Targets::load("three-colour-low-fired").unwrap()
}

fn judged(mut reading: Reading) -> Reading {
    judge(&mut reading, &targets());
    reading
}

fn fault<'a>(reading: &'a Reading, name: &str) -> &'a Fault {
    reading.faults.iter().find(|f| f.fault == name).unwrap()
}

#[test]
fn the_four_grades_follow_the_interval_against_aim_and_accept() {
    // The starter file: white L* aim from 72, accept from 67.
    for (l, u95, grade) in [
        (80.0, 2.0, Grade::Sound),
        (74.0, 2.0, Grade::Sound),
        (73.0, 2.0, Grade::CannotTell),
        (69.5, 2.0, Grade::Marginal),
        (68.0, 2.0, Grade::CannotTell),
        (64.0, 2.0, Grade::Faulty),
        (64.0, 30.0, Grade::CannotTell),
        (f64::NAN, 2.0, Grade::CannotTell),
    ] {
        let reading = judged(piece(l, u95));
        assert_eq!(reading.grade, grade, "{l} +- {u95}: {:?}", reading.grade_because);
        assert!(!reading.grade_because.is_empty());
    }
}

#[test]
fn more_doubt_never_turns_one_verdict_into_the_other() {
    for l in [40.0, 55.0, 66.0, 68.0, 75.0, 90.0] {
        let verdicts: Vec<Verdict> =
            [0.1, 1.0, 3.0, 10.0, 40.0].map(|u| fault(&judged(piece(l, u)), "greyed").verdict).to_vec();
        let told: Vec<Verdict> = verdicts.iter().copied().filter(|v| *v != Verdict::CannotTell).collect();
        assert!(told.windows(2).all(|w| w[0] == w[1]), "{l}: {verdicts:?}");
        let first_doubt = verdicts.iter().position(|v| *v == Verdict::CannotTell).unwrap_or(verdicts.len());
        assert!(verdicts[first_doubt..].iter().all(|v| *v == Verdict::CannotTell), "{l}: {verdicts:?}");
    }
}

#[test]
fn a_fault_that_cannot_be_seen_is_not_called() {
    let reading = judged(piece(80.0, 2.0));
    for name in ["weak-black", "dull-red"] {
        assert_eq!(fault(&reading, name).verdict, Verdict::CannotTell);
    }
    assert_eq!(fault(&reading, "burned-out").verdict, Verdict::Absent);
    assert_eq!(reading.faults.len(), 6);
}

#[test]
fn a_coloured_white_is_buffed_and_not_surely_greyed() {
    let mut reading = piece(60.0, 2.0);
    reading.surfaces.white = surface([60.0, 3.0, 22.0], [2.0, 0.5, 1.0]);
    let reading = judged(reading);
    assert_eq!(fault(&reading, "buffed").verdict, Verdict::Present);
    assert_eq!(fault(&reading, "greyed").verdict, Verdict::CannotTell);
}

#[test]
fn a_pale_black_leaves_open_what_burned_away_without_a_mark() {
    let mut reading = piece(80.0, 2.0);
    reading.surfaces.black = surface([30.0, 1.0, 3.0], [4.0, 0.5, 0.5]);
    assert_eq!(fault(&judged(reading.clone()), "burned-out").verdict, Verdict::Absent);
    reading.surfaces.black = surface([39.0, 1.0, 3.0], [4.0, 0.5, 0.5]);
    assert_eq!(fault(&judged(reading), "burned-out").verdict, Verdict::CannotTell);
}

#[test]
fn severity_grows_with_the_fault() {
    let severities: Vec<f64> = [80.0, 70.0, 65.0, 55.0, 45.0, 30.0]
        .map(|l| fault(&judged(piece(l, 1.0)), "greyed").severity.unwrap())
        .to_vec();
    assert!(severities.is_sorted() && severities[0] == 0.0 && severities[5] == 1.0, "{severities:?}");
}

#[test]
fn an_over_exposed_piece_gets_no_grade() {
    let mut reading = piece(80.0, 2.0);
    reading.warnings.push(Warning { code: OVEREXPOSED.into(), text: "Too bright.".into() });
    assert_eq!(judged(reading).grade, Grade::CannotTell);
}

#[test]
fn a_target_file_is_checked() {
    let text = include_str!("../calibration/targets/three-colour-low-fired.json");
    assert!(Targets::parse(text).is_ok());
    for (from, to) in [
        ("\"D50\"", "\"D65\""),
        ("\"aim\": [72, null]", "\"aim\": [60, null]"),
        ("\"surface\": \"contrast\"", "\"surface\": \"white\""),
        ("\"value\": \"hue\"", "\"value\": \"glitter\""),
        ("\"aim\": [30, 52]", "\"aim\": [52, 30]"),
    ] {
        assert!(text.contains(from));
        assert!(Targets::parse(&text.replacen(from, to, 1)).is_err(), "{to} was taken");
    }
}

#[test]
fn a_difference_is_told_only_beyond_its_interval() {
    let one = piece(80.0, 1.0);
    let same = compare(&one, &[&one]);
    assert_eq!((same[0].de00, same[0].differs), (0.0, false));
    let other = piece(70.0, 1.0);
    let far = compare(&one, &[&other]);
    assert!(far[0].differs && far[0].delta_lch[0] == 10.0 && far[0].parts[0] > 0.0, "{far:?}");
    assert!(!compare(&piece(80.0, 9.0), &[&piece(78.0, 9.0)])[0].differs);
    // Two shots of the reference are averaged.
    let mean = compare(&one, &[&piece(78.0, 1.0), &piece(82.0, 1.0)]);
    assert!(mean[0].de00 < 1e-9, "{mean:?}");
}
