//! Primaries with white D65 and their way to those of sRGB, in f64.
//!
//! moxcms 0.8.1 builds its own sRGB and Display P3 with a D65 from a colour temperature, which moves
//! saturated colours by 5e-4: it is used here to read profiles, not to make them.

use moxcms::{ColorProfile, Xyzd};
use nalgebra::{Matrix3, Vector3};

/// Chromaticities x, y of red, green and blue.
pub(super) type Primaries = [[f64; 2]; 3];

/// IEC 61966-2-1 (sRGB) and ITU-R BT.709.
pub(super) const SRGB: Primaries = [[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]];
/// IEC 61966-2-5 (opRGB).
pub(super) const OP_RGB: Primaries = [[0.64, 0.33], [0.21, 0.71], [0.15, 0.06]];
/// SMPTE EG 432-1 (Display P3 with white D65).
pub(super) const P3: Primaries = [[0.680, 0.320], [0.265, 0.690], [0.150, 0.060]];
/// ITU-R BT.2020.
pub(super) const BT_2020: Primaries = [[0.708, 0.292], [0.170, 0.797], [0.131, 0.046]];

/// D65 as in all four standards.
const D65: [f64; 2] = [0.3127, 0.3290];
/// The profile connection space's white (ICC.1:2022, 7.2.16).
const D50: Vector3<f64> = Vector3::new(0.9642, 1.0, 0.8249);

fn xyz([x, y]: [f64; 2]) -> Vector3<f64> {
    Vector3::new(x / y, 1.0, (1.0 - x - y) / y)
}

/// Linear RGB to XYZ with white D65 (SMPTE RP 177).
fn to_xyz(primaries: Primaries) -> Matrix3<f64> {
    let unscaled = Matrix3::from_columns(&primaries.map(xyz));
    let scale = unscaled.try_inverse().unwrap_or_else(Matrix3::identity) * xyz(D65);
    unscaled * Matrix3::from_diagonal(&scale)
}

/// Linear RGB to XYZ adapted to D50 by linear Bradford (ICC.1:2022 annex E; Lam 1985).
pub(super) fn to_xyz_d50(primaries: Primaries) -> Matrix3<f64> {
    let bradford = Matrix3::new(0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296);
    let cones = (bradford * D50).component_div(&(bradford * xyz(D65)));
    let adapt =
        bradford.try_inverse().unwrap_or_else(Matrix3::identity) * Matrix3::from_diagonal(&cones) * bradford;
    adapt * to_xyz(primaries)
}

/// From the colorants of a profile (linear RGB to XYZ D50) to linear sRGB.
///
/// Outer `None`: the colorants are unusable. Inner `None`: they are those of sRGB but for rounding.
pub(super) fn to_srgb(colorants: Matrix3<f64>) -> Option<Option<[[f32; 3]; 3]>> {
    let matrix = to_xyz_d50(SRGB).try_inverse()? * colorants;
    if !matrix.iter().all(|v| v.is_finite() && v.abs() < 100.0) || colorants.determinant() < 1e-4 {
        return None;
    }
    // Profiles hold colorants rounded to four decimals or to s15Fixed16; the inverse matrix makes up
    // to 1e-3 of that.
    if (matrix - Matrix3::identity()).amax() < 1e-3 {
        return Some(None);
    }
    Some(Some([0, 1, 2].map(|row| [0, 1, 2].map(|column| matrix[(row, column)] as f32))))
}

/// The colorants that a profile holds.
pub(super) fn colorants(profile: &ColorProfile) -> Matrix3<f64> {
    let column = |c: &Xyzd| Vector3::new(c.x, c.y, c.z);
    let [red, green, blue] =
        [&profile.red_colorant, &profile.green_colorant, &profile.blue_colorant].map(column);
    Matrix3::from_columns(&[red, green, blue])
}
