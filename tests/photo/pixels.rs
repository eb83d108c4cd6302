//! Light, means, clipping and the preview.

use image::{DynamicImage, ImageBuffer, Rgb, RgbImage};
use proptest::prelude::*;
use sherdlight::colour::LinearRgb;
use sherdlight::photo::{LinearImage, Photo};

use super::make::{Beside, fixture, jpeg, png, ramp, read, tiff};

/// IEC 61966-2-1.
fn srgb_to_linear(v: f64) -> f64 {
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

/// A seeded picture without structure (a linear congruential sequence).
fn noise(width: u32, height: u32, seed: u32) -> RgbImage {
    let mut state = seed.wrapping_mul(2_654_435_761).wrapping_add(1);
    RgbImage::from_fn(width, height, |_, _| {
        Rgb([0; 3].map(|_: i32| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 24) as u8
        }))
    })
}

#[test]
fn every_8_bit_value_by_the_standard() {
    let picture = RgbImage::from_fn(256, 64, |x, _| Rgb([x as u8, 255 - x as u8, x as u8]));
    let photo = read(&png(&DynamicImage::ImageRgb8(picture), &Beside::default())).expect("readable");
    assert_eq!(photo.facts.bits, 8);
    for x in 0..256 {
        let expected = |v: usize| srgb_to_linear(v as f64 / 255.0) as f32;
        assert_eq!(photo.linear(x, 9).0, [expected(x), expected(255 - x), expected(x)]);
    }
}

#[test]
fn sixteen_bit_png_and_tiff() {
    let value = |x: u32, y: u32| [(x * 677) as u16, (y * 811 + x) as u16, 65535 - (x * 13) as u16];
    let picture = ImageBuffer::from_fn(96, 80, |x, y| Rgb(value(x, y)));
    let bytes: Vec<u8> = picture.pixels().flat_map(|p| p.0).flat_map(u16::to_le_bytes).collect();
    let in_png = read(&png(&DynamicImage::ImageRgb16(picture), &Beside::default())).expect("readable");
    let in_tiff = read(&tiff((96, 80), 3, 16, &bytes, &[])).expect("readable");
    for photo in [in_png, in_tiff] {
        assert_eq!(photo.facts.bits, 16);
        for (x, y) in [(0, 0), (95, 79), (17, 33), (60, 2)] {
            let expected = value(x, y).map(|v| srgb_to_linear(f64::from(v) / 65535.0) as f32);
            assert_eq!(photo.linear(x as usize, y as usize).0, expected);
        }
    }
}

#[test]
fn jpeg_kinds_decode_to_their_colour() {
    let flat = |bytes: Vec<u8>| {
        let photo = read(&bytes).expect("readable");
        photo.linear(40, 30).0.map(|v| (0..=255).find(|&c| srgb_to_linear(f64::from(c) / 255.0) as f32 == v))
    };
    let near = |found: [Option<i32>; 3], expected: [i32; 3]| {
        for c in 0..3 {
            assert!((found[c].expect("a code") - expected[c]).abs() <= 2, "{found:?}, not {expected:?}");
        }
    };
    near(flat(fixture("rgb-coded.jpg")), [200, 80, 40]);
    near(flat(fixture("deflate.tif")), [200, 80, 40]);
    near(
        flat(jpeg(
            &DynamicImage::ImageRgb8(RgbImage::from_pixel(96, 64, Rgb([200, 80, 40]))),
            &Beside::default(),
        )),
        [200, 80, 40],
    );
    let grey = DynamicImage::ImageLuma8(image::GrayImage::from_pixel(96, 64, image::Luma([130])));
    near(flat(jpeg(&grey, &Beside::default())), [130; 3]);
}

#[test]
fn alpha_is_dropped_and_said() {
    let picture = |alpha: fn(u32) -> u8| {
        DynamicImage::ImageRgba8(image::RgbaImage::from_fn(96, 64, |x, _| {
            image::Rgba([200, 80, 40, alpha(x)])
        }))
    };
    let remarks = |photo: &Photo| photo.facts.remarks.iter().any(|(code, _)| code == "transparent");
    let solid = read(&png(&picture(|_| 255), &Beside::default())).expect("readable");
    let holed = read(&png(&picture(|x| (x * 2) as u8), &Beside::default())).expect("readable");
    assert!(!remarks(&solid) && remarks(&holed));
    assert_eq!(holed.linear(64, 0), solid.linear(64, 0), "half opaque keeps its own colour");
    assert_eq!(holed.linear(63, 0), LinearRgb([0.0; 3]), "less than half is black");
    // 16 bit and grey with alpha take the same road.
    let deep = DynamicImage::ImageLumaA16(ImageBuffer::from_pixel(96, 64, image::LumaA([30000u16, 65535])));
    let deep = read(&png(&deep, &Beside::default())).expect("readable");
    assert_eq!(deep.linear(3, 3).0, [srgb_to_linear(30000.0 / 65535.0) as f32; 3]);
}

#[test]
fn clipping_at_each_depth() {
    let row = |values: [u8; 4]| {
        let picture = RgbImage::from_fn(64, 64, |x, _| Rgb([10, values[(x % 4) as usize], 20]));
        read(&png(&DynamicImage::ImageRgb8(picture), &Beside::default())).expect("readable")
    };
    let photo = row([253, 254, 255, 0]);
    assert_eq!([0, 1, 2, 3].map(|x| photo.is_clipped(x, 0)), [false, true, true, false]);
    let deep = ImageBuffer::from_fn(64, 64, |x, _| Rgb([10, if x % 2 == 0 { 65277u16 } else { 65278 }, 0]));
    let photo = read(&png(&DynamicImage::ImageRgb16(deep), &Beside::default())).expect("readable");
    assert_eq!([0, 1].map(|x| photo.is_clipped(x, 5)), [false, true]);
}

