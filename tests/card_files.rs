//! Card definitions from files: our JSON and CGATS.17 / ISO 28178 text. Published tables first, then what
//! must hold for any text.
#![allow(missing_docs)]

use proptest::prelude::*;
use sherdlight::card::{CardDefinition, CardFile, CardLayout, CgatsFile, DefinitionError};
use sherdlight::colour::{LabD50, ciede2000};
use std::path::{Path, PathBuf};

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/cards").join(name)
}

fn text(name: &str) -> String {
    std::fs::read_to_string(data(name)).unwrap()
}

/// Rows of a CSV whose lines that start with # are comments.
fn rows(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect()
}

fn read(text: &str) -> Result<CardFile, DefinitionError> {
    CardFile::from_bytes("mine", text.as_bytes(), None)
}

fn faults(text: &str) -> String {
    let error = read(text).expect_err("a fault");
    error.faults.iter().map(|f| format!("{f}\n")).collect()
}

fn built_in(id: &str) -> CardDefinition {
    CardDefinition::load(id).unwrap()
}

/// CGATS text of columns and rows.
fn cgats(header: &str, fields: &str, rows: &[String]) -> String {
    format!(
        "CGATS.17\n{header}NUMBER_OF_FIELDS {}\nBEGIN_DATA_FORMAT\n{fields}\nEND_DATA_FORMAT\nNUMBER_OF_SETS {}\n\
         BEGIN_DATA\n{}\nEND_DATA\n",
        fields.split_whitespace().count(),
        rows.len(),
        rows.join("\n")
    )
}

const D50_2: &str = "MEASUREMENT_SOURCE \"Illumination=D50 ObserverAngle=2 WhiteBase=Abs Filter=No\"\n";

/// The 24-patch chart as a measured file.
fn chart() -> Vec<String> {
    let line = |(i, p): (usize, &sherdlight::card::PatchDefinition)| {
        format!("{} {} {} {}", i + 1, p.lab.l, p.lab.a, p.lab.b)
    };
    built_in("chart24-iso").patches.iter().enumerate().map(line).collect()
}

fn chart_text() -> String {
    cgats(D50_2, "SAMPLE_ID LAB_L LAB_A LAB_B", &chart())
}

fn largest_difference(card: &CardDefinition, wanted: &[LabD50]) -> f64 {
    assert_eq!(card.patches.len(), wanted.len());
    card.patches.iter().zip(wanted).map(|(p, w)| ciede2000(p.lab, *w)).fold(0.0, f64::max)
}

// Published tables and files read by others.

/// Against an independent reader of 40 lines.
#[test]
fn the_two_sample_files_read_as_expected() {
    let expected: serde_json::Value = serde_json::from_str(&text("cgats_expected.json")).unwrap();
    for (name, wanted) in expected.as_object().unwrap() {
        let file = CgatsFile::read(&text(name)).unwrap();
        assert_eq!(file.signature, wanted["signature"].as_str().unwrap());
        assert!(file.remarks.is_empty(), "{:?}", file.remarks);
        let tables = wanted["tables"].as_array().unwrap();
        assert_eq!(file.tables.len(), tables.len());
        for (table, wanted) in file.tables.iter().zip(tables) {
            assert_eq!(serde_json::json!(table.fields), wanted["fields"]);
            for (word, value) in wanted["header"].as_object().unwrap() {
                assert_eq!(table.word(word).unwrap().value, value.as_str().unwrap());
            }
            let rows = wanted["rows"].as_array().unwrap();
            assert_eq!(table.sets.len(), rows.len());
            for (set, row) in table.sets.iter().zip(rows) {
                for (cell, wanted) in set.iter().zip(row.as_array().unwrap()) {
                    match wanted.as_f64() {
                        Some(number) => assert_eq!(cell.number(), Ok(number)),
                        None => assert_eq!(cell.text, wanted.as_str().unwrap()),
                    }
                }
            }
        }
    }
}

