//! Replica less reference, with the covariance of what the two do not share.
//!
//! The edition of the card moves both alike where both are read by one definition, and so does the card's fit where both
//! hang on one photograph of the card; places near other labels are left out of both means by one rule. Only the rest of
//! each counts.

use super::gaussian::Differences;
use super::shot::{Seen, Shot, slope};
use nalgebra::{DMatrix, DVector};

/// Distance in CIELAB at which the error of one fit is no longer that at the first colour: that of `card::uncertainty`.
const REACH: f64 = 20.0;

/// The two shots of a comparison, the same surfaces in both.
pub(super) struct Pair<'a> {
    pub replica: &'a Shot,
    pub reference: &'a Shot,
}

impl Pair<'_> {
    /// As the records have them, surface by surface.
    pub fn plain(&self) -> Differences {
        let light =
            |k: usize| self.replica.surfaces[k].light.powi(2) + self.reference.surfaces[k].light.powi(2);
        let n = self.replica.surfaces.len();
        self.differences(|s| s.lab, DMatrix::from_fn(n, n, |i, j| if i == j { light(i) } else { 0.0 }))
    }

    /// With the surfaces of each shot in one light, whose doubt they share.
    pub fn in_one_light(&self) -> Differences {
        self.differences(|s| s.aligned, &self.replica.light + &self.reference.light)
    }

    fn differences(&self, colour: fn(&Seen) -> [f64; 3], light: DMatrix<f64>) -> Differences {
        let (mine, theirs) = (&self.replica.surfaces, &self.reference.surfaces);
        let n = mine.len();
        let mut values = DVector::zeros(3 * n);
        let mut along = DMatrix::zeros(3 * n, n);
        for k in 0..n {
            let (one, other) = (colour(&mine[k]), colour(&theirs[k]));
            let way = slope([0, 1, 2].map(|c| (one[c] + other[c]) / 2.0));
            for c in 0..3 {
                values[3 * k + c] = one[c] - other[c];
                along[(3 * k + c, k)] = way[c];
            }
        }
        let mut covariance = &along * light * along.transpose();
        for k in 0..n {
            let apart = self.edges(k);
            for c in 0..3 {
                covariance[(3 * k + c, 3 * k + c)] += self.own(k, c);
                (0..3).for_each(|d| covariance[(3 * k + c, 3 * k + d)] += apart[c] * apart[d]);
            }
        }
        Differences { size: 3, values, covariance }
    }

    /// Variance of one channel of one surface by card, edition and scatter.
    fn own(&self, k: usize, c: usize) -> f64 {
        let (one, other) = (&self.replica.surfaces[k], &self.reference.surfaces[k]);
        let is_same = |pick: fn(&Shot) -> &Option<String>| {
            pick(self.replica).is_some() && pick(self.replica) == pick(self.reference)
        };
        let edition = if is_same(|s| &s.definition) {
            (one.edition[c] - other.edition[c]).powi(2)
        } else {
            one.edition[c].powi(2) + other.edition[c].powi(2)
        };
        let apart: f64 = (0..3).map(|d| (one.lab[d] - other.lab[d]).powi(2)).sum();
        let alike = if is_same(|s| &s.card_photo) { (-apart / (2.0 * REACH * REACH)).exp() } else { 0.0 };
        let card = one.card[c].powi(2) + other.card[c].powi(2) - 2.0 * alike * one.card[c] * other.card[c];
        edition + card + one.own[c].powi(2) + other.own[c].powi(2)
    }

    /// What the places near other labels do to the difference.
    fn edges(&self, k: usize) -> [f64; 3] {
        let (one, other) = (&self.replica.surfaces[k], &self.reference.surfaces[k]);
        [0, 1, 2].map(|c| one.edges[c] - other.edges[c])
    }
}
