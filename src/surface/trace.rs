//! The outline of a mask as a polygon.

use super::refine::Blob;
use imageproc::geometry::approximate_polygon_dp;
use imageproc::point::Point;

/// Corners may lie this far off the mask's edge, map pixels.
const TOLERANCE: f64 = 0.8;

/// The outer outline of a blob along the edges of its pixels, full-size pixels; the longest where there are several.
pub(super) fn outline(blob: &Blob, factor: usize) -> Vec<[f64; 2]> {
    let [x0, y0, x1, _] = blob.bounds;
    let corners = longest(&blob.mask, x1 - x0);
    let corners = if corners.len() > 8 { approximate_polygon_dp(&corners, TOLERANCE, true) } else { corners };
    let place = |v: i32, from: usize| (f64::from(v) + from as f64) * factor as f64;
    corners.iter().map(|p| [place(p.x, x0), place(p.y, y0)]).collect()
}

/// An outline for keeping: the steps that a slanted edge makes in pixels drawn straight, at most an eight-hundredth of
/// `side`, the picture's longer side, beside the one that is measured.
pub fn straightened(outline_px: &[[f64; 2]], side: usize) -> Vec<[f64; 2]> {
    if outline_px.len() <= 8 || side == 0 {
        return outline_px.to_vec();
    }
    let corners: Vec<Point<f64>> = outline_px.iter().map(|p| Point::new(p[0], p[1])).collect();
    approximate_polygon_dp(&corners, side as f64 / 800.0, true).iter().map(|p| [p.x, p.y]).collect()
}

/// Walks along the edges of pixels, the mask to the right hand, and gives the longest way around: its turns.
fn longest(mask: &[bool], width: usize) -> Vec<Point<i32>> {
    let height = mask.len() / width.max(1);
    let own = |x: i32, y: i32| {
        x >= 0
            && y >= 0
            && (x as usize) < width
            && (y as usize) < height
            && mask[y as usize * width + x as usize]
    };
    // Pixels whose upper edge was walked.
    let mut walked = vec![false; mask.len()];
    let (mut best, mut most) = (Vec::new(), 0);
    for i in 0..mask.len() {
        if !mask[i] || walked[i] || (i >= width && mask[i - width]) {
            continue;
        }
        let start = ((i % width) as i32, (i / width) as i32);
        let ((mut x, mut y), mut along, mut length) = (start, (1, 0), 0);
        let mut turns = Vec::new();
        loop {
            if along == (1, 0) {
                walked[y as usize * width + x as usize] = true;
            }
            (x, y) = (x + along.0, y + along.1);
            length += 1;
            // The pixels ahead, to the left and to the right of the way.
            let ((dx, dy), ahead) = (along, |side: (i32, i32)| {
                let at = |v: i32, d: i32, s: i32| v + (d + s - 1).div_euclid(2);
                own(at(x, along.0, side.0), at(y, along.1, side.1))
            });
            let next = if !ahead((-dy, dx)) {
                (-dy, dx)
            } else if ahead((dy, -dx)) {
                (dy, -dx)
            } else {
                along
            };
            if next != along {
                turns.push(Point::new(x, y));
                along = next;
            }
            if (x, y) == start && along == (1, 0) {
                break;
            }
        }
        if length > most {
            (best, most) = (turns, length);
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The area that a closed way encloses (Gauss's area formula) is the number of pixels inside it.
    #[test]
    fn the_way_around_encloses_the_pixels() {
        let drawn = ["..##....", ".####...", ".####..#", "..######", "...#....", "........"];
        let mask: Vec<bool> = drawn.iter().flat_map(|row| row.chars().map(|c| c == '#')).collect();
        let way = longest(&mask, 8);
        let area: i32 = (0..way.len())
            .map(|i| (way[i], way[(i + 1) % way.len()]))
            .map(|(p, q)| p.x * q.y - q.x * p.y)
            .sum::<i32>()
            / 2;
        assert_eq!(area as usize, mask.iter().filter(|&&m| m).count());
        assert!(way.contains(&Point::new(2, 0)) && way.contains(&Point::new(8, 4)));
    }

    #[test]
    fn holes_and_smaller_parts_are_left_out() {
        let drawn = ["#.....", "......", "..####", "..#..#", "..####"];
        let mask: Vec<bool> = drawn.iter().flat_map(|row| row.chars().map(|c| c == '#')).collect();
        let way = longest(&mask, 6);
        assert_eq!(way.len(), 4);
        assert!([(2, 2), (6, 2), (6, 5), (2, 5)].iter().all(|&(x, y)| way.contains(&Point::new(x, y))));
    }
}
