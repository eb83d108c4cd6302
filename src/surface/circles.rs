//! A light ball that does not stand out from the ground by its tint, such as white plaster on pale stone: found by its
//! round edge, with the gradient's form of the Hough transform (Kimme, Ballard & Sklansky 1975, Commun. ACM 18(2)).

use super::ball::is_ball;
use super::grid::Grid;
use super::refine::Blob;
use crate::card::CorrectedImage;

/// Radii looked for, in cells of the coarse search.
const RADII: std::ops::RangeInclusive<usize> = 4..=18;
/// Steps of L* from cell to cell that make an edge.
const EDGE: f32 = 3.0;
/// Circles that are looked at closely, the best first.
const LOOKED_AT: usize = 5;
/// Share of the circle along which there must be an edge in the coarse picture.
const ROUGHLY: f64 = 0.45;
/// Directions in which the edge is sought in the map.
const RAYS: usize = 90;
/// How far from the circle it is sought, in radii, round by round: the coarse radius may lie a third off.
const SOUGHT: [f64; 3] = [0.4, 0.2, 0.1];
/// Looks along each ray.
const LOOKS: usize = 60;
/// Edges this near to the circle, in radii, are on it; this share of them must be.
const ON_CIRCLE: f64 = 0.025;
const LEAST_ON: f64 = 0.6;
/// With less than this share on it the search is given up.
const HOPEFUL: f64 = 0.25;

/// The ball, if one lies where `is_free` holds (cells of the grid).
pub(super) fn find_ball(
    image: &CorrectedImage,
    grid: &Grid,
    is_free: impl Fn(usize) -> bool,
) -> Option<Blob> {
    let circles = circles(grid);
    circles.into_iter().filter(|c| is_free(c.cell)).take(LOOKED_AT).find_map(|circle| {
        let step = grid.step as f64;
        let middle = [circle.cell % grid.width, circle.cell / grid.width].map(|v| (v as f64 + 0.5) * step);
        let circle = refined(image, [middle[0], middle[1], circle.radius as f64 * step])?;
        Blob::of_circle(circle, image.width, image.height).filter(|blob| is_ball(image, blob))
    })
}

struct Circle {
    cell: usize,
    radius: usize,
    /// Edges on it, as a share of its length.
    score: f64,
}

/// Circles of edges, the best first.
fn circles(grid: &Grid) -> Vec<Circle> {
    let (w, h) = (grid.width, grid.height);
    let l = |x: usize, y: usize| grid.tint[y * w + x].l;
    let mut edges = Vec::new();
    for y in 1..h.saturating_sub(1) {
        for x in 1..w.saturating_sub(1) {
            let (dx, dy) = (l(x + 1, y) - l(x - 1, y), l(x, y + 1) - l(x, y - 1));
            let steep = dx.hypot(dy);
            if steep > 2.0 * EDGE {
                edges.push(([x as f32, y as f32], [dx / steep, dy / steep]));
            }
        }
    }
    let mut found: Vec<Circle> = Vec::new();
    let (mut votes, mut columns) = (vec![0u16; w * h], Vec::new());
    for radius in RADII {
        votes.fill(0);
        for ([x, y], [dx, dy]) in &edges {
            for side in [-1.0, 1.0] {
                let (cx, cy) = (x + side * radius as f32 * dx, y + side * radius as f32 * dy);
                let (cx, cy) = (cx.round(), cy.round());
                if cx >= 1.0 && cy >= 1.0 && cx < w as f32 - 1.0 && cy < h as f32 - 1.0 {
                    votes[cy as usize * w + cx as usize] += 1;
                }
            }
        }
        let around = std::f64::consts::TAU * radius as f64;
        // Votes of three by three cells: columns first.
        let least = (ROUGHLY * around) as u16;
        for y in 1..h.saturating_sub(1) {
            let line = |y: usize| votes[y * w..(y + 1) * w].iter();
            columns.clear();
            columns.extend(line(y - 1).zip(line(y)).zip(line(y + 1)).map(|((a, b), c)| a + b + c));
            // Few rows hold a circle: three columns at their highest are not enough on the others.
            if 3 * columns.iter().copied().max().unwrap_or(0) <= least {
                continue;
            }
            for (x, near) in columns.windows(3).enumerate() {
                let sum = near.iter().sum::<u16>();
                if sum > least {
                    let score = f64::from(sum) / around;
                    found.push(Circle { cell: y * w + x + 1, radius, score });
                }
            }
        }
    }
    found.sort_by(|p, q| q.score.total_cmp(&p.score).then(p.cell.cmp(&q.cell)));
    let mut kept: Vec<Circle> = Vec::new();
    for circle in found {
        let near = |other: &Circle| {
            let across = (circle.cell % w).abs_diff(other.cell % w);
            let down = (circle.cell / w).abs_diff(other.cell / w);
            across.max(down) <= other.radius / 2
        };
        if !kept.iter().any(near) {
            kept.push(circle);
        }
    }
    kept
}

