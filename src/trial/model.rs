//! The additive model of a trial by least squares, and what it can tell.
//!
//! y = mean + slip + paint + coats + firing or tile + rest. Every level has a column of zeros and ones of its own, so
//! that the columns depend on each other; the answer of least length (Moore-Penrose) is taken, and a combination of effects is
//! told only where every answer gives it the same value: where it lies in the row space of the design (Searle 1971,
//! Linear Models, ch. 5: estimable functions). Sources besides: NIST/SEMATECH e-Handbook (doi 10.18434/M32189), 7.4.3.

use super::{Factor, Readings};
use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// Share of the largest reading below which a difference is one of rounding.
const ROUNDING: f64 = 1e-12;
/// Squared singular values of the design under this share of the largest count as zero. The entries of the design are
/// zeros and ones: true ones are above 1e-6 of it for any plan that fits here, rounding stays under 1e-13.
const ZERO: f64 = 1e-10;
/// The same for the length of a combination outside the row space, over its own.
const OUTSIDE: f64 = 1e-6;

/// A combination of the effects: one weight a column of the design, the mean first.
pub(super) type Combination = DVector<f64>;

/// A fitted model.
pub(super) struct Model {
    /// Factors with their first column.
    factors: Vec<(Factor, usize)>,
    effects: DVector<f64>,
    /// Mean of the readings, taken off before the fit.
    centre: f64,
    /// Orthonormal columns that span the row space.
    row_space: DMatrix<f64>,
    /// Inverse squared singular value of each.
    inverse: DVector<f64>,
    /// Sum of the squares of what is left.
    pub(super) rest: f64,
    /// Swatches with a reading.
    pub(super) count: usize,
}

impl Model {
    /// Fits the model with these factors to the swatches that have a reading.
    pub(super) fn fit(readings: &Readings, factors: &[Factor]) -> Self {
        Self::fit_crossed(readings, factors, None)
    }

    /// The same with a column of its own for every combination of levels of two factors, which are levels of no factor.
    pub(super) fn fit_crossed(readings: &Readings, factors: &[Factor], crossed: Option<[Factor; 2]>) -> Self {
        let mut width = 1;
        let mut placed = Vec::new();
        for factor in factors {
            placed.push((*factor, width));
            width += readings.levels(*factor).len();
        }
        let first_crossed = width;
        width += crossed.map_or(0, |pair| pair.map(|f| readings.levels(f).len()).iter().product());
        let read: Vec<(Vec<usize>, f64)> = readings
            .read_swatches()
            .map(|(swatch, value)| {
                let ones = placed.iter().map(|(factor, first)| first + swatch.levels[*factor as usize]);
                let both = crossed.map(|[a, b]| {
                    let level = |factor: Factor| swatch.levels[factor as usize];
                    first_crossed + level(a) * readings.levels(b).len() + level(b)
                });
                (std::iter::once(0).chain(ones).chain(both).collect(), value)
            })
            .collect();
        let centre = crate::ledger::trend::mean(&read.iter().map(|(_, value)| *value).collect::<Vec<_>>());
        let mut squares = DMatrix::<f64>::zeros(width, width);
        let mut right = DVector::<f64>::zeros(width);
        for (ones, value) in &read {
            for &row in ones {
                right[row] += value - centre;
                for &column in ones {
                    squares[(row, column)] += 1.0;
                }
            }
        }
        let eigen = SymmetricEigen::new(squares);
        let largest = eigen.eigenvalues.iter().fold(0.0f64, |most, value| most.max(*value));
        let kept: Vec<usize> = (0..width).filter(|&c| eigen.eigenvalues[c] > ZERO * largest).collect();
        let row_space = DMatrix::from_fn(width, kept.len(), |row, c| eigen.eigenvectors[(row, kept[c])]);
        let inverse = DVector::from_fn(kept.len(), |c, _| 1.0 / eigen.eigenvalues[kept[c]]);
        let effects = &row_space * (row_space.tr_mul(&right)).component_mul(&inverse);
        let left = |(ones, value): &(Vec<usize>, f64)| {
            let fitted: f64 = ones.iter().map(|&column| effects[column]).sum();
            (value - centre - fitted).powi(2)
        };
        let rest: f64 = read.iter().map(left).sum();
        // Less than the arithmetic itself leaves over is nothing.
        let largest = read.iter().map(|(_, value)| value.abs()).fold(0.0, f64::max);
        let rest = if rest > read.len() as f64 * (ROUNDING * largest).powi(2) { rest } else { 0.0 };
        Self { factors: placed, effects, centre, row_space, inverse, rest, count: read.len() }
    }

    /// Columns that do not depend on each other.
    pub(super) fn rank(&self) -> usize {
        self.inverse.len()
    }

    /// Degrees of freedom of the rest.
    pub(super) fn freedom(&self) -> usize {
        self.count.saturating_sub(self.rank())
    }

    fn column(&self, factor: Factor, level: usize) -> Option<usize> {
        self.factors.iter().find(|(of, _)| *of == factor).map(|(_, first)| first + level)
    }

    /// Level `a` less level `b` of a factor, all else alike.
    pub(super) fn contrast(&self, factor: Factor, a: usize, b: usize) -> Combination {
        let mut weights = DVector::zeros(self.effects.len());
        if let (Some(a), Some(b)) = (self.column(factor, a), self.column(factor, b)) {
            weights[a] += 1.0;
            weights[b] -= 1.0;
        }
        weights
    }

    /// The mean of a level over all levels of the other factors that have readings, each weighing the same.
    pub(super) fn adjusted_mean(&self, readings: &Readings, by: Factor, level: usize) -> Combination {
        let mut weights = DVector::zeros(self.effects.len());
        weights[0] = 1.0;
        for (factor, first) in &self.factors {
            if *factor == by {
                weights[first + level] = 1.0;
                continue;
            }
            let levels = 0..readings.levels(*factor).len();
            let filled: Vec<usize> = levels.filter(|l| readings.count(*factor, *l) > 0).collect();
            filled.iter().for_each(|l| weights[first + l] = 1.0 / filled.len() as f64);
        }
        weights
    }

    /// Whether the readings tell this combination.
    pub(super) fn tells(&self, weights: &Combination) -> bool {
        let inside = &self.row_space * self.row_space.tr_mul(weights);
        (weights - inside).norm() <= OUTSIDE * weights.norm()
    }

    /// Its value.
    pub(super) fn value(&self, weights: &Combination) -> f64 {
        weights.dot(&self.effects) + weights[0] * self.centre
    }

    /// Its variance over that of one reading.
    pub(super) fn variance(&self, weights: &Combination) -> f64 {
        self.row_space.tr_mul(weights).map(|part| part * part).dot(&self.inverse)
    }
}
