//! CIELAB and CIEDE2000 as straight maps about one colour, for the steps of the fit.

use crate::colour::{LabD50, XyzD50};
use nalgebra::{Matrix3, Vector3};

/// Difference of two colours.
pub(super) fn lab_step(to: LabD50, from: LabD50) -> Vector3<f64> {
    Vector3::new(to.l - from.l, to.a - from.a, to.b - from.b)
}

/// Derivative of CIELAB by XYZ (CIE 15:2018 eq. 8.3 to 8.11).
pub(super) fn lab_slope(xyz: XyzD50) -> Matrix3<f64> {
    let white = [0.964_2, 1.0, 0.824_9];
    let g: [f64; 3] = [xyz.x, xyz.y, xyz.z];
    let d: [f64; 3] = std::array::from_fn(|k| {
        let t = g[k] / white[k];
        let slope = if t > 216.0 / 24389.0 { t.cbrt().powi(-2) / 3.0 } else { 24389.0 / 27.0 / 116.0 };
        slope / white[k]
    });
    Matrix3::new(0.0, 116.0 * d[1], 0.0, 500.0 * d[0], -500.0 * d[1], 0.0, 0.0, 200.0 * d[1], -200.0 * d[2])
}

/// CIEDE2000 made linear at a colour: its squared length is nearly the squared difference for near
/// colours (CIE 142-2001 weighting functions; the rotation term is left out).
pub(super) fn metric(lab: LabD50) -> Matrix3<f64> {
    let c = lab.a.hypot(lab.b);
    let c7 = c.powi(7);
    let g = 0.5 * (1.0 - (c7 / (c7 + 25f64.powi(7))).sqrt());
    let (a, b) = ((1.0 + g) * lab.a, lab.b);
    let c = a.hypot(b);
    let h = b.atan2(a);
    let deg = |d: f64| d.to_radians();
    let t = 1.0 - 0.17 * (h - deg(30.0)).cos() + 0.24 * (2.0 * h).cos() + 0.32 * (3.0 * h + deg(6.0)).cos()
        - 0.20 * (4.0 * h - deg(63.0)).cos();
    let l50 = (lab.l - 50.0).powi(2);
    let (sl, sc, sh) = (1.0 + 0.015 * l50 / (20.0 + l50).sqrt(), 1.0 + 0.045 * c, 1.0 + 0.015 * c * t);
    let (sin, cos) = h.sin_cos();
    Matrix3::new(
        1.0 / sl,
        0.0,
        0.0,
        0.0,
        (1.0 + g) * cos / sc,
        sin / sc,
        0.0,
        -(1.0 + g) * sin / sh,
        cos / sh,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::ciede2000;

    fn xyz([x, y, z]: [f64; 3]) -> XyzD50 {
        XyzD50 { x, y, z }
    }

    #[test]
    fn slope_of_lab_is_its_derivative() {
        let here = xyz([0.3, 0.25, 0.1]);
        let slope = lab_slope(here);
        for k in 0..3 {
            let mut there = [here.x, here.y, here.z];
            there[k] += 1e-6;
            let change = lab_step(xyz(there).to_lab(), here.to_lab()) / 1e-6;
            assert!((change - slope.column(k)).norm() < 1e-3 * slope.column(k).norm());
        }
    }

    #[test]
    fn metric_is_ciede2000_for_near_colours() {
        for (l, a, b) in [(50.0, 0.0, 0.0), (70.0, 20.0, 40.0), (40.0, -30.0, 10.0), (90.0, 2.0, 5.0)] {
            let lab = LabD50 { l, a, b };
            for (dl, da, db) in [(0.1, 0.0, 0.0), (0.0, 0.1, 0.0), (0.0, 0.0, 0.1), (0.1, -0.1, 0.1)] {
                let near = LabD50 { l: l + dl, a: a + da, b: b + db };
                let linear = (metric(lab) * lab_step(near, lab)).norm();
                assert!((linear / ciede2000(lab, near) - 1.0).abs() < 0.02, "{lab:?} {near:?}");
            }
        }
    }
}