/// The circle drawn to the strongest edges about it, map pixels; `None` where they do not lie on one.
fn refined(image: &CorrectedImage, mut circle: [f64; 3]) -> Option<[f64; 3]> {
    let mut on_circle = 0;
    for sought in SOUGHT {
        let edges: Vec<[f64; 2]> = (0..RAYS).filter_map(|k| edge(image, circle, sought, k)).collect();
        let mut kept = edges.clone();
        for _ in 0..4 {
            circle = through(&kept)?;
            let mut off: Vec<f64> = kept.iter().map(|p| distance(p, &circle)).collect();
            off.sort_by(f64::total_cmp);
            let limit = (2.5 * 1.4826 * off[off.len() / 2]).max(1.0);
            kept.retain(|p| distance(p, &circle) <= limit);
        }
        on_circle = edges.iter().filter(|p| distance(p, &circle) < ON_CIRCLE * circle[2]).count();
        // Each round finds the edge better; what is this far off is no circle.
        if (on_circle as f64) < HOPEFUL * RAYS as f64 {
            return None;
        }
    }
    (on_circle as f64 >= LEAST_ON * RAYS as f64).then_some(circle)
}

/// Distance of a point from a circle.
fn distance(p: &[f64; 2], [x, y, radius]: &[f64; 3]) -> f64 {
    ((p[0] - x).hypot(p[1] - y) - radius).abs()
}

/// Where luminance changes most along one ray, on a log scale.
fn edge(image: &CorrectedImage, [x, y, radius]: [f64; 3], sought: f64, number: usize) -> Option<[f64; 2]> {
    let turn = std::f64::consts::TAU * number as f64 / RAYS as f64;
    let at = |k: usize| 1.0 + sought * (2.0 * k as f64 / LOOKS as f64 - 1.0);
    let place = |share: f64| [x + share * radius * turn.cos(), y + share * radius * turn.sin()];
    let log = |share: f64| {
        let [px, py] = place(share);
        let is_in = px >= 0.0 && py >= 0.0 && px < image.width as f64 && py < image.height as f64;
        is_in.then(|| f64::from(image.xyz[py as usize * image.width + px as usize][1].max(1e-3)).ln())
    };
    let logs: Option<Vec<f64>> = (0..=LOOKS).map(|k| log(at(k))).collect();
    let logs = logs?;
    // Means of a few looks at either side: grain is no edge.
    let step = |k: usize| (logs[k - 3..k].iter().sum::<f64>() - logs[k + 1..k + 4].iter().sum::<f64>()).abs();
    let best = (3..LOOKS - 3).max_by(|&p, &q| step(p).total_cmp(&step(q)))?;
    Some(place(at(best)))
}

/// Least-squares circle: x^2 + y^2 = 2 a x + 2 b y + c (Kasa 1976, IEEE Trans. Instrum. Meas. 25).
fn through(points: &[[f64; 2]]) -> Option<[f64; 3]> {
    if points.len() < 10 {
        return None;
    }
    let n = points.len() as f64;
    let middle = [0, 1].map(|k| points.iter().map(|p| p[k]).sum::<f64>() / n);
    let (mut square, mut right) = (nalgebra::Matrix3::<f64>::zeros(), nalgebra::Vector3::<f64>::zeros());
    for p in points {
        let (x, y) = (p[0] - middle[0], p[1] - middle[1]);
        let row = nalgebra::Vector3::new(2.0 * x, 2.0 * y, 1.0);
        square += row * row.transpose();
        right += row * (x * x + y * y);
    }
    let fit = square.cholesky()?.solve(&right);
    let radius = (fit.z + fit.x * fit.x + fit.y * fit.y).max(0.0).sqrt();
    (radius > 1.0).then_some([fit.x + middle[0], fit.y + middle[1], radius])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A matte ball half in light on ground of its own tint and mean lightness: its circle comes back within a pixel.
    #[test]
    fn a_ball_on_ground_of_its_own_tint_is_found() {
        let (width, height) = (800, 600);
        let (x, y, radius) = (517.3, 241.8, 61.5);
        let light = |px: f64, py: f64| {
            let (dx, dy) = ((px - x) / radius, (py - y) / radius);
            let square = dx * dx + dy * dy;
            if square > 1.0 { 0.35 } else { 0.6 * (0.5 - 0.5 * dx + 0.5 * (1.0 - square).sqrt()).max(0.1) }
        };
        let xyz = (0..width * height)
            .map(|i| light((i % width) as f64 + 0.5, (i / width) as f64 + 0.5) as f32)
            .map(|v| [0.9642 * v, v, 0.8249 * v])
            .collect();
        let image = CorrectedImage {
            width,
            height,
            factor: 1,
            xyz,
            light: vec![[0.5; 3]; width * height],
            clipped: vec![false; width * height],
        };
        let grid = Grid::of(&image, [0, 0, width, height], 6);
        let ball = find_ball(&image, &grid, |_| true).expect("a ball");
        let [x0, y0, x1, y1] = ball.bounds.map(|v| v as f64);
        assert!(((x0 + x1) / 2.0 - x).abs() < 1.0 && ((y0 + y1) / 2.0 - y).abs() < 1.0, "{:?}", ball.bounds);
        assert!(((x1 - x0) / 2.0 - radius).abs() < 1.0, "{:?}", ball.bounds);
        assert!(find_ball(&image, &grid, |_| false).is_none());
    }
}
