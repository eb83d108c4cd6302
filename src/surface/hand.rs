//! A hand that holds the piece or lies beside it: skin that reaches in from the edge of the photograph.

use super::grid::{Grid, Tint};

/// Hues of skin, degrees, and its chroma in L* 50 units.
///
/// Skin lies near L* 35 to 70, a* 5 to 18, b* 8 to 23 (Xiao et al. 2017, "Characterising the variations in ethnic skin
/// colours", Skin Research and Technology 23(1); the skins of ISO 17321-1), brought to L* 50.
const HUES: (f64, f64) = (35.0, 75.0);
const CHROMAS: (f64, f64) = (9.0, 32.0);
/// In darker places noise rules the tint.
const LIT: f32 = 15.0;
/// A hand is of one tint: the farthest from its mean, L* 50 units.
const ONE_TINT: f64 = 7.0;
/// Fewer cells are a fleck on the edge.
const LEAST_CELLS: usize = 30;

fn is_skin(tint: Tint) -> bool {
    let (a, b) = (f64::from(tint.a), f64::from(tint.b));
    let (hue, chroma) = (b.atan2(a).to_degrees(), a.hypot(b));
    tint.l > LIT && hue > HUES.0 && hue < HUES.1 && chroma > CHROMAS.0 && chroma < CHROMAS.1
}

/// Takes hands out of what stands out: cells of one skin tint that hang together with the edge of the picture. Bare
/// clay looks the same, so all is kept where anything else touches the edge, or where little but skin is there. How
/// many were taken out.
pub(super) fn take_out_hands(grid: &Grid, inside: &mut [bool]) -> usize {
    let (w, h) = (grid.width, grid.height);
    let at_edge = |i: usize| i.is_multiple_of(w) || i % w + 1 == w || i < w || i + w >= w * h;
    let mut seen = vec![false; w * h];
    let mut hands: Vec<Vec<usize>> = Vec::new();
    for start in (0..w * h).filter(|&i| at_edge(i)) {
        if seen[start] || !inside[start] || !is_skin(grid.tint[start]) {
            continue;
        }
        let mut hand = Vec::new();
        let mut sum = [0f64; 2];
        let mut stack = vec![start];
        seen[start] = true;
        while let Some(i) = stack.pop() {
            hand.push(i);
            (sum[0], sum[1]) = (sum[0] + f64::from(grid.tint[i].a), sum[1] + f64::from(grid.tint[i].b));
            let mean = sum.map(|s| s / hand.len() as f64);
            let x = i % w;
            let next = [
                (x > 0).then(|| i - 1),
                (x + 1 < w).then_some(i + 1),
                i.checked_sub(w),
                (i + w < w * h).then_some(i + w),
            ];
            for j in next.into_iter().flatten() {
                let tint = grid.tint[j];
                let near = (f64::from(tint.a) - mean[0]).hypot(f64::from(tint.b) - mean[1]) < ONE_TINT;
                if inside[j] && !seen[j] && near && is_skin(tint) {
                    seen[j] = true;
                    stack.push(j);
                }
            }
        }
        if hand.len() >= LEAST_CELLS {
            hands.push(hand);
        }
    }
    let skin: usize = hands.iter().map(Vec::len).sum();
    let all = inside.iter().filter(|&&m| m).count();
    let mut left = inside.to_vec();
    hands.iter().flatten().for_each(|&i| left[i] = false);
    let touching = (0..w * h).filter(|&i| at_edge(i) && left[i]).count();
    if hands.is_empty() || touching > 0 || all - skin < all / 5 {
        return 0;
    }
    inside.copy_from_slice(&left);
    hands.len()
}
