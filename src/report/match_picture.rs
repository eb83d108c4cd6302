//! Replica and reference side by side, with a row a surface below: both colours and what is said of them.

use super::bitmap_text::{draw_text, text_width};
use super::overlay::{CHALK, INK, PAPER, stroke};
use crate::colour::LabD50;
use crate::reading::{ColourDifference, Comparison, Reading};
use image::{Rgb, RgbImage, imageops};

/// A piece to show.
pub struct MatchSide<'a> {
    /// Its photograph in corrected light.
    pub picture: &'a RgbImage,
    /// Its reading.
    pub reading: &'a Reading,
}

/// Width of the sheet; all else follows from it.
const WIDTH: u32 = 1600;
const MARGIN: u32 = 24;
/// Dots of the letters: headings and rows.
const DOT: u32 = 3;
const LINE: u32 = 10 * DOT;
/// Sides of the two panels.
const PANEL: [u32; 2] = [(WIDTH - 3 * MARGIN) / 2, 640];
const SWATCH: [u32; 2] = [120, 56];
/// Where a row's swatches and words begin.
const SWATCHES_AT: u32 = MARGIN + 170;
const WORDS_AT: u32 = SWATCHES_AT + 2 * SWATCH[0] + MARGIN;
const ROW: u32 = 2 * LINE + 16;
/// Marks what is real (Color Universal Design set, 2002, rev. 2008).
const VERMILLION: [u8; 3] = [213, 94, 0];
/// Space about a piece, as a share of its longer side.
const AROUND: f64 = 0.06;

/// The sheet of one comparison: the replica beside the first of its reference shots.
pub fn match_picture(replica: &MatchSide, reference: &MatchSide, found: &Comparison) -> RgbImage {
    let rows = rows(found, reference.reading);
    let panels_at = MARGIN + 2 * LINE;
    let rows_at = panels_at + PANEL[1] + MARGIN + LINE;
    let height = rows_at + rows.len() as u32 * ROW + MARGIN;
    let mut sheet = RgbImage::from_pixel(WIDTH, height, Rgb(PAPER));
    let sides = [replica, reference];
    let scales = scales(&sides);
    for (i, side) in (0..).zip(sides) {
        let left = MARGIN + i * (PANEL[0] + MARGIN);
        let [name, note] = heading(side, i == 0, found);
        draw_text(&mut sheet, &short(&name, PANEL[0]), left, MARGIN, DOT, INK);
        draw_text(&mut sheet, &note, left, MARGIN + LINE, DOT - 1, INK);
        imageops::replace(
            &mut sheet,
            &panel(side, scales[i as usize]),
            i64::from(left),
            i64::from(panels_at),
        );
    }
    let titles = "REPLICA, REFERENCE: MEAN COLOURS, BROUGHT TO ONE LIGHT";
    if rows.iter().any(|row| row.colours.is_some()) {
        draw_text(&mut sheet, titles, SWATCHES_AT, rows_at - LINE, DOT - 1, INK);
    }
    for (i, row) in (0..).zip(&rows) {
        let top = rows_at + i * ROW;
        if row.real {
            fill(&mut sheet, [MARGIN - 14, top], [8, SWATCH[1]], VERMILLION);
        }
        draw_text(&mut sheet, row.name, MARGIN, top + 10, DOT, INK);
        for (k, lab) in (0..).zip(row.colours.into_iter().flatten()) {
            fill(&mut sheet, [SWATCHES_AT + k * SWATCH[0], top], SWATCH, LabD50::from(lab).to_swatch_u8());
        }
        let words_at = if row.colours.is_some() { WORDS_AT } else { SWATCHES_AT };
        draw_text(&mut sheet, &row.words, words_at, top, DOT, INK);
        draw_text(&mut sheet, &row.figures, words_at, top + LINE, DOT - 1, INK);
    }
    sheet
}

/// One line below the panels.
struct Row<'a> {
    name: &'a str,
    /// Of replica and reference.
    colours: Option<[[f64; 3]; 2]>,
    words: String,
    figures: String,
    real: bool,
}

fn rows<'a>(found: &'a Comparison, reference: &Reading) -> Vec<Row<'a>> {
    let mut rows: Vec<Row> = Vec::new();
    for d in &found.differences {
        let base = reference.surfaces.get(&d.surface).map_or([50.0, 0.0, 0.0], |s| s.lab);
        let by = d.in_one_light.delta_lab;
        rows.push(Row {
            name: &d.surface,
            colours: Some([[0, 1, 2].map(|c| base[c] + by[c]), base]),
            words: d.words.clone(),
            figures: figures(&d.in_one_light),
            real: d.differs,
        });
    }
    if let Some(c) = &found.contrast {
        let how = if c.log_ratio > 0.0 { "black on white is stronger" } else { "black on white is weaker" };
        rows.push(Row {
            name: "contrast",
            colours: None,
            words: if c.differs { how } else { "not told apart" }.into(),
            figures: format!("white to black: replica {:.1}, reference {:.1}", c.replica, c.reference),
            real: c.differs,
        });
    }
    rows.extend(found.tones.iter().map(|t| {
        let how = if t.log_ratio > 0.0 { "lighter" } else { "darker" };
        let times = |log: f64| format!("{:.2}", log.exp());
        Row {
            name: &t.surface,
            colours: None,
            words: if t.differs {
                format!("{how} against the other surfaces of its piece")
            } else {
                "not told apart".into()
            },
            figures: format!(
                "light given back: {} times, 95 %: {} to {}. no card, no colour",
                times(t.log_ratio),
                times(t.log_ratio - t.u95),
                times(t.log_ratio + t.u95)
            ),
            real: t.differs,
        }
    }));
    rows
}

