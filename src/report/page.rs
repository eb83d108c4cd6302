//! One self-contained HTML page of a load: no script, no request to anywhere, no clock.
//!
//! The template sees ready strings only ([`LoadPage::context_json`] shows them), so that what is
//! said is decided in Rust and how it looks in `templates/`.

use super::page_context::{PageContext, build};
use super::picture::jpeg;
use super::{ReportError, display::data_uri};
use crate::reading::Record;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use image::RgbImage;
use image::imageops::{self, FilterType};
use minijinja::value::Serde;
use minijinja::{Environment, UndefinedBehavior, Value, context};
use sha2::{Digest, Sha256};

const TEMPLATE: &str = include_str!("templates/load.html");
/// The page's style sheet; its colours stand in its first lines as variables.
pub const STYLE: &str = include_str!("templates/style.css");

/// Long sides in pixels of the pictures in the page, and their JPEG quality.
const LARGE: u32 = 900;
const SMALL: u32 = 440;
const QUALITY: u8 = 82;

/// The pictures of one piece, encoded small enough for a page. Make them as each photograph ends:
/// they are a fraction of the size of what they are made from.
#[derive(Debug, Clone, Default)]
pub struct PagePictures {
    /// The corrected photograph, a JPEG data URI.
    pub(super) corrected: String,
    /// The map over it.
    pub(super) map: String,
    /// The map cut to the piece, for the first screen.
    pub(super) small: String,
}

impl PagePictures {
    /// Takes the corrected picture and the overlay (both of the whole photograph), and the
    /// piece's outline in full-size pixels of a photograph `full_width` pixels wide.
    ///
    /// # Errors
    /// [`ReportError::Encode`] where a picture is empty.
    pub fn new(
        corrected: &RgbImage,
        overlay: &RgbImage,
        outline_px: &[[f64; 2]],
        full_width: usize,
    ) -> Result<Self, ReportError> {
        let shown = |picture: &RgbImage, side| {
            Ok::<_, ReportError>(data_uri("image/jpeg", &jpeg(&fitted(picture, side), QUALITY)?))
        };
        let scale = f64::from(overlay.width()) / full_width.max(1) as f64;
        let [left, top, width, height] = frame_of(outline_px, scale, overlay.dimensions());
        let cut = imageops::crop_imm(overlay, left, top, width, height).to_image();
        Ok(Self {
            corrected: shown(corrected, LARGE)?,
            map: shown(overlay, LARGE)?,
            small: shown(&cut, SMALL)?,
        })
    }
}

/// One record with its pictures, where there are any.
#[derive(Debug, Clone, Copy)]
pub struct PageEntry<'a> {
    /// A measured piece, or a photograph that could not be measured.
    pub record: &'a Record,
    /// Pictures of the piece.
    pub pictures: Option<&'a PagePictures>,
}

/// The page of a load, ready to be written.
#[derive(Debug)]
pub struct LoadPage {
    context: PageContext,
}

impl LoadPage {
    /// Puts the page together. Pieces stand worst grade first, those of one grade with the most
    /// severe fault first, else in the order given.
    pub fn new(title: &str, entries: &[PageEntry]) -> Self {
        Self { context: build(title, entries) }
    }

    /// The page as HTML.
    ///
    /// # Errors
    /// [`ReportError::Page`] only by a fault of this program.
    pub fn html(&self) -> Result<String, ReportError> {
        let mut templates = Environment::new();
        templates.set_undefined_behavior(UndefinedBehavior::Strict);
        let style_hash = STANDARD.encode(Sha256::digest(STYLE.as_bytes()));
        // The name ends in .html, which switches escaping on.
        templates
            .add_template("load.html", TEMPLATE)
            .and_then(|()| templates.get_template("load.html"))
            .and_then(|template| {
                template.render(context! { style => STYLE, style_hash => style_hash, page => Value::from(Serde(&self.context)) })
            })
            .map_err(|error| ReportError::Page(format!("{error:#}")))
    }

    /// Everything the page says, as JSON: for tests and for those who want another page.
    pub fn context_json(&self) -> String {
        serde_json::to_string_pretty(&self.context).unwrap_or_default()
    }
}

fn fitted(picture: &RgbImage, long_side: u32) -> RgbImage {
    let long = picture.width().max(picture.height()).max(1);
    if long <= long_side {
        return picture.clone();
    }
    let fit = |side: u32| ((u64::from(side) * u64::from(long_side) / u64::from(long)) as u32).max(1);
    imageops::resize(picture, fit(picture.width()), fit(picture.height()), FilterType::Triangle)
}

/// Left, top, width, height of a frame of 4 to 3 round the outline with some air, as far as the
/// picture has room; the whole picture where there is no outline.
fn frame_of(outline_px: &[[f64; 2]], scale: f64, (width, height): (u32, u32)) -> [u32; 4] {
    let bounds = |axis: usize| {
        outline_px.iter().map(|point| point[axis] * scale).fold(None, |known: Option<(f64, f64)>, v| {
            Some(known.map_or((v, v), |(low, high)| (low.min(v), high.max(v))))
        })
    };
    let (Some((x0, x1)), Some((y0, y1))) = (bounds(0), bounds(1)) else { return [0, 0, width, height] };
    let high = 1.12 * (y1 - y0).max(0.75 * (x1 - x0));
    let place = |low: f64, end: f64, size: f64, whole: u32| {
        let size = size.clamp(1.0, f64::from(whole.max(1)));
        let start = ((low + end - size) / 2.0).clamp(0.0, f64::from(whole) - size);
        (start as u32, size as u32)
    };
    let (left, wide) = place(x0, x1, high * 4.0 / 3.0, width);
    let (top, tall) = place(y0, y1, high, height);
    [left, top, wide.max(1), tall.max(1)]
}
