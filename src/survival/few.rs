//! The field of a piece of few bends: a projective map of a flat one, polynomials of the second degree for a curved sherd,
//! fitted to what patches say.

use super::field::{Field, Pull, Told};
use nalgebra::{SMatrix, SVector};

/// Rounds in which pulls that do not fit lose weight.
const ROUNDS: usize = 8;
/// What is told of a number and of none before it, least share of all that is told of it: less is rounding, and the number hangs
/// in the air.
const LEAST_OWN: f64 = 1e-12;

/// The fields that have few numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// One plane onto another: a projective map, linear in its eight numbers (Hartley & Zisserman 2004, eq. 4.3).
    Flat,
    /// A wall that is curved a little, seen from elsewhere: the same with squares above the line, fourteen numbers.
    Curved,
}

/// The field of a form that follows the pulls best: least squares of what the pulls hold, re-weighted (Cauchy), `loose` being
/// the residual that halves a pull's weight, pixels of `scale` to a piece unit. `None` where the pulls bear no solution.
pub(super) fn fitted(
    form: Form,
    field: &Field,
    pulls: &[Option<Pull>],
    scale: f64,
    loose: f64,
) -> Option<Field> {
    match form {
        Form::Flat => follow(field, pulls, scale, loose, plane_rows, through_plane),
        Form::Curved => follow(field, pulls, scale, loose, curved_rows, through_curved),
    }
}

/// For each of the two coordinates: what its value is made from, and the value.
type Rows<const N: usize> = [(SVector<f64, N>, f64); 2];

fn follow<const N: usize>(
    field: &Field,
    pulls: &[Option<Pull>],
    scale: f64,
    loose: f64,
    rows: impl Fn([f64; 2], [f64; 2]) -> Rows<N>,
    through: impl Fn(&SVector<f64, N>, [f64; 2]) -> [f64; 2],
) -> Option<Field> {
    let told = field.told(pulls, scale);
    let mut weights = vec![1f64; told.len()];
    let mut numbers = None;
    for _ in 0..ROUNDS {
        let solved = solve(&told, &weights, &rows)?;
        for (weight, (place, to, _)) in weights.iter_mut().zip(&told) {
            let got = through(&solved, *place);
            let off = (got[0] - to[0]).hypot(got[1] - to[1]) * scale;
            *weight = 1.0 / (1.0 + (off / loose).powi(2));
        }
        numbers = Some(solved);
    }
    let numbers = numbers?;
    let to = (0..field.to.len()).map(|i| through(&numbers, field.node(i))).collect();
    Some(field.sent(to))
}

fn solve<const N: usize>(
    told: &[Told],
    weights: &[f64],
    rows: &impl Fn([f64; 2], [f64; 2]) -> Rows<N>,
) -> Option<SVector<f64, N>> {
    let (mut left, mut right) = (SMatrix::<f64, N, N>::zeros(), SVector::<f64, N>::zeros());
    for ((place, to, hold), weight) in told.iter().zip(weights) {
        let rows = rows(*place, *to);
        let [xx, xy, yy] = hold.map(|h| h * weight);
        for (one, other, hold) in [(0, 0, xx), (0, 1, xy), (1, 0, xy), (1, 1, yy)] {
            left += hold * rows[one].0 * rows[other].0.transpose();
            right += hold * rows[other].1 * rows[one].0;
        }
    }
    let solved = left.cholesky()?;
    let is_told = (0..N).all(|i| solved.l_dirty()[(i, i)].powi(2) > LEAST_OWN * left[(i, i)]);
    is_told.then(|| solved.solve(&right))
}

fn plane_rows([x, y]: [f64; 2], [u, v]: [f64; 2]) -> Rows<8> {
    [
        (SVector::from([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y]), u),
        (SVector::from([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y]), v),
    ]
}

fn through_plane(h: &SVector<f64, 8>, [x, y]: [f64; 2]) -> [f64; 2] {
    let under = h[6] * x + h[7] * y + 1.0;
    [(h[0] * x + h[1] * y + h[2]) / under, (h[3] * x + h[4] * y + h[5]) / under]
}

fn powers([x, y]: [f64; 2]) -> [f64; 6] {
    [1.0, x, y, x * x, x * y, y * y]
}

