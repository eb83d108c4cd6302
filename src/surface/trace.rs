//! The outline of a mask as a polygon.

use super::refine::Blob;
use image::{GrayImage, Luma};
use imageproc::contours::{BorderType, find_contours};
use imageproc::geometry::approximate_polygon_dp;

/// Corners may lie this far off the mask's edge, map pixels.
const TOLERANCE: f64 = 0.8;

/// The outer outline of a blob, full-size pixels; the longest where there are several.
pub(super) fn outline(blob: &Blob, factor: usize) -> Vec<[f64; 2]> {
    let [x0, y0, x1, y1] = blob.bounds;
    let (w, h) = (x1 - x0, y1 - y0);
    // A rim of one pixel keeps outlines off the picture's edge.
    let picture = GrayImage::from_fn(w as u32 + 2, h as u32 + 2, |x, y| {
        let (x, y) = (x as usize, y as usize);
        let own = x > 0 && y > 0 && x <= w && y <= h && blob.mask[(y - 1) * w + x - 1];
        Luma([if own { 255 } else { 0 }])
    });
    let longest = find_contours::<i32>(&picture)
        .into_iter()
        .filter(|c| c.border_type == BorderType::Outer)
        .max_by_key(|c| c.points.len());
    let Some(contour) = longest else { return Vec::new() };
    let points = if contour.points.len() > 8 {
        approximate_polygon_dp(&contour.points, TOLERANCE, true)
    } else {
        contour.points
    };
    // Contour points are pixels; their centres stand for them.
    let place = |v: i32, from: usize| (f64::from(v - 1) + from as f64 + 0.5) * factor as f64;
    points.iter().map(|p| [place(p.x, x0), place(p.y, y0)]).collect()
}
