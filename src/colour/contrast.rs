//! Contrast of two luminances in the same light. The order of the two does not matter.

/// Luminance ratio, the lighter over the darker: 1 for no contrast, upwards.
///
/// `one` and `other` are luminances or luminance factors on any common scale.
/// `None` where one of them is not above 0 or not finite.
pub fn luminance_ratio(one: f64, other: f64) -> Option<f64> {
    let (darker, lighter) = (one.min(other), one.max(other));
    (one.is_finite() && other.is_finite() && darker > 0.0).then(|| lighter / darker)
}

/// Michelson contrast (Lmax - Lmin)/(Lmax + Lmin), 0..1: Peli 1990, J. Opt. Soc. Am. A 7(10) 2032-2040.
///
/// `None` where one of the two is negative or not finite, or both are 0.
pub fn michelson(one: f64, other: f64) -> Option<f64> {
    let (darker, lighter) = (one.min(other), one.max(other));
    let known = one.is_finite() && other.is_finite() && darker >= 0.0 && lighter > 0.0;
    known.then(|| (lighter - darker) / (lighter + darker))
}
