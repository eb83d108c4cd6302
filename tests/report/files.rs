//! Names, files, tables and pictures. Everything is checked against literal records and a small
//! synthetic map; no photograph.

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use sherdlight::card::CorrectedImage;
use sherdlight::report::*;
use sherdlight::surface::{Label, Piece, SurfaceMap};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

fn stems(paths: &[&str], hashes: &[&str]) -> Vec<String> {
    let paths: Vec<PathBuf> = paths.iter().map(PathBuf::from).collect();
    output_stems(&paths, |number| hashes.get(number).filter(|h| !h.is_empty()).map(|h| (*h).to_owned()))
}

#[test]
fn a_name_of_its_own_stays_and_a_shared_one_gets_eight_digits() {
    let got = stems(
        &["a/bowl.jpg", "b/bowl.png", "b/jar.v2.tif"],
        &["0123456789abcdef", "fedcba9876543210", "1111111111111111"],
    );
    assert_eq!(got, ["bowl~01234567", "bowl~fedcba98", "jar.v2"]);
}

#[test]
fn names_that_differ_in_case_only_are_shared() {
    let got = stems(&["Bowl.jpg", "bowl.jpg", "BÖWL.jpg", "böwl.png"], &["00000001", "00000002", "a", "b"]);
    assert_eq!(got, ["Bowl~00000001", "bowl~00000002", "BÖWL~a", "böwl~b"]);
}

#[test]
fn a_shared_name_never_takes_one_that_another_file_has() {
    let got = stems(&["a/x.jpg", "b/x.jpg", "X~00000001.jpg"], &["00000001", "00000002", ""]);
    assert_eq!(got, ["x~00000001-2", "x~00000002", "X~00000001"]);
    // The same photograph twice, and files that could not be read.
    assert_eq!(stems(&["a/x.jpg", "b/x.jpg"], &["77777777", "77777777"]), ["x~77777777", "x~77777777-2"]);
    let unread = stems(&["a/x.jpg", "b/x.jpg"], &["", ""]);
    assert_ne!(unread[0], unread[1]);
}

proptest! {
    #![proptest_config(ProptestConfig { rng_seed: RngSeed::Fixed(20), cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn names_never_collide(
        files in proptest::collection::vec(("[ab]", "[aAöÖ~0]{1,3}", "(jpg|png)", "[01]{8}"), 0..12)
    ) {
        let paths: Vec<PathBuf> = files.iter().map(|(d, s, e, _)| PathBuf::from(format!("{d}/{s}.{e}"))).collect();
        let names = output_stems(&paths, |number| Some(files[number].3.clone()));
        prop_assert_eq!(names.len(), files.len());
        let distinct: BTreeSet<String> = names.iter().map(|name| name.to_lowercase()).collect();
        prop_assert_eq!(distinct.len(), names.len());
        for (name, (_, stem, _, hash)) in names.iter().zip(&files) {
            let tagged = format!("{stem}~{hash}");
            prop_assert!(name == stem || name.starts_with(&tagged));
        }
    }
}

#[test]
fn files_are_written_whole_and_the_error_names_the_path() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("Schüssel 🏺.txt");
    write_file(&path, b"first").unwrap();
    write_file(&path, b"second").unwrap();
    assert_eq!(std::fs::read(&path).unwrap(), b"second");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left beside it");
    let nowhere = folder.path().join("missing").join("x.txt");
    let error = write_file(&nowhere, b"").unwrap_err().to_string();
    assert!(error.contains(&nowhere.display().to_string()), "{error}");
    assert_eq!(file_name_of("C:\\shots\\a.jpg"), "a.jpg");
    assert_eq!(file_name_of("shots/a.jpg"), "a.jpg");
    assert_eq!(stem_of(Path::new("a/.jpg")), ".jpg");
}

fn table(bytes: &[u8]) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(bytes);
    reader.deserialize().map(Result::unwrap).collect()
}

