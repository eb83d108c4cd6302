//! XYZ, CIELAB, LCh, Bradford, sRGB.

use crate::{D50_FROM_XY, FLOAT, close, close3, half_step, rows};
use sherdlight::colour::constants::{WHITE_D50, WHITE_D65, WHITE_SRGB};
use sherdlight::colour::*;

#[test]
fn lab_xyz_lch() {
    let table = rows(include_str!("../data/lab_xyz.csv"));
    assert_eq!(table.len(), 66);
    for row in &table {
        let white = match row.text("illuminant") {
            "D50" => D50_FROM_XY,
            "D65" => WHITE_D65,
            "D50_ICC" => WHITE_D50,
            other => panic!("illuminant {other}"),
        };
        close3(white, row.three(["Xn", "Yn", "Zn"]), half_step(8), "white");
        let (xyz, lab) = (row.three(["X", "Y", "Z"]), row.three(["L", "a", "b"]));
        let what = row.text("name");
        close3(cielab_to_xyz(lab, white), xyz, half_step(10), what);
        // Lab is exact in the file; XYZ is rounded by 5e-11, and Lab moves by at most
        // 2 x 500 x (kappa / 116) of that, over the smallest white component.
        let from_input = 1000.0 * 24_389.0 / 27.0 / 116.0 * 5e-11 / 0.82;
        close3(cielab(xyz, white), lab, FLOAT + from_input, what);

        let lab = LabD50::from(lab);
        close(lab.to_lch().c, row.number("C_ab"), half_step(8), what);
        close(lab.to_lch().h, row.number("h_ab_deg"), half_step(8), what);
        close3(lab.to_lch().to_lab().into(), lab.into(), FLOAT, what);
        if row.text("illuminant") == "D50_ICC" {
            close3(lab.to_xyz().into(), xyz, half_step(10), what);
            close3(XyzD50::from(xyz).to_lab().into(), lab.into(), FLOAT + from_input, what);
        }
    }
}

#[test]
fn bradford_matrices_and_colours() {
    let matrices = rows(include_str!("../data/bradford_matrices.csv"));
    assert_eq!(matrices.len(), 6);
    for row in &matrices {
        let white = |x, z| [row.number(x), 1.0, row.number(z)];
        let (from, to) = (white("from_X", "from_Z"), white("to_X", "to_Z"));
        let found = bradford(from, to);
        for (i, line) in found.into_iter().enumerate() {
            let wanted = [0, 1, 2].map(|j| row.number(&format!("m{i}{j}")));
            close3(line, wanted, half_step(12), row.text("name"));
        }
        close3(adapt(from, from, to), to, FLOAT, "white to white");
    }
    let colours = rows(include_str!("../data/bradford_colours.csv"));
    assert_eq!(colours.len(), 15);
    for row in &colours {
        let what = row.text("name");
        let found = adapt(row.three(["X_D65", "Y_D65", "Z_D65"]), WHITE_D65, D50_FROM_XY);
        close3(found, row.three(["X_D50", "Y_D50", "Z_D50"]), FLOAT, what);
        // XYZ has 12 digits: 5e-13 of it moves a* by at most 2 x 500 x (kappa / 116) x 5e-13 x 1.4.
        close3(cielab(found, D50_FROM_XY), row.three(["L_D50", "a_D50", "b_D50"]), 6e-9, what);
    }
}

#[test]
fn srgb_curve_matrix_and_lab() {
    let table = rows(include_str!("../data/srgb.csv"));
    assert_eq!(table.len(), 24);
    // Rounding of a linear value to f32, relative.
    let single = 0.5 * f64::from(f32::EPSILON);
    for row in &table {
        let codes = ["R8", "G8", "B8"].map(|c| row.text(c).parse::<u8>().unwrap());
        let what = format!("{codes:?}");
        let linear = EncodedSrgb::from_u8(codes).to_linear_unclamped();
        let wanted = row.three(["R_lin", "G_lin", "B_lin"]);
        for (found, wanted) in linear.0.into_iter().zip(wanted) {
            // The encoded value is rounded to f32 too; the curve's exponent of 2.4 can make 2.4 of it.
            close(f64::from(found), wanted, half_step(10) + 3.4 * single * wanted, &what);
        }
        let xyz_d65 = row.three(["X_D65", "Y_D65", "Z_D65"]);
        let found = adapt(linear.to_xyz_d50().into(), WHITE_D50, WHITE_SRGB);
        for (found, wanted) in found.into_iter().zip(xyz_d65) {
            // All matrix entries are positive, so XYZ keeps the relative rounding of its parts.
            close(found, wanted, half_step(10) + 3.4 * single * wanted, &what);
        }
        // XYZ is rounded by 5e-11, less than 7e-11 of a white after adaptation; a* moves by at most
        // 2 x 500 x (kappa / 116) of that.
        let lab_step = half_step(6) + 1000.0 * 7.787_04 * 7e-11;
        close3(cielab(xyz_d65, WHITE_D65), row.three(["L_D65", "a_D65", "b_D65"]), lab_step, &what);
        let d50 = cielab(adapt(xyz_d65, WHITE_D65, D50_FROM_XY), D50_FROM_XY);
        close3(d50, row.three(["L_D50", "a_D50", "b_D50"]), lab_step, &what);
        // The typed road differs by its whites alone: it starts from the matrix's own white and ends at
        // the profile connection white. The reference tables put what such constants move at 0.021.
        let lab = linear.to_xyz_d50().to_lab();
        close3(lab.into(), row.three(["L_D50", "a_D50", "b_D50"]), 0.021, &what);
        assert_eq!(lab.to_swatch_u8(), codes);
        assert_eq!(linear.to_encoded_clamped().to_u8(), codes);
    }
}
