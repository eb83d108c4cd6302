//! Light that a matte surface gets, by its normal: spherical harmonics to order 2.
//!
//! Irradiance is radiance convolved with the clamped cosine, whose harmonics fall off so fast (pi, 2 pi / 3, pi / 4 for
//! the orders 0 to 2) that nine terms hold it to about 1 % in the mean: Ramamoorthi & Hanrahan 2001, "On the
//! relationship between radiance and irradiance", JOSA A 18(10).

use nalgebra::{SMatrix, SVector, Vector3};

/// Irradiance as a mixture of nine harmonics of the normal.
#[derive(Debug, Clone, Copy)]
pub struct Irradiance(SVector<f64, 9>);

/// Damping per look of the terms of order 1 and 2: a term that no normal bears on stays at nothing.
const DAMPING: f64 = 1e-4;

fn terms(n: &Vector3<f64>) -> SVector<f64, 9> {
    let (x, y, z) = (n.x, n.y, n.z);
    SVector::from([1.0, x, y, z, x * y, x * z, y * z, x * x - y * y, 3.0 * z * z - 1.0])
}

impl Irradiance {
    /// Least squares over normals (length 1) and what was seen there; `None` where they do not fix it.
    pub fn fit(looks: &[(Vector3<f64>, f64)]) -> Option<Self> {
        let mut square = SMatrix::<f64, 9, 9>::zeros();
        let mut right = SVector::<f64, 9>::zeros();
        for (normal, light) in looks {
            let row = terms(normal);
            square += row * row.transpose();
            right += row * *light;
        }
        (1..9).for_each(|k| square[(k, k)] += DAMPING * looks.len() as f64);
        square.cholesky().map(|c| Self(c.solve(&right)))
    }

    /// Irradiance on a surface with this normal.
    pub fn at(&self, normal: &Vector3<f64>) -> f64 {
        self.0.dot(&terms(normal))
    }

    /// The radiance by direction that gives this irradiance, each order over its share of the clamped cosine. It may fall
    /// below nothing.
    pub fn radiance(&self) -> Self {
        use std::f64::consts::PI;
        let shares: [f64; 9] = std::array::from_fn(|k| {
            if k == 0 {
                PI
            } else if k < 4 {
                2.0 * PI / 3.0
            } else {
                PI / 4.0
            }
        });
        Self(self.0.component_div(&SVector::from(shares)))
    }

    /// The same light in other units.
    #[must_use]
    pub fn scaled(&self, by: f64) -> Self {
        Self(self.0 * by)
    }
}

#[cfg(test)]
mod tests {
    use super::super::room::directions;
    use super::*;
    use std::f64::consts::PI;

    /// Ramamoorthi & Hanrahan 2001, eqs. 8 and 19: under a distant light the harmonics of a Lambert sphere are
    /// A0 = pi, A1 = 2 pi / 3, A2 = pi / 4 times those of the light, so that along the normal
    /// E(t) = sum of A_l (2 l + 1) / (4 pi) P_l(cos t) = 1/4 + cos t / 2 + 5/32 (3 cos^2 t - 1).
    #[test]
    fn the_clamped_cosine_has_the_published_coefficients() {
        let source = Vector3::new(0.48, -0.6, -0.64);
        let looks: Vec<_> = directions(40_000).map(|n| (n, n.dot(&source).max(0.0))).collect();
        let fit = Irradiance::fit(&looks).expect("nine terms");
        let of_order = [PI, 2.0 * PI / 3.0, PI / 4.0];
        for normal in directions(50) {
            let t = normal.dot(&source);
            let legendre = [1.0, t, 1.5 * t * t - 0.5];
            let published: f64 =
                (0..3).map(|l| of_order[l] * (2 * l + 1) as f64 / (4.0 * PI) * legendre[l]).sum();
            assert!((fit.at(&normal) - published).abs() < 1e-3, "{} for {published}", fit.at(&normal));
        }
    }

    /// An even sky above a plane gives (1 + cos t) / 2, which order 1 holds exactly, also from half a sphere.
    #[test]
    fn an_even_sky_comes_back_from_the_half_that_is_seen() {
        let zenith = Vector3::new(0.0, -0.8, -0.6);
        let sky = |n: &Vector3<f64>| (1.0 + n.dot(&zenith)) / 2.0;
        let looks: Vec<_> = directions(4000).filter(|n| n.z < -0.2).map(|n| (n, sky(&n))).collect();
        let fit = Irradiance::fit(&looks).expect("nine terms");
        for (normal, light) in &looks {
            assert!((fit.at(normal) / light - 1.0).abs() < 0.03, "{} for {light}", fit.at(normal));
        }
    }
}
