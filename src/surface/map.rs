//! The label map.

use super::earth::strange;
use super::mask::polygon_mask;
use super::outline::{Found, Search};
use super::piece::map_piece;
use super::refine::Blob;
use super::remarks;
use super::trace::outline;
use super::{Label, SurfaceError};
use crate::card::{CardReading, CorrectedImage};

/// The outline of the piece, told by hand, full-size pixels.
#[derive(Debug, Clone, PartialEq)]
pub enum Outline {
    /// x, y of the top left corner, width, height: the piece lies inside, its exact outline is found.
    Box([f64; 4]),
    /// The outline itself, at least three points.
    Polygon(Vec<[f64; 2]>),
}

/// How surfaces are to be mapped.
#[derive(Debug, Clone, Default)]
pub struct SurfaceSettings {
    /// Outline told by hand.
    pub outline: Option<Outline>,
    /// Surfaces that are black all over were blackened on purpose.
    pub smudged: bool,
    /// Middle x, y and radius of a light ball told by hand, full-size pixels.
    pub ball: Option<[f64; 3]>,
}

/// One piece in the photograph.
#[derive(Debug, Clone)]
pub struct Piece {
    /// Outline polygon, full-size pixels.
    pub outline_px: Vec<[f64; 2]>,
    /// Bounding box in map pixels: x0, y0, x1, y1 (past the end).
    pub bounds: [usize; 4],
    /// Area in map pixels.
    pub area: usize,
    /// Map pixels of fire clouds that may as well be shade. Told by `light::settle`.
    pub doubtful_cloud: usize,
    /// Remarks on this piece for the record: (code, text).
    pub warnings: Vec<(String, String)>,
}

/// Labels and relative light, at the size of the corrected picture.
#[derive(Debug, Clone)]
pub struct SurfaceMap {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Full-size pixels per map pixel.
    pub factor: usize,
    /// A label a pixel.
    pub labels: Vec<Label>,
    /// Number of the piece a pixel belongs to, 1 the largest, 0 none.
    pub piece_of: Vec<u8>,
    /// Light on each place of a piece as a share of the light on its brightest part (smooth; 1.0 off the
    /// piece). As found with the labels, 1.0 is the 95th percentile; `light::settle` puts the fitted shading in
    /// its place, where 1.0 is the mean of the anchored part.
    pub light: Vec<f32>,
    /// Whether it was told that a surface is smudged on purpose.
    pub smudged: bool,
    /// The pieces, the largest first.
    pub pieces: Vec<Piece>,
    /// Remarks on the picture for the records of all pieces: (code, text).
    pub warnings: Vec<(String, String)>,
}

impl SurfaceMap {
    /// Indices of every `step`th pixel both ways in the box of a piece, row by row.
    pub(crate) fn places(&self, piece: &Piece, step: usize) -> impl Iterator<Item = usize> + Clone + use<> {
        let ([x0, y0, x1, y1], width) = (piece.bounds, self.width);
        (y0..y1).step_by(step).flat_map(move |y| (y * width + x0..y * width + x1).step_by(step))
    }
}

