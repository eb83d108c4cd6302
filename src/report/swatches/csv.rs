//! Swatches as one tidy CSV table, one row a swatch.
//!
//! UTF-8, comma, dot as decimal mark, LF; empty means not read, never zero, and `left_out` says why. Columns that begin with
//! `u95_` are half-widths of 95 % intervals. Colours are CIELAB for D50 and the 2 degree observer.

use super::super::ReportError;
use crate::ledger::safe_cell;
use crate::reading::{Reading, Record, Swatch};

/// The columns.
const COLUMNS: [&str; 25] = [
    "photo",
    "photo_sha256",
    "piece_number",
    "swatch",
    "row",
    "column",
    "label",
    "l",
    "a",
    "b",
    "u95_l",
    "u95_a",
    "u95_b",
    "apart_u95_l",
    "contrast_delta_l",
    "u95_contrast_delta_l",
    "contrast_de00",
    "reflectance_ratio",
    "contrast_left",
    "retained",
    "rank",
    "grade",
    "cannot_be_told_from",
    "stands_out",
    "left_out",
];

/// The table of the swatches of all records, in their order, with a header line.
///
/// # Errors
/// [`ReportError::Table`] only by a fault of this program.
pub fn swatches_csv(records: &[Record]) -> Result<Vec<u8>, ReportError> {
    let failed = |error: &dyn std::fmt::Display| ReportError::Table(error.to_string());
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(COLUMNS).map_err(|error| failed(&error))?;
    for reading in records.iter().filter_map(Record::reading) {
        for swatch in reading.swatches.iter().flatten() {
            writer.write_record(cells(reading, swatch)).map_err(|error| failed(&error))?;
        }
    }
    writer.into_inner().map_err(|error| failed(&error))
}

fn cells(reading: &Reading, swatch: &Swatch) -> [String; COLUMNS.len()] {
    let number = |value: Option<f64>| {
        value
            .filter(|v| v.is_finite())
            .map_or_else(String::new, |v| format!("{}", (v * 1000.0).round() / 1000.0))
    };
    let part = |of: Option<[f64; 3]>, c: usize| number(of.map(|v| v[c]));
    let contrast = swatch.contrast;
    [
        safe_cell(&reading.photo.path),
        reading.photo.sha256.clone().unwrap_or_default(),
        reading.piece.number.to_string(),
        safe_cell(&swatch.id),
        swatch.row.to_string(),
        swatch.column.to_string(),
        swatch.label.map(|l| l.to_string()).unwrap_or_default(),
        part(swatch.lab, 0),
        part(swatch.lab, 1),
        part(swatch.lab, 2),
        part(swatch.u95, 0),
        part(swatch.u95, 1),
        part(swatch.u95, 2),
        part(swatch.apart_u95, 0),
        number(contrast.map(|c| c.delta_l)),
        number(contrast.map(|c| c.u95.delta_l)),
        number(contrast.map(|c| c.de00)),
        number(contrast.map(|c| c.reflectance_ratio)),
        number(swatch.contrast_left),
        number(swatch.retained_fraction),
        swatch.rank.map(|rank| rank.to_string()).unwrap_or_default(),
        swatch.grade.map(|grade| grade.name().to_owned()).unwrap_or_default(),
        safe_cell(&swatch.like.join("; ")),
        swatch.stands_out.to_string(),
        swatch.left_out.clone().unwrap_or_default(),
    ]
}
