//! The paint, stroke by stroke: painted places that touch are one stroke.

use super::paint::{Fate, Survival};
use image::{GrayImage, Luma};
use imageproc::region_labelling::{Connectivity, connected_components};

/// A stroke has at least this share of the paint laid; smaller ones are only counted: with the piece in view as a whole
/// nobody tells a speck from an edge of its neighbour.
const LEAST_SHARE: f64 = 0.002;
/// And at least so many map pixels.
const LEAST_PIXELS: usize = 40;

/// One stroke, or several that touch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// The box about it, map pixels of the fired piece: x0, y0, x1, y1, the last two beyond it.
    pub bounds: [usize; 4],
    /// Map pixels.
    pub area: usize,
    /// Shares of it.
    pub kept: f64,
    /// Paint that reads, but pale.
    pub thinned: f64,
    /// Paint that no longer reads.
    pub lost: f64,
}

/// The strokes of a piece, the largest first, and how many are too small to be told. `width`: of the map.
pub fn strokes(survival: &Survival, width: usize) -> (Vec<Stroke>, usize) {
    let laid = survival.fates.iter().enumerate().filter(|(_, fate)| **fate != Fate::None);
    let Some([x0, y0, x1, y1]) = laid.clone().map(|(i, _)| [i % width, i / width]).fold(None, around) else {
        return (Vec::new(), 0);
    };
    let mut mask = GrayImage::new((x1 - x0) as u32, (y1 - y0) as u32);
    for (i, _) in laid.clone() {
        mask.put_pixel((i % width - x0) as u32, (i / width - y0) as u32, Luma([255]));
    }
    let numbers = connected_components(&mask, Connectivity::Eight, Luma([0]));
    let many = numbers.pixels().map(|p| p.0[0] as usize).max().unwrap_or(0);
    let mut counts = vec![[0usize; 3]; many];
    let mut boxes: Vec<Option<[usize; 4]>> = vec![None; many];
    for (i, fate) in laid {
        let at = [i % width, i / width];
        let number = numbers.get_pixel((at[0] - x0) as u32, (at[1] - y0) as u32).0[0] as usize;
        counts[number - 1][fate.as_index()] += 1;
        boxes[number - 1] = around(boxes[number - 1], at);
    }
    let least = LEAST_PIXELS.max((LEAST_SHARE * survival.laid as f64) as usize);
    let mut strokes: Vec<Stroke> = counts
        .into_iter()
        .zip(boxes)
        .filter_map(|(counts, bounds)| {
            let area: usize = counts.iter().sum();
            let [kept, thinned, lost] = counts.map(|count| count as f64 / area.max(1) as f64);
            (area >= least).then_some(Stroke { bounds: bounds?, area, kept, thinned, lost })
        })
        .collect();
    let small = many - strokes.len();
    strokes.sort_by_key(|stroke| (std::cmp::Reverse(stroke.area), stroke.bounds));
    (strokes, small)
}

/// A box made so large that it holds a pixel.
fn around(bounds: Option<[usize; 4]>, [x, y]: [usize; 2]) -> Option<[usize; 4]> {
    let [x0, y0, x1, y1] = bounds.unwrap_or([x, y, x + 1, y + 1]);
    Some([x0.min(x), y0.min(y), x1.max(x + 1), y1.max(y + 1)])
}