#[test]
fn the_table_gives_back_what_the_records_hold() {
    let mut good = crate::records::reading("load/bowl.jpg", 'a', Some("2026-05-02T18:20:00+02:00"));
    good.sheet = Some(sherdlight::reading::SheetRow {
        piece: Some("=HYPERLINK(\"x\")".into()),
        firing: Some("May, second".into()),
        notes: Some("line one\nline \"two\"".into()),
        ..Default::default()
    });
    good.surfaces.black = None;
    let mut bare = crate::records::reading("load/dark.jpg", 'b', None);
    bare.surfaces = Default::default();
    bare.contrast = None;
    bare.paint = None;
    let all = [
        crate::records::measured(good.clone()),
        crate::records::measured(bare),
        crate::records::failed(crate::records::failure(
            "-cut.jpg",
            "truncated",
            "The file ends early; copy it again.",
        )),
    ];
    let bytes = readings_csv(&all).unwrap();
    assert_eq!(bytes, readings_csv(&all).unwrap());
    let rows = table(&bytes);
    assert_eq!(rows.len(), 3 + 1 + 1);
    for (row, (name, surface)) in rows.iter().zip(good.surfaces.iter()) {
        assert_eq!(row["surface"], name);
        for (column, value) in [
            ("l_star", surface.lab[0]),
            ("a_star", surface.lab[1]),
            ("b_star", surface.lab[2]),
            ("u95_l_star", surface.u95[0]),
            ("area_fraction", surface.area_fraction),
            ("hue_deg", surface.lch[2]),
            ("paint_retained_fraction", 0.982),
            ("contrast_delta_l", 57.8),
        ] {
            let got: f64 = row[column].parse().unwrap();
            // Three decimals are written.
            assert!((got - value).abs() <= 0.000_5, "{column}: {got} for {value}");
        }
        assert_eq!(row["piece"], "'=HYPERLINK(\"x\")");
        assert_eq!(row["firing"], "May, second");
        assert_eq!(row["notes"], "line one\nline \"two\"");
        assert_eq!(row["slip"], "", "unknown is empty");
        assert_eq!(row["whiteness"], "", "an index outside its limits is no measurement");
        assert_eq!(row["yellowness"], "24");
        assert_eq!(row["photo_sha256"], "a".repeat(64));
    }
    assert_eq!((rows[3]["surface"].as_str(), rows[3]["contrast_de00"].as_str()), ("", ""));
    assert_eq!(rows[4]["photo_path"], "'-cut.jpg");
    assert_eq!(rows[4]["error_code"], "truncated");
    assert_eq!((rows[4]["grade"].as_str(), rows[4]["cloud_fraction"].as_str()), ("", ""));
}

/// A map of 4 x 3 pixels of factor 2 for a picture of 7 x 5.
fn small_map() -> SurfaceMap {
    use Label::{Background as O, Black as B, Card as C, Glare as G, White as W};
    SurfaceMap {
        width: 4,
        height: 3,
        factor: 2,
        labels: vec![O, W, W, C, W, B, G, C, O, W, W, O],
        piece_of: vec![0, 1, 1, 0, 1, 1, 1, 0, 0, 1, 1, 0],
        light: vec![1.0; 12],
        smudged: false,
        pieces: vec![Piece {
            outline_px: vec![[0.0, 0.0], [6.0, 0.0], [6.0, 5.0], [0.0, 5.0]],
            bounds: [0, 0, 3, 3],
            area: 7,
            doubtful_cloud: 0,
            warnings: vec![],
        }],
        warnings: vec![],
    }
}

#[test]
fn the_label_map_comes_back_at_full_size() {
    let map = small_map();
    let png = label_png(&map, 7, 5).unwrap();
    let decoded = image::load_from_memory_with_format(&png, image::ImageFormat::Png).unwrap();
    assert_eq!(decoded.color(), image::ColorType::L8);
    let grey = decoded.into_luma8();
    assert_eq!(grey.dimensions(), (7, 5));
    for (x, y, value) in grey.enumerate_pixels() {
        assert_eq!(value.0[0], map.labels[(y as usize / 2) * 4 + x as usize / 2] as u8, "at {x}, {y}");
    }
    assert!(label_png(&map, 0, 5).is_err());
    assert!(label_png(&SurfaceMap { labels: vec![], ..map }, 7, 5).is_err());
}

fn flat_image(width: usize, height: usize, factor: usize, xyz: [f32; 3]) -> CorrectedImage {
    let pixels = width * height;
    CorrectedImage {
        width,
        height,
        factor,
        xyz: vec![xyz; pixels],
        light: vec![[0.0; 3]; pixels],
        clipped: vec![false; pixels],
    }
}

/// The colorants of the sRGB profile of IEC 61966-2-1 for the D50 connection space, as written in
/// sRGB ICC profiles (four decimals, from memory), and grey 50 % by the standard's curve.
#[test]
fn corrected_colour_is_shown_as_srgb() {
    for (xyz, wanted) in [
        ([0.9642, 1.0, 0.8249], [255, 255, 255]),
        ([0.4360, 0.2225, 0.0139], [255, 0, 0]),
        ([0.3851, 0.7169, 0.0971], [0, 255, 0]),
        ([0.1431, 0.0606, 0.7139], [0, 0, 255]),
        ([0.9642 * 0.2140, 0.2140, 0.8249 * 0.2140], [127, 127, 127]),
        ([2.0, 2.0, 2.0], [255, 255, 255]),
        ([0.0, 0.0, 0.0], [0, 0, 0]),
    ] {
        let shown = corrected_picture(&flat_image(40, 30, 1, xyz), 20);
        assert_eq!(shown.dimensions(), (20, 15));
        for pixel in shown.pixels() {
            for c in 0..3 {
                // One code for the four decimals; zero may be lifted by up to 0.0001 of linear light.
                assert!(pixel.0[c].abs_diff(wanted[c]) <= 1, "{:?} for {wanted:?}", pixel.0);
            }
        }
    }
}

