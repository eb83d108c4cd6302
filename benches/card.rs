//! What finding and sampling the card cost in a decoded photograph of 12 megapixels: processor time of
//! all threads, and as a ratio to decoding it.
//!
//! With a card: a demo image enlarged to 4000 x 3000 with seeded grain. Without: the same with the card
//! painted over. Printed, never asserted: a busy machine must not fail a build.

#![allow(clippy::print_stdout)] // a bench talks to people

mod shared;

use shared::{RUNS, jpeg, median, twelve_megapixels};
use sherdlight::card::{CardDefinition, locate_card};
use sherdlight::photo::{Limits, Photo, read_bytes};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let definition = CardDefinition::load("chart24-iso")?;
    let picture = twelve_megapixels()?;
    let bytes = jpeg(&picture)?;
    let read = |bytes: &[u8]| read_bytes(bytes, &Limits::default());
    let photo = read(&bytes)?;
    let card = locate_card(&photo, &definition)?;
    let bare = read(&jpeg(&without(picture, &card.corners_px))?)?;
    let decoding = median(|| Ok(read(&bytes)?))?;
    // Where no card is, the answer is an error: the time is that of coming to it.
    let look = |photo: &Photo| median(|| Ok(locate_card(photo, &definition)));
    let (with, bare) = (look(&photo)?, look(&bare)?);
    println!("12 MP, median of {RUNS}, processor time of all threads");
    println!("  decode the JPEG:            {decoding:6.1} ms");
    println!("  find and sample the card:   {with:6.1} ms = {:.2} of decoding", with / decoding);
    println!("  the same where no card is:  {bare:6.1} ms = {:.2} of decoding", bare / decoding);
    Ok(())
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
