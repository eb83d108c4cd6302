//! A sphere as the camera sees it: a circular cone of directions, and the normal at each of them.

use crate::light::view::View;
use nalgebra::{Matrix3, Vector3};

/// A sphere at unknown distance; its centre lies at distance 1.
#[derive(Debug, Clone, Copy)]
pub struct Sphere {
    /// Direction of the centre from the camera; length 1.
    pub centre: Vector3<f64>,
    /// Radius over the distance of the centre: sine of half the angle under which it is seen.
    pub radius: f64,
}

/// Rounds in which points far from the cone are left out.
const ROUNDS: usize = 4;
/// Points farther than this many robust standard deviations are left out: where something lies before the rim.
const FAR: f64 = 3.0;

impl Sphere {
    /// From points on its rim, full-size pixels, at least six. All directions d of the rim have one angle with the
    /// centre c: d . c / cos(angle) = 1, linear least squares in c / cos(angle).
    pub fn of_rim(view: &View, rim: &[[f64; 2]]) -> Option<Self> {
        let rays: Vec<Vector3<f64>> = rim.iter().map(|p| view.ray(*p)).collect();
        let mut kept: Vec<Vector3<f64>> = rays.clone();
        let mut axis = Vector3::zeros();
        for _ in 0..ROUNDS {
            if kept.len() < 6 {
                return None;
            }
            let square: Matrix3<f64> = kept.iter().map(|d| d * d.transpose()).sum();
            axis = square.cholesky()?.solve(&kept.iter().sum());
            let off = |d: &Vector3<f64>| (d.dot(&axis) - 1.0).abs();
            let mut sorted: Vec<f64> = rays.iter().map(off).collect();
            sorted.sort_by(f64::total_cmp);
            let limit = FAR * 1.4826 * sorted[sorted.len() / 2] + 1e-12;
            kept = rays.iter().filter(|d| off(d) <= limit).copied().collect();
        }
        let cosine = 1.0 / axis.norm();
        let radius = (1.0 - cosine * cosine).max(0.0).sqrt();
        (radius.is_finite() && radius > 0.0).then(|| Self { centre: axis.normalize(), radius })
    }

    /// The outward normal where a ray meets it first; `None` beside it.
    pub fn normal(&self, ray: &Vector3<f64>) -> Option<Vector3<f64>> {
        let along = ray.dot(&self.centre);
        let left = along * along - (1.0 - self.radius * self.radius);
        (left > 0.0 && along > 0.0).then(|| (ray * (along - left.sqrt()) - self.centre) / self.radius)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::light::view::tests::seen;
    use nalgebra::Rotation3;

    /// Exact geometry: the rim of a sphere far off the axis is an ellipse; its centre, size and normals come back.
    #[test]
    fn a_sphere_seen_in_perspective_comes_back() {
        let size = [2000, 1500];
        let place = seen(1800.0, size, Rotation3::from_euler_angles(0.3, 0.2, 0.0), [0.0, 0.0, 20.0]);
        let view = View::of(&place, size, Some(32.4)).expect("a plane");
        let centre: Vector3<f64> = Vector3::new(6.0, -3.0, 15.0);
        let radius: f64 = 1.2;
        // The rim is the circle where rays touch the sphere.
        let far = centre.norm();
        let (towards, ring) = (centre / far, radius * (1.0 - (radius / far).powi(2)).sqrt());
        let across = towards.cross(&Vector3::y()).normalize();
        let up = towards.cross(&across);
        let touch = centre - towards * (radius * radius / far);
        let rim: Vec<[f64; 2]> = (0..40)
            .map(|k| std::f64::consts::TAU * f64::from(k) / 40.0)
            .map(|t| view.pixel(&(touch + (across * t.cos() + up * t.sin()) * ring)))
            .collect();
        let sphere = Sphere::of_rim(&view, &rim).expect("a rim");
        assert!((sphere.centre - towards).norm() < 1e-9);
        assert!((sphere.radius - radius / far).abs() < 1e-9);
        let wanted = Vector3::new(-0.4, 0.3, -0.8).normalize();
        let normal = sphere.normal(&(centre + wanted * radius).normalize()).expect("it meets the sphere");
        assert!((normal - wanted).norm() < 1e-9);
        assert!(sphere.normal(&Vector3::new(-1.0, 0.0, 1.0).normalize()).is_none());
    }
}
