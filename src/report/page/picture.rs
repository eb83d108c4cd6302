//! Where pictures stand in a page: the photograph once, everything else a look at it.

use super::pictures::PagePictures;
use crate::reading::Reading;
use crate::report::label_style::label_style;
use crate::report::words::fixed;
use crate::surface::Label;
use serde::Serialize;

/// A photograph, held once.
#[derive(Debug, Serialize)]
pub(super) struct PhotoText {
    pub(super) id: String,
    pub(super) source: String,
    pub(super) width: u32,
    pub(super) height: u32,
}

/// A look at a photograph.
#[derive(Debug, Clone, Serialize)]
pub(super) struct PictureText {
    /// The photograph's.
    photo: String,
    /// Left, top, width, height in pixels of the photograph, as an SVG view box.
    view: String,
    alt: String,
}

/// The map over a photograph.
#[derive(Debug, Serialize)]
pub(super) struct MapText {
    picture: PictureText,
    layers: Vec<LayerText>,
    /// All but the piece, as an SVG path; the piece's outline; the card's corners.
    outside: String,
    outline: String,
    card: String,
}

#[derive(Debug, Serialize)]
struct LayerText {
    name: &'static str,
    source: String,
    place: [u32; 4],
}

/// The whole photograph.
pub(super) fn whole(pictures: &PagePictures, photo: String, alt: String) -> PictureText {
    let [width, height] = pictures.size;
    PictureText { photo, view: format!("0 0 {width} {height}"), alt }
}

/// The piece with some air about it, 4 to 3 as far as the photograph has room.
pub(super) fn crop(
    pictures: &PagePictures,
    outline_px: &[[f64; 2]],
    photo: String,
    alt: String,
) -> PictureText {
    let [left, top, width, height] = frame_of(outline_px, pictures.scale, pictures.size);
    PictureText { photo, view: format!("{left} {top} {width} {height}"), alt }
}

/// The map of a piece.
pub(super) fn map(pictures: &PagePictures, reading: &Reading, photo: String, alt: String) -> MapText {
    let points = |points: &[[f64; 2]]| {
        let point = |p: &[f64; 2]| {
            let [x, y] = p.map(|v| (v * pictures.scale * 10.0).round() / 10.0);
            (x.is_finite() && y.is_finite()).then(|| format!("{x},{y}"))
        };
        points.iter().filter_map(point).collect::<Vec<_>>().join(" ")
    };
    let outline = points(&reading.piece.outline_px);
    let [width, height] = pictures.size;
    let outside = match outline.is_empty() {
        true => String::new(),
        false => format!("M0 0H{width}V{height}H0ZM{}Z", outline.replace(' ', "L")),
    };
    MapText {
        picture: whole(pictures, photo, alt),
        layers: pictures
            .layers
            .iter()
            .map(|layer| LayerText {
                name: layer.label.name(),
                source: layer.source.clone(),
                place: layer.place,
            })
            .collect(),
        outside,
        outline,
        card: reading.card.corners_px.as_ref().map_or_else(String::new, |corners| points(corners)),
    }
}

/// The key of a label: colour and pattern.
#[derive(Debug, Serialize)]
pub(super) struct KeyText {
    /// The layer's name; empty where the picture has none.
    pub(super) name: &'static str,
    colour: String,
    pattern: String,
    pub(super) words: &'static str,
    pub(super) share: String,
    why: Option<&'static str>,
}

impl KeyText {
    pub(super) fn new(label: Label, share: String, pictures: Option<&PagePictures>) -> Self {
        let style = label_style(label);
        let drawn = pictures.is_some_and(|p| p.layers.iter().any(|layer| layer.label == label));
        Self {
            name: if drawn { label.name() } else { "" },
            colour: crate::report::display::hex(style.colour),
            pattern: format!("{:?}", style.pattern).to_lowercase(),
            words: style.words,
            share,
            why: style.why,
        }
    }
}

/// Left, top, width, height of a frame of 4 to 3 round the outline with some air, as far as the picture has room; the whole
/// picture where there is no outline.
fn frame_of(outline_px: &[[f64; 2]], scale: f64, [width, height]: [u32; 2]) -> [String; 4] {
    let bounds = |axis: usize| {
        let values = outline_px.iter().map(|point| point[axis] * scale).filter(|v| v.is_finite());
        values.fold(None, |known: Option<(f64, f64)>, v| {
            Some(known.map_or((v, v), |(low, high)| (low.min(v), high.max(v))))
        })
    };
    let (full_width, full_height) = (f64::from(width.max(1)), f64::from(height.max(1)));
    let [left, top, wide, tall] = match (bounds(0), bounds(1)) {
        (Some((x0, x1)), Some((y0, y1))) => {
            let tall = 1.12 * (y1 - y0).max(0.75 * (x1 - x0));
            let place = |low: f64, end: f64, size: f64, whole: f64| {
                let size = size.clamp(1.0, whole);
                (((low + end - size) / 2.0).clamp(0.0, whole - size), size)
            };
            let (left, wide) = place(x0, x1, tall * 4.0 / 3.0, full_width);
            let (top, tall) = place(y0, y1, tall, full_height);
            [left, top, wide, tall]
        }
        _ => [0.0, 0.0, full_width, full_height],
    };
    [left, top, wide, tall].map(|v| fixed(v, 0))
}
