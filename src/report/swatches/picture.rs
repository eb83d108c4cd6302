//! The grid of swatches over the photograph, each with its row and column.

use super::super::bitmap_text::draw_outlined;
use super::super::overlay::{CHALK, INK, stroke};
use crate::reading::Swatch;
use image::RgbImage;

/// The swatches drawn over the [`corrected_picture`](crate::report::corrected_picture) of a photograph `width_px` wide at
/// full size. Those that are not read are crossed out.
pub fn swatch_picture(corrected: &RgbImage, width_px: usize, swatches: &[Swatch]) -> RgbImage {
    let mut picture = corrected.clone();
    if width_px == 0 {
        return picture;
    }
    let scale = f64::from(picture.width()) / width_px as f64;
    let line = f64::from((picture.width().max(picture.height()) / 800).max(1));
    for swatch in swatches {
        stroke(&mut picture, &swatch.quad_px, scale, line, CHALK);
        let [a, b, c, d] = swatch.quad_px;
        if swatch.lab.is_none() {
            stroke(&mut picture, &[a, c], scale, line, CHALK);
            stroke(&mut picture, &[b, d], scale, line, CHALK);
        }
        let middle = [0, 1].map(|k| scale * swatch.quad_px.iter().map(|p| p[k]).sum::<f64>() / 4.0);
        let text = format!("{}.{}", swatch.row, swatch.column);
        draw_outlined(&mut picture, &text, middle, 2, [CHALK, INK]);
    }
    picture
}
