//! Target ranges: the file and its faults, ranges learned from pieces, ranges about a Munsell notation, the commands.
//!
//! Tolerance factors are checked against published tables in `src/verdict/tolerance.rs`; here the limits that follow
//! from them are worked by hand. Colours of notations: tests/data/munsell_to_lab.csv (colour-science 0.4.7).

use assert_cmd::Command;
use sherdlight::colour::MunsellNotation;
use sherdlight::reading::{
    Clouds, Contrast, ContrastU95, Measure, OVEREXPOSED, Paint, PhotoPart, PiecePart, Reading, Spread,
    Surface, Surfaces, Warning,
};
use sherdlight::verdict::{
    DecisionRule, LearnSettings, Quantity, TargetError, Targets, add_notation, judge, learn_targets,
};
use std::path::{Path, PathBuf};

const STARTER: &str = include_str!("../calibration/targets/three-colour-low-fired.json");

fn starter() -> Targets {
    Targets::load("three-colour-low-fired").unwrap()
}

/// The faults of the starter file after one change, as people read them.
fn faults(from: &str, to: &str) -> Vec<String> {
    assert!(STARTER.contains(from), "{from}");
    faults_of(&STARTER.replacen(from, to, 1))
}

fn faults_of(text: &str) -> Vec<String> {
    Targets::parse(text).expect_err(text).iter().map(ToString::to_string).collect()
}

/// A file of one value, all its fields given.
fn one_value(fields: &str) -> String {
    format!(
        "{{\"id\": \"a\", \"name\": \"b\", \"note\": \"c\", \"illuminant\": \"D50\", \
         \"observer\": \"CIE 1931 2 degree\", \"values\": [{{{fields}}}]}}"
    )
}

#[test]
fn the_starter_file_is_good_and_comes_back_as_it_was() {
    let starter = starter();
    assert_eq!(starter.get("white", Quantity::Chroma).unwrap().value.unit(), "C*ab");
    assert!(starter.note.contains("common practice"), "{}", starter.note);
    let again = Targets::parse(&starter.to_json()).unwrap();
    assert_eq!(Targets { sha256: starter.sha256.clone(), ..again }, starter);
    assert_eq!(starter.remarks(), Vec::<String>::new());
}