/// The plain slow mean: every pixel by `linear`, sums in f64.
fn slow_mean(photo: &Photo, factor: usize) -> Vec<[f64; 3]> {
    let (w, h) = (photo.width().div_ceil(factor), photo.height().div_ceil(factor));
    let mut means = Vec::new();
    for y in 0..h {
        for x in 0..w {
            let (mut sum, mut count) = ([0.0f64; 3], 0.0);
            for yy in y * factor..((y + 1) * factor).min(photo.height()) {
                for xx in x * factor..((x + 1) * factor).min(photo.width()) {
                    let light = photo.linear(xx, yy).0;
                    (0..3).for_each(|c| sum[c] += f64::from(light[c]));
                    count += 1.0;
                }
            }
            means.push(sum.map(|s| s / count));
        }
    }
    means
}

fn slow_clipped(photo: &Photo, factor: usize) -> Vec<bool> {
    let (w, h) = (photo.width().div_ceil(factor), photo.height().div_ceil(factor));
    let mut any = vec![false; w * h];
    for y in 0..photo.height() {
        for x in 0..photo.width() {
            any[y / factor * w + x / factor] |= photo.is_clipped(x, y);
        }
    }
    any
}

fn check_reduced(photo: &Photo, factor: usize) {
    let reduced = photo.reduced(factor);
    let expected = slow_mean(photo, factor);
    assert_eq!(reduced.pixels.len(), reduced.width * reduced.height);
    assert_eq!(reduced.pixels.len(), expected.len());
    for (found, mean) in reduced.pixels.iter().zip(&expected) {
        for c in 0..3 {
            // Sums of `factor` values, then of `factor` sums, in f32 (unit roundoff 6e-8).
            let tolerance = 6e-8 * (2 * factor + 4) as f64 * 1.3;
            assert!((f64::from(found.0[c]) - mean[c]).abs() < tolerance, "{found:?}, not {mean:?}");
        }
    }
    assert_eq!(photo.clipped_reduced(factor), slow_clipped(photo, factor));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn reduced_is_the_mean(width in 64u32..90, height in 64u32..90, factor in 1usize..12, seed: u32, kind in 0..4) {
        let picture = DynamicImage::ImageRgb8(noise(width, height, seed));
        let p3 = Beside { icc: Some(super::profiles::display_p3()), exif: None };
        let photo = match kind {
            0 => read(&png(&picture, &Beside::default())),
            1 => read(&png(&picture, &p3)),
            2 => read(&png(&DynamicImage::ImageRgb16(picture.to_rgb16()), &p3)),
            _ => read(&png(&DynamicImage::ImageLuma8(picture.to_luma8()), &Beside::default())),
        }.expect("readable");
        check_reduced(&photo, factor);
        check_reduced(&photo, 100);
    }
}

#[test]
fn light_made_in_memory() {
    let pixels = (0..70 * 65).map(|i| LinearRgb([i as f32 / 4550.0, 0.3, -0.1])).collect();
    let photo = Photo::from_linear(LinearImage { width: 70, height: 65, pixels });
    check_reduced(&photo, 3);
    assert!(photo.is_clipped(69, 64) && !photo.is_clipped(0, 0));
    let none = Photo::from_linear(LinearImage::default());
    assert!(none.reduced(2).pixels.is_empty() && none.clipped_reduced(2).is_empty());
    assert_eq!(none.to_srgb8(1).dimensions(), (0, 0));
}

#[test]
fn the_same_bytes_on_any_number_of_threads() {
    let bytes = png(
        &DynamicImage::ImageRgb8(noise(301, 203, 7)),
        &Beside { icc: Some(super::profiles::display_p3()), exif: Some(super::exif_facts::oriented(6)) },
    );
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        pool.install(|| {
            let photo = read(&bytes).expect("readable");
            let light: Vec<[u32; 3]> =
                photo.reduced(3).pixels.iter().map(|p| p.0.map(f32::to_bits)).collect();
            (light, photo.clipped_reduced(3), photo.to_srgb8(2).into_raw())
        })
    };
    let one = run(1);
    assert!(one == run(2) && one == run(8));
}

#[test]
fn the_preview_gives_srgb_back() {
    let picture = noise(120, 90, 3);
    let photo = read(&png(&DynamicImage::ImageRgb8(picture.clone()), &Beside::default())).expect("readable");
    assert!(photo.to_srgb8(1) == picture, "every code value comes back");
    // Display P3 red is outside sRGB: clamped here, and only here.
    let beside = Beside { icc: Some(super::profiles::display_p3()), exif: None };
    let red = DynamicImage::ImageRgb8(RgbImage::from_pixel(64, 64, Rgb([255, 0, 0])));
    let photo = read(&png(&red, &beside)).expect("readable");
    assert_eq!(photo.to_srgb8(4).get_pixel(3, 3).0, [255, 0, 0]);
    assert_eq!(photo.to_srgb8(4).dimensions(), (16, 16));
}

#[test]
fn an_upright_preview() {
    let beside = Beside { icc: None, exif: Some(super::exif_facts::oriented(8)) };
    let photo = read(&jpeg(&ramp(100, 70), &beside)).expect("readable");
    assert_eq!(photo.to_srgb8(2).dimensions(), (35, 50));
}
