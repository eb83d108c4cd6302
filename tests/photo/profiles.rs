//! Colour spaces: embedded profiles, PNG chunks, EXIF, and their absence.

use image::{DynamicImage, Rgb, RgbImage};
use nalgebra::{Matrix3, Vector3};
use sherdlight::photo::{Photo, PhotoError};

use super::make::{Beside, curve, icc, jpeg, png, ramp, read, tiff, with_chunk, xyz};

/// White D65, CIE 15 and IEC 61966-2-1: x 0.3127, y 0.3290.
const D65: [f64; 2] = [0.3127, 0.3290];
/// IEC 61966-2-1 (those of ITU-R BT.709).
const SRGB: [[f64; 2]; 3] = [[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]];
/// SMPTE EG 432-1 with white D65.
const P3: [[f64; 2]; 3] = [[0.680, 0.320], [0.265, 0.690], [0.150, 0.060]];
/// IEC 61966-2-5 (opRGB).
const OP_RGB: [[f64; 2]; 3] = [[0.64, 0.33], [0.21, 0.71], [0.15, 0.06]];

fn white([x, y]: [f64; 2]) -> Vector3<f64> {
    Vector3::new(x / y, 1.0, (1.0 - x - y) / y)
}

/// Linear RGB to XYZ from primaries and white (SMPTE RP 177).
fn to_xyz(primaries: [[f64; 2]; 3]) -> Matrix3<f64> {
    let unscaled = Matrix3::from_columns(&primaries.map(white));
    let scale = unscaled.try_inverse().expect("independent primaries") * white(D65);
    unscaled * Matrix3::from_diagonal(&scale)
}

/// From linear RGB of the primaries to linear sRGB. Both are D65: no adaptation.
fn to_srgb(primaries: [[f64; 2]; 3]) -> Matrix3<f64> {
    to_xyz(SRGB).try_inverse().expect("independent primaries") * to_xyz(primaries)
}

/// Colorants for D50 as a profile holds them: linear Bradford (Lam 1985; ICC.1:2022 annex E).
fn colorants(primaries: [[f64; 2]; 3]) -> Matrix3<f64> {
    let bradford = Matrix3::new(0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296);
    let (from, to) = (bradford * white(D65), bradford * Vector3::new(0.9642, 1.0, 0.8249));
    let adapt = bradford.try_inverse().expect("regular")
        * Matrix3::from_diagonal(&to.component_div(&from))
        * bradford;
    adapt * to_xyz(primaries)
}

/// The encoded value of linear light, 16 bit, by IEC 61966-2-1, from 0..=1 in 1024 steps.
fn srgb_samples() -> Vec<u16> {
    (0..=1024).map(|i| (srgb_to_linear(f64::from(i) / 1024.0) * 65535.0).round() as u16).collect()
}