#[test]
fn every_fault_names_its_field() {
    let white = "\"aim\": [null, 12.5], \"accept\": [null, 14], \"fully_off\": 26";
    let hue = "\"aim\": [25, 55], \"accept\": [20, 60]";
    for (from, to, field, words) in [
        (
            white,
            &white.replace("12.5", "17") as &str,
            "values[2] (white chroma).aim",
            "inside the accept range",
        ),
        (white, &white.replace("[null, 14]", "[20, 14]"), "values[2] (white chroma).accept", "20 to 14"),
        (white, &white.replace("26", "12"), "values[2] (white chroma).fully_off", "beyond the accept range"),
        (white, &white.replace("26", "400"), "values[2] (white chroma).fully_off", "between 0 and 150"),
        (white, &white.replace("14", "NaN"), "values[2] (white chroma).accept", "NaN is no number"),
        (
            white,
            &white.replace("26", "-Infinity"),
            "values[2] (white chroma).fully_off",
            "-Infinity is no number",
        ),
        (white, &white.replace("14", "\"14\""), "values[2] (white chroma).accept", "must be a number"),
        (white, &white.replace("[null, 14]", "[null, 14,5]"), "values[2] (white chroma).accept", "point"),
        (
            white,
            &white.replace("[null, 12.5]", "[null, null]"),
            "values[2] (white chroma).aim",
            "inside the accept",
        ),
        (hue, "\"aim\": [350, 10], \"accept\": [340, 20]", "values[4] (red hue).aim", "across 0 degrees"),
        (hue, "\"aim\": [30, 30], \"accept\": [20, 60]", "values[4] (red hue).aim", "30 to 30"),
        ("[0.85, null]", "[85, null]", "values[7] (paint retained-fraction).aim", "for 85 % write 0.85"),
        ("\"unit\": \"degree\", ", "", "values[4] (red hue).unit", "is missing; write \"unit\": \"degree\""),
        ("\"unit\": \"degree\"", "\"unit\": \"radian\"", "values[4] (red hue).unit", "\"degree\", not in"),
        (
            "\"surface\": \"black\"",
            "\"surface\": \"blue\"",
            "values[5] (blue lightness).surface",
            "no surface 'blue'",
        ),
        (
            "\"surface\": \"contrast\"",
            "\"surface\": \"white\"",
            "values[6] (white reflectance-ratio).value",
            "it has",
        ),
        (
            "\"value\": \"hue\"",
            "\"value\": \"glitter\"",
            "values[4] (red glitter).value",
            "no value 'glitter'",
        ),
        (
            "\"surface\": \"black\"",
            "\"surface\": \"white\"",
            "values[5] (white lightness)",
            "values[1] already",
        ),
        ("\"fully_off\": 45", "\"fully_of\": 45", "values[1] (white lightness).fully_of", "no field"),
        (
            "\"aim\": [73.5, null]",
            "\"aim\": [73.5, null], \"aim\": [70, null]",
            "values[1] (white lightness).aim",
            "twice",
        ),
        ("\"D50\"", "\"D65\"", "illuminant", "must be 'D50'"),
        ("\"id\": \"three-colour-low-fired\",", "", "id", "is missing"),
        ("\"note\": \"A", "\"notes\": \"A", "notes", "no field"),
        ("[80, 1, 8]", "[80, 1]", "aim_colours.white", "L*, a* and b*"),
        ("[80, 1, 8]", "[80, 1, 800]", "aim_colours.white", "no possible colour"),
        ("\"white\": [80", "\"gold\": [80", "aim_colours.gold", "no field"),
    ] {
        let found = faults(from, to);
        let good = found.iter().any(|f| f.starts_with(&format!("{field}: ")) && f.contains(words));
        assert!(good, "{to}: {found:#?}");
    }
}

#[test]
fn both_open_and_other_shapes_are_refused() {
    let value = "\"surface\": \"white\", \"value\": \"chroma\", \"unit\": \"C*ab\"";
    let open = faults_of(&one_value(&format!("{value}, \"aim\": [null, null], \"accept\": [null, null]")));
    assert!(open[0].contains("leave the value out"), "{open:?}");
    let bare = faults_of(&one_value(value));
    assert!(bare[0].contains("aim: is missing") && bare[1].contains("accept: is missing"), "{bare:?}");
    for text in
        ["[]", "{}", "null", "7", "\"D50\"", "{\"values\": []}", "{\"values\": [7]}", "{\"values\": {}}", ""]
    {
        assert!(!faults_of(text).is_empty());
    }
}

#[test]
fn all_faults_of_a_file_are_listed() {
    let text = STARTER
        .replace("\"unit\": \"C*ab\", ", "")
        .replace("[25, 55]", "[NaN, 55]")
        .replace("\"aim\": [null, 36]", "\"aim\": [null, 50]")
        .replace("[0.8, null]", "[80, null]");
    let found = faults_of(&text);
    let fields: Vec<&str> = found.iter().filter_map(|f| f.split_once(": ")).map(|(field, _)| field).collect();
    assert_eq!(
        fields,
        [
            "values[2] (white chroma).unit",
            "values[3] (red chroma).unit",
            "values[4] (red hue).aim",
            "values[5] (black lightness).aim",
            "values[7] (paint retained-fraction).accept",
        ]
    );
}

#[test]
fn a_cut_off_file_is_told_and_never_panics() {
    let end = STARTER.trim_end().len();
    for cut in (0..end).filter(|cut| STARTER.is_char_boundary(*cut)) {
        assert!(Targets::parse(&STARTER[..cut]).is_err(), "{cut}");
    }
}

