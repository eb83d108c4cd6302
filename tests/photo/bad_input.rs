//! Files that must be refused, each with its own cause and next step; and odd ones that must not.

use std::time::Instant;

use image::DynamicImage;
use proptest::prelude::*;
use sherdlight::photo::{self, Limits, PhotoError};

use super::make::{Beside, chunk, fixture, jpeg, png, png_header, ramp, read, tiff, with_chunk, with_frame};

fn code(bytes: &[u8]) -> &'static str {
    match read(bytes) {
        Ok(photo) => panic!("accepted: {:?}", photo.facts),
        Err(error) => {
            assert!(error.hint().ends_with('.') && !error.to_string().is_empty());
            error.code()
        }
    }
}

#[test]
fn paths_that_hold_no_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let read = |name: &str| photo::read(&folder.path().join(name), &Limits::default()).expect_err("refused");
    std::fs::create_dir(folder.path().join("x.jpg")).expect("a directory");
    std::fs::write(folder.path().join("empty.jpg"), b"").expect("a file");
    assert_eq!(read("none.jpg").code(), "not-found");
    assert_eq!(read("x.jpg").code(), "is-a-directory");
    assert_eq!(read("empty.jpg").code(), "empty-file");
    assert_eq!(read("empty.jpg/inside.jpg").code(), "unreadable");
}

#[test]
fn umlauts_spaces_and_emoji_in_the_path() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("Töpfe & Scherben 🏺").join("schräg von oben 🙂.jpg");
    std::fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
    std::fs::write(&path, jpeg(&ramp(96, 64), &Beside::default())).expect("a file");
    let photo = photo::read(&path, &Limits::default()).expect("readable");
    assert_eq!((photo.width(), photo.height()), (96, 64));
}

#[test]
fn content_decides_not_the_name() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("really-a-png.jpg");
    std::fs::write(&path, png(&ramp(80, 70), &Beside::default())).expect("a file");
    assert_eq!(photo::read(&path, &Limits::default()).expect("readable").height(), 70);
}

#[test]
fn other_formats_are_named() {
    let named = |bytes: &[u8], expected: &str, word: &str| {
        let error = read(bytes).expect_err("refused");
        assert_eq!(error.code(), expected, "{error}");
        assert!(error.to_string().contains(word), "{error}");
    };
    let brand = |major: &str, also: &str| {
        let length = (16 + also.len()) as u32;
        [&length.to_be_bytes()[..], b"ftyp", major.as_bytes(), &[0; 4], also.as_bytes()].concat()
    };
    named("name;L;a;b\nä;1;2;3\n".as_bytes(), "not-a-picture", "text");
    named(&[0, 1, 2, 3, 4, 200, 9, 9], "not-a-picture", "something");
    named(b"%PDF-1.7\n\xE2\xE3", "not-a-picture", "PDF");
    // Brands: ISO/IEC 23008-12 annex B and the AVIF specification.
    for major in ["heic", "heix", "mif1", "hevc", "msf1"] {
        named(&brand(major, "mif1heic"), "heic", major);
    }
    named(&brand("avif", "mif1"), "unsupported", "AVIF");
    named(&brand("mif1", "miafavif"), "unsupported", "AVIF");
    named(&brand("crx ", "isom"), "unsupported", "raw");
    named(&brand("isom", "mp42"), "unsupported", "film");
    named(b"RIFF\x20\0\0\0WEBPVP8 ", "unsupported", "WebP");
    named(b"GIF89a\x01\0\x01\0", "unsupported", "GIF");
    named(b"BM\x36\0\0\0\0\0\0\0\x36\0\0\0", "unsupported", "BMP");
    named(b"II*\0\x10\0\0\0CR\x02\0", "unsupported", "raw");
    let pixels = vec![90; 96 * 64 * 3];
    // DNGVersion; a first picture that is only a preview; a sensor mosaic.
    for tag in [(50706, 7, vec![1, 4, 0, 0]), (254, 4, vec![1]), (262, 3, vec![32803])] {
        named(&tiff((96, 64), 3, 8, &pixels, &[tag]), "unsupported", "raw");
    }
    assert!(read(&brand("heic", "")).expect_err("refused").hint().contains("JPEG"));
}

