//! The paint, stroke by stroke: painted places that touch are one stroke.

use super::paint::Survival;
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
    let laid = survival.fates.iter().enumerate().filter_map(|(i, fate)| Some((i, fate.of_paint()?)));
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
    for (i, kind) in laid {
        let at = [i % width, i / width];
        let number = numbers.get_pixel((at[0] - x0) as u32, (at[1] - y0) as u32).0[0] as usize;
        counts[number - 1][kind] += 1;
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

#[cfg(test)]
mod tests {
    use super::super::paint::Fate;
    use super::*;

    /// Fates drawn as rectangles: x0, y0, x1, y1, the last two beyond.
    fn drawn([width, height]: [usize; 2], boxes: &[([usize; 4], Fate)]) -> Survival {
        let mut fates = vec![Fate::None; width * height];
        for &([x0, y0, x1, y1], fate) in boxes {
            (y0..y1).for_each(|y| fates[y * width + x0..y * width + x1].fill(fate));
        }
        let laid = fates.iter().filter(|fate| **fate != Fate::None).count();
        let left = vec![0.0; fates.len()];
        let [kept, thinned, lost, seen_before, doubtful, moved] = [0.0; 6];
        Survival { laid, kept, thinned, lost, seen_before, fates, left, doubtful, moved }
    }

    /// Counted by hand: two boxes that touch by a corner are one stroke; two that share a side, a bare column away, another;
    /// three specks are counted.
    #[test]
    fn strokes_touch_or_do_not() {
        let survival = drawn(
            [60, 40],
            &[
                ([30, 5, 40, 11], Fate::Kept),
                ([40, 11, 50, 17], Fate::Lost),
                ([51, 5, 57, 13], Fate::Thinned),
                ([51, 13, 57, 15], Fate::Lost),
                ([2, 30, 8, 36], Fate::Kept),
                ([20, 30, 33, 33], Fate::Kept),
                ([20, 36, 28, 40], Fate::Lost),
            ],
        );
        let (strokes, small) = strokes(&survival, 60);
        assert_eq!(small, 3);
        let told: Vec<_> = strokes.iter().map(|stroke| (stroke.bounds, stroke.area)).collect();
        assert_eq!(told, [([30, 5, 50, 17], 120), ([51, 5, 57, 15], 60)]);
        let shares: Vec<_> = strokes.iter().map(|s| [s.kept, s.thinned, s.lost]).collect();
        assert_eq!(shares, [[0.5, 0.0, 0.5], [0.0, 0.8, 0.2]]);
    }

    /// The least stroke has 40 pixels, and a 500th of the paint laid where that is more.
    #[test]
    fn small_strokes_are_counted() {
        let told = |boxes: &[([usize; 4], Fate)]| {
            let (strokes, small) = strokes(&drawn([300, 300], boxes), 300);
            (strokes.iter().map(|stroke| stroke.area).collect::<Vec<_>>(), small)
        };
        assert_eq!(told(&[]), (vec![], 0));
        let [of_39, of_40] = [([0, 0, 13, 3], Fate::Kept), ([20, 0, 30, 4], Fate::Lost)];
        assert_eq!(told(&[of_39, of_40]), (vec![40], 1));
        // A field of 40,000 asks for 80.
        let wide = ([0, 50, 200, 250], Fate::Kept);
        assert_eq!(told(&[of_40, wide, ([50, 0, 59, 9], Fate::Lost)]), (vec![40_000, 81], 1));
    }

    /// Of one size: the one that begins further left first, whichever is met first.
    #[test]
    fn the_order_is_told() {
        let boxes =
            [([30, 0, 40, 5], Fate::Lost), ([3, 20, 13, 25], Fate::Kept), ([20, 30, 31, 35], Fate::Kept)];
        let (strokes, _) = strokes(&drawn([60, 40], &boxes), 60);
        let first: Vec<usize> = strokes.iter().map(|stroke| stroke.bounds[0]).collect();
        assert_eq!(first, [20, 3, 30]);
    }
}