fn surface(lab: [f64; 3], u95: f64) -> Option<Surface> {
    let l_spread = Some(Spread { sd: 2.0, ..Spread::default() });
    Some(Surface { area_px: 20_000, area_fraction: 0.3, lab, u95: [u95; 3], l_spread, ..Surface::default() })
}

/// A piece with white of a lightness and red of a hue angle, chroma 30.
fn piece(number: usize, white: f64, hue: f64, u95: f64) -> Reading {
    let (sin, cos) = hue.to_radians().sin_cos();
    Reading {
        photo: PhotoPart {
            path: format!("shelf/pot-{number}.jpg"),
            sha256: Some(format!("{number:064x}")),
            ..PhotoPart::default()
        },
        surfaces: Surfaces {
            white: surface([white, 1.0, 8.0], u95),
            red: surface([40.0, 30.0 * cos, 30.0 * sin], u95),
            ..Surfaces::default()
        },
        clouds: Clouds { u95: 0.01, ..Clouds::default() },
        ..Reading::default()
    }
}

fn learn(pieces: &[Reading]) -> Result<sherdlight::verdict::LearnedTargets, TargetError> {
    let settings =
        LearnSettings { id: "shelf".into(), aim_coverage: 0.75, accept_coverage: 0.95, confidence: 0.95 };
    learn_targets(&pieces.iter().collect::<Vec<_>>(), &settings)
}

fn five(u95: f64) -> Vec<Reading> {
    [(70.0, 36.0), (72.0, 38.0), (74.0, 40.0), (76.0, 42.0), (78.0, 44.0)]
        .into_iter()
        .enumerate()
        .map(|(i, (white, hue))| piece(i, white, hue, u95))
        .collect()
}

#[test]
fn learned_limits_are_mean_and_factor_times_scatter() {
    let learned = learn(&five(0.1)).unwrap();
    let targets = &learned.targets;
    // Five values 2 apart: standard deviation sqrt(10). One-sided 95/95 for 5: 4.203 (Odeh & Owen 1980).
    let white = targets.get("white", Quantity::Lightness).unwrap();
    let low = 74.0 - 4.203 * 10f64.sqrt();
    assert_eq!(white.accept[1], None);
    assert!(
        (white.accept[0].unwrap() - low).abs() <= 0.1 && white.accept[0].unwrap() <= low + 0.002,
        "{white:?}"
    );
    // Two-sided 95/95 for 5: 5.0769 (ISO 16269-6).
    let red = targets.get("red", Quantity::Hue).unwrap();
    let half = 5.0769 * 10f64.sqrt();
    for (end, wanted) in red.accept.into_iter().zip([40.0 - half, 40.0 + half]) {
        assert!((end.unwrap() - wanted).abs() <= 0.1, "{red:?}");
    }
    // One-sided 75/95 for 5: 2.149 (Odeh & Owen 1980, from memory); the aim lies inside.
    assert!((white.aim[0].unwrap() - (74.0 - 2.149 * 10f64.sqrt())).abs() <= 0.101, "{white:?}");
    // As far below the limit as in the starter file, whatever that says.
    let model = starter();
    let model = model.get("white", Quantity::Lightness).unwrap();
    let (off, from) = (model.fully_off.unwrap(), model.accept[0].unwrap());
    assert!((white.fully_off.unwrap() - (white.accept[0].unwrap() + off - from)).abs() < 1e-6);
    assert_eq!(red.fully_off, None);
    assert_eq!(targets.aim_colours["white"], [74.0, 1.0, 8.0]);
    // What is made is a good file, and says what it rests on.
    let text = targets.to_json();
    assert!(Targets::parse(&text).is_ok(), "{:?}", Targets::parse(&text));
    for words in ["5 pieces", "95 %", "75 %", "pot-0.jpg (SHA-256 0000", "ISO 16269-6"] {
        assert!(targets.note.contains(words), "{words}: {}", targets.note);
    }
}