#[test]
fn the_picture_is_averaged_in_linear_light() {
    let mut image = flat_image(4, 2, 1, [0.0; 3]);
    image.xyz.iter_mut().step_by(2).for_each(|xyz| *xyz = [0.9642, 1.0, 0.8249]);
    // Half white, half black is 0.5 of linear light: 187.52 by the curve of IEC 61966-2-1, which
    // the four decimals of the white may push to either side. A mean of codes would be 127.
    let shown = corrected_picture(&image, 2);
    assert!(shown.pixels().all(|pixel| pixel.0.iter().all(|code| (187..=188).contains(code))));
}

#[test]
fn every_label_on_the_piece_has_a_pattern_and_words_of_its_own() {
    let styles: Vec<LabelStyle> =
        Label::ALL.into_iter().filter(|label| label.on_piece()).map(label_style).collect();
    for (i, one) in styles.iter().enumerate() {
        for other in &styles[i + 1..] {
            assert_ne!(one.words, other.words);
            assert_ne!(one.pattern, other.pattern);
            let marks = |style: &LabelStyle| -> Vec<bool> {
                (0..400).map(|i| style.pattern.marks(i % 20, i / 20, 7)).collect()
            };
            assert_ne!(marks(one), marks(other), "{} {}", one.words, other.words);
        }
    }
}

#[test]
fn the_overlay_shows_the_map_and_a_legend_of_shares() {
    let map = small_map();
    let shares = label_shares(&map);
    assert_eq!(shares[0], (Label::White, 5.0 / 7.0));
    assert_eq!(shares.len(), 3, "card and background are no part of the piece");
    // Large enough that every label has an inner part.
    let (columns, rows) = (400, 300);
    let big = SurfaceMap {
        width: columns,
        height: rows,
        labels: (0..columns * rows).map(|i| map.labels[i / columns / 100 * 4 + i % columns / 100]).collect(),
        smudged: false,
        pieces: vec![],
        ..map
    };
    let image = flat_image(columns, rows, 2, [0.3, 0.3, 0.3]);
    let plain = corrected_picture(&image, 1600);
    let corners = [[620.0, 20.0], [780.0, 20.0], [780.0, 380.0], [620.0, 380.0]];
    let shown = overlay(&plain, &big, Some(&corners));
    assert_eq!(shown.dimensions(), (400, 300));
    assert_eq!(shown.get_pixel(350, 50), plain.get_pixel(350, 50), "the card stays as it is");
    assert!(shown.get_pixel(50, 50).0[0] < plain.get_pixel(50, 50).0[0], "the background is dimmed");
    let tile = |x: u32, y: u32| -> Vec<[u8; 3]> {
        (0..400).map(|i| shown.get_pixel(x + 40 + i % 20, y + 40 + i / 20).0).collect()
    };
    assert_ne!(tile(100, 0), tile(100, 100));
    assert_ne!(tile(100, 100), tile(200, 100));
    let with = with_legend(&shown, &big);
    assert_eq!(with.width(), 400);
    assert!(with.height() > 300);
    assert_eq!(image::imageops::crop_imm(&with, 0, 0, 400, 300).to_image(), shown);
}

#[test]
fn the_legend_gives_a_reason_for_all_that_is_not_measured_and_cuts_nothing_off() {
    let on_piece: Vec<Label> = Label::ALL.into_iter().filter(|label| label.on_piece()).collect();
    for label in &on_piece {
        let measured = matches!(label, Label::White | Label::Red | Label::Black | Label::Body);
        assert_eq!(label_style(*label).why.is_none(), measured, "{label:?}");
    }
    let map = |labels: &[Label]| SurfaceMap {
        width: labels.len(),
        height: 1,
        labels: labels.to_vec(),
        smudged: false,
        pieces: vec![],
        ..small_map()
    };
    for width in [1600, 1200, 400, 150] {
        let plain = image::RgbImage::new(width, 10);
        let all = with_legend(&plain, &map(&on_piece));
        // The last column of a letter's cell is paper; ink in it is a letter that goes on beyond the edge.
        let paper = *all.get_pixel(0, 10);
        assert!((10..all.height()).all(|y| *all.get_pixel(width - 1, y) == paper), "{width}");
        // Each reason has at least a line of its own.
        let without: Vec<Label> = on_piece.iter().copied().filter(|label| *label != Label::Shade).collect();
        assert!(with_legend(&plain, &map(&without)).height() < all.height(), "{width}");
    }
}
