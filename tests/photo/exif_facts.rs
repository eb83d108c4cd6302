//! What EXIF says. Blocks are written by kamadak-exif's own writer.

use exif::experimental::Writer;
use exif::{Field, In, Rational, Tag, Value};

use super::make::{Beside, jpeg, png, ramp, read};

fn field(tag: Tag, value: Value) -> Field {
    Field { tag, ifd_num: In::PRIMARY, value }
}

fn text(tag: Tag, value: &str) -> Field {
    field(tag, Value::Ascii(vec![value.as_bytes().to_vec()]))
}

fn ratio(tag: Tag, num: u32, denom: u32) -> Field {
    field(tag, Value::Rational(vec![Rational { num, denom }]))
}

pub fn written(fields: &[Field]) -> Vec<u8> {
    let mut writer = Writer::new();
    fields.iter().for_each(|f| writer.push_field(f));
    let mut bytes = std::io::Cursor::new(Vec::new());
    writer.write(&mut bytes, true).expect("written");
    bytes.into_inner()
}

/// A block with an orientation only.
pub fn oriented(value: u16) -> Vec<u8> {
    written(&[field(Tag::Orientation, Value::Short(vec![value]))])
}

/// A usual block.
pub fn block() -> Vec<u8> {
    written(&[
        field(Tag::Orientation, Value::Short(vec![1])),
        text(Tag::DateTimeOriginal, "2026:05:04 03:02:01"),
        text(Tag::OffsetTimeOriginal, "+05:30"),
        ratio(Tag::ExposureTime, 1, 125),
        ratio(Tag::FNumber, 56, 10),
        field(Tag::PhotographicSensitivity, Value::Short(vec![400])),
        field(Tag::FocalLengthIn35mmFilm, Value::Short(vec![50])),
        field(Tag::ColorSpace, Value::Short(vec![1])),
    ])
}

#[test]
fn exposure_time_and_focal_length() {
    let beside = Beside { exif: Some(block()), icc: None };
    for bytes in [jpeg(&ramp(96, 64), &beside), png(&ramp(96, 64), &beside)] {
        let facts = read(&bytes).expect("readable").facts;
        assert_eq!(facts.taken.as_deref(), Some("2026-05-04T03:02:01+05:30"));
        let exposure = facts.exposure.expect("exposure");
        assert_eq!(exposure.seconds, Some(1.0 / 125.0));
        assert_eq!(exposure.f_number, Some(5.6));
        assert_eq!(exposure.iso, Some(400.0));
        assert_eq!(facts.focal_35mm, Some(50.0));
    }
}

#[test]
fn camera_and_white_balance() {
    let facts = |fields: &[Field]| {
        let beside = Beside { exif: Some(written(fields)), icc: None };
        read(&jpeg(&ramp(96, 64), &beside)).expect("readable").facts
    };
    let balance = |v| field(Tag::WhiteBalance, Value::Short(vec![v]));
    let told = facts(&[text(Tag::Make, " Maker  "), text(Tag::Model, "Model 5"), balance(0)]);
    assert_eq!((told.camera.as_deref(), told.auto_white_balance), (Some("Maker Model 5"), Some(true)));
    assert_eq!(facts(&[text(Tag::Model, "Model"), balance(1)]).auto_white_balance, Some(false));
    let silent = facts(&[text(Tag::Make, "  "), balance(7)]);
    assert_eq!((silent.camera, silent.auto_white_balance), (None, None));
}

#[test]
fn absent_and_blank_stay_unknown() {
    let taken = |fields: &[Field]| {
        let beside = Beside { exif: Some(written(fields)), icc: None };
        read(&jpeg(&ramp(96, 64), &beside)).expect("readable").facts.taken
    };
    let original = |value| text(Tag::DateTimeOriginal, value);
    assert_eq!(taken(&[original("2026:05:04 03:02:01")]).as_deref(), Some("2026-05-04T03:02:01"));
    // CIPA DC-008: unknown is written as blanks.
    for unknown in ["    :  :     :  :  ", "0000:00:00 00:00:00", "2026:13:04 03:02:01", "yesterday"] {
        assert_eq!(taken(&[original(unknown)]), None, "{unknown}");
    }
    let blank_offset = [original("2026:05:04 03:02:01"), text(Tag::OffsetTimeOriginal, "   :  ")];
    assert_eq!(taken(&blank_offset).as_deref(), Some("2026-05-04T03:02:01"));
    // The time of the last change is not the time of the photograph.
    assert_eq!(taken(&[text(Tag::DateTime, "2026:05:04 03:02:01")]), None);

    let beside = Beside {
        exif: Some(written(&[
            ratio(Tag::ExposureTime, 1, 0),
            field(Tag::FocalLengthIn35mmFilm, Value::Short(vec![0])),
        ])),
        icc: None,
    };
    let facts = read(&jpeg(&ramp(96, 64), &beside)).expect("readable").facts;
    assert_eq!((facts.exposure, facts.focal_35mm), (None, None));
}

#[test]
fn damaged_notes_are_said() {
    let broken = Beside { exif: Some(b"II*\0\xFF\xFF\xFF\x7F".to_vec()), icc: None };
    let facts = read(&jpeg(&ramp(96, 64), &broken)).expect("readable").facts;
    assert!(facts.remarks.iter().any(|(code, _)| code == "bad-exif"), "{:?}", facts.remarks);
}

#[test]
fn the_hash_is_that_of_the_file() {
    // FIPS 180-4 through the sha2 crate, over the bytes as they lie on disk.
    use sha2::Digest;
    let bytes = super::make::fixture("baseline-420.jpg");
    let expected: String = sha2::Sha256::digest(&bytes).iter().map(|b| format!("{b:02x}")).collect();
    assert_eq!(read(&bytes).expect("readable").facts.sha256, expected);
}