/// CIELAB of the ISO 17321-1 spectra by colour-science 0.4.7, method ASTM E308; its figures are printed
/// to 0.001.
#[test]
fn spectra_become_the_published_colours() {
    let wanted: Vec<LabD50> = rows(&text("chart24_lab.csv"))
        .iter()
        .map(|r| [7, 8, 9].map(|k| r[k].parse::<f64>().unwrap()).into())
        .collect();
    let spectra = rows(&text("chart24_spectra.csv"));
    let sets = |percent: f64| -> Vec<String> {
        spectra
            .iter()
            .map(|r| {
                let values = r[3..].iter().map(|v| (v.parse::<f64>().unwrap() * percent).to_string());
                format!("{} \"{}\" {}", r[0], r[1], values.collect::<Vec<_>>().join(" "))
            })
            .collect()
    };
    // The three spellings of the fields, and both scales.
    for (prefix, percent) in
        [("SPECTRAL_NM", 1.0), ("SPECTRAL_NM_", 100.0), ("nm", 1.0), ("SPECTRAL_", 100.0)]
    {
        let bands: Vec<String> = (380..=730).step_by(10).map(|nm| format!("{prefix}{nm}")).collect();
        let fields = format!("SAMPLE_ID SAMPLE_NAME {}", bands.join(" "));
        let file = read(&cgats("", &fields, &sets(percent))).unwrap();
        for (patch, wanted) in file.definition.patches.iter().zip(&wanted) {
            let off = [patch.lab.l - wanted.l, patch.lab.a - wanted.a, patch.lab.b - wanted.b];
            assert!(off.iter().all(|d| d.abs() < 0.02), "{prefix} {}: {off:?}", patch.id);
        }
        assert_eq!(file.definition.patches[1].name, "light skin");
        let scale = if percent == 1.0 { "0 to 1" } else { "percent" };
        assert!(file.remarks.iter().any(|r| r.contains(scale)), "{:?}", file.remarks);
    }
    // Wavelength and value in pairs of columns.
    let pairs = |r: &Vec<String>| {
        let values = r[3..].iter().zip((380..).step_by(10)).map(|(v, nm)| format!("{nm} {v}"));
        format!("{} {}", r[0], values.collect::<Vec<_>>().join(" "))
    };
    let fields = format!("SAMPLE_ID {}", "SPECTRAL_NM SPECTRAL_DEC ".repeat(36));
    let sets: Vec<String> = spectra.iter().map(pairs).collect();
    let file = read(&cgats("", &fields, &sets)).unwrap();
    assert!(largest_difference(&file.definition, &wanted) < 0.02);
}

/// Worked colours from D65 to D50 by colour-science 0.4.7 (tests/data/bradford_colours.csv).
#[test]
fn colours_for_another_illuminant_are_carried_over_as_published() {
    let table = include_str!("data/bradford_colours.csv");
    let worked: Vec<[f64; 6]> = rows(table)
        .iter()
        .map(|r| {
            let numbers: Vec<f64> = r.iter().filter_map(|v| v.parse().ok()).collect();
            [0, 1, 2, 3, 4, 5].map(|k| numbers[k])
        })
        .collect();
    assert!(worked.len() >= 12);
    let layout = r#"{"layout": {"unit": "mm", "rows": 3, "columns": 4, "patch": [30, 20], "gap": [3, 3], "frame": [0, 0]}}"#;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("layout.json");
    std::fs::write(&path, layout).unwrap();
    let layout = CardLayout::load(path.to_str().unwrap()).unwrap();
    for scale in [1.0, 100.0] {
        let sets: Vec<String> = worked[..12]
            .iter()
            .enumerate()
            .map(|(i, w)| format!("{} {} {} {}", i + 1, w[0] * scale, w[1] * scale, w[2] * scale))
            .collect();
        let header = "WEIGHTING_FUNCTION \"ILLUMINANT, D65\"\nWEIGHTING_FUNCTION \"OBSERVER, 2 degree\"\n";
        let text = cgats(header, "SAMPLE_ID XYZ_X XYZ_Y XYZ_Z", &sets);
        let file = CardFile::from_bytes("mine", text.as_bytes(), Some(&layout)).unwrap();
        for (patch, w) in file.definition.patches.iter().zip(&worked) {
            let wanted = sherdlight::colour::XyzD50 { x: w[3], y: w[4], z: w[5] }.to_lab();
            // The white of the worked colours is the CIE 15 one, 0.0002 off in Z.
            assert!(ciede2000(patch.lab, wanted) < 0.03, "{}: {:?} {wanted:?}", patch.id, patch.lab);
        }
        assert!(file.remarks.iter().any(|r| r.contains("D65") && r.contains("Bradford")));
    }
}

