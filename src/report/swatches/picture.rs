//! The grid of swatches over the photograph, each with its row and column.

use super::super::bitmap_text::{draw_text, text_width};
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
        let dot = 2;
        let [x, y] =
            [middle[0] - f64::from(text_width(&text, dot)) / 2.0, middle[1] - f64::from(7 * dot) / 2.0];
        if x >= 1.0 && y >= 1.0 {
            // Dark about light, so that it reads on white slip and on black paint.
            for (dx, dy) in [(-1.0, 0.0), (1.0, 0.0), (0.0, -1.0), (0.0, 1.0)] {
                draw_text(&mut picture, &text, (x + dx) as u32, (y + dy) as u32, dot, INK);
            }
            draw_text(&mut picture, &text, x as u32, y as u32, dot, CHALK);
        }
    }
    picture
}
