//! Every colour constant of the project, each with its publication. Nothing here is a derived figure:
//! derived matrices are computed from these by the compiler.
//!
//! Whites are XYZ with Y = 1. All are for the CIE 1931 2 degree observer. Numbers of clauses, tables
//! and equations are cited from memory; the figures are checked against reference computations.

use super::matrix::{Matrix3, white_from_xy};

/// D50 as the profile connection space has it: ISO 15076-1:2010, 6.3.4.3 (X 0.9642, Y 1, Z 0.8249).
/// CIE 15:2018 gives 0.9642, 1, 0.8251; colour files and chart references use the value here.
pub const WHITE_D50: [f64; 3] = [0.964_2, 1.0, 0.824_9];

/// D65 from its chromaticity x 0.3127, y 0.3290: CIE 15:2018; the same figures stand in IEC 61966-2-1.
pub const WHITE_D65: [f64; 3] = white_from_xy(0.312_7, 0.329_0);

/// Illuminant C from its chromaticity x 0.31006, y 0.31616: CIE 15:2018. The white of the Munsell renotation.
pub const WHITE_C: [f64; 3] = white_from_xy(0.310_06, 0.316_16);

/// Below this ratio to the white, CIELAB is a straight line: (6/29)^3, CIE 15:2018 eq. 8.6.
pub const EPSILON: f64 = 216.0 / 24_389.0;

/// Slope of that straight line times 116: (29/3)^3, CIE 15:2018 eq. 8.7.
pub const KAPPA: f64 = 24_389.0 / 27.0;

/// Linear sRGB to XYZ for D65: IEC 61966-2-1:1999 eq. 7, as printed with 4 decimals.
pub const SRGB_TO_XYZ_D65: Matrix3 =
    [[0.412_4, 0.357_6, 0.180_5], [0.212_6, 0.715_2, 0.072_2], [0.019_3, 0.119_2, 0.950_5]];

/// The white that [`SRGB_TO_XYZ_D65`] really has, its row sums: 0.9505, 1, 1.0890. It is D65 to the 4
/// printed decimals. Adapting from it, and not from [`WHITE_D65`], keeps every grey exactly neutral.
pub const WHITE_SRGB: [f64; 3] = super::matrix::apply(&SRGB_TO_XYZ_D65, [1.0, 1.0, 1.0]);

/// The sRGB curve, IEC 61966-2-1:1999 eq. 5 and 8: encoded values up to this are a straight line.
pub const SRGB_KNEE_ENCODED: f64 = 0.040_45;
/// The same knee in linear light, as printed.
pub const SRGB_KNEE_LINEAR: f64 = 0.003_130_8;
/// Slope of the straight line of the sRGB curve.
pub const SRGB_SLOPE: f64 = 12.92;
/// Offset of the power part of the sRGB curve.
pub const SRGB_OFFSET: f64 = 0.055;
/// Exponent of the power part of the sRGB curve.
pub const SRGB_GAMMA: f64 = 2.4;

/// XYZ to the Bradford cone-like responses: Lam 1985 (thesis); ISO 15076-1:2010 annex E.
pub const BRADFORD_CONES: Matrix3 =
    [[0.895_1, 0.266_4, -0.161_4], [-0.750_2, 1.713_5, 0.036_7], [0.038_9, -0.068_5, 1.029_6]];

/// Value function of ASTM D1535: coefficients of V, V^2, ... V^5; the result is Y in percent of the
/// perfect reflecting diffuser. It is 0.975 times the Y of the 1943 renotation, whose 100 is magnesium oxide.
pub const MUNSELL_VALUE: [f64; 5] = [1.191_4, -0.225_33, 0.233_52, -0.020_484, 0.000_819_39];

/// x, y of the perfect diffuser in the whiteness formula, ASTM E313 table 1, D65 and 2 degree.
pub const E313_WHITE_XY_D65: [f64; 2] = [0.312_7, 0.329_0];
/// x, y of the perfect diffuser in the whiteness formula, ASTM E313 table 1, C and 2 degree.
pub const E313_WHITE_XY_C: [f64; 2] = [0.310_1, 0.316_1];
/// Coefficients of whiteness on x and y, ASTM E313 (those of CIE 15:2004 eq. 11.1), 2 degree.
pub const E313_WHITENESS: [f64; 2] = [800.0, 1700.0];
/// Coefficients of tint on x and y, ASTM E313 (those of CIE 15:2004 eq. 11.3), 2 degree.
pub const E313_TINT: [f64; 2] = [1000.0, 650.0];
/// Coefficients of yellowness on X and Z, ASTM E313 table 1, D65 and 2 degree.
pub const E313_YELLOWNESS_D65: [f64; 2] = [1.298_5, 1.133_5];
/// Coefficients of yellowness on X and Z, ASTM E313 table 1, C and 2 degree.
pub const E313_YELLOWNESS_C: [f64; 2] = [1.276_9, 1.059_2];

/// CIE 1931 2 degree colour-matching functions at 570 nm (CIE 15:2018 table 4; from memory).
pub const OBSERVER_570_NM: [f64; 3] = [0.762_1, 0.952_0, 0.002_1];
/// CIE 1931 2 degree colour-matching functions at 580 nm (CIE 15:2018 table 4; from memory).
pub const OBSERVER_580_NM: [f64; 3] = [0.916_3, 0.870_0, 0.001_7];