#[test]
fn xyy_and_lch_columns_are_colours_too() {
    let card = built_in("chart24-iso");
    let wanted: Vec<LabD50> = card.patches.iter().map(|p| p.lab).collect();
    let sets: Vec<String> = wanted
        .iter()
        .enumerate()
        .map(|(i, lab)| {
            let xyz = lab.to_xyz();
            let sum = xyz.x + xyz.y + xyz.z;
            let lch = lab.to_lch();
            format!(
                "{} {} {} {} {} {} {}",
                i + 1,
                xyz.x / sum,
                xyz.y / sum,
                xyz.y * 100.0,
                lch.l,
                lch.c,
                lch.h
            )
        })
        .collect();
    for fields in ["XYY_X XYY_Y XYY_CAPY L_ C_ H_", "a_ b_ c_ LAB_L LAB_C LAB_H"] {
        let file = read(&cgats(D50_2, &format!("SAMPLE_ID {fields}"), &sets)).unwrap();
        assert!(largest_difference(&file.definition, &wanted) < 1e-6, "{fields}");
    }
}

// The order of the patches.

#[test]
fn patches_are_ordered_by_their_ids() {
    let card = built_in("chart24-iso");
    let wanted: Vec<LabD50> = card.patches.iter().map(|p| p.lab).collect();
    let by_row = |i: usize| format!("{}{}", ["A", "B", "C", "D"][i / 6], i % 6 + 1);
    let by_column = |i: usize| format!("{}{}", ["a", "b", "c", "d", "e", "f"][i % 6], i / 6 + 1);
    let number = |i: usize| format!("{:02}", i + 1);
    let schemes: [&dyn Fn(usize) -> String; 3] = [&by_row, &by_column, &number];
    for scheme in schemes {
        let mut sets: Vec<String> = (0..24)
            .map(|i| format!("{} {} {} {}", scheme(i), wanted[i].l, wanted[i].a, wanted[i].b))
            .collect();
        sets.reverse();
        let file = read(&cgats(D50_2, "SAMPLE_ID LAB_L LAB_A LAB_B", &sets)).unwrap();
        assert!(largest_difference(&file.definition, &wanted) < 1e-9);
        assert!(file.remarks.iter().any(|r| r.contains("24-patch chart")), "{:?}", file.remarks);
        assert_eq!(file.definition.patches[6].id, scheme(6));
    }
    // Without ids the order of the file is taken, and said.
    let sets: Vec<String> = wanted.iter().map(|w| format!("{} {} {}", w.l, w.a, w.b)).collect();
    let file = read(&cgats(D50_2, "LAB_L LAB_A LAB_B", &sets)).unwrap();
    assert!(largest_difference(&file.definition, &wanted) < 1e-9);
    assert!(file.remarks.iter().any(|r| r.contains("row by row")));
    // Rows in another order do not pass: the grey scale is not where it should be.
    let mut mixed = chart();
    mixed.swap(18, 19);
    let relabelled: Vec<String> = mixed
        .iter()
        .enumerate()
        .map(|(i, line)| format!("{} {}", i + 1, line.split_once(' ').unwrap().1))
        .collect();
    let told = faults(&cgats(D50_2, "SAMPLE_ID LAB_L LAB_A LAB_B", &relabelled));
    assert!(told.contains("must fall along the grey scale"), "{told}");
}

#[test]
fn a_square_card_with_letters_needs_its_ids_listed() {
    let colours = built_in("chart24-iso");
    let header = |extra: &str| {
        format!(
            "{D50_2}KEYWORD \"CARD_ROWS\"\nCARD_ROWS 3\nCARD_COLUMNS 3\nCARD_PATCH \"20 20\"\nCARD_GAP \"2 2\"\nCARD_FRAME \"5 5\"\n{extra}"
        )
    };
    let sets = |id: &dyn Fn(usize) -> String| -> Vec<String> {
        (0..9)
            .map(|i| {
                let lab = colours.patches[[0, 6, 12, 18, 14, 15, 2, 21, 23][i]].lab;
                format!("{} {} {} {}", id(i), lab.l, lab.a, lab.b)
            })
            .collect()
    };
    let lettered = |i: usize| format!("{}{}", ["A", "B", "C"][i / 3], i % 3 + 1);
    let fields = "SAMPLE_ID LAB_L LAB_A LAB_B";
    let told = faults(&cgats(&header(""), fields, &sets(&lettered)));
    assert!(told.contains("SAMPLE_ID") && told.contains("--layout"), "{told}");
    let numbered = read(&cgats(&header(""), fields, &sets(&|i| (i + 1).to_string()))).unwrap();
    assert_eq!(numbered.definition.layout.patch_mm(), Some(20.0));
    // An outer size that does not fit, and one that does.
    let told = faults(&cgats(&header("CARD_OUTER \"90 74\"\n"), fields, &sets(&|i| (i + 1).to_string())));
    assert!(
        told.contains("line 9, CARD_OUTER: is 90 x 74, but patches, gaps and frame make 74 x 74"),
        "{told}"
    );
    assert!(read(&cgats(&header("CARD_OUTER \"74 74\"\n"), fields, &sets(&|i| (i + 1).to_string()))).is_ok());
    // Strange ids tell nothing.
    let told = faults(&cgats(&header(""), fields, &sets(&|i| format!("tile-{i}x"))));
    assert!(told.contains("do not tell where"), "{told}");
}

