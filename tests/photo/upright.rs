//! All eight orientations in JPEG, PNG and TIFF.
//!
//! CIPA DC-008, tag 274, names for each value the visual side where the stored row 0 lies and the
//! side where the stored column 0 lies. The expected place of a pixel follows from that table alone.

use image::DynamicImage;
use sherdlight::photo::Photo;

use super::exif_facts::oriented;
use super::make::{Beside, jpeg, png, ramp, read, tiff};

/// Value, side of row 0, side of column 0.
const TABLE: [(u16, char, char); 8] = [
    (1, 't', 'l'),
    (2, 't', 'r'),
    (3, 'b', 'r'),
    (4, 'b', 'l'),
    (5, 'l', 't'),
    (6, 'r', 't'),
    (7, 'r', 'b'),
    (8, 'l', 'b'),
];

/// Where the stored pixel is seen, in a stored picture of `w` by `h`.
fn seen(x: usize, y: usize, (w, h): (usize, usize), row0: char, column0: char) -> (usize, usize) {
    let mut place = (0, 0);
    match row0 {
        't' => place.1 = y,
        'b' => place.1 = h - 1 - y,
        'l' => place.0 = y,
        _ => place.0 = h - 1 - y,
    }
    match column0 {
        'l' => place.0 = x,
        'r' => place.0 = w - 1 - x,
        't' => place.1 = x,
        _ => place.1 = w - 1 - x,
    }
    place
}

const SIZE: (usize, usize) = (101, 67);

fn check(stored: &Photo, turned: &Photo, value: u16, row0: char, column0: char) {
    let expected = if value >= 5 { (SIZE.1, SIZE.0) } else { SIZE };
    assert_eq!((turned.width(), turned.height()), expected, "value {value}");
    for y in 0..SIZE.1 {
        for x in 0..SIZE.0 {
            let (to_x, to_y) = seen(x, y, SIZE, row0, column0);
            assert_eq!(turned.linear(to_x, to_y), stored.linear(x, y), "value {value} at {x}, {y}");
        }
    }
}

#[test]
fn eight_orientations_of_jpeg_and_png() {
    for colour in [true, false] {
        let mut picture = ramp(SIZE.0 as u32, SIZE.1 as u32);
        if !colour {
            picture = DynamicImage::ImageLuma8(picture.to_luma8());
        }
        for encode in [jpeg, png] {
            let stored = read(&encode(&picture, &Beside::default())).expect("readable");
            for (value, row0, column0) in TABLE {
                let beside = Beside { exif: Some(oriented(value)), icc: None };
                check(&stored, &read(&encode(&picture, &beside)).expect("readable"), value, row0, column0);
            }
        }
    }
}

#[test]
fn eight_orientations_of_tiff() {
    for (bits, channels) in [(8, 3), (16, 3), (16, 1)] {
        let bytes = SIZE.0 * SIZE.1 * channels * bits / 8;
        // A sequence without a period in the picture's size.
        let pixels: Vec<u8> = (0..bytes).map(|i| (i * 7919 % 251) as u8).collect();
        let size = (SIZE.0 as u32, SIZE.1 as u32);
        let make = |value: u16| {
            let tag = (274, 3, vec![u32::from(value)]);
            read(&tiff(size, channels as u16, bits as u16, &pixels, &[tag])).expect("readable")
        };
        let stored = make(1);
        for (value, row0, column0) in TABLE {
            check(&stored, &make(value), value, row0, column0);
        }
    }
}

#[test]
fn values_outside_the_table_count_as_one() {
    for value in [0, 9, 300] {
        let beside = Beside { exif: Some(oriented(value)), icc: None };
        let photo = read(&png(&ramp(SIZE.0 as u32, SIZE.1 as u32), &beside)).expect("readable");
        assert_eq!((photo.width(), photo.height()), SIZE);
    }
}
