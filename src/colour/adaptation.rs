//! Chromatic adaptation and CIELAB for any stated white. The typed colours are built on these.

use super::constants::{BRADFORD_CONES, EPSILON, KAPPA};
use super::matrix::{Matrix3, apply, inverse, product};

/// Linear Bradford adaptation from one white to another (Lam 1985; ISO 15076-1:2010 annex E):
/// to cone-like responses, scale each by the ratio of the whites, and back.
///
/// `from` and `to` are XYZ of the whites with Y = 1. The result is applied to XYZ columns.
pub const fn bradford(from: [f64; 3], to: [f64; 3]) -> Matrix3 {
    let (source, target) = (apply(&BRADFORD_CONES, from), apply(&BRADFORD_CONES, to));
    let scale = [
        [target[0] / source[0], 0.0, 0.0],
        [0.0, target[1] / source[1], 0.0],
        [0.0, 0.0, target[2] / source[2]],
    ];
    product(&inverse(&BRADFORD_CONES), &product(&scale, &BRADFORD_CONES))
}

/// XYZ seen under the white `from`, carried to the white `to` by [`bradford`]. Y = 1 is the diffuser.
pub fn adapt(xyz: [f64; 3], from: [f64; 3], to: [f64; 3]) -> [f64; 3] {
    apply(&bradford(from, to), xyz)
}

/// L*, a*, b* of XYZ for a stated white: CIE 15:2018 eq. 8.3 to 8.11, kappa and epsilon exact.
/// Negative XYZ follow the straight line, so nothing becomes NaN.
pub fn cielab(xyz: [f64; 3], white: [f64; 3]) -> [f64; 3] {
    let f = |t: f64| if t > EPSILON { t.cbrt() } else { (KAPPA * t + 16.0) / 116.0 };
    let [x, y, z] = std::array::from_fn(|i| f(xyz[i] / white[i]));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// XYZ of L*, a*, b* for a stated white, the inverse of [`cielab`] (CIE 15:2018 annex C).
pub fn cielab_to_xyz([l, a, b]: [f64; 3], white: [f64; 3]) -> [f64; 3] {
    let y = (l + 16.0) / 116.0;
    let g = |f: f64| if f > 6.0 / 29.0 { f * f * f } else { (116.0 * f - 16.0) / KAPPA };
    [white[0] * g(y + a / 500.0), white[1] * g(y), white[2] * g(y - b / 200.0)]
}
