//! Where the light comes from: radiance by direction, as far as nine harmonics of the irradiance tell.

use super::Irradiance;
use nalgebra::Vector3;

/// Directions of the sphere.
const DIRECTIONS: usize = 96;

/// Radiance from evenly spread directions, in one unit.
#[derive(Debug, Clone)]
pub struct Room(Vec<(Vector3<f64>, f64)>);

impl Room {
    /// The light that gives this irradiance, smooth and nowhere below nothing.
    pub fn of(light: &Irradiance) -> Self {
        let radiance = light.radiance();
        Self(directions(DIRECTIONS).map(|from| (from, radiance.at(&from).max(0.0))).collect())
    }

    /// The same from everywhere.
    pub fn even() -> Self {
        Self(directions(DIRECTIONS).map(|from| (from, 1.0)).collect())
    }

    /// Of the light that a surface with this normal would get in the open, the share from directions that are free; and
    /// the same share were all directions equally bright.
    pub fn shares(&self, normal: &Vector3<f64>, is_free: impl Fn(&Vector3<f64>) -> bool) -> [f64; 2] {
        let (mut free, mut all) = ([0.0; 2], [1e-12; 2]);
        for (from, radiance) in &self.0 {
            let facing = normal.dot(from);
            if facing > 0.0 {
                let parts = [facing * radiance, facing];
                let counts = f64::from(u8::from(is_free(from)));
                for k in 0..2 {
                    free[k] += counts * parts[k];
                    all[k] += parts[k];
                }
            }
        }
        [0, 1].map(|k| free[k] / all[k])
    }
}

/// Evenly spread directions: a spiral of equal areas, turned by the golden angle.
pub(in crate::light) fn directions(count: usize) -> impl Iterator<Item = Vector3<f64>> {
    (0..count).map(move |k| {
        let z = 1.0 - 2.0 * (k as f64 + 0.5) / count as f64;
        let turn = std::f64::consts::PI * (1.0 + 5f64.sqrt()) * k as f64;
        let ring = (1.0 - z * z).sqrt();
        Vector3::new(ring * turn.cos(), ring * turn.sin(), z)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Under an even sky a cone of half angle t about the normal gives sin^2 t of the light (the view factor of a disc).
    #[test]
    fn a_cone_of_an_even_sky_gives_the_square_of_its_sine() {
        let looks: Vec<_> = directions(2000).map(|normal| (normal, 1.0)).collect();
        let room = Room::of(&Irradiance::fit(&looks).expect("an even light"));
        let normal = Vector3::new(0.0, 0.6, -0.8);
        for angle in [0.5, 0.9, 1.3f64] {
            let [light, open] = room.shares(&normal, |from| from.dot(&normal) > angle.cos());
            let exact = angle.sin().powi(2);
            assert!(
                (light - exact).abs() < 0.05 && (open - exact).abs() < 0.05,
                "{light} {open} for {exact}"
            );
        }
    }
}
