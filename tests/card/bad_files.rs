//! Card files that cannot be used, or only with a remark: every fault has its line and field.

use crate::files::*;
use sherdlight::card::*;
use sherdlight::colour::LabD50;

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
