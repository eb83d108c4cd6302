//! The legend below a picture of the map, for a file that is looked at alone.
//!
//! What is measured stands first, side by side; then a line each for what is not, with the reason.

use super::bitmap_text::{draw_text, text_width};
use super::label_style::label_style;
use super::overlay::{CHALK, INK, PAPER, mix};
use crate::surface::{Label, SurfaceMap};
use image::{Rgb, RgbImage, imageops};

/// The picture with a strip below that names the labels present on the pieces, their share of them,
/// and why what is left out is left out. Text that is too wide goes on in the next line.
pub fn with_legend(picture: &RgbImage, map: &SurfaceMap) -> RgbImage {
    let width = picture.width();
    let dot = (width / 500).max(1);
    let (margin, indent, gap, height) = (6 * dot, 20 * dot, 12 * dot, 14 * dot);
    let letters = (width.saturating_sub(margin + indent) / text_width(" ", dot)).max(1) as usize;
    let (measured, others): (Vec<_>, Vec<_>) =
        label_shares(map).into_iter().partition(|(label, _)| label_style(*label).why.is_none());
    let mut lines: Vec<Vec<Entry>> = Vec::new();
    let mut right = width;
    for (label, share) in measured.into_iter().chain(others) {
        let style = label_style(label);
        let text = format!("{} {}", style.words, percent(share));
        let alone = style.why.is_some();
        let text = style.why.map_or(text.clone(), |why| format!("{text}: {why}"));
        for (part, text) in wrapped(&text, letters).into_iter().enumerate() {
            let needed = indent + text_width(&text, dot);
            if alone || right + needed > width {
                lines.push(Vec::new());
                right = margin;
            }
            if let Some(line) = lines.last_mut() {
                line.push(Entry { left: right, swatch: (part == 0).then_some(label), text });
            }
            right += needed + gap;
        }
    }
    if lines.is_empty() {
        return picture.clone();
    }
    let strip = lines.len() as u32 * height + margin;
    let mut sheet = RgbImage::from_pixel(width, picture.height() + strip, Rgb(PAPER));
    imageops::replace(&mut sheet, picture, 0, 0);
    for (row, line) in (0..).zip(lines) {
        let top = picture.height() + margin + row * height;
        for Entry { left, swatch, text } in line {
            if let Some(label) = swatch {
                draw_swatch(&mut sheet, label, left, top, dot);
            }
            draw_text(&mut sheet, &text, left + indent, top + dot, dot, INK);
        }
    }
    sheet
}

/// Labels that occur on the pieces and their share of them, the largest first.
pub fn label_shares(map: &SurfaceMap) -> Vec<(Label, f64)> {
    let mut counts = [0usize; Label::ALL.len()];
    map.labels.iter().filter(|label| label.on_piece()).for_each(|label| counts[*label as usize] += 1);
    let all: usize = counts.iter().sum();
    let mut shares: Vec<(Label, f64)> = Label::ALL
        .into_iter()
        .filter(|label| counts[*label as usize] > 0)
        .map(|label| (label, counts[label as usize] as f64 / all as f64))
        .collect();
    shares.sort_by(|one, other| other.1.total_cmp(&one.1));
    shares
}

/// A piece of text in a line of the legend; a label's first has its box before it.
struct Entry {
    left: u32,
    swatch: Option<Label>,
    text: String,
}

/// `41 %`, or `<1 %` for what is there but small.
fn percent(share: f64) -> String {
    if share < 0.005 { "<1 %".into() } else { format!("{:.0} %", 100.0 * share) }
}

/// Lines of at most `letters` letters, broken between words; a longer word has a line of its own.
fn wrapped(text: &str, letters: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= letters => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.into()),
        }
    }
    lines
}

fn draw_swatch(sheet: &mut RgbImage, label: Label, left: u32, top: u32, dot: u32) {
    let style = label_style(label);
    let (width, height) = (16 * dot, 9 * dot);
    for (u, v) in (0..height).flat_map(|v| (0..width).map(move |u| (u, v))) {
        let rim = u == 0 || v == 0 || u + 1 == width || v + 1 == height;
        let shown = match style.pattern.marks(u as usize, v as usize, 5 * dot as usize) {
            _ if rim => INK,
            true if style.colour == [0; 3] => CHALK,
            true => mix(style.colour, INK, 0.6),
            false => style.colour,
        };
        if let Some(pixel) = sheet.get_pixel_mut_checked(left + u, top + v) {
            *pixel = Rgb(shown);
        }
    }
}