// Bad input: every fault has its line and field.

#[test]
fn quirks_that_are_no_fault() {
    let good = read(&chart_text()).unwrap();
    let lf = chart_text();
    let same = |text: &str, what: &str| {
        let file = read(text).unwrap_or_else(|e| panic!("{what}: {e}"));
        assert_eq!(file.definition.patches, good.definition.patches, "{what}");
        file.remarks
    };
    same(&lf.replace('\n', "\r\n"), "CRLF");
    same(&lf.replace('\n', "\r"), "CR");
    same(lf.trim_end(), "no end of the last line");
    same(&format!("\u{feff}{lf}"), "byte-order mark");
    same(&lf.replace(' ', "\t \t"), "tabs");
    same(&lf.replace('\n', " \t\n"), "trailing tabs");
    same(&lf.replace("\n3 ", "\n# a comment\n\n\"3\" "), "comments, quoted ids");
    same(&lf.replace("\n4 ", " 4 ").replace("\n7 ", "\n7\n"), "sets over lines");
    same(
        &lf.replace("CGATS.17\n", "CGATS.17\nMY_OWN_WORD \"with \"\"quotes\"\" and # inside\"\n"),
        "own word",
    );
    let remarks = same(&lf.replace("SETS 24", "SETS 23").replace("FIELDS 4", "FIELDS 9"), "wrong counts");
    assert!(remarks.iter().any(|r| r.contains("NUMBER_OF_SETS: says 23, there are 24")), "{remarks:?}");
    assert!(remarks.iter().any(|r| r.contains("NUMBER_OF_FIELDS: says 9, there are 4")), "{remarks:?}");
    let remarks =
        same(&lf.replace("NUMBER_OF_SETS 24\n", "").replace("NUMBER_OF_FIELDS 4\n", ""), "no counts");
    assert_eq!(remarks.iter().filter(|r| r.contains("is missing")).count(), 2, "{remarks:?}");
    let latin = lf.replace("CGATS.17\n", "CGATS.17\nORIGINATOR \"T?pferin\"\n").replace('?', "\u{1}");
    let bytes: Vec<u8> = latin.bytes().map(|b| if b == 1 { 0xf6 } else { b }).collect();
    let file = CardFile::from_bytes("mine", &bytes, None).unwrap();
    assert!(file.definition.source.contains("Töpferin") && file.remarks[0].contains("UTF-8"));
    // A table of device values after the one with colours is left aside, and said.
    let two = format!(
        "{lf}BEGIN_DATA_FORMAT\nSAMPLE_ID RGB_R RGB_G RGB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n1 2 3 4\nEND_DATA\n"
    );
    assert!(same(&two, "two tables").iter().any(|r| r.contains("2 tables")));
}

