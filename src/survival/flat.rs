//! The field of a flat piece: a projective map, fitted to what patches say.

use super::field::{Field, Pull};
use nalgebra::{SMatrix, SVector};

/// Rounds in which pulls that do not fit lose weight.
const ROUNDS: usize = 8;

/// The projective map of one plane onto another that follows the pulls best, as a field: least squares of what the pulls
/// hold, linear in the map's eight numbers (Hartley & Zisserman 2004, eq. 4.3), re-weighted (Cauchy), `loose` being the
/// residual that halves a pull's weight, pixels of `scale` to a piece unit. `None` where the pulls bear no solution.
pub(super) fn flattened(field: &Field, pulls: &[Option<Pull>], scale: f64, loose: f64) -> Option<Field> {
    let places: Vec<([f64; 2], [f64; 2], [f64; 3])> = pulls
        .iter()
        .enumerate()
        .filter_map(|(i, pull)| {
            let (node, pull) = (field.node(i), (*pull)?);
            let to = field.at([0, 1].map(|c| node[c] + pull.shift[c] / scale));
            Some((node, to, pull.hold))
        })
        .collect();
    let mut weights = vec![1f64; places.len()];
    let mut map = None;
    for _ in 0..ROUNDS {
        let solved = solve(&places, &weights)?;
        for (weight, (place, to, _)) in weights.iter_mut().zip(&places) {
            let got = apply(&solved, *place);
            let off = (got[0] - to[0]).hypot(got[1] - to[1]) * scale;
            *weight = 1.0 / (1.0 + (off / loose).powi(2));
        }
        map = Some(solved);
    }
    let map = map?;
    let to = (0..field.to.len()).map(|i| apply(&map, field.node(i))).collect();
    Some(field.sent(to))
}

type Map = SVector<f64, 8>;

fn apply(h: &Map, [x, y]: [f64; 2]) -> [f64; 2] {
    let under = h[6] * x + h[7] * y + 1.0;
    [(h[0] * x + h[1] * y + h[2]) / under, (h[3] * x + h[4] * y + h[5]) / under]
}

fn solve(places: &[([f64; 2], [f64; 2], [f64; 3])], weights: &[f64]) -> Option<Map> {
    let (mut left, mut right) = (SMatrix::<f64, 8, 8>::zeros(), Map::zeros());
    for (([x, y], [u, v], hold), weight) in places.iter().zip(weights) {
        let rows = [
            Map::from([*x, *y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y]),
            Map::from([0.0, 0.0, 0.0, *x, *y, 1.0, -v * x, -v * y]),
        ];
        let [xx, xy, yy] = hold.map(|h| h * weight);
        for (one, other, hold) in [(0, 0, xx), (0, 1, xy), (1, 0, xy), (1, 1, yy)] {
            left += hold * rows[one] * rows[other].transpose();
            right += hold * [u, v][other] * rows[one];
        }
    }
    left.cholesky().map(|solved| solved.solve(&right))
}