fn curved_rows(place: [f64; 2], to: [f64; 2]) -> Rows<14> {
    let powers = powers(place);
    let row = |axis: usize| {
        SVector::from_fn(|i, _| match i {
            12 | 13 => -to[axis] * place[i - 12],
            _ if i / 6 == axis => powers[i % 6],
            _ => 0.0,
        })
    };
    [(row(0), to[0]), (row(1), to[1])]
}

fn through_curved(c: &SVector<f64, 14>, place: [f64; 2]) -> [f64; 2] {
    let powers = powers(place);
    let under = c[12] * place[0] + c[13] * place[1] + 1.0;
    [0, 6].map(|from| (0..6).map(|i| c[from + i] * powers[i]).sum::<f64>() / under)
}

#[cfg(test)]
mod tests {
    use super::super::drawn::{at_rest, pulls};
    use super::*;

    const SCALE: f64 = 192.0;
    const BOX: [f64; 4] = [-0.6, -0.45, 0.6, 0.45];

    /// A turned and slanted plane (Hartley & Zisserman 2004, eq. 2.6).
    fn slanted([x, y]: [f64; 2]) -> [f64; 2] {
        let under = 1.0 + 0.12 * x - 0.2 * y;
        [(0.9 * x - 0.31 * y + 0.05) / under, (0.28 * x + 0.95 * y - 0.03) / under]
    }

    /// The same with squares above the line.
    fn bulged([x, y]: [f64; 2]) -> [f64; 2] {
        let under = 1.0 + 0.12 * x - 0.2 * y;
        [
            (0.9 * x - 0.31 * y + 0.05 + 0.08 * x * x - 0.05 * x * y + 0.02 * y * y) / under,
            (0.28 * x + 0.95 * y - 0.03 - 0.04 * x * x + 0.06 * x * y + 0.09 * y * y) / under,
        ]
    }

    /// How far the fitted field lies off a map at worst, pixels.
    fn off(form: Form, wild: Option<usize>, map: impl Fn([f64; 2]) -> [f64; 2]) -> f64 {
        let field = at_rest(BOX);
        let pulls = pulls(&field, SCALE, wild, |node| Some(map(node)));
        let found = fitted(form, &field, &pulls, SCALE, 0.7).expect("enough pulls");
        let off = |i: usize| {
            let (got, want) = (found.to[i], map(field.node(i)));
            (got[0] - want[0]).hypot(got[1] - want[1]) * SCALE
        };
        (0..found.to.len()).map(off).fold(0.0, f64::max)
    }

    #[test]
    fn planted_maps_come_back() {
        assert!(off(Form::Flat, None, slanted) < 1e-6 * SCALE);
        assert!(off(Form::Curved, None, slanted) < 1e-6 * SCALE);
        assert!(off(Form::Curved, None, bulged) < 1e-6 * SCALE);
        // The bulge is no projective map: what is fitted is its own form.
        assert!(off(Form::Flat, None, bulged) > 1.0);
    }

    /// One pull in ten goes astray by a dozen pixels: the field stays within a tenth of a pixel.
    #[test]
    fn wild_pulls_do_not_matter() {
        for (form, map) in [(Form::Flat, slanted as fn([f64; 2]) -> [f64; 2]), (Form::Curved, bulged)] {
            let off = off(form, Some(10), map);
            assert!(off < 0.1, "{form:?}: {off}");
        }
    }

    /// Eight numbers need four places, no three in a line; fourteen need seven.
    #[test]
    fn too_few_pulls_bear_no_field() {
        let field = at_rest(BOX);
        let all = pulls(&field, SCALE, None, |node| Some(slanted(node)));
        let of = |form: Form, nodes: &[usize]| {
            let mut few = vec![None; all.len()];
            nodes.iter().for_each(|&i| few[i] = all[i]);
            fitted(form, &field, &few, SCALE, 0.7).is_some()
        };
        let columns = field.columns;
        let corners =
            [columns + 1, 2 * columns - 2, (field.rows - 2) * columns + 1, (field.rows - 1) * columns - 2];
        assert!(of(Form::Flat, &corners));
        for start in 0..40 {
            let spread: Vec<usize> = (0..6).map(|k| (start * 11 + k * 97 + k * k * 13) % all.len()).collect();
            assert!(!of(Form::Flat, &spread[..3]), "{spread:?}");
            assert!(!of(Form::Curved, &spread), "{spread:?}");
            let line: Vec<usize> = (0..columns).map(|x| (start % field.rows) * columns + x).collect();
            assert!(!of(Form::Flat, &line), "row {start}");
        }
        assert!(!of(Form::Flat, &[]));
    }
}
