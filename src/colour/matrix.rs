//! Arithmetic of 3 by 3 matrices that the compiler can do, so that derived matrices are constants
//! without being pasted figures.

/// Three rows of three.
pub type Matrix3 = [[f64; 3]; 3];

/// Matrix times column.
pub(crate) const fn apply(m: &Matrix3, v: [f64; 3]) -> [f64; 3] {
    [
        m[0][0] * v[0] + m[0][1] * v[1] + m[0][2] * v[2],
        m[1][0] * v[0] + m[1][1] * v[1] + m[1][2] * v[2],
        m[2][0] * v[0] + m[2][1] * v[1] + m[2][2] * v[2],
    ]
}

/// Matrix product: `first` is applied to a colour before `then`.
pub(crate) const fn product(then: &Matrix3, first: &Matrix3) -> Matrix3 {
    let columns = transpose(first);
    transpose(&[apply(then, columns[0]), apply(then, columns[1]), apply(then, columns[2])])
}

/// Inverse by cofactors. The matrices of this room are far from singular.
pub(crate) const fn inverse(m: &Matrix3) -> Matrix3 {
    let (a, b, c) = (cross(m[1], m[2]), cross(m[2], m[0]), cross(m[0], m[1]));
    let determinant = m[0][0] * a[0] + m[0][1] * a[1] + m[0][2] * a[2];
    transpose(&[over(a, determinant), over(b, determinant), over(c, determinant)])
}

/// XYZ with Y = 1 of a chromaticity x, y.
pub(crate) const fn white_from_xy(x: f64, y: f64) -> [f64; 3] {
    [x / y, 1.0, (1.0 - x - y) / y]
}

const fn transpose(m: &Matrix3) -> Matrix3 {
    [[m[0][0], m[1][0], m[2][0]], [m[0][1], m[1][1], m[2][1]], [m[0][2], m[1][2], m[2][2]]]
}

const fn cross(p: [f64; 3], q: [f64; 3]) -> [f64; 3] {
    [p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0]]
}

const fn over(v: [f64; 3], divisor: f64) -> [f64; 3] {
    [v[0] / divisor, v[1] / divisor, v[2] / divisor]
}