#[test]
fn cut_jpegs_are_refused() {
    for name in ["baseline-420.jpg", "progressive.jpg", "restart.jpg"] {
        let whole = fixture(name);
        assert!(read(&whole).is_ok(), "{name}");
        for percent in [30, 50, 90] {
            assert_eq!(code(&whole[..whole.len() * percent / 100]), "truncated", "{name} at {percent} %");
        }
        for missing in 1..40 {
            assert_eq!(code(&whole[..whole.len() - missing]), "truncated", "{name} less {missing} bytes");
        }
        // A card or a messenger that fills the missing part with zeros.
        let mut filled = whole.clone();
        filled[whole.len() / 2..].fill(0);
        assert_eq!(code(&filled), "truncated", "{name} filled with zeros");
    }
    assert_eq!(code(&[0xFF, 0xD8]), "truncated");
    assert_eq!(code(&fixture("baseline-420.jpg")[..100]), "truncated");
}

#[test]
fn cut_pngs_and_tiffs_are_refused() {
    let whole = png(&ramp(160, 96), &Beside::default());
    let tiffs = [fixture("deflate.tif"), tiff((96, 64), 3, 8, &[90; 96 * 64 * 3], &[])];
    for percent in [5, 30, 50, 90, 99] {
        assert_eq!(code(&whole[..whole.len() * percent / 100]), "truncated", "PNG at {percent} %");
        for whole in &tiffs {
            let found = code(&whole[..whole.len() * percent / 100]);
            assert!(matches!(found, "truncated" | "damaged"), "TIFF at {percent} %: {found}");
        }
    }
}

#[test]
fn trailing_bytes_are_accepted() {
    for name in ["baseline-420.jpg", "progressive.jpg", "deflate.tif"] {
        let whole = fixture(name);
        let longer = [&whole[..], &[0; 1000]].concat();
        let (one, two) = (read(&whole).expect("whole"), read(&longer).expect("longer"));
        assert_eq!(one.linear(50, 50), two.linear(50, 50), "{name}");
        assert_ne!(one.facts.sha256, two.facts.sha256);
    }
    let whole = png(&ramp(96, 64), &Beside::default());
    assert!(read(&[&whole[..], b"more"].concat()).is_ok());
}

#[test]
fn ink_in_place_of_light() {
    assert_eq!(code(&fixture("cmyk.jpg")), "cmyk");
    assert_eq!(code(&fixture("cmyk.tif")), "cmyk");
}

#[test]
fn odd_jpegs() {
    let usual = jpeg(&ramp(96, 64), &Beside::default());
    // Components start at byte 6 of the frame header: id, sampling factors, table.
    let sampled =
        |factors: [u8; 3]| with_frame(&usual, |_, frame| (0..3).for_each(|c| frame[7 + 3 * c] = factors[c]));
    assert_eq!(code(&sampled([0x11, 0x22, 0x22])), "chroma-finer-than-luma");
    assert_eq!(code(&sampled([0x11, 0x11, 0x21])), "chroma-finer-than-luma");
    assert_eq!(code(&sampled([0x21, 0x12, 0x11])), "chroma-finer-than-luma");
    assert_eq!(code(&sampled([0x31, 0x11, 0x11])), "unsupported");
    assert_eq!(code(&sampled([0x22, 0x21, 0x11])), "unsupported");
    assert_eq!(code(&with_frame(&usual, |_, frame| frame[0] = 12)), "unsupported");
    for arithmetic_or_lossless in [0xC9, 0xCA, 0xC3] {
        assert_eq!(code(&with_frame(&usual, |marker, _| *marker = arithmetic_or_lossless)), "unsupported");
    }
}

#[test]
fn sizes_are_checked_on_the_header() {
    let start = Instant::now();
    let usual = jpeg(&ramp(96, 64), &Beside::default());
    let jpeg_of = |w: u16, h: u16| {
        with_frame(&usual, |_, frame| {
            frame[1..3].copy_from_slice(&h.to_be_bytes());
            frame[3..5].copy_from_slice(&w.to_be_bytes());
        })
    };
    let tiff_of = |w: u16, h: u16| tiff((w.into(), h.into()), 3, 8, &[0; 64], &[]);
    let png_of = |w: u16, h: u16| png_header(w.into(), h.into());
    let formats: [&dyn Fn(u16, u16) -> Vec<u8>; 3] = [&jpeg_of, &tiff_of, &png_of];
    for (number, make) in formats.into_iter().enumerate() {
        assert_eq!(code(&make(60_000, 60_000)), "too-large", "{number}");
        assert_eq!(code(&make(60_000, 100)), "too-large", "{number}");
        assert_eq!(code(&make(15_000, 15_000)), "too-large", "{number}");
        for (w, h) in [(0, 0), (1, 1), (0, 100), (63, 200)] {
            assert_eq!(code(&make(w, h)), "too-small", "{number} {w} x {h}");
        }
    }
    // 45 refusals. One buffer of 60,000 x 60,000 pixels alone would take seconds to fill.
    assert!(start.elapsed().as_secs_f64() < 1.0, "{:?}", start.elapsed());
}