fn srgb_to_linear(v: f64) -> f64 {
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

fn matrix_profile(primaries: [[f64; 2]; 3], trc: &[u16]) -> Vec<u8> {
    let m = colorants(primaries);
    let column = |c: usize| xyz([m[(0, c)], m[(1, c)], m[(2, c)]]);
    let mut tags: Vec<(&[u8; 4], Vec<u8>)> = Vec::new();
    for (c, name) in [b"rXYZ", b"gXYZ", b"bXYZ"].into_iter().enumerate() {
        tags.push((name, column(c)));
    }
    for name in [b"rTRC", b"gTRC", b"bTRC"] {
        tags.push((name, curve(trc)));
    }
    tags.push((b"desc", description("a wide space")));
    icc(b"RGB ", b"XYZ ", &tags)
}

fn description(text: &str) -> Vec<u8> {
    let ascii = [text.as_bytes(), &[0]].concat();
    let mut tag = b"desc\0\0\0\0".to_vec();
    tag.extend((ascii.len() as u32).to_be_bytes());
    tag.extend(ascii);
    tag.extend([0; 78]);
    tag
}

/// A Display P3 profile with a sampled sRGB curve.
pub fn display_p3() -> Vec<u8> {
    matrix_profile(P3, &srgb_samples())
}

/// 64 x 64 of one colour.
fn flat(rgb: [u8; 3]) -> DynamicImage {
    DynamicImage::ImageRgb8(RgbImage::from_pixel(64, 64, Rgb(rgb)))
}

fn codes(photo: &Photo) -> Vec<&str> {
    photo.facts.remarks.iter().map(|(code, _)| code.as_str()).collect()
}

fn close(found: [f32; 3], expected: Vector3<f64>, tolerance: f64, what: &str) {
    for c in 0..3 {
        assert!((f64::from(found[c]) - expected[c]).abs() < tolerance, "{what}: {found:?}, not {expected:?}");
    }
}

const COLOURS: [[u8; 3]; 7] =
    [[255, 0, 0], [0, 255, 0], [0, 0, 255], [255, 255, 255], [180, 60, 30], [90, 90, 90], [0, 128, 255]];

/// s15Fixed16 colorants are off by at most 1/131072; the matrix from D50 XYZ to linear sRGB has rows
/// whose absolute values sum to at most 5.3, over three channels 1.2e-4 in all.
const FIXED_POINT: f64 = 1.3e-4;

fn linear(rgb: [u8; 3], curve: impl Fn(f64) -> f64) -> Vector3<f64> {
    Vector3::from(rgb.map(|v| curve(f64::from(v) / 255.0)))
}

#[test]
fn display_p3_against_its_primaries() {
    let beside = Beside { icc: Some(display_p3()), exif: None };
    for rgb in COLOURS {
        let photo = read(&png(&flat(rgb), &beside)).expect("readable");
        assert_eq!(photo.facts.profile.as_deref(), Some("a wide space"));
        // Honoured, and said to reach beyond sRGB.
        assert_eq!(codes(&photo), ["wide-gamut-profile"]);
        let expected = to_srgb(P3) * linear(rgb, srgb_to_linear);
        close(photo.linear(5, 5).0, expected, FIXED_POINT, &format!("{rgb:?}"));
    }
    // Full P3 red lies outside sRGB and is not clamped.
    let red = read(&png(&flat([255, 0, 0]), &beside)).expect("readable").linear(0, 0).0;
    assert!(red[0] > 1.2 && red[1] < -0.04 && red[2] < -0.01, "{red:?}");
}

#[test]
fn the_same_colour_by_profile_and_by_chunk() {
    // ITU-T H.273: primaries 12 are Display P3, transfer 13 is sRGB, matrix 0, full range.
    let plain = png(&flat([180, 60, 30]), &Beside { icc: None, exif: None });
    let by_chunk = read(&with_chunk(&plain, b"cICP", &[12, 13, 0, 1])).expect("readable");
    assert_eq!(codes(&by_chunk), ["wide-gamut-profile"]);
    close(by_chunk.linear(1, 1).0, to_srgb(P3) * linear([180, 60, 30], srgb_to_linear), 1e-5, "cICP");
    let srgb = read(&with_chunk(&plain, b"cICP", &[1, 13, 0, 1])).expect("readable");
    close(srgb.linear(1, 1).0, linear([180, 60, 30], srgb_to_linear), 1e-6, "cICP sRGB");
    assert!(codes(&srgb).is_empty());
    // PQ, HLG, narrow range and unknown spaces are refused, not ignored.
    for chunk in [[9, 16, 0, 1], [9, 18, 0, 1], [1, 13, 0, 0], [1, 13, 1, 1], [99, 13, 0, 1], [1, 99, 0, 1]] {
        let error = read(&with_chunk(&plain, b"cICP", &chunk)).expect_err("refused");
        assert_eq!(error.code(), "profile-unsupported", "{chunk:?}");
    }
}

#[test]
fn an_exponent_curve() {
    // curv of one value: u8Fixed8, 2 + 51/256 (ICC.1:2022, 10.6).
    let beside = Beside { icc: Some(matrix_profile(OP_RGB, &[0x0233])), exif: None };
    for rgb in COLOURS {
        let photo = read(&png(&flat(rgb), &beside)).expect("readable");
        let expected = to_srgb(OP_RGB) * linear(rgb, |v| v.powf(2.0 + 51.0 / 256.0));
        close(photo.linear(5, 5).0, expected, FIXED_POINT, &format!("{rgb:?}"));
    }
}

#[test]
fn the_optional_space_of_cameras() {
    // DCF 2.0: uncalibrated, with interoperability index R03, means opRGB. No profile is embedded.
    use exif::{Field, In, Tag, Value};
    let field = |tag, value| Field { tag, ifd_num: In::PRIMARY, value };
    let exif = super::exif_facts::written(&[
        field(Tag::ColorSpace, Value::Short(vec![0xFFFF])),
        field(Tag::InteroperabilityIndex, Value::Ascii(vec![b"R03".to_vec()])),
    ]);
    let beside = Beside { icc: None, exif: Some(exif) };
    let plain = read(&jpeg(&flat([180, 60, 30]), &Beside::default())).expect("readable");
    let photo = read(&jpeg(&flat([180, 60, 30]), &beside)).expect("readable");
    assert_eq!(photo.facts.profile.as_deref(), Some("opRGB"));
    // The decoded code values are those of the plain file, whose light is sRGB's.
    let code = |light: f32| (0..=255u8).find(|&v| srgb_to_linear(f64::from(v) / 255.0) as f32 == light);
    let rgb = plain.linear(9, 9).0.map(|light| code(light).expect("a code value"));
    let expected = to_srgb(OP_RGB) * linear(rgb, |v| v.powf(2.0 + 51.0 / 256.0));
    close(photo.linear(9, 9).0, expected, 1e-5, "opRGB");
}

#[test]
fn an_srgb_profile_needs_no_matrix() {
    let icc = matrix_profile(SRGB, &srgb_samples());
    let with = read(&png(&ramp(96, 64), &Beside { icc: Some(icc), exif: None })).expect("readable");
    let without = read(&png(&ramp(96, 64), &Beside::default())).expect("readable");
    assert!(codes(&with).is_empty());
    for (x, y) in [(0, 0), (40, 20), (95, 63)] {
        // 1024 samples of 16 bit, straight lines between them.
        close(with.linear(x, y).0, Vector3::from(without.linear(x, y).0.map(f64::from)), 1e-5, "sRGB");
    }
}

#[test]
fn silence_and_rubbish_are_said() {
    let plain = png(&ramp(96, 64), &Beside::default());
    let photo = read(&plain).expect("readable");
    assert_eq!((photo.facts.profile.as_deref(), codes(&photo)), (None, vec!["no-profile"]));
    let named = read(&with_chunk(&plain, b"sRGB", &[0])).expect("readable");
    assert_eq!((named.facts.profile.as_deref(), codes(&named)), (Some("sRGB"), vec![]));
    let usual_gamma = read(&with_chunk(&plain, b"gAMA", &45455u32.to_be_bytes())).expect("readable");
    assert_eq!(codes(&usual_gamma), ["no-profile"]);
    let linear_gamma = read(&with_chunk(&plain, b"gAMA", &100_000u32.to_be_bytes())).expect_err("refused");
    assert_eq!(linear_gamma.code(), "profile-unsupported");

    let mut cut = display_p3();
    cut.truncate(300);
    let mut flat_colorants = display_p3();
    // All three colorants the same: no colours can be told apart.
    let at = flat_colorants.windows(4).position(|w| w == b"XYZ ").expect("in the header");
    assert_eq!(at, 20);
    for c in 1..3 {
        let first = 132 + 12 * 7;
        flat_colorants.copy_within(first..first + 20, first + 20 * c);
    }
    let wrong_kind = icc(b"CMYK", b"Lab ", &[]);
    for (bad, expected) in [(cut, "bad-profile"), (wrong_kind, "bad-profile"), (vec![7; 400], "bad-profile")]
    {
        for bytes in [
            png(&ramp(96, 64), &Beside { icc: Some(bad.clone()), exif: None }),
            jpeg(&ramp(96, 64), &Beside { icc: Some(bad.clone()), exif: None }),
        ] {
            let photo = read(&bytes).expect("readable");
            assert_eq!((photo.facts.profile.as_deref(), codes(&photo)), (None, vec![expected]));
        }
    }
    let error = read(&png(&ramp(96, 64), &Beside { icc: Some(flat_colorants), exif: None }));
    assert!(matches!(error, Err(PhotoError::ProfileUnsupported(_))), "{error:?}");
}

#[test]
fn a_profile_lost_on_the_way_is_said() {
    // An iCCP chunk whose data does not unpack.
    let plain = png(&ramp(96, 64), &Beside::default());
    let photo = read(&with_chunk(&plain, b"iCCP", b"name\0\0rubbish")).expect("readable");
    assert_eq!(codes(&photo), ["bad-profile"]);
    // A JPEG profile in two segments, the second missing (ICC.1:2022 annex B.4).
    let whole = jpeg(&ramp(96, 64), &Beside { icc: Some(display_p3()), exif: None });
    let at = whole.windows(12).position(|w| w == b"ICC_PROFILE\0").expect("a profile");
    let mut cut = whole.clone();
    cut[at + 13] = 2;
    let photo = read(&cut).expect("readable");
    assert_eq!(codes(&photo), ["bad-profile"]);
    assert_eq!(codes(&read(&whole).expect("readable")), ["wide-gamut-profile"]);
    // A TIFF whose profile tag is no byte string.
    let pixels = vec![90; 96 * 64 * 3];
    let photo = read(&tiff((96, 64), 3, 8, &pixels, &[(34675, 7, vec![1, 2, 3, 4, 5])])).expect("readable");
    assert_eq!(codes(&photo), ["bad-profile"]);
}

#[test]
fn grey_profiles() {
    let profile =
        icc(b"GRAY", b"XYZ ", &[(b"kTRC", curve(&[0x0100 + 0x80])), (b"desc", description("a grey"))]);
    let grey =
        DynamicImage::ImageLuma8(image::GrayImage::from_fn(96, 64, |x, y| image::Luma([(x + y) as u8])));
    let photo = read(&png(&grey, &Beside { icc: Some(profile.clone()), exif: None })).expect("readable");
    assert_eq!((photo.facts.profile.as_deref(), codes(&photo)), (Some("a grey"), vec!["grey"]));
    let expected = (120.0f64 / 255.0).powf(1.5) as f32;
    assert_eq!(photo.linear(70, 50).0, [expected; 3]);
    // A grey profile on a colour picture does not belong there.
    let photo = read(&png(&ramp(96, 64), &Beside { icc: Some(profile), exif: None })).expect("readable");
    assert_eq!(codes(&photo), ["bad-profile"]);
}

#[test]
fn a_profile_with_tables_only() {
    // A lut16Type (ICC.1:2022, 10.10) with two grid points a channel and straight curves.
    let mut lut = b"mft2\0\0\0\0\x03\x03\x02\0".to_vec();
    for v in [1, 0, 0, 0, 1, 0, 0, 0, 1] {
        lut.extend((v * 65536i32).to_be_bytes());
    }
    let mut numbers = vec![2u16, 2, 0, 65535, 0, 65535, 0, 65535];
    numbers.extend((0..8).flat_map(|corner| [4, 2, 1].map(|bit| if corner & bit == 0 { 0 } else { 30000 })));
    numbers.extend([0, 65535, 0, 65535, 0, 65535]);
    lut.extend(numbers.into_iter().flat_map(u16::to_be_bytes));
    let tables = [(b"A2B0", lut.clone()), (b"desc", description("tables"))];
    let beside = Beside { icc: Some(icc(b"RGB ", b"XYZ ", &tables)), exif: None };
    let error = read(&png(&flat([9, 9, 9]), &beside)).expect_err("refused");
    assert_eq!(error.code(), "profile-unsupported");
    assert!(error.to_string().contains("tables"), "{error}");
}
