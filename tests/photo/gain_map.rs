//! Files that carry a gain map, with segments made by hand: the base picture is read, and it is said.
//!
//! Identifiers: ISO 21496-1 (APP2) and the two XMP namespaces, both from memory and as public readers use them;
//! the index of pictures is that of CIPA DC-007, 5.2.

use super::make::{Beside, jpeg, ramp, read};

fn segment(marker: u8, data: &[u8]) -> Vec<u8> {
    let length = (data.len() as u16 + 2).to_be_bytes();
    [&[0xFF, marker][..], &length, data].concat()
}

/// Puts segments right after the start marker.
fn with(jpeg: &[u8], segments: &[Vec<u8>]) -> Vec<u8> {
    [&jpeg[..2], &segments.concat(), &jpeg[2..]].concat()
}

fn xmp(words: &str) -> Vec<u8> {
    segment(0xE1, &[b"http://ns.example.org/xap/1.0/\0", words.as_bytes()].concat())
}

fn is_said(bytes: &[u8]) -> bool {
    let photo = read(bytes).expect("the base picture is read");
    photo.facts.remarks.iter().any(|(code, text)| code == "gain-map" && text.contains("base picture"))
}

#[test]
fn named_in_the_base_picture() {
    let plain = jpeg(&ramp(96, 64), &Beside::default());
    assert!(!is_said(&plain));
    for (named, told) in [
        (segment(0xE2, b"urn:iso:std:iso:ts:21496:-1\0\0\0\0\0"), true),
        (xmp("<x xmlns:g=\"http://ns.example.org/hdr-gain-map/1.0/\" g:Version=\"1.0\"/>"), true),
        (xmp("<x xmlns:g=\"http://ns.example.org/HDRGainMap/1.0/\"/>"), true),
        (xmp("<x xmlns:g=\"http://ns.example.org/other/1.0/\"/>"), false),
        // The words outside XMP, in a comment, name nothing.
        (segment(0xFE, b"hdr-gain-map/1.0/"), false),
        (segment(0xE2, b"urn:iso"), false),
    ] {
        let bytes = with(&plain, &[named]);
        assert_eq!(is_said(&bytes), told);
        // The pixels are those of the plain file.
        let (one, other) = (read(&bytes).unwrap(), read(&plain).unwrap());
        assert!((0..64).all(|y| (0..96).all(|x| one.linear(x, y).0 == other.linear(x, y).0)));
    }
}

/// An index of two pictures; the second lies `offset` bytes after the index's own beginning.
fn index(offset: u32, is_little: bool) -> Vec<u8> {
    let two = |v: u16| if is_little { v.to_le_bytes() } else { v.to_be_bytes() };
    let four = |v: u32| if is_little { v.to_le_bytes() } else { v.to_be_bytes() };
    let mut out = if is_little { b"II*\0".to_vec() } else { b"MM\0*".to_vec() };
    out.extend(four(8));
    out.extend(two(1));
    // MP Entry: undefined bytes, 16 a picture, after the directory.
    out.extend(two(0xB002));
    out.extend(two(7));
    out.extend(four(32));
    out.extend(four(8 + 2 + 12 + 4));
    out.extend(four(0));
    for (attribute, place) in [(0x2003_0000u32, 0), (0, offset)] {
        out.extend([four(attribute), four(1000), four(place), four(0)].concat());
    }
    out
}

#[test]
fn named_in_another_picture_of_the_file() {
    let plain = jpeg(&ramp(96, 64), &Beside::default());
    let small = jpeg(&ramp(32, 32), &Beside::default());
    for is_little in [true, false] {
        for (second, told) in [
            (with(&small, &[xmp("<x xmlns:g=\"http://ns.example.org/HDRGainMap/1.0/\"/>")]), true),
            (with(&small, &[segment(0xE2, b"urn:iso:std:iso:ts:21496:-1\0\0\0\0\0")]), true),
            // A preview is no gain map.
            (small.clone(), false),
        ] {
            let place = |offset| segment(0xE2, &[b"MPF\0".to_vec(), index(offset, is_little)].concat());
            let base = with(&plain, &[place(0)]);
            // The index begins after start marker, marker, length and name.
            let bytes = [with(&plain, &[place((base.len() - 2 - 4 - 4) as u32)]), second].concat();
            assert_eq!(is_said(&bytes), told, "little {is_little}");
        }
    }
}

#[test]
fn a_damaged_index_names_nothing() {
    let plain = jpeg(&ramp(96, 64), &Beside::default());
    let whole = index(40_000_000, true);
    for cut in [0, 3, 4, 7, 8, 10, 20, 26, 40, whole.len()] {
        let bytes = with(&plain, &[segment(0xE2, &[b"MPF\0", &whole[..cut]].concat())]);
        assert!(!is_said(&bytes), "{cut}");
    }
    let mut endless = whole;
    endless[8..10].copy_from_slice(&[0xFF, 0xFF]);
    endless[14..18].copy_from_slice(&[0xFF; 4]);
    assert!(!is_said(&with(&plain, &[segment(0xE2, &[b"MPF\0".to_vec(), endless].concat())])));
}