#[test]
fn faults_of_cgats_text_name_line_and_field() {
    let good = chart_text();
    let line_of = |start: &str| 1 + good.lines().position(|l| l.starts_with(start)).unwrap();
    let third = line_of("3 ");
    let lines: Vec<&str> = good.lines().collect();
    let with = |line: usize, new: &str| {
        let mut lines = lines.clone();
        lines[line - 1] = new;
        lines.join("\n")
    };
    let cases: Vec<(&str, String, Vec<String>)> = vec![
        (
            "decimal comma",
            with(third, "3 50,3 -4.8 -21.7"),
            vec![format!("line {third}, LAB_L"), "decimal comma".into()],
        ),
        (
            "NaN",
            with(third, "3 50.3 NaN -21.7"),
            vec![format!("line {third}, LAB_A"), "no finite number".into()],
        ),
        (
            "inf",
            with(third, "3 50.3 -inf -21.7"),
            vec![format!("line {third}, LAB_A"), "no finite number".into()],
        ),
        (
            "1e999",
            with(third, "3 50.3 1e999 -21.7"),
            vec![format!("line {third}, LAB_A"), "no finite number".into()],
        ),
        (
            "words",
            with(third, "3 50.3 blue -21.7"),
            vec![format!("line {third}, LAB_A"), "'blue' is no number".into()],
        ),
        (
            "repeated id",
            with(third, "2 50.3 -4.8 -21.7"),
            vec![format!("line {third}, SAMPLE_ID"), "twice".into()],
        ),
        (
            "short set",
            with(third, "3 50.3 -4.8"),
            vec![format!("line {third}:"), "3 values stand here, 4 fields".into()],
        ),
        ("missing patch", with(third, ""), vec!["line 8: 23 sets and no layout".into(), "missing?".into()]),
        (
            "strange id",
            with(third, "25 50.3 -4.8 -21.7"),
            vec![format!("line {third}, SAMPLE_ID"), "no patch '25'".into()],
        ),
        (
            "open quote",
            with(third, "\"3 50.3 -4.8 -21.7"),
            vec![format!("line {third}:"), "double quote".into()],
        ),
        (
            "impossible",
            with(third, "3 503 -4.8 -21.7"),
            vec![format!("line {third}, patch 3, lab"), "no possible colour".into()],
        ),
        ("two like fields", good.replace("LAB_A", "LAB_B"), vec!["LAB_B".into(), "named twice".into()]),
        (
            "count in words",
            good.replace("SETS 24", "SETS many"),
            vec!["NUMBER_OF_SETS".into(), "whole number".into()],
        ),
        ("cut off", good.replace("END_DATA\n", ""), vec!["END_DATA is missing".into()]),
        ("no data", "CGATS.17\nORIGINATOR \"me\"\n".into(), vec!["BEGIN_DATA is missing".into()]),
        (
            "no format",
            "CGATS.17\nBEGIN_DATA\n1 2\nEND_DATA\n".into(),
            vec!["line 2".into(), "BEGIN_DATA_FORMAT".into()],
        ),
        ("no signature", "ORIGINATOR \"me\"\n".into(), vec!["line 1".into(), "single word".into()]),
        ("table with commas", "id,L,a,b\n1,2,3,4\n".into(), vec!["line 1".into(), "commas".into()]),
        ("empty", String::new(), vec!["empty".into()]),
        ("UTF-16", "\u{0}C".into(), vec!["no text".into()]),
        (
            "10 degrees",
            good.replace("Angle=2", "Angle=10"),
            vec!["line 2".into(), "10 degree observer".into()],
        ),
        (
            "odd observer",
            good.replace("Angle=2", "Angle=5"),
            vec!["line 2, MEASUREMENT_SOURCE".into(), "2 or 10".into()],
        ),
        ("odd illuminant", good.replace("=D50", "=F11"), vec!["line 2".into(), "F11".into()]),
        (
            "contradiction",
            good.replace("CGATS.17\n", "CGATS.17\nILLUMINANT D65\n"),
            vec!["line 3".into(), "D65 on line 2".into()],
        ),
        (
            "device values",
            good.replace("LAB_L LAB_A LAB_B", "RGB_R RGB_G RGB_B"),
            vec!["RGB".into(), "one device".into()],
        ),
        ("ink", good.replace("LAB_L LAB_A LAB_B", "CMYK_C CMYK_M CMYK_Y"), vec!["ink".into()]),
        ("densities", good.replace("LAB_L LAB_A LAB_B", "D_RED D_GREEN D_BLUE"), vec!["densities".into()]),
        ("half a colour", good.replace("LAB_B", "STRING"), vec!["a part of the three columns".into()]),
    ];
    for (what, text, wanted) in cases {
        let told = faults(&text);
        for words in wanted {
            assert!(told.contains(&words), "{what}: wanted '{words}' in: {told}");
        }
    }
}

#[test]
fn patches_missing_from_a_told_layout_are_named() {
    let layout = CardLayout::load("chart24-b").unwrap();
    let mut sets = chart();
    sets.drain(4..6);
    sets.push("77 1 2 3".into());
    let text = cgats(D50_2, "SAMPLE_ID LAB_L LAB_A LAB_B", &sets);
    let error = CardFile::from_bytes("mine", text.as_bytes(), Some(&layout)).unwrap_err();
    let told: Vec<String> = error.faults.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "line 31, SAMPLE_ID: the card of 4 rows of 6 has no patch '77'",
            "line 31, SAMPLE_ID: 2 of 24 patches are missing: 5, 6"
        ]
    );
    // A layout file with a fault is refused with its own line.
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("layout.json");
    std::fs::write(&path, "{\"layout\": {\"unit\": \"mm\",\n\"rows\": -3, \"columns\": 4}}").unwrap();
    let told = CardLayout::load(path.to_str().unwrap()).unwrap_err().to_string();
    assert!(
        told.contains("line 2, layout, rows: a whole number") && told.contains("layout, patch: is missing"),
        "{told}"
    );
}

