//! Contrast by light that adds, and edges.

use super::*;

/// Lightness of slip and of its soundest paint.
const SLIP: f64 = 80.0;
const PAINT: f64 = 30.0;
/// Share of the light of slip that such paint gives back: Y 0.0623 under L* 30 and 0.5668 under L* 80 (CIE 15:2018,
/// eq. 8.3).
const DARK: f32 = 0.0623 / 0.5668;

/// L* 55 lies half way: Y 0.2296.
#[test]
fn contrast_is_a_share_of_lightness() {
    for (light, share) in [(1.0, 0.0), (0.2296 / 0.5668, 0.5), (DARK, 1.0)] {
        assert!((contrast(SLIP, PAINT, light) - share).abs() < 1e-3, "{light}");
    }
}

#[test]
fn fates_begin_where_they_are_said_to() {
    let told = [
        (1.2, Fate::Kept),
        (0.75, Fate::Kept),
        (0.749, Fate::Thinned),
        (0.5, Fate::Thinned),
        (0.499, Fate::Lost),
        (-0.3, Fate::Lost),
    ];
    for (share, fate) in told {
        assert_eq!(Fate::of_share(share), fate, "{share}");
    }
    let kinds = [Fate::Kept, Fate::Thinned, Fate::Lost, Fate::Bare, Fate::None].map(Fate::of_paint);
    assert_eq!(kinds, [Some(0), Some(1), Some(2), None, None]);
}

/// The two outermost places of a stroke take after the paint inside; a line with nothing inside keeps its own.
#[test]
fn edges_take_after_the_inside() {
    let (width, height) = (40, 30);
    let laid: Vec<bool> = (0..width * height)
        .map(|i| {
            let (x, y) = (i % width, i / width);
            ((5..17).contains(&x) && (5..25).contains(&y)) || (30..33).contains(&x)
        })
        .collect();
    let inside = |x: usize, y: usize| (7..15).contains(&x) && (7..23).contains(&y);
    let shares: Vec<f32> = (0..width * height)
        .map(|i| match (i % width, i / width) {
            (x, y) if inside(x, y) => 0.9,
            (30..33, _) => 0.35,
            _ if laid[i] => 0.2,
            _ => 0.0,
        })
        .collect();
    let found = from_inside(&shares, &laid, width);
    for i in (0..width * height).filter(|&i| laid[i]) {
        let want = if i % width < 20 { 0.9 } else { 0.35 };
        assert!((found[i] - want).abs() < 1e-3, "{} at {}, {}", found[i], i % width, i / width);
    }
}

/// A rim of lost paint two pixels wide about kept paint is kept; lost paint three pixels wide is lost, and so is a speck inside a
/// stroke and a line of two that touches no paint that reads.
#[test]
fn slivers_of_lost_paint_are_edges() {
    let (width, height) = (40, 30);
    let at = |x: usize, y: usize| y * width + x;
    let mut shares = vec![0f32; width * height];
    let mut laid = vec![false; width * height];
    let mut fill = |[x0, y0, x1, y1]: [usize; 4], share: f32| {
        for i in (y0..y1).flat_map(|y| (x0..x1).map(move |x| at(x, y))) {
            (shares[i], laid[i]) = (share, true);
        }
    };
    fill([3, 3, 20, 20], 0.9);
    // Rim of two, patch of three, speck of one.
    fill([3, 18, 20, 20], 0.1);
    fill([5, 5, 8, 8], 0.1);
    fill([14, 6, 15, 7], 0.1);
    fill([30, 3, 32, 20], 0.1);
    let found = without_slivers(&shares, &laid, width);
    let lost = (0..width * height).filter(|&i| laid[i] && found[i] < LOST_BELOW).count();
    assert_eq!(lost, 9 + 1 + 2 * 17);
    assert!([at(10, 18), at(10, 19)].into_iter().all(|i| (found[i] - 0.9).abs() < 1e-6));
    assert!((0..width * height).filter(|&i| !laid[i]).all(|i| found[i] == shares[i]));
}