#[test]
fn ranges_hold_the_share_they_promise() {
    // 200 seeded samples of six pieces with white L* normal about 74, sd 3: accept must hold 95 % of the population in
    // 95 % of the samples: at least 177 of 200 (four standard deviations of that count below 190), and be exact enough
    // to fail in some.
    let mut state = 20u64;
    let mut unit = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    let mut normal = || (0..12).map(|_| unit()).sum::<f64>() - 6.0;
    let samples = 200;
    let mut held = 0;
    for _ in 0..samples {
        let mut pieces: Vec<Reading> = (0..6).map(|i| piece(i, 74.0 + 3.0 * normal(), 40.0, 0.01)).collect();
        pieces.iter_mut().for_each(|piece| piece.surfaces.red = None);
        let learned = learn(&pieces).unwrap();
        let low = learned.targets.get("white", Quantity::Lightness).unwrap().accept[0].unwrap();
        // The 5 % quantile of the population.
        held += usize::from(low <= 74.0 - 3.0 * 1.644_85);
    }
    assert!((177..samples).contains(&held), "{held} of {samples}");
}

#[test]
fn measuring_has_its_share() {
    let sure = learn(&five(0.1)).unwrap();
    let unsure = learn(&five(10.0)).unwrap();
    let value = |learned: &sherdlight::verdict::LearnedTargets| {
        learned.values.iter().find(|v| v.target.value == Quantity::Lightness).unwrap().clone()
    };
    // u95 0.1 is a standard uncertainty of 0.051; variance 10 between the pieces.
    assert!((value(&sure).measuring_share() - (0.1f64 / 1.96).powi(2) / 10.0).abs() < 1e-9);
    assert_eq!(value(&unsure).measuring_share(), 1.0);
    assert!(value(&unsure).target.accept[0] < value(&sure).target.accept[0]);
    // No pieces agree so well that they have no range: clouds of 0 on all five.
    let clouds = sure.targets.get("clouds", Quantity::AreaFraction).unwrap();
    assert!(clouds.accept[1].unwrap() > clouds.aim[1].unwrap() && clouds.aim[1].unwrap() > 0.0, "{clouds:?}");
}

#[test]
fn too_few_pieces_make_no_range() {
    let mut pieces = five(1.0);
    for piece in &mut pieces[2..] {
        piece.surfaces.red = None;
    }
    let learned = learn(&pieces).unwrap();
    assert!(learned.targets.values.iter().all(|t| t.surface != "red"));
    let said = learned.left_out.iter().any(|s| s.starts_with("red: ") && s.contains("2 of 5"));
    assert!(said, "{:?}", learned.left_out);
    assert!(!learned.targets.aim_colours.contains_key("red"));
    assert!(matches!(learn(&pieces[..2]), Err(TargetError::TooFew { pieces: 2, least: 3 })));
    // The same photograph twice is one piece; one without a grade is none.
    let twice = [pieces[0].clone(), pieces[1].clone(), pieces[1].clone()];
    assert!(matches!(learn(&twice), Err(TargetError::TooFew { pieces: 2, .. })));
    pieces[2].warnings.push(Warning { code: OVEREXPOSED.into(), text: "Too bright.".into() });
    assert!(matches!(learn(&pieces[..3]), Err(TargetError::TooFew { pieces: 2, .. })));
}

#[test]
fn hues_that_close_the_circle_get_no_range_and_it_is_said() {
    let pieces: Vec<Reading> = [356.0, 358.0, 0.0, 2.0, 4.0]
        .into_iter()
        .enumerate()
        .map(|(i, hue)| piece(i, 74.0, hue, 0.1))
        .collect();
    let learned = learn(&pieces).unwrap();
    assert!(learned.targets.get("red", Quantity::Hue).is_none());
    assert!(learned.targets.get("red", Quantity::Chroma).is_some());
    assert!(learned.left_out.iter().any(|s| s.starts_with("red hue: ")), "{:?}", learned.left_out);
}