#[test]
fn spectra_that_cannot_be_summed_say_why() {
    let set =
        |n: usize| -> Vec<String> { (1..=24).map(|i| format!("{i} {}", vec!["0.5"; n].join(" "))).collect() };
    let told = |bands: &[u32]| {
        let fields: Vec<String> = bands.iter().map(|nm| format!("SPECTRAL_NM{nm}")).collect();
        faults(&cgats("", &format!("SAMPLE_ID {}", fields.join(" ")), &set(bands.len())))
    };
    assert!(told(&[450, 550, 650]).contains("400 to 700 nm"));
    assert!(told(&[380, 480, 580, 680, 780]).contains("100 nm apart"));
    let mut uneven: Vec<u32> = (380..=730).step_by(10).collect();
    uneven[5] = 431;
    assert!(told(&uneven).contains("not evenly spaced"));
}

#[test]
fn a_spectrum_stands_in_for_colours_of_another_observer() {
    let spectra = rows(&text("chart24_spectra.csv"));
    let bands: Vec<String> = (380..=730).step_by(10).map(|nm| format!("SPECTRAL_NM{nm}")).collect();
    let sets: Vec<String> = spectra.iter().map(|r| format!("{} 50 0 0 {}", r[0], r[3..].join(" "))).collect();
    let fields = format!("SAMPLE_ID LAB_L LAB_A LAB_B {}", bands.join(" "));
    let card = built_in("chart24-iso");
    let wanted: Vec<LabD50> = card.patches.iter().map(|p| p.lab).collect();
    let file = read(&cgats(&D50_2.replace("Angle=2", "Angle=10"), &fields, &sets)).unwrap();
    assert!(largest_difference(&file.definition, &wanted) < 0.02);
    assert!(file.definition.source.contains("ASTM E308"));
}

/// The time limit is generous: a second for what takes milliseconds.
#[test]
fn ten_thousand_patches_are_refused_fast() {
    let start = std::time::Instant::now();
    let sets: Vec<String> = (1..=10_000).map(|i| format!("{i} 50 {} 0", i % 90)).collect();
    let told = faults(&cgats(D50_2, "SAMPLE_ID LAB_L LAB_A LAB_B", &sets));
    assert!(told.contains("10000 sets") && told.contains("at most 1600"), "{told}");
    let json = |rows: usize, patches: &str| {
        format!(
            "{{\"id\": \"x\", \"name\": \"x\", \"source\": \"x\", \"observer\": \"CIE 1931 2 degree\", \"illuminant\": \"D50\",\n\
             \"layout\": {{\"unit\": \"mm\", \"rows\": {rows}, \"columns\": 100, \"patch\": [1, 1], \"gap\": [0, 0], \"frame\": [0, 0]}},\n\
             \"patches\": [{patches}]}}"
        )
    };
    let many: Vec<String> = (1..=10_000)
        .map(|i| format!("{{\"id\": \"{i}\", \"name\": \"\", \"lab\": [50, {}, 0]}}", i % 90))
        .collect();
    let told = faults(&json(100, &many.join(",\n")));
    assert!(told.contains("line 3, patches: 10000 patches are listed; a card has at most 1600"), "{told}");
    let told = faults(&json(100, &many[..2].join(",")));
    assert!(told.contains("rows: must lie between 2 and 40"), "{told}");
    let big = vec![b' '; 5 << 20];
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("big.txt");
    std::fs::write(&path, &big).unwrap();
    assert!(
        CardFile::load(path.to_str().unwrap(), None).unwrap_err().to_string().contains("larger than 4 MB")
    );
    assert!(start.elapsed().as_secs_f64() < 1.0);
}

