//! Card definitions from files: our JSON and CGATS.17 / ISO 28178 text. Published tables first, then what
//! must hold for any text.

use proptest::prelude::*;
use sherdlight::card::{CardDefinition, CardFile, CardLayout, CgatsFile, DefinitionError};
use sherdlight::colour::{LabD50, ciede2000};
use std::path::{Path, PathBuf};

pub fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/cards").join(name)
}

pub fn text(name: &str) -> String {
    std::fs::read_to_string(data(name)).unwrap()
}

/// Rows of a CSV whose lines that start with # are comments.
pub fn rows(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect()
}

pub fn read(text: &str) -> Result<CardFile, DefinitionError> {
    CardFile::from_bytes("mine", text.as_bytes(), None)
}

pub fn faults(text: &str) -> String {
    let error = read(text).expect_err("a fault");
    error.faults.iter().map(|f| format!("{f}\n")).collect()
}

pub fn built_in(id: &str) -> CardDefinition {
    CardDefinition::load(id).unwrap()
}

/// CGATS text of columns and rows.
pub fn cgats(header: &str, fields: &str, rows: &[String]) -> String {
    format!(
        "CGATS.17\n{header}NUMBER_OF_FIELDS {}\nBEGIN_DATA_FORMAT\n{fields}\nEND_DATA_FORMAT\nNUMBER_OF_SETS {}\n\
         BEGIN_DATA\n{}\nEND_DATA\n",
        fields.split_whitespace().count(),
        rows.len(),
        rows.join("\n")
    )
}

pub const D50_2: &str = "MEASUREMENT_SOURCE \"Illumination=D50 ObserverAngle=2 WhiteBase=Abs Filter=No\"\n";

/// The 24-patch chart as a measured file.
pub fn chart() -> Vec<String> {
    let line = |(i, p): (usize, &sherdlight::card::PatchDefinition)| {
        format!("{} {} {} {}", i + 1, p.lab.l, p.lab.a, p.lab.b)
    };
    built_in("chart24-iso").patches.iter().enumerate().map(line).collect()
}

pub fn chart_text() -> String {
    cgats(D50_2, "SAMPLE_ID LAB_L LAB_A LAB_B", &chart())
}

pub fn largest_difference(card: &CardDefinition, wanted: &[LabD50]) -> f64 {
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
    let table = include_str!("../data/bradford_colours.csv");
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
