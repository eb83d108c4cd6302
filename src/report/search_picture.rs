//! A search for the card that failed, drawn on the photograph: what stood out, and how far it came.

use super::bitmap_text::{draw_text, text_width};
use super::overlay::{CHALK, INK, PAPER, disc, stroke};
use super::picture::DISPLAY_SIDE;
use crate::card::Search;
use crate::photo::Photo;
use image::{Rgb, RgbImage, imageops};

/// Colours of the Color Universal Design set (2002, rev. 2008): told apart with any colour vision.
const ORANGE: [u8; 3] = [230, 159, 0];
const SKY: [u8; 3] = [86, 180, 233];

/// The photograph at about [`DISPLAY_SIDE`] pixels with the even spots, the outlines of grids and the
/// doubtful places drawn on it (a dot marks a doubtful place's first patch), and a legend below that
/// begins with `step`, what the search stopped at.
pub fn search_picture(photo: &Photo, search: &Search, step: &str) -> RgbImage {
    let factor = photo.width().max(photo.height()).div_ceil(DISPLAY_SIDE).max(1);
    let mut picture = photo.to_srgb8(factor);
    let scale = 1.0 / factor as f64;
    let line = f64::from((picture.width().max(picture.height()) / 800).max(1));
    let kinds = [
        ("even spots", &search.spots_px, ORANGE, 0.5 * line),
        ("grids of spots", &search.grids_px, SKY, line),
        ("doubtful places", &search.doubtful_px, CHALK, 1.5 * line),
    ];
    for (_, quads, colour, line) in kinds {
        quads.iter().for_each(|quad| stroke(&mut picture, quad, scale, line, colour));
    }
    for quad in &search.doubtful_px {
        disc(&mut picture, quad[0].map(|v| v * scale), 6.0 * line, INK);
        disc(&mut picture, quad[0].map(|v| v * scale), 4.0 * line, CHALK);
    }
    let entries: Vec<(String, [u8; 3])> =
        kinds.iter().map(|(name, quads, colour, _)| (format!("{} {name}", quads.len()), *colour)).collect();
    with_words(&picture, &format!("No card found, {step}"), &entries)
}

/// The picture with a strip below: a sentence, wrapped, then a line an entry.
fn with_words(picture: &RgbImage, sentence: &str, entries: &[(String, [u8; 3])]) -> RgbImage {
    let dot = (picture.width() / 500).max(1);
    let (margin, line) = (6 * dot, 12 * dot);
    let room = picture.width().saturating_sub(2 * margin);
    let mut lines = vec![String::new()];
    for word in sentence.split_whitespace() {
        let longer = lines.last().map_or(String::new(), |l| format!("{l} {word}").trim().to_owned());
        match lines.last_mut() {
            Some(last) if last.is_empty() || text_width(&longer, dot) <= room => *last = longer,
            _ => lines.push(word.to_owned()),
        }
    }
    let height = picture.height() + 2 * margin + line * (lines.len() + entries.len()) as u32;
    let mut sheet = RgbImage::from_pixel(picture.width(), height, Rgb(PAPER));
    imageops::replace(&mut sheet, picture, 0, 0);
    let mut top = picture.height() + margin;
    for text in &lines {
        draw_text(&mut sheet, text, margin, top, dot, INK);
        top += line;
    }
    for (text, colour) in entries {
        for (u, v) in (0..7 * dot).flat_map(|v| (0..12 * dot).map(move |u| (u, v))) {
            let rim = u < dot || v < dot || u + dot >= 12 * dot || v + dot >= 7 * dot;
            if let Some(pixel) = sheet.get_pixel_mut_checked(margin + u, top + v) {
                *pixel = Rgb(if rim { INK } else { *colour });
            }
        }
        draw_text(&mut sheet, text, margin + 16 * dot, top, dot, INK);
        top += line;
    }
    sheet
}