#[test]
fn faults_of_json_name_line_and_field() {
    let good = built_in("chart24-b").to_json();
    let line_of = |needle: &str| 1 + good.lines().position(|l| l.contains(needle)).unwrap();
    let patch2 = line_of("\"id\": \"2\"");
    let change = |from: &str, to: &str| {
        assert!(good.contains(from), "{from}");
        good.replacen(from, to, 1)
    };
    let third = good.lines().nth(patch2).unwrap();
    let cases = [
        ("NaN", change("[64.66,", "[NaN,"), format!("line {patch2}, lab")),
        (
            "decimal comma",
            change("[64.66,", "[64,66,"),
            format!("line {patch2}, patch 2, lab: three numbers"),
        ),
        ("too large", change("[64.66,", "[1e999,"), format!("line {patch2}, patch 2, lab: three numbers")),
        ("words", change("[64.66,", "[\"64\","), format!("line {patch2}, patch 2, lab: three numbers")),
        (
            "impossible",
            change("[64.66,", "[646.6,"),
            format!("line {patch2}, patch 2, lab: no possible colour"),
        ),
        (
            "twice",
            change("\"id\": \"2\"", "\"id\": \"1\""),
            format!("line {patch2}, patch 2, id: patch '1' is listed twice"),
        ),
        (
            "number as id",
            change("\"id\": \"2\"", "\"id\": 2"),
            format!("line {patch2}, patch 2, id: text in double quotes"),
        ),
        (
            "no colour",
            change(", \"lab\": [64.66, 19.27, 17.5]", ""),
            format!("line {patch2}, patch 2, lab: is missing"),
        ),
        (
            "strange field",
            change("\"name\": \"light skin\"", "\"nome\": \"x\""),
            format!("line {patch2}, patch 2, nome: unknown field"),
        ),
        (
            "missing patch",
            change(&format!("{third}\n"), ""),
            "patches: 23 patches are listed, the layout has 24".into(),
        ),
        (
            "wrong rows",
            change("\"rows\": 4", "\"rows\": 5"),
            "patches: 24 patches are listed, the layout has 30".into(),
        ),
        (
            "negative size",
            change("\"gap\": [0.15,", "\"gap\": [-0.15,"),
            "layout, gap: both lengths must be 0 or more".into(),
        ),
        (
            "zero size",
            change("\"patch\": [1.0,", "\"patch\": [0,"),
            "layout, patch: both lengths must be above 0".into(),
        ),
        (
            "half a row",
            change("\"rows\": 4", "\"rows\": 4.5"),
            format!("line {}, layout, rows: a whole number", line_of("\"rows\"")),
        ),
        (
            "unit",
            change("\"unit\": \"patch\"", "\"unit\": \"inch\""),
            "layout, unit: must be \"mm\" or \"patch\"".into(),
        ),
        ("no layout", change("\"layout\"", "\"loyout\""), "loyout: unknown field".into()),
        ("white", change("0.8249]", "1.0890]"), "white: must be that of D50".into()),
        (
            "observer",
            change("CIE 1931 2 degree", "CIE 1964 10 degree"),
            "observer: must be 'CIE 1931 2 degree'".into(),
        ),
        (
            "twice a field",
            change("\"rows\": 4,", "\"rows\": 4, \"rows\": 4,"),
            "layout, rows: duplicate field".into(),
        ),
        ("grey scale", change("\"neutral_row\": 4", "\"neutral_row\": 3"), "row 3 is the grey scale".into()),
        ("outer", change("\"neutral_row\": 4", "\"outer\": [7.25, 6]"), "layout, outer: is 7.25 x 6".into()),
        (
            "u95",
            change("[64.66, 19.27, 17.5]", "[64.66, 19.27, 17.5], \"u95\": [-1, 0, 0]"),
            format!("line {patch2}, patch 2, u95: half-widths"),
        ),
        ("cut off", good[..good.len() / 2].into(), "line ".into()),
    ];
    for (what, text, wanted) in cases {
        let told = faults(&text);
        assert!(told.contains(&wanted), "{what}: wanted '{wanted}' in: {told}");
    }
    // All faults are told, not just the first; the sentence counts those it leaves out.
    let many = good.replace("\"lab\": [", "\"lab\": [999, ");
    let error = read(&many).unwrap_err();
    assert_eq!(error.faults.len(), 24);
    assert!(error.to_string().contains("and 21 more"), "{error}");
    // The outer size may be told where it fits.
    assert!(read(&change("\"neutral_row\": 4", "\"outer\": [7.25, 4.95]")).is_ok());
}