#[test]
fn the_new_values_are_graded() {
    let fields = |surface: &str, value: &str, unit: &str, aim: &str, accept: &str| {
        one_value(&format!(
            "\"surface\": \"{surface}\", \"value\": \"{value}\", \"unit\": \"{unit}\", \"aim\": {aim}, \"accept\": {accept}"
        ))
    };
    let mut piece = piece(1, 80.0, 40.0, 1.0);
    piece.piece =
        PiecePart { white_unevenness: Some(Measure { value: 3.0, u95: 0.2 }), ..PiecePart::default() };
    piece.contrast = Some(Contrast {
        delta_l: 40.0,
        de00: 35.0,
        u95: ContrastU95 { delta_l: 2.0, de00: 2.0, reflectance_ratio: 1.0 },
        ..Contrast::default()
    });
    piece.paint = Some(Paint::default());
    for (text, grade, words) in [
        (fields("white", "evenness", "L*", "[null, 1]", "[null, 2]"), "faulty", "3.0 ± 0.2 in L*"),
        (fields("red", "evenness", "L*", "[null, 3]", "[null, 4]"), "sound", ""),
        (fields("contrast", "delta-lightness", "L*", "[50, null]", "[30, null]"), "marginal", "40.0 ± 2.0"),
        (
            fields("contrast", "ciede2000", "CIEDE2000", "[50, null]", "[36, null]"),
            "cannot-tell",
            "35.0 ± 2.0",
        ),
    ] {
        let targets = Targets::parse(&text).unwrap();
        let mut reading = piece.clone();
        judge(&mut reading, &targets, DecisionRule::default());
        assert_eq!(reading.grade.name(), grade, "{text}: {:?}", reading.grade_because);
        assert!(reading.grade_because.iter().any(|s| s.contains(words)), "{:?}", reading.grade_because);
    }
}

fn notation(text: &str) -> MunsellNotation {
    MunsellNotation::parse(text).unwrap()
}

#[test]
fn a_notation_gives_the_ranges_about_its_colour() {
    let mut targets = starter();
    let added = add_notation(&mut targets, "white", notation("10YR 8/2")).unwrap();
    // munsell_to_lab.csv, D50: 10YR 8/2 is 80.6925, 3.1554, 13.4961; 7.5YR 8/2 is 80.6783, 4.7701, 11.6000.
    assert_eq!(added.lab, [80.69, 3.16, 13.5]);
    assert_eq!(targets.aim_colours["white"], added.lab);
    // L* of values 7 and 9: 70.8608 and 90.1813 in the same file.
    let lightness = targets.get("white", Quantity::Lightness).unwrap();
    assert_eq!(lightness.accept, [Some(70.9), Some(90.2)]);
    // C* is 13.860 for two steps of chroma: 6.93 a step.
    let chroma = targets.get("white", Quantity::Chroma).unwrap();
    assert_eq!((chroma.aim, chroma.accept), ([Some(6.9), Some(20.8)], [None, Some(27.7)]));
    // Hue angles: 7.5YR 67.65 degrees, 10YR 76.84.
    let hue = targets.get("white", Quantity::Hue).unwrap();
    assert_eq!((hue.accept[0], hue.aim[0]), (Some(67.6), Some(72.2)));
    assert!(hue.aim[1] > Some(76.9) && hue.accept[1] > hue.aim[1]);
    // The others stay; the file is good; a second notation takes the place of the first, in the note as well.
    assert_eq!(targets.get("red", Quantity::Hue), starter().get("red", Quantity::Hue));
    assert!(targets.note.contains("[white: Munsell 10YR 8/2."));
    let again = add_notation(&mut targets, "white", notation("N 9.5/")).unwrap();
    assert!(again.without_hue.is_some() && targets.get("white", Quantity::Hue).is_none());
    assert!(targets.note.contains("[white: Munsell N 9.5/.") && !targets.note.contains("Munsell 10YR"));
    assert_eq!(targets.note.matches("[white").count(), 1);
    assert_eq!(targets.get("white", Quantity::Lightness).unwrap().accept[1], None);
    assert!(Targets::parse(&targets.to_json()).is_ok());
}

