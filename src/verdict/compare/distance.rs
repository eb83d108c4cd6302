//! From the vector of a difference to what is said of it: CIEDE2000, lightness, chroma, hue, each with its interval.
//!
//! A distance near 0 is biased upward by any doubt, so the doubt of the vector is carried, not that of the distance: the
//! interval of CIEDE2000 runs over all colours inside the 95 % coverage region of the vector. It holds 0 exactly where the
//! chi-square test of the vector does not tell the two apart.

use super::gaussian::Own;
use crate::colour::{LabD50, ciede2000, ciede2000_parts};
use crate::reading::ColourDifference;
use crate::verdict::family::REGION_95;
use nalgebra::{Matrix3, Vector3};

/// Places on the rim of the region that are tried.
const PLACES: usize = 2000;

/// What a vector of differences of L*, a*, b* from the colour `reference` amounts to.
pub(super) fn colour_difference(own: &Own, reference: [f64; 3]) -> ColourDifference {
    let vector = Vector3::new(own.value[0], own.value[1], own.value[2]);
    let covariance = Matrix3::from_fn(|i, j| own.covariance[(i, j)]);
    let from = LabD50::from(reference);
    let to = moved(from, vector);
    let de00 = ciede2000(from, to);
    let interval = interval(from, vector, covariance);
    let (one, other) = (to.to_lch(), from.to_lch());
    let parts = ciede2000_parts(from, to);
    let turn = (one.h - other.h + 180.0).rem_euclid(360.0) - 180.0;
    // C* and h to first order half way between the two (GUM, JCGM 100:2008, 5.1.2).
    let middle = Vector3::new(0.0, from.a + to.a, from.b + to.b) / 2.0;
    let chroma = middle.norm();
    let along = |way: Vector3<f64>| 1.96 * way.dot(&(covariance * way)).max(0.0).sqrt();
    let u_c = if chroma > 1e-9 { along(middle / chroma) } else { own.u95(1).max(own.u95(2)) };
    let u_h = (along(Vector3::new(0.0, -middle[2], middle[1]) / chroma.powi(2).max(1e-9))).to_degrees();
    ColourDifference {
        de00,
        de00_interval: interval,
        u95: (interval[1] - de00).max(de00 - interval[0]),
        delta_lab: vector.into(),
        u95_lab: [0, 1, 2].map(|c| own.u95(c)),
        delta_lch: [one.l - other.l, one.c - other.c, turn],
        u95_lch: [own.u95(0), u_c, u_h.min(180.0)],
        parts: [parts.lightness, parts.chroma, parts.hue],
        colour_only_de00: ciede2000(LabD50 { l: 50.0, ..from }, LabD50 { l: 50.0, ..to }),
        p: own.p,
    }
}

fn moved(from: LabD50, by: Vector3<f64>) -> LabD50 {
    LabD50 { l: from.l + by[0], a: from.a + by[1], b: from.b + by[2] }
}

/// Least and largest CIEDE2000 over the coverage region of the vector: on its rim, and 0 where it holds no difference.
fn interval(from: LabD50, vector: Vector3<f64>, covariance: Matrix3<f64>) -> [f64; 2] {
    let plain = ciede2000(from, moved(from, vector));
    let Some(solved) = covariance.cholesky() else { return [plain; 2] };
    let root = solved.l() * REGION_95.sqrt();
    let (mut least, mut most) = (plain, plain);
    // Even places on a sphere along a golden spiral (Swinbank & Purser 2006, Q. J. R. Meteorol. Soc. 132:1769-1793).
    let turn = std::f64::consts::PI * (3.0 - 5f64.sqrt());
    for i in 0..PLACES {
        let z = 1.0 - (2 * i + 1) as f64 / PLACES as f64;
        let (ring, angle) = ((1.0 - z * z).sqrt(), turn * i as f64);
        let on_rim = vector + root * Vector3::new(ring * angle.cos(), ring * angle.sin(), z);
        let de00 = ciede2000(from, moved(from, on_rim));
        (least, most) = (least.min(de00), most.max(de00));
    }
    let inside = vector.dot(&solved.solve(&vector)) <= REGION_95;
    [if inside { 0.0 } else { least }, most]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::verdict::compare::gaussian::Differences;
    use nalgebra::{DMatrix, DVector};

    fn own(vector: [f64; 3], sd: f64) -> Own {
        let covariance = DMatrix::from_diagonal_element(3, 3, sd * sd);
        Differences { size: 3, values: DVector::from_row_slice(&vector), covariance }.plain(0)
    }

    #[test]
    fn the_interval_holds_zero_where_the_test_does() {
        // JCGM 102:2011: 2.80 standard deviations are the rim for three quantities.
        for (distance, told) in [(0.0, false), (2.7, false), (2.9, true), (9.0, true)] {
            let found = colour_difference(&own([distance, 0.0, 0.0], 1.0), [50.0, 5.0, 5.0]);
            assert_eq!(found.de00_interval[0] > 0.0, told, "{distance}: {found:?}");
            assert_eq!(found.p < 0.05, told);
            assert!(found.de00_interval[0] <= found.de00 && found.de00 <= found.de00_interval[1]);
        }
    }

    #[test]
    fn near_l_50_a_step_of_lightness_is_its_own_distance() {
        // SL is 1 at L* 50 (Sharma, Wu & Dalal 2005, eq. 15), so the rim of sd 1 about a step of 6 runs from 3.2 to 8.8.
        let found = colour_difference(&own([6.0, 0.0, 0.0], 1.0), [47.0, 0.0, 0.0]);
        for (got, wanted) in found.de00_interval.iter().zip([6.0 - 2.796, 6.0 + 2.796]) {
            assert!((got - wanted).abs() < 0.15, "{found:?}");
        }
        assert!((found.u95_lch[0] - 1.96).abs() < 1e-9);
    }

    #[test]
    fn nothing_known_to_be_nothing_stays_so() {
        let found = colour_difference(&own([0.0; 3], 0.0), [50.0, 5.0, 5.0]);
        assert_eq!((found.de00, found.de00_interval, found.u95, found.p), (0.0, [0.0; 2], 0.0, 1.0));
    }
}
