//! The load in numbers: the cells of its table on the page, and the same as CSV.

use super::groups::Values;
use crate::ledger::safe_cell;
use crate::report::ReportError;
use crate::report::words::{percent, percent_pm, plus_minus};
use serde::Serialize;

/// A cell of the table of the load.
#[derive(Debug, Serialize)]
pub(super) struct Cell {
    /// The bare number to sort by; empty where there is none.
    value: String,
    /// Its half-width.
    #[serde(skip)]
    u95: String,
    words: String,
}

/// A piece in the table.
pub(super) struct Row<'a> {
    /// Number, name, firing, place, grade, what decided.
    pub(super) texts: [String; 6],
    pub(super) cells: &'a [Cell],
}

/// The columns of the CSV table that hold numbers, as its head names them.
const COLUMNS: [&str; 6] = [
    "white_l_star",
    "white_b_star",
    "black_l_star",
    "contrast_delta_l",
    "paint_retained_fraction",
    "cloud_fraction",
];

/// The table of the load as CSV: a row a piece, values and half-widths of their 95 % intervals apart.
pub(super) fn pieces_csv<'a>(rows: impl Iterator<Item = Row<'a>>) -> Result<Vec<u8>, ReportError> {
    let failed = |error: &dyn std::fmt::Display| ReportError::Table(error.to_string());
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut head: Vec<String> =
        ["number", "piece", "firing", "place", "grade", "because"].map(str::to_owned).into();
    for column in COLUMNS {
        head.push(column.into());
        head.extend((column != "cloud_fraction").then(|| format!("u95_{column}")));
    }
    writer.write_record(&head).map_err(|error| failed(&error))?;
    for piece in rows {
        let mut row: Vec<String> = piece.texts.iter().map(|text| safe_cell(text)).collect();
        for (cell, column) in piece.cells.iter().zip(COLUMNS) {
            row.push(cell.value.clone());
            row.extend((column != "cloud_fraction").then(|| cell.u95.clone()));
        }
        writer.write_record(&row).map_err(|error| failed(&error))?;
    }
    writer.into_inner().map_err(|error| failed(&error))
}

/// The cells of a piece, one a column.
pub(super) fn cells(values: &Values) -> Vec<Cell> {
    let number = |value: f64, decimals: usize| match value.is_finite() {
        true => format!("{value:.decimals$}"),
        false => String::new(),
    };
    let cell = |pair: Option<[f64; 2]>, decimals: usize, words: fn(f64, f64) -> String, none: &str| Cell {
        value: pair.map_or_else(String::new, |[value, _]| number(value, decimals)),
        u95: pair.map_or_else(String::new, |[_, u95]| number(u95, decimals)),
        words: pair.map_or_else(|| none.into(), |[value, u95]| words(value, u95)),
    };
    let lightness = |value: f64, u95: f64| plus_minus(value, u95, 1);
    vec![
        cell(values.white_l, 2, lightness, "not seen"),
        cell(values.white_b, 2, lightness, "not seen"),
        cell(values.black_l, 2, lightness, "not seen"),
        cell(values.contrast, 2, lightness, "not seen"),
        cell(values.kept, 3, percent_pm, "none seen"),
        Cell { value: number(values.clouds, 3), u95: String::new(), words: percent(values.clouds) },
    ]
}