#[test]
fn every_notation_of_a_chart_makes_a_good_file_that_accepts_it() {
    for family in ["R", "YR", "Y"] {
        for step in ["2.5", "5", "7.5", "10"] {
            for rest in ["2/1", "2.5/2", "3/6", "4.5/3", "8/1", "8.5/1.5", "9/2"] {
                let notation = notation(&format!("{step}{family} {rest}"));
                let mut targets = starter();
                let Some(added) = add_notation(&mut targets, "red", notation) else { continue };
                let again = Targets::parse(&targets.to_json());
                assert!(again.is_ok(), "{notation}: {again:?}");
                // The colour itself lies inside its own aim.
                let [l, a, b] = added.lab;
                let own = [l, a.hypot(b), b.atan2(a).to_degrees().rem_euclid(360.0)];
                for (range, own) in added.ranges.iter().zip(own) {
                    let [low, high] = range.aim;
                    let inside = low.is_none_or(|v| v <= own) && high.is_none_or(|v| v >= own);
                    assert!(inside, "{notation}: {own} in {range:?}");
                }
            }
        }
    }
    assert!(add_notation(&mut starter(), "red", notation("10YR 8/40")).is_none());
}

struct Run {
    code: i32,
    out: String,
    err: String,
}

fn sherdlight(arguments: &[&str]) -> Run {
    let output = Command::cargo_bin("sherdlight").unwrap().args(arguments).output().unwrap();
    Run {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn the_sets_are_listed_and_shown() {
    let list = sherdlight(&["targets", "list"]);
    assert_eq!(list.code, 0);
    assert!(list.out.lines().any(|l| l.starts_with("three-colour-low-fired")), "{}", list.out);
    let shown = sherdlight(&["targets", "show", "three-colour-low-fired"]);
    let row = shown.out.lines().find(|l| l.starts_with("red") && l.contains("hue")).unwrap();
    assert!(row.contains("degree") && row.contains("25 to 55"), "{row}");
    assert_eq!(sherdlight(&["targets", "show", "three-colour-low-fired", "--json"]).out, STARTER);
    let unknown = sherdlight(&["targets", "show", "porcelain"]);
    assert_eq!((unknown.code, unknown.out.as_str()), (5, ""));
    assert!(unknown.err.contains("three-colour-low-fired"), "{}", unknown.err);
}

#[test]
fn a_file_is_checked_from_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.json");
    std::fs::write(&file, STARTER).unwrap();
    let good = sherdlight(&["targets", "check", text(&file)]);
    assert_eq!(good.code, 0, "{}", good.err);
    assert!(good.out.starts_with("good: "), "{}", good.out);
    std::fs::write(&file, STARTER.replace("\"unit\": \"L*\", ", "").replace("[25, 55]", "[55, 25]")).unwrap();
    let bad = sherdlight(&["targets", "check", text(&file)]);
    assert_eq!((bad.code, bad.out.as_str()), (5, ""));
    for words in
        ["values[1] (white lightness).unit", "values[5] (black lightness).unit", "red hue", "3 faults"]
    {
        assert!(bad.err.contains(words), "{words}: {}", bad.err);
    }
    // The same file given to score is refused with the first faults.
    let score = sherdlight(&["score", "nothing.jpg", "--targets", text(&file)]);
    assert!(score.code == 5 && score.err.contains("values[1] (white lightness).unit"), "{}", score.err);
}

#[test]
fn a_notation_is_added_and_nothing_is_overwritten_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("museum.json");
    let add = |rest: &[&str]| {
        let mut arguments = vec!["targets", "add"];
        arguments.extend(rest);
        sherdlight(&arguments)
    };
    let white = ["--surface", "white", "--munsell", "10YR 8/2"];
    let first = add(&[&["three-colour-low-fired"][..], &white, &["--out", text(&file)]].concat());
    assert_eq!(first.code, 0, "{}", first.err);
    assert!(first.out.contains("L* 80.69"), "{}", first.out);
    let before = std::fs::read_to_string(&file).unwrap();
    assert_eq!(Targets::parse(&before).unwrap().id, "museum");
    for arguments in [
        [&["three-colour-low-fired"][..], &white].concat(),
        [&[text(&file)][..], &white].concat(),
        [&["three-colour-low-fired"][..], &white, &["--out", text(&file)]].concat(),
        vec![text(&file), "--surface", "white", "--munsell", "rose", "--replace"],
        vec![text(&file), "--surface", "white", "--munsell", "10YR 8/40", "--replace"],
    ] {
        let refused = add(&arguments);
        assert!([2, 5].contains(&refused.code), "{arguments:?}: {}", refused.err);
        assert_eq!(refused.out, "");
    }
    let rose = add(&[text(&file), "--surface", "white", "--munsell", "rose", "--replace"]);
    assert!(rose.err.contains("10YR 8/2"), "{}", rose.err);
    assert_eq!(std::fs::read_to_string(&file).unwrap(), before);
    let second = add(&[text(&file), "--surface", "black", "--munsell", "N 3/", "--replace"]);
    assert_eq!(second.code, 0, "{}", second.err);
    let after = Targets::load(text(&file)).unwrap();
    assert_eq!(after.aim_colours["black"], [30.38, 0.0, 0.0]);
    assert_eq!(
        after.get("white", Quantity::Hue),
        Targets::parse(&before).unwrap().get("white", Quantity::Hue)
    );
}

