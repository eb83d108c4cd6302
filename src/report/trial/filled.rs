//! The sheet of a plan with what its photographs show.

use crate::ledger::safe_cell;
use crate::reading::Swatch;
use crate::report::ReportError;
use crate::trial::{Sheet, SheetPlace};
use std::collections::BTreeMap;

/// Columns that are added behind those of the plan.
const READ: [&str; 10] = [
    "photo",
    "l",
    "a",
    "b",
    "u95_l",
    "contrast_delta_l",
    "contrast_left",
    "retained",
    "stands_out",
    "left_out",
];

/// The plan's own rows and columns, with what was read of each swatch behind: CIELAB for D50 and the 2 degree observer, the
/// half-width of the 95 % interval of L*, L* of the tile's slip less that of the swatch, paint's share of the contrast of the
/// soundest on its tile, the part of it that is kept. Empty means not read, never zero; `left_out` says why. Columns of an
/// earlier reading are replaced. UTF-8, comma, dot, LF.
///
/// # Errors
/// [`ReportError::Table`] only by a fault of this program.
pub fn filled_sheet(
    sheet: &Sheet,
    swatches: &BTreeMap<SheetPlace, (String, Swatch)>,
) -> Result<Vec<u8>, ReportError> {
    let failed = |error: &dyn std::fmt::Display| ReportError::Table(error.to_string());
    let own: Vec<usize> =
        (0..sheet.header.len()).filter(|&i| !READ.contains(&sheet.header[i].as_str())).collect();
    let mut writer = csv::Writer::from_writer(Vec::new());
    let header = own.iter().map(|&i| sheet.header[i].as_str()).chain(READ);
    writer.write_record(header).map_err(|error| failed(&error))?;
    for (place, cells, _) in &sheet.rows {
        let mut row: Vec<String> =
            own.iter().map(|&i| cells.get(i).map(|cell| safe_cell(cell)).unwrap_or_default()).collect();
        match swatches.get(place) {
            Some((photo, swatch)) => row.extend(read(photo, swatch)),
            None => {
                row.extend(READ.map(|name| if name == "left_out" { "no photograph" } else { "" }.to_owned()))
            }
        }
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
    [
        safe_cell(photo),
        lab(0),
        lab(1),
        lab(2),
        number(swatch.u95.map(|u95| u95[0])),
        number(swatch.contrast.map(|c| c.delta_l)),
        number(swatch.contrast_left),
        number(swatch.retained_fraction),
        swatch.stands_out.to_string(),
        swatch.left_out.clone().unwrap_or_default(),
    ]
}
