//! Mixed borders, thin paint and edges, by light that adds.

use super::*;

/// Lightness of slip and of its soundest paint.
const SLIP: f64 = 80.0;
const PAINT: f64 = 30.0;
/// Share of the light of slip that such paint gives back: Y 0.0623 under L* 30 and 0.5668 under L* 80 (CIE 15:2018,
/// eq. 8.3).
const DARK: f32 = 0.0623 / 0.5668;
const WIDTH: usize = 20;
const HEIGHT: usize = 9;

fn of(light: impl Fn(usize) -> f32, laid: impl Fn(usize) -> bool) -> Vec<f32> {
    let column = |i: usize| i % WIDTH;
    let light: Vec<f32> = (0..WIDTH * HEIGHT).map(|i| light(column(i))).collect();
    let laid: Vec<bool> = (0..WIDTH * HEIGHT).map(|i| laid(column(i))).collect();
    let shares = sharpened(&light, &laid, WIDTH, |light| contrast(SLIP, PAINT, light));
    shares[4 * WIDTH..5 * WIDTH].to_vec()
}

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

/// Kept paint left, lost paint right, one column mixed of both: it goes to what covers more of it. Lightness alone would
/// call what is covered by 70 % thinned (L* 53) and by 55 % lost (L* 60).
#[test]
fn a_mixed_border_goes_to_what_covers_more() {
    for (covered, is_kept) in [(0.7, true), (0.55, true), (0.45, false), (0.3, false)] {
        let mixed = covered * DARK + (1.0 - covered);
        let shares = of(|x| [DARK, mixed, 1.0][usize::from(x >= 10) + usize::from(x > 10)], |_| true);
        for (x, share) in shares.iter().enumerate() {
            let want = if x < 10 || (x == 10 && is_kept) { 1.0 } else { 0.0 };
            assert!((share - want).abs() < 2e-3, "{covered}: {share} in column {x}");
        }
    }
}

/// Even paint of L* 47.5 keeps 0.65 of its contrast, beside lost paint and beside slip that was never painted; what is not
/// laid has no share. A slow fall from kept to lost, with no step in it, is left as it is.
#[test]
fn thin_paint_stays_thin() {
    let thin = ((47.5f32 + 16.0) / 116.0).powi(3) / 0.5668;
    let beside_lost = of(|x| if x < 10 { thin } else { 1.0 }, |_| true);
    let beside_slip = of(|x| if x < 10 { thin } else { 1.0 }, |x| x < 10);
    for x in 0..WIDTH {
        let want = if x < 10 { 0.65 } else { 0.0 };
        assert!((beside_lost[x] - want).abs() < 2e-3, "{x}");
        assert!((beside_slip[x] - want).abs() < 2e-3, "{x}");
    }
    let fall = |x: usize| 0.9 - 0.04 * x as f32;
    let lightness = |x: usize| 80.0 - 50.0 * fall(x);
    let slow = of(|x| ((lightness(x) + 16.0) / 116.0).powi(3) / 0.5668, |_| true);
    for (x, share) in slow.iter().enumerate() {
        assert!((share - fall(x)).abs() < 2e-3, "{x}");
    }
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

/// A rim of lost paint two pixels wide about kept paint, and a speck in it, are kept; lost paint three pixels wide is lost, and so
/// is a line of two that touches no paint that reads.
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
    assert_eq!(lost, 9 + 2 * 17);
    assert!([at(10, 18), at(10, 19), at(14, 6)].into_iter().all(|i| (found[i] - 0.9).abs() < 1e-6));
    assert!((0..width * height).filter(|&i| !laid[i]).all(|i| found[i] == shares[i]));
}