fn demo(names: &[&str]) -> Vec<String> {
    let folder: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-images");
    names.iter().map(|name| text(&folder.join(name)).to_owned()).collect()
}

#[test]
fn ranges_are_learned_from_photographs() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("trusted.json");
    let photographs =
        demo(&["02-first-frost-dish.jpg", "09-first-frost-tile.jpg", "11-first-frost-replica.jpg"]);
    let learn = |photographs: &[String], rest: &[&str]| {
        let mut arguments = vec!["targets", "learn", "--card", "chart24-iso", "--out", text(&file)];
        arguments.extend(photographs.iter().map(String::as_str));
        arguments.extend(rest);
        sherdlight(&arguments)
    };
    // Two pieces: said, and no file.
    let two = learn(&photographs[..2], &[]);
    assert_eq!(two.code, 4, "{}", two.err);
    assert!(two.err.contains("3") && !file.exists(), "{}", two.err);
    let three = learn(&photographs, &[]);
    assert_eq!(three.code, 0, "{}", three.err);
    assert!(three.out.contains("of it measuring") && three.out.contains("written: "), "{}", three.out);
    let text_of = std::fs::read_to_string(&file).unwrap();
    let targets = Targets::parse(&text_of).unwrap();
    assert!(
        targets.get("white", Quantity::Lightness).is_some()
            && targets.note.contains("09-first-frost-tile.jpg")
    );
    assert!(sherdlight(&["targets", "check", text(&file)]).out.starts_with("good: "));
    // Nothing is overwritten; the same photographs give the same bytes; a missing one is said.
    assert_eq!(learn(&photographs, &[]).code, 5);
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text_of);
    let mut more = photographs.clone();
    more.push("gone.jpg".into());
    let again = learn(&more, &["--replace", "--threads", "1", "--quiet"]);
    assert_eq!(again.code, 3, "{}", again.err);
    assert!(again.err.contains("gone.jpg"));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text_of);
    let wrong = learn(&photographs, &["--replace", "--coverage", "0.95"]);
    assert!(wrong.code == 2 && wrong.err.contains("percent"), "{}", wrong.err);
}
