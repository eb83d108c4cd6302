//! The sheet of a plan with what its photographs show, and the same of tiles from the ledger.

use crate::ledger::{TrialSwatch, safe_cell};
use crate::reading::Swatch;
use crate::report::ReportError;
use crate::trial::{Sheet, SheetPlace};
use std::collections::BTreeMap;

/// Columns that are added behind those of the plan.
const READ: [&str; 13] = [
    "photo",
    "l",
    "a",
    "b",
    "u95_l",
    "u95_a",
    "u95_b",
    "contrast_delta_l",
    "u95_contrast_delta_l",
    "contrast_left",
    "retained",
    "stands_out",
    "left_out",
];
/// Columns of a plan, with the trial.
const PLAN: [&str; 11] =
    ["trial", "tile", "row", "column", "swatch", "role", "slip", "paint", "coats", "firing", "seed"];

/// The plan's own rows and columns, with what was read of each swatch behind: CIELAB for D50 and the 2 degree observer, L* of the
/// tile's slip less that of the swatch, paint's share of the contrast of the soundest on its tile, the part of it that is
/// kept; `u95_` before a name is the half-width of the 95 % interval. Empty means not read, never zero; `left_out` says why.
/// Columns of an earlier reading are replaced. UTF-8, comma, dot, LF.
///
/// # Errors
/// [`ReportError::Table`] only by a fault of this program.
pub fn filled_sheet(
    sheet: &Sheet,
    swatches: &BTreeMap<SheetPlace, (String, Swatch)>,
) -> Result<Vec<u8>, ReportError> {
    let own: Vec<usize> =
        (0..sheet.header.len()).filter(|&i| !READ.contains(&sheet.header[i].as_str())).collect();
    let header = own.iter().map(|&i| sheet.header[i].clone()).collect();
    let rows = sheet.lines.iter().map(|line| {
        let cell = |i: &usize| line.cells.get(*i).map(|cell| safe_cell(cell)).unwrap_or_default();
        let mut row: Vec<String> = own.iter().map(cell).collect();
        match swatches.get(&line.place) {
            Some((photo, swatch)) => row.extend(read(photo, swatch)),
            None => {
                row.extend(READ.map(|name| if name == "left_out" { "no photograph" } else { "" }.to_owned()))
            }
        }
        row
    });
    written(header, rows)
}

/// Swatches of one or several trials as the same table, with the columns of a plan before what was read.
///
/// # Errors
/// [`ReportError::Table`] only by a fault of this program.
pub fn trial_table(swatches: &[TrialSwatch]) -> Result<Vec<u8>, ReportError> {
    let rows = swatches.iter().filter_map(|kept| {
        let laid = kept.swatch.laid.as_ref()?;
        let told = |cell: &Option<String>| cell.as_deref().map(safe_cell).unwrap_or_default();
        let mut row = vec![
            safe_cell(&laid.trial),
            laid.tile.to_string(),
            laid.row.to_string(),
            laid.column.to_string(),
            told(&laid.swatch),
            told(&laid.role),
            told(&laid.slip),
            told(&laid.paint),
            told(&laid.coats),
            told(&laid.firing),
            laid.seed.map_or_else(String::new, |seed| seed.to_string()),
        ];
        row.extend(read(&kept.photograph, &kept.swatch));
        Some(row)
    });
    written(PLAN.map(str::to_owned).to_vec(), rows)
}

fn written(mut header: Vec<String>, rows: impl Iterator<Item = Vec<String>>) -> Result<Vec<u8>, ReportError> {
    let failed = |error: &dyn std::fmt::Display| ReportError::Table(error.to_string());
    let mut writer = csv::Writer::from_writer(Vec::new());
    header.extend(READ.map(str::to_owned));
    writer.write_record(&header).map_err(|error| failed(&error))?;
    for row in rows {
        writer.write_record(row).map_err(|error| failed(&error))?;
    }
    writer.into_inner().map_err(|error| failed(&error))
}

fn read(photo: &str, swatch: &Swatch) -> [String; READ.len()] {
    let number = |value: Option<f64>| {
        let rounded = |v: f64| (v * 1000.0).round() / 1000.0;
        value.filter(|v| v.is_finite()).map_or_else(String::new, |v| rounded(v).to_string())
    };
    let lab = |c: usize| number(swatch.lab.map(|lab| lab[c]));
    let u95 = |c: usize| number(swatch.u95.map(|u95| u95[c]));
    [
        safe_cell(photo),
        lab(0),
        lab(1),
        lab(2),
        u95(0),
        u95(1),
        u95(2),
        number(swatch.contrast.map(|c| c.delta_l)),
        number(swatch.contrast.map(|c| c.u95.delta_l)),
        number(swatch.contrast_left),
        number(swatch.retained_fraction),
        swatch.stands_out.to_string(),
        swatch.left_out.clone().unwrap_or_default(),
    ]
}
