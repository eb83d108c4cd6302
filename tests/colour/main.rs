//! The colour room against published tables and reference computations, then its properties.
//!
//! Each file of `tests/data` names its source in its header. Tolerances are half the last printed
//! digit (`half_step`), plus what the printed input's own rounding, or `f32`, can do where that is not
//! far smaller. `FLOAT` stands for rounding in `f64`.

mod difference;
mod munsell;
mod properties;
mod spaces;
mod whiteness;

use std::collections::BTreeMap;

/// Rounding of a few dozen operations in `f64` on figures up to a few hundred.
const FLOAT: f64 = 1e-11;

/// D50 of the reference computations: x 0.3457, y 0.3585 (CIE 15:2018), not the profile connection white.
const D50_FROM_XY: [f64; 3] = [0.345_7 / 0.358_5, 1.0, (1.0 - 0.345_7 - 0.358_5) / 0.358_5];

/// Half of the last printed digit, with rounding in `f64`.
fn half_step(decimals: i32) -> f64 {
    0.5 * 10f64.powi(-decimals) + FLOAT
}

/// One row of a table of `tests/data`, by column name.
struct Row(BTreeMap<String, String>);

impl Row {
    fn text(&self, column: &str) -> &str {
        self.0.get(column).unwrap_or_else(|| panic!("no column {column}"))
    }
    fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap_or_else(|_| panic!("{column} is not a number"))
    }
    fn three(&self, columns: [&str; 3]) -> [f64; 3] {
        columns.map(|column| self.number(column))
    }
}

fn rows(text: &str) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let names = reader.headers().unwrap().clone();
    let row = |record: csv::StringRecord| {
        Row(names.iter().map(str::to_owned).zip(record.iter().map(str::to_owned)).collect())
    };
    reader.records().map(|record| row(record.unwrap())).collect()
}

#[track_caller]
fn close(found: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((found - wanted).abs() <= tolerance, "{what}: {found} for {wanted} within {tolerance:e}");
}

#[track_caller]
fn close3(found: [f64; 3], wanted: [f64; 3], tolerance: f64, what: &str) {
    for (f, w) in found.into_iter().zip(wanted) {
        close(f, w, tolerance, what);
    }
}
