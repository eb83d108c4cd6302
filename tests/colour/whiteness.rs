//! Whiteness, tint and yellowness of ASTM E313.

use crate::{close, half_step, rows};
use sherdlight::colour::constants::WHITE_D50;
use sherdlight::colour::*;

#[test]
fn whiteness_tint_yellowness() {
    let table = rows(include_str!("../data/whiteness.csv"));
    assert_eq!(table.len(), 24);
    let (mut inside, mut yellow) = (0, 0);
    for row in &table {
        let illuminant = match row.text("illuminant") {
            "D65" => IndexIlluminant::D65,
            "C" => IndexIlluminant::C,
            other => panic!("illuminant {other}"),
        };
        let what = format!("{} {}", row.text("name"), illuminant.name());
        let xyz = row.three(["X", "Y", "Z"]).map(|v| v / 100.0);
        // XYZ is rounded by 5e-7 percent: x and y by at most 2 x 5e-7 over X + Y + Z (above 140),
        // times 800 + 1700 or 1000 + 650; yellowness by 5e-7 x 5 over Y (above 48), times 100.
        let (w_input, yi_input) = (5e-7 + 2500.0 * 1e-6 / 140.0, 100.0 * 5e-7 * 5.0 / 48.0);
        let found = whiteness_of_xyz(xyz, illuminant);
        close(found.value, row.number("W_cie"), half_step(4) + w_input, &what);
        close(found.tint, row.number("T_cie"), half_step(4) + w_input, &what);
        let valid = row.text("W_in_limits") == "1" && row.text("T_in_limits") == "1";
        assert_eq!(found.valid, valid, "{what}");
        let yellowness_found = yellowness_of_xyz(xyz, illuminant);
        close(yellowness_found.value, row.number("YI_e313"), half_step(4) + yi_input, &what);

        // The same colour held as D50 Lab comes back to the same indices: only rounding, which the
        // coefficients raise to some thousand times FLOAT / 100.
        let lab = XyzD50::from(adapt(xyz, illuminant.white(), WHITE_D50)).to_lab();
        let back = whiteness(lab, illuminant);
        close(back.value, found.value, 1e-9, &what);
        close(back.tint, found.tint, 1e-9, &what);
        close(yellowness(lab, illuminant).value, yellowness_found.value, 1e-9, &what);
        inside += usize::from(valid);
        yellow += usize::from(yellowness_found.valid);
    }
    // Both verdicts occur.
    assert!((1..24).contains(&inside) && (1..24).contains(&yellow));
}

/// ASTM E313-20, 5.2: yellowness is for dominant wavelengths of 570 to 580 nm. The directions, from
/// the CIE 1931 spectrum locus (x, y 0.4441, 0.5547 and 0.5125, 0.4866), are walked by mixing.
#[test]
fn yellowness_only_of_yellow() {
    let valid = |spectrum: [f64; 2], share: f64, illuminant: IndexIlluminant| {
        let white = illuminant.white();
        let sum: f64 = white.iter().sum();
        let [x, y] = [0, 1].map(|i| white[i] / sum * (1.0 - share) + spectrum[i] * share);
        yellowness_of_xyz([x / y * 0.8, 0.8, (1.0 - x - y) / y * 0.8], illuminant).valid
    };
    for illuminant in [IndexIlluminant::D65, IndexIlluminant::C] {
        for share in [0.02, 0.1, 0.3] {
            // 575 nm (0.4788, 0.5202) lies between; 565 nm (0.4087, 0.5896), 590 nm (0.5752, 0.4242)
            // and, on the other side of the white, 480 nm (0.0913, 0.1327) do not. CIE 1931, from memory.
            assert!(valid([0.4788, 0.5202], share, illuminant));
            assert!(!valid([0.4087, 0.5896], share, illuminant));
            assert!(!valid([0.5752, 0.4242], share, illuminant));
            assert!(!valid([0.0913, 0.1327], share, illuminant));
        }
    }
    let black = LabD50 { l: 0.0, a: 0.0, b: 0.0 };
    assert!(!yellowness(black, IndexIlluminant::D65).valid && !whiteness(black, IndexIlluminant::C).valid);
}
