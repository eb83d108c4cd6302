//! The piece before the fire and after it, side by side; below them the first laid over the second, and what became of
//! the paint.

use super::table::lost_most;
use crate::card::CorrectedImage;
use crate::reading::SurvivalPart;
use crate::report::bitmap_text::{draw_outlined, draw_text, text_width};
use crate::report::display::srgb_of_xyz;
use crate::report::label_style::Pattern;
use crate::report::overlay::{CHALK, INK, PAPER, mix};
use crate::surface::SurfaceMap;
use crate::survival::{Fate, Found};
use image::{Rgb, RgbImage, imageops};

/// The two photographs of one piece.
pub struct SurvivalSides<'a> {
    /// Before the fire.
    pub before: (&'a CorrectedImage, &'a SurfaceMap),
    /// After it.
    pub after: (&'a CorrectedImage, &'a SurfaceMap),
    /// Which piece of the fired photograph's map.
    pub index: usize,
    /// Where it lies in the other.
    pub found: &'a Found,
}

/// Width of the sheet; all else follows from it.
const WIDTH: u32 = 1600;
const MARGIN: u32 = 24;
const DOT: u32 = 3;
const LINE: u32 = 10 * DOT;
/// Largest sides of a panel.
const PANEL: [u32; 2] = [(WIDTH - 3 * MARGIN) / 2, 620];
/// Space about a piece, share of its longer side.
const AROUND: f64 = 0.04;
/// Strokes that are numbered, those that lost most first; a number that would touch another is left out.
const NUMBERED: usize = 24;
/// Side of the dots of a number, pixels, and space about it.
const NUMBER_DOT: u32 = 2;
const NUMBER_SPACE: f64 = 4.0;

/// How a fate looks (Color Universal Design set of Okabe & Ito 2002, revised 2008): dark, middle and bright, so that they
/// read in grey too.
const LOOKS: [(Fate, [u8; 3], Pattern, &str); 3] = [
    (Fate::Kept, [0, 114, 178], Pattern::Plain, "kept"),
    (Fate::Thinned, [230, 159, 0], Pattern::Rising, "thinned"),
    (Fate::Lost, [240, 228, 66], Pattern::Dots, "lost"),
];
const UNSEEN: [u8; 3] = [128, 128, 128];

/// The sheet of one piece.
pub fn survival_picture(sides: &SurvivalSides, part: &SurvivalPart) -> RgbImage {
    let frames =
        [Window::about(sides.before.1, sides.found.before), Window::about(sides.after.1, sides.index)];
    let [before, after] = frames;
    let registration = &sides.found.registration;
    let laid_over = |at: [f64; 2]| registration.before(at).and_then(|place| look(sides.before.0, place));
    let height = frames.iter().map(|frame| frame.size()[1]).max().unwrap_or(1);
    let panels = [
        ("before the fire", before.draw(|at| look(sides.before.0, at))),
        ("after the fire", after.draw(|at| look(sides.after.0, at))),
        ("before, laid over the fired piece", after.draw(|at| on_piece(sides, at).then(|| laid_over(at))?)),
        ("what became of the paint", fates(sides, &after, part)),
    ];
    let row = MARGIN + LINE + height;
    let legend_at = 2 * row + MARGIN;
    let mut sheet = RgbImage::from_pixel(WIDTH, legend_at + 2 * LINE + MARGIN, Rgb(PAPER));
    for (i, (name, panel)) in (0..).zip(&panels) {
        let (left, top) = (MARGIN + i % 2 * (PANEL[0] + MARGIN), MARGIN + i / 2 * row);
        draw_text(&mut sheet, name, left, top, DOT, INK);
        imageops::replace(&mut sheet, panel, i64::from(left), i64::from(top + LINE));
    }
    legend(&mut sheet, legend_at, part);
    sheet
}

/// What a panel shows of a map.
#[derive(Clone, Copy)]
struct Window {
    /// Its left upper corner, map pixels.
    low: [f64; 2],
    /// Its sides, map pixels.
    span: [f64; 2],
    /// Panel pixels to a map pixel.
    scale: f64,
}

impl Window {
    fn about(map: &SurfaceMap, index: usize) -> Self {
        let [x0, y0, x1, y1] =
            map.pieces.get(index).map_or([0, 0, map.width, map.height], |p| p.bounds).map(|v| v as f64);
        let space = AROUND * (x1 - x0).max(y1 - y0);
        let low = [(x0 - space).max(0.0), (y0 - space).max(0.0)];
        let high = [(x1 + space).min(map.width as f64), (y1 + space).min(map.height as f64)];
        let span = [0, 1].map(|c| (high[c] - low[c]).max(1.0));
        let scale = (f64::from(PANEL[0]) / span[0]).min(f64::from(PANEL[1]) / span[1]);
        Self { low, span, scale }
    }

    fn size(&self) -> [u32; 2] {
        [0, 1].map(|c| ((self.span[c] * self.scale).floor() as u32).clamp(1, PANEL[c]))
    }

