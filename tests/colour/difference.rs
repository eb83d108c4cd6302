//! CIEDE2000, its parts, and contrast.

use crate::{FLOAT, close, half_step, rows};
use sherdlight::colour::*;

/// Sharma, Wu & Dalal 2005, table 1, all 34 pairs to the 4 printed decimals: the difference from
/// `palette`, the same with the colours swapped, and the sum of our own parts.
#[test]
fn ciede2000_published_pairs() {
    let table = rows(include_str!("../data/ciede2000.csv"));
    assert_eq!(table.len(), 34);
    for row in table {
        let one = LabD50::from(row.three(["L1", "a1", "b1"]));
        let other = LabD50::from(row.three(["L2", "a2", "b2"]));
        let (published, full) = (row.number("dE00_published"), row.number("dE00_full"));
        let what = format!("pair {}", row.text("pair"));
        for found in [
            ciede2000(one, other),
            ciede2000(other, one),
            ciede2000_parts(one, other).total(),
            ciede2000_parts(other, one).total(),
        ] {
            close(found, published, half_step(4), &what);
        }
        // The reference library prints 10 decimals. Ours has every branch; palette's mean hue may move
        // the total by 5.1e-6 of itself (see `parts_and_palette`).
        close(ciede2000_parts(one, other).total(), full, half_step(10), &what);
        close(ciede2000(one, other), full, half_step(10) + 5.1e-6 * full, &what);
    }
}

/// The sign of each part is told by hand: a colour that is only lighter, only stronger, only turned.
#[test]
fn ciede2000_parts_say_which_way() {
    let red = LabD50 { l: 40.0, a: 28.0, b: 24.0 };
    let LchD50 { l, c, h } = red.to_lch();
    let lighter = ciede2000_parts(red, LabD50 { l: l + 5.0, ..red });
    assert!(lighter.lightness > 0.0 && lighter.chroma == 0.0 && lighter.hue == 0.0);
    // Mean L* 50 makes SL exactly 1 (Sharma, Wu & Dalal 2005, eq. 15).
    close(ciede2000_parts(LabD50 { l: 47.0, ..red }, LabD50 { l: 53.0, ..red }).lightness, 6.0, FLOAT, "SL");
    let yellower = ciede2000_parts(red, LchD50 { l, c, h: h + 5.0 }.to_lab());
    assert!(yellower.hue > 0.0 && yellower.lightness == 0.0);
    let duller = ciede2000_parts(red, LabD50 { l, a: 0.0, b: 0.0 });
    assert!(duller.chroma < 0.0 && duller.hue == 0.0 && duller.rotation == 0.0);
}

#[test]
fn contrast_table() {
    let table = rows(include_str!("../data/contrast.csv"));
    assert_eq!(table.len(), 8);
    for row in &table {
        let what = row.text("case");
        let y = |column| LabD50 { l: row.number(column), a: 0.0, b: 0.0 }.to_xyz().y;
        let (background, figure) = (y("L_background"), y("L_figure"));
        close(background, row.number("Y_background"), half_step(10), what);
        close(figure, row.number("Y_figure"), half_step(10), what);
        for (one, other) in [(background, figure), (figure, background)] {
            close(michelson(one, other).unwrap(), row.number("michelson"), half_step(10), what);
            close(luminance_ratio(one, other).unwrap(), row.number("luminance_ratio"), half_step(10), what);
        }
    }
    assert_eq!(
        (luminance_ratio(0.5, 0.0), luminance_ratio(f64::NAN, 1.0), luminance_ratio(-0.1, 0.5)),
        (None, None, None)
    );
    assert_eq!((michelson(0.5, 0.0), michelson(0.0, 0.0), michelson(-0.1, 0.5)), (Some(1.0), None, None));
}