#[test]
fn colours_too_much_alike_are_refused_and_odd_cards_remarked() {
    let good = built_in("chart24-b");
    let with = |lab: &dyn Fn(usize) -> [f64; 3]| {
        let mut card = good.clone();
        card.layout.neutral_row = None;
        card.patches.iter_mut().enumerate().for_each(|(i, p)| p.lab = lab(i).into());
        card
    };
    let grey = |i: usize| [20.0 + 3.0 * i as f64, 0.0, 0.0];
    assert!(with(&grey).check().unwrap_err().to_string().contains("several colours"));
    let flat = |i: usize| [50.0, 3.0 * i as f64, -2.0 * i as f64];
    assert!(with(&flat).check().unwrap_err().to_string().contains("light and dark"));
    // Fired tiles: warm colours only, no neutrals.
    let tiles = |i: usize| [25.0 + 2.5 * i as f64, 10.0 + (i % 5) as f64, 12.0 + (i % 5) as f64 * 3.0];
    let remarks = with(&tiles).check().unwrap();
    assert!(remarks.iter().any(|r| r.contains("one line")), "{remarks:?}");
    assert!(remarks.iter().any(|r| r.contains("grey balance")), "{remarks:?}");
    let turned = |i: usize| {
        let k = i.min(23 - i) as f64;
        [20.0 + 6.0 * k, 30.0 * (k * 2.0).sin(), 30.0 * (k * 1.3).cos()]
    };
    let remarks = with(&turned).check().unwrap();
    assert!(remarks.iter().any(|r| r.contains("turned round")), "{remarks:?}");
    assert!(good.check().unwrap().is_empty());
}

// Properties.

#[test]
fn a_definition_written_and_read_again_is_the_same() {
    for id in CardDefinition::ids() {
        let card = built_in(id);
        assert_eq!(read(&card.to_json()).unwrap().definition, card, "{id}");
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("measured.txt");
    std::fs::write(&path, chart_text()).unwrap();
    let measured = CardDefinition::load(path.to_str().unwrap()).unwrap();
    assert_eq!(measured.id, "measured");
    assert_eq!(read(&measured.to_json()).unwrap().definition, measured);
}

fn words() -> impl Strategy<Value = String> {
    "[a-zäé \"\\\\#{}<>&']{1,20}".prop_filter("not blank", |s| !s.trim().is_empty())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 1000,
        rng_seed: proptest::test_runner::RngSeed::Fixed(17_321),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_definition_survives_being_written(
        id in words(), name in words(), source in words(), note in words(),
        patch in (1.0f64..200.0, 1.0f64..3.0), gap in 0.0f64..0.9, frame in 0.0f64..5.0,
        labs in proptest::collection::vec((5.0f64..95.0, -40.0f64..40.0, -40.0f64..40.0, 0.0f64..9.0), 12),
    ) {
        let mut card = built_in("chart24-iso");
        (card.id, card.name, card.source) = (id, name, source);
        let l = &mut card.layout;
        (l.rows, l.columns, l.neutral_row, l.note) = (3, 4, None, note);
        *l = l.clone().with_patch_mm(patch.0);
        l.patch[1] = patch.0 * patch.1;
        l.gap = [gap * patch.0; 2];
        l.frame = [frame * patch.0; 2];
        l.outer = Some(l.outer_size());
        card.patches.truncate(12);
        for (p, (l, a, b, u)) in card.patches.iter_mut().zip(labs) {
            p.lab = LabD50 { l, a, b };
            p.u95 = Some([u, u / 2.0, u / 3.0]);
        }
        prop_assume!(card.check().is_ok());
        prop_assert_eq!(read(&card.to_json()).unwrap().definition, card);
    }

    #[test]
    fn no_text_makes_it_panic(text in "\\PC{0,300}") {
        let _ = CgatsFile::read(&text);
        let _ = read(&text);
        let _ = read(&format!("CGATS.17\n{text}"));
        let _ = read(&format!("{{{text}"));
    }

    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let _ = CardFile::from_bytes("any", &bytes, None);
    }

    /// Samples with a stretch cut out, doubled or overwritten: read or refused, never half-loaded.
    #[test]
    fn mutated_samples_are_read_or_refused(
        which in 0usize..4, at in 0.0f64..1.0, length in 0usize..40, new in "[0-9a-zA-Z_\",.#{}\\[\\]: \\t\\r\\n-]{0,12}",
    ) {
        let sample = match which {
            0 => text("cgats_sample_regular.txt"),
            1 => text("cgats_sample_quirks.txt"),
            2 => chart_text(),
            _ => built_in("chart24-a").to_json(),
        };
        let mut bytes = sample.into_bytes();
        let from = (at * bytes.len() as f64) as usize;
        let to = (from + length).min(bytes.len());
        bytes.splice(from..to, new.bytes());
        if let Ok(file) = CardFile::from_bytes("mutated", &bytes, None) {
            prop_assert_eq!(file.definition.patches.len(), file.definition.layout.patches());
            prop_assert!(file.definition.check().is_ok());
        }
        if let Ok(file) = CgatsFile::read(&String::from_utf8_lossy(&bytes)) {
            for table in &file.tables {
                prop_assert!(table.sets.iter().all(|set| set.len() == table.fields.len()));
            }
        }
    }
}