/// Maps the surfaces of all pieces in the picture.
///
/// # Errors
/// [`SurfaceError::NoPiece`] where nothing stands out, [`SurfaceError::TooSmall`] where only small things do,
/// [`SurfaceError::NotPottery`] where nearly all of what stands out has colours of no pottery, and
/// [`SurfaceError::EmptyOutline`] where an outline told by hand holds next to nothing of the picture.
pub fn map_surfaces(
    image: &CorrectedImage,
    card: &CardReading,
    settings: &SurfaceSettings,
) -> Result<SurfaceMap, SurfaceError> {
    let (w, h) = (image.width, image.height);
    let scale = 1.0 / image.factor as f64;
    let place = card.place.iter().flat_map(|place| place.frame_px);
    let frame: Vec<[f64; 2]> = place.map(|p| p.map(|v| v * scale)).collect();
    let search = |window| Search { image, card: frame.clone(), window }.run();
    let mut found = match &settings.outline {
        Some(Outline::Polygon(corners)) => {
            let corners: Vec<[f64; 2]> = corners.iter().map(|p| [p[0] * scale, p[1] * scale]).collect();
            let blob = Blob::of_polygon(&corners, w, h).filter(|b| b.area >= LEAST_PIXELS);
            Found { pieces: vec![blob.ok_or(SurfaceError::EmptyOutline)?], ..Found::default() }
        }
        Some(Outline::Box(told)) => {
            search(Some(window_of(told.map(|v| v * scale), w, h).ok_or(SurfaceError::EmptyOutline)?))
        }
        None => search(None),
    };
    if let Some(told) = settings.ball {
        take_out_ball(&mut found, told.map(|v| v * scale), [w, h]);
    }
    if found.pieces.is_empty() {
        return Err(match found.small {
            0 => SurfaceError::NoPiece,
            things => SurfaceError::TooSmall { things },
        });
    }
    let told = settings.outline.is_some();
    let looked_at = found.pieces.into_iter().map(|blob| (strange(image, &blob), blob));
    let (pieces, others): (Vec<_>, Vec<_>) =
        looked_at.partition(|(strange, _)| told || !remarks::is_other(*strange));
    if pieces.is_empty() {
        return Err(SurfaceError::NotPottery);
    }
    let mut map = SurfaceMap {
        width: w,
        height: h,
        factor: image.factor,
        labels: vec![Label::Background; w * h],
        piece_of: vec![0; w * h],
        light: vec![1.0; w * h],
        smudged: settings.smudged,
        pieces: Vec::new(),
        warnings: Vec::new(),
    };
    for (label, _) in map.labels.iter_mut().zip(polygon_mask(&frame, w, h)).filter(|(_, in_card)| *in_card) {
        *label = Label::Card;
    }
    for ball in &found.balls {
        each_pixel(ball, w, |_, j| map.labels[j] = Label::Ball);
    }
    map.warnings.extend(remarks::pattern(found.pattern));
    map.warnings.extend(remarks::hands(found.hands));
    map.warnings.extend(remarks::small(found.small, pieces.len()));
    map.warnings.extend(remarks::others(others.len()));
    for (strange, blob) in &pieces {
        let surfaces = map_piece(image, blob);
        let outline_px = outline(blob, image.factor);
        let warnings = remarks::piece(image, blob, *strange);
        map.pieces.push(Piece {
            outline_px,
            bounds: blob.bounds,
            area: blob.area,
            doubtful_cloud: 0,
            warnings,
        });
        let number = map.pieces.len() as u8;
        each_pixel(blob, w, |i, j| {
            map.labels[j] = surfaces.labels[i];
            map.light[j] = surfaces.light[i];
            map.piece_of[j] = number;
        });
    }
    Ok(map)
}

/// Puts a ball told by hand, in map pixels, in the place of those found, and takes it out of the pieces.
fn take_out_ball(found: &mut Found, [x, y, radius]: [f64; 3], [w, h]: [usize; 2]) {
    let is_in = |px: usize, py: usize| (px as f64 + 0.5 - x).hypot(py as f64 + 0.5 - y) <= radius;
    for blob in &mut found.pieces {
        let [x0, y0, x1, _] = blob.bounds;
        let width = x1 - x0;
        for (i, own) in blob.mask.iter_mut().enumerate() {
            if *own && is_in(x0 + i % width, y0 + i / width) {
                *own = false;
                blob.area -= 1;
            }
        }
    }
    found.pieces.retain(|blob| blob.area >= LEAST_PIXELS);
    found.balls = Blob::of_circle([x, y, radius], w, h).into_iter().collect();
}

/// Calls with the place of each pixel of a blob in its own box and in the picture.
fn each_pixel(blob: &Blob, width: usize, mut call: impl FnMut(usize, usize)) {
    let [x0, y0, x1, _] = blob.bounds;
    let w = x1 - x0;
    for (y, line) in blob.mask.chunks_exact(w).enumerate() {
        for (x, _) in line.iter().enumerate().filter(|(_, own)| **own) {
            call(y * w + x, (y0 + y) * width + x0 + x);
        }
    }
}

/// Fewest pixels of an outline told by hand.
const LEAST_PIXELS: usize = 100;

/// A box in map pixels, cut to the picture; `None` where too little is left.
fn window_of([x, y, bw, bh]: [f64; 4], w: usize, h: usize) -> Option<[usize; 4]> {
    let cut = |v: f64, n: usize| v.clamp(0.0, n as f64).round() as usize;
    let window = [cut(x, w), cut(y, h), cut(x + bw, w), cut(y + bh, h)];
    let area = window[2].saturating_sub(window[0]) * window[3].saturating_sub(window[1]);
    (area >= LEAST_PIXELS).then_some(window)
}