#[test]
fn limits_are_values() {
    let bytes = jpeg(&ramp(96, 64), &Beside::default());
    let refused = |limits: Limits| photo::read_bytes(&bytes, &limits).expect_err("refused");
    let usual = Limits::default();
    let few_bytes = refused(Limits { max_file_bytes: 100, ..usual });
    assert_eq!(few_bytes, PhotoError::TooManyBytes { bytes: bytes.len() as u64, max_bytes: 100 });
    assert_eq!(refused(Limits { max_pixels: 96 * 64 - 1, ..usual }).code(), "too-large");
    assert_eq!(refused(Limits { max_side: 95, ..usual }).code(), "too-large");
    assert_eq!(refused(Limits { min_side: 65, ..usual }).code(), "too-small");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.jpg");
    std::fs::write(&path, &bytes).expect("a file");
    let limits = Limits { max_file_bytes: 100, ..usual };
    assert_eq!(photo::read(&path, &limits).expect_err("refused"), few_bytes);
}

#[test]
fn further_pages_are_said() {
    let said = |bytes: &[u8]| {
        let photo = read(bytes).expect("readable");
        photo.facts.remarks.iter().any(|(code, _)| code == "more-pages")
    };
    let still = png(&ramp(96, 64), &Beside::default());
    let animated = with_chunk(&still, b"acTL", &[0, 0, 0, 1, 0, 0, 0, 0]);
    let page = tiff((96, 64), 3, 8, &[90; 96 * 64 * 3], &[]);
    // The directory again at the end of the file, linked from the first: offsets are absolute.
    let first = u32::from_le_bytes([page[4], page[5], page[6], page[7]]) as usize;
    let entries = 2 + 12 * usize::from(page[first]);
    let mut two_pages = page.clone();
    two_pages[first + entries..first + entries + 4].copy_from_slice(&(page.len() as u32).to_le_bytes());
    two_pages.extend_from_slice(&page[first..first + entries + 4]);
    assert!(said(&animated) && said(&two_pages));
    assert!(!said(&still) && !said(&page));
}

#[test]
fn numbers_other_than_8_and_16_bit() {
    let float = DynamicImage::ImageRgb32F(image::Rgb32FImage::new(96, 64));
    let mut bytes = std::io::Cursor::new(Vec::new());
    float.write_to(&mut bytes, image::ImageFormat::Tiff).expect("encoding");
    assert_eq!(code(&bytes.into_inner()), "unsupported");
}

#[test]
fn text_chunks_are_not_read() {
    // A zTXt chunk with rubbish in place of compressed text, and one of 1 MB.
    let plain = png(&ramp(96, 64), &Beside::default());
    let with_text = with_chunk(&plain, b"zTXt", &[&b"Comment\0\0"[..], &[7; 1_000_000]].concat());
    let broken_sum = {
        let mut text = chunk(b"tEXt", b"Comment\0hello");
        let last = text.len() - 1;
        text[last] ^= 1;
        [&plain[..33], &text, &plain[33..]].concat()
    };
    for bytes in [with_text, broken_sum] {
        assert_eq!(
            read(&bytes).expect("readable").linear(3, 3),
            read(&plain).expect("readable").linear(3, 3)
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// Damage anywhere gives a photo or an error, never a panic, a hang or an abort.
    #[test]
    fn damage_is_an_answer(
        which in 0usize..4,
        edits in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
    ) {
        let exif = super::exif_facts::block();
        let beside = Beside { icc: Some(super::profiles::display_p3()), exif: Some(exif) };
        let mut bytes = match which {
            0 => fixture("progressive.jpg"),
            1 => jpeg(&ramp(96, 64), &beside),
            2 => png(&ramp(96, 64), &beside),
            _ => fixture("deflate.tif"),
        };
        for (place, value) in edits {
            let at = place.index(bytes.len());
            bytes[at] = value;
        }
        if let Err(error) = read(&bytes) {
            prop_assert!(!error.code().is_empty());
        }
    }
}