fn figures(c: &ColourDifference) -> String {
    let [low, high] = c.de00_interval;
    let [l, chroma, _] = c.delta_lch;
    let more = |value: f64| if value < 0.0 { "less" } else { "more" };
    format!(
        "CIEDE2000 {:.1}, 95 %: {low:.1} to {high:.1}. {:.1} {} lightness, {:.1} {} chroma",
        c.de00,
        l.abs(),
        more(l),
        chroma.abs(),
        more(chroma)
    )
}

fn heading(side: &MatchSide, is_replica: bool, found: &Comparison) -> [String; 2] {
    let who = if is_replica { "replica" } else { "reference" };
    let name = format!("{who}: {}", super::file_name_of(&side.reading.photo.path));
    let note = match found.references.len() {
        _ if side.reading.card.status == "none" => "no card: as the camera saw it".into(),
        n if !is_replica && n > 1 => format!("first of {n} shots. the rows are for their mean"),
        _ => "corrected by its card".into(),
    };
    [name, note]
}

/// A text cut to what fits.
fn short(text: &str, room: u32) -> String {
    let letters = (room / text_width(" ", DOT)) as usize;
    if text.chars().count() <= letters {
        return text.into();
    }
    text.chars().take(letters.saturating_sub(3)).chain("...".chars()).collect()
}

/// The box of a piece in its picture, with some space about it: left, top, width, height.
fn around(side: &MatchSide) -> [f64; 4] {
    let scale = to_picture(side);
    let points = side.reading.piece.outline_px.iter().map(|p| p.map(|v| v * scale));
    let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    for point in points {
        low = [0, 1].map(|c| low[c].min(point[c]));
        high = [0, 1].map(|c| high[c].max(point[c]));
    }
    let full = [f64::from(side.picture.width()), f64::from(side.picture.height())];
    if !low.iter().chain(&high).all(|v| v.is_finite()) {
        return [0.0, 0.0, full[0], full[1]];
    }
    let space = AROUND * (high[0] - low[0]).max(high[1] - low[1]);
    let [left, top] = [0, 1].map(|c| (low[c] - space).clamp(0.0, full[c] - 1.0));
    let [right, bottom] = [0, 1].map(|c| (high[c] + space).clamp(1.0, full[c]));
    [left, top, (right - left).max(1.0), (bottom - top).max(1.0)]
}

/// Pixels of the picture to one of the photograph.
fn to_picture(side: &MatchSide) -> f64 {
    f64::from(side.picture.width()) / side.reading.photo.width.unwrap_or(1).max(1) as f64
}

/// How much each picture is enlarged: one scale in mm where both cards tell it, else both pieces equally large.
fn scales(sides: &[&MatchSide; 2]) -> [f64; 2] {
    let mm = sides.map(|side| side.reading.card.mm_per_px.map(|mm| mm / to_picture(side)));
    let unit = match mm {
        [Some(one), Some(other)] => [one, other],
        _ => sides.map(|side| {
            let [.., width, height] = around(side);
            1.0 / (width * height).sqrt()
        }),
    };
    let fits = [0, 1].map(|i| {
        let [.., width, height] = around(sides[i]);
        (f64::from(PANEL[0]) / width).min(f64::from(PANEL[1]) / height) / unit[i]
    });
    let all = fits[0].min(fits[1]);
    unit.map(|unit| unit * all)
}

fn panel(side: &MatchSide, scale: f64) -> RgbImage {
    let mut panel = RgbImage::from_pixel(PANEL[0], PANEL[1], Rgb(PAPER));
    let [left, top, width, height] = around(side);
    let whole = [left, top, width, height].map(|v| v.floor() as u32);
    let cut =
        imageops::crop_imm(side.picture, whole[0], whole[1], whole[2].max(1), whole[3].max(1)).to_image();
    let size = [cut.width(), cut.height()];
    let shown = [0, 1].map(|c| ((f64::from(size[c]) * scale).round() as u32).clamp(1, PANEL[c]));
    let mut shown = imageops::resize(&cut, shown[0], shown[1], imageops::FilterType::Triangle);
    let to_panel = f64::from(shown.width()) / f64::from(size[0]);
    let outline: Vec<[f64; 2]> = side
        .reading
        .piece
        .outline_px
        .iter()
        .map(|p| [0, 1].map(|c| (p[c] * to_picture(side) - f64::from(whole[c])) * to_panel))
        .collect();
    stroke(&mut shown, &outline, 1.0, 1.0, CHALK);
    let at = [0, 1].map(|c| i64::from((PANEL[c] - [shown.width(), shown.height()][c]) / 2));
    imageops::replace(&mut panel, &shown, at[0], at[1]);
    panel
}

fn fill(sheet: &mut RgbImage, [left, top]: [u32; 2], [width, height]: [u32; 2], colour: [u8; 3]) {
    for (x, y) in (left..left + width).flat_map(|x| (top..top + height).map(move |y| (x, y))) {
        if let Some(pixel) = sheet.get_pixel_mut_checked(x, y) {
            *pixel = Rgb(colour);
        }
    }
}
