//! What finding and sampling the card cost in a decoded photograph of 12 megapixels: processor time of
//! all threads, and as a ratio to decoding it.
//!
//! With a card: a demo image enlarged to 4000 x 3000 with seeded grain. Without: the same with the card
//! painted over. Printed, never asserted: a busy machine must not fail a build.

#![allow(clippy::print_stdout)] // a bench talks to people

use cpu_time::ProcessTime;
use image::imageops::FilterType;
use sherdlight::card::{CardDefinition, locate_card};
use sherdlight::photo::{Limits, Photo, read_bytes};
use std::path::Path;

/// The program's own allocator, so that the figures are the program's.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

const RUNS: usize = 15;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let definition = CardDefinition::load("chart24-iso")?;
    let picture = twelve_megapixels()?;
    let bytes = jpeg(&picture)?;
    let photo = read_bytes(&bytes, &Limits::default())?;
    let card = locate_card(&photo, &definition)?;
    let bare = read_bytes(&jpeg(&without(picture, &card.corners_px))?, &Limits::default())?;
    let decoding = median(|| drop(std::hint::black_box(read_bytes(&bytes, &Limits::default()))));
    let look = |photo: &Photo| median(|| drop(std::hint::black_box(locate_card(photo, &definition))));
    let (with, bare) = (look(&photo), look(&bare));
    println!("12 MP, median of {RUNS}, processor time of all threads");
    println!("  decode the JPEG:            {decoding:6.1} ms");
    println!("  find and sample the card:   {with:6.1} ms = {:.2} of decoding", with / decoding);
    println!("  the same where no card is:  {bare:6.1} ms = {:.2} of decoding", bare / decoding);
    Ok(())
}

fn median(run: impl Fn()) -> f64 {
    run();
    let mut times: Vec<f64> = (0..RUNS)
        .map(|_| {
            let start = ProcessTime::now();
            run();
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[RUNS / 2]
}

fn jpeg(picture: &image::RgbImage) -> Result<Vec<u8>, image::ImageError> {
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 92).encode_image(picture)?;
    Ok(bytes)
}

/// The picture with a grey rectangle over the card.
fn without(mut picture: image::RgbImage, card: &[[f64; 2]; 4]) -> image::RgbImage {
    let range = |k: usize| {
        let (low, high) = card.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p[k]), b.max(p[k])));
        (low.max(0.0) as u32)..(high.max(0.0) as u32)
    };
    for (x, y) in range(1).flat_map(|y| range(0).map(move |x| (x, y))) {
        if let Some(pixel) = picture.get_pixel_mut_checked(x, y) {
            *pixel = image::Rgb([120; 3]);
        }
    }
    picture
}

/// The first demo image, enlarged, with grain: enlarged pixels alone would be too smooth.
fn twelve_megapixels() -> Result<image::RgbImage, Box<dyn std::error::Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-images");
    let mut names: Vec<_> = std::fs::read_dir(folder)?.filter_map(|e| Some(e.ok()?.path())).collect();
    names.retain(|p| p.extension().is_some_and(|e| e == "jpg"));
    names.sort();
    let first = names.first().ok_or("no demo images: run the example render_demo first")?;
    let mut picture = image::open(first)?.resize_exact(4000, 3000, FilterType::Triangle).into_rgb8();
    let mut state = 0x9e37_79b9_7f4a_7c15u64;
    for value in picture.iter_mut() {
        // xorshift64 (Marsaglia 2003), enough for grain.
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        *value = value.saturating_add_signed((state % 7) as i8 - 3);
    }
    Ok(picture)
}
