//! Differences of all surfaces at once: one vector with its covariance.
//!
//! The surfaces of two shots share the doubt about the light, so that each tells of the others. Taken for the same, all
//! but one surface predict what the light does to that one (the mean and covariance of a Gaussian vector given a part of
//! it: Anderson 2003, An Introduction to Multivariate Statistical Analysis, 2.5.1, which is generalised least squares);
//! what is left is the surface's own difference. One that is not the same would spoil the prediction of the others, so the
//! surest is taken out first and the rest is looked at again (data snooping: Baarda 1968, A testing procedure for use in
//! geodetic networks).

use crate::verdict::family::{LEVEL, chi_square_exceeds};
use nalgebra::{DMatrix, DVector};

/// Differences of several surfaces, `size` numbers each (3 for L*, a*, b*; 1 for a logarithm of reflectance).
pub(super) struct Differences {
    pub size: usize,
    pub values: DVector<f64>,
    pub covariance: DMatrix<f64>,
}

/// One surface's own difference, the others taken for the same.
#[derive(Clone)]
pub(super) struct Own {
    pub value: DVector<f64>,
    pub covariance: DMatrix<f64>,
    /// Chance of so large a difference where there is none.
    pub p: f64,
}

impl Differences {
    pub fn count(&self) -> usize {
        self.values.len() / self.size
    }

    fn rows(&self, surfaces: &[usize]) -> Vec<usize> {
        surfaces.iter().flat_map(|k| k * self.size..(k + 1) * self.size).collect()
    }

    fn part(&self, surfaces: &[usize]) -> (DVector<f64>, DMatrix<f64>) {
        let rows = self.rows(surfaces);
        (self.values.select_rows(&rows), self.covariance.select_rows(&rows).select_columns(&rows))
    }

    /// The difference of one surface as it stands.
    pub fn plain(&self, surface: usize) -> Own {
        let (value, covariance) = self.part(&[surface]);
        Own::new(value, covariance)
    }

    /// The difference of one surface with the others (never itself) taken for the same. As it stands where the
    /// covariance cannot be solved for.
    pub fn given(&self, surface: usize, others: &[usize]) -> Own {
        let plain = self.plain(surface);
        if others.is_empty() {
            return plain;
        }
        let (seen, among) = self.part(others);
        let rows = self.covariance.select_rows(&self.rows(&[surface]));
        let across = rows.select_columns(&self.rows(others));
        let Some(solved) = among.cholesky() else { return plain };
        let value = &plain.value - &across * solved.solve(&seen);
        let covariance = &plain.covariance - &across * solved.solve(&across.transpose());
        Own::new(value, covariance)
    }

    /// Which surfaces are taken for the same in the end, and the own difference of each surface against those of them
    /// that it is not.
    pub fn snooped(&self) -> (Vec<usize>, Vec<Own>) {
        let mut same: Vec<usize> = (0..self.count()).collect();
        let against = |surface: usize, same: &[usize]| {
            let others: Vec<usize> = same.iter().copied().filter(|k| *k != surface).collect();
            self.given(surface, &others)
        };
        loop {
            let surest =
                same.iter().map(|&k| (k, against(k, &same).p)).min_by(|one, other| one.1.total_cmp(&other.1));
            match surest {
                // Of two, nothing tells which one differs: the surer is named, and the other stays.
                Some((k, p)) if same.len() > 1 && p * same.len() as f64 <= LEVEL => same.retain(|s| *s != k),
                _ => break,
            }
        }
        let own = (0..self.count()).map(|k| against(k, &same)).collect();
        (same, own)
    }
}

impl Own {
    fn new(value: DVector<f64>, covariance: DMatrix<f64>) -> Self {
        let size = value.len();
        let p = match covariance.clone().cholesky() {
            _ if value.iter().all(|v| *v == 0.0) => 1.0,
            Some(solved) => chi_square_exceeds(value.dot(&solved.solve(&value)), size),
            // Known without doubt, and not zero.
            None => 0.0,
        };
        Self { value, covariance, p }
    }

    /// Half-width of the 95 % interval of one component.
    pub fn u95(&self, component: usize) -> f64 {
        1.96 * self.covariance[(component, component)].max(0.0).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three surfaces that share a shift of standard deviation 10, each with its own of 1.
    fn shifted(values: [f64; 3]) -> Differences {
        let covariance = DMatrix::from_fn(3, 3, |i, j| 100.0 + f64::from(u8::from(i == j)));
        Differences { size: 1, values: DVector::from_row_slice(&values), covariance }
    }

    #[test]
    fn a_common_shift_is_taken_out() {
        // By hand, two others at 12 of shift variance 100 and own variance 1 each: the shift is 12 * 200/201, its variance
        // 1 / (1/100 + 2).
        let own = shifted([12.0, 12.0, 18.0]).given(2, &[0, 1]);
        assert!((own.value[0] - (18.0 - 12.0 * 200.0 / 201.0)).abs() < 1e-9);
        assert!((own.covariance[(0, 0)] - (1.0 + 1.0 / 2.01)).abs() < 1e-9);
    }

    #[test]
    fn the_one_that_differs_is_named_and_no_other() {
        let (same, own) = shifted([12.0, 12.5, 18.0]).snooped();
        assert_eq!(same, [0, 1]);
        assert!(own[2].p < 1e-4 && own[0].p > 0.3 && own[1].p > 0.3);
        let (same, _) = shifted([12.0, 12.5, 12.2]).snooped();
        assert_eq!(same, [0, 1, 2]);
    }
}