    /// Map place of a panel place.
    fn map(&self, panel: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|c| self.low[c] + panel[c] / self.scale)
    }

    /// A panel of what lies at each place: the mean of four looks a pixel, in linear light.
    fn draw(&self, xyz: impl Fn([f64; 2]) -> Option<[f32; 3]>) -> RgbImage {
        let [width, height] = self.size();
        RgbImage::from_fn(width, height, |x, y| {
            let looks = [[0.25, 0.25], [0.75, 0.25], [0.25, 0.75], [0.75, 0.75]];
            let seen: Vec<[f32; 3]> = looks
                .into_iter()
                .filter_map(|[dx, dy]| xyz(self.map([f64::from(x) + dx, f64::from(y) + dy])))
                .collect();
            if seen.is_empty() {
                return Rgb(PAPER);
            }
            let mean = |c: usize| seen.iter().map(|v| f64::from(v[c])).sum::<f64>() / seen.len() as f64;
            Rgb(srgb_of_xyz([mean(0), mean(1), mean(2)]))
        })
    }
}

/// The pixel at a map place.
fn at_place(width: usize, height: usize, place: [f64; 2]) -> Option<usize> {
    let [x, y] = place.map(f64::floor);
    (x >= 0.0 && y >= 0.0 && x < width as f64 && y < height as f64).then(|| y as usize * width + x as usize)
}

fn look(image: &CorrectedImage, place: [f64; 2]) -> Option<[f32; 3]> {
    at_place(image.width, image.height, place).map(|at| image.xyz[at])
}

fn on_piece(sides: &SurvivalSides, place: [f64; 2]) -> bool {
    let map = sides.after.1;
    at_place(map.width, map.height, place).is_some_and(|at| usize::from(map.piece_of[at]) == sides.index + 1)
}

/// The fired piece in pale grey, its paint in the colours of what became of it, the strokes numbered.
fn fates(sides: &SurvivalSides, window: &Window, part: &SurvivalPart) -> RgbImage {
    let map = sides.after.1;
    let mut panel = window.draw(|at| look(sides.after.0, at));
    for (x, y, pixel) in panel.enumerate_pixels_mut() {
        let place = window.map([f64::from(x) + 0.5, f64::from(y) + 0.5]);
        let grey = (pixel.0.iter().map(|code| u32::from(*code)).sum::<u32>() / 3) as u8;
        let pale = mix([grey; 3], PAPER, 0.6);
        let (at_x, at_y) = (x as usize, y as usize);
        let shown = match at_place(map.width, map.height, place).filter(|_| on_piece(sides, place)) {
            None => mix([grey; 3], PAPER, 0.85),
            Some(at) => match LOOKS.iter().find(|look| look.0 == sides.found.survival.fates[at]) {
                Some((_, colour, pattern, _)) if pattern.marks(at_x, at_y, 8) => mix(*colour, INK, 0.7),
                Some((_, colour, ..)) => *colour,
                None if sides.found.registration.before(place).is_none()
                    && Pattern::Falling.marks(at_x, at_y, 10) =>
                {
                    UNSEEN
                }
                None => pale,
            },
        };
        *pixel = Rgb(shown);
    }
    let full = map.factor as f64;
    let mut taken: Vec<[f64; 4]> = Vec::new();
    for stroke in lost_most(part).into_iter().take(NUMBERED) {
        let [x, y, width, height] = stroke.box_px.map(|v| v / full);
        let middle = [x + width / 2.0, y + height / 2.0];
        let at = [0, 1].map(|c| (middle[c] - window.low[c]) * window.scale);
        let number = stroke.number.to_string();
        let half = [text_width(&number, NUMBER_DOT), 7 * NUMBER_DOT]
            .map(|side| f64::from(side) / 2.0 + NUMBER_SPACE);
        let space = [at[0] - half[0], at[1] - half[1], at[0] + half[0], at[1] + half[1]];
        let touches = |other: &[f64; 4]| (0..2).all(|c| space[c] < other[c + 2] && other[c] < space[c + 2]);
        if !taken.iter().any(touches) {
            draw_outlined(&mut panel, &number, at, NUMBER_DOT, [INK, CHALK]);
            taken.push(space);
        }
    }
    panel
}

/// What the colours mean, and the shares.
fn legend(sheet: &mut RgbImage, top: u32, part: &SurvivalPart) {
    let shares = [part.kept, part.thinned, part.lost];
    let words = LOOKS.iter().zip(shares).map(|((_, colour, pattern, name), share)| {
        (*colour, *pattern, format!("{name} {:.0} %", 100.0 * share))
    });
    let unseen = (UNSEEN, Pattern::Falling, "not seen before the fire".to_owned());
    for (i, (colour, pattern, words)) in (0..).zip(words.chain([unseen])) {
        let left = MARGIN + i * 300;
        for (u, v) in (0..48).flat_map(|u| (0..21).map(move |v| (u, v))) {
            let rim = u == 0 || v == 0 || u == 47 || v == 20;
            let is_unseen = colour == UNSEEN;
            let shown = match pattern.marks(u as usize, v as usize, 8) {
                _ if rim => INK,
                true if is_unseen => UNSEEN,
                true => mix(colour, INK, 0.7),
                false if is_unseen => PAPER,
                false => colour,
            };
            sheet.put_pixel(left + u, top + v, Rgb(shown));
        }
        draw_text(sheet, &words, left + 60, top, DOT, INK);
    }
    let read = format!(
        "{:.0} ± {:.0} % of the paint laid still reads",
        100.0 * part.retained_fraction,
        (100.0 * part.u95).round().max(1.0)
    );
    draw_text(sheet, &read, MARGIN, top + LINE + 6, DOT, INK);
}
