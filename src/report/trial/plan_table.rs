//! The plan as a table to fill in.

use crate::ledger::safe_cell;
use crate::report::ReportError;
use crate::trial::Plan;

/// One row a swatch, in the order of tile, row and column: tile, row, column, swatch, role, slip, paint, coats, firing,
/// seed. UTF-8, comma, LF. A blank has no paint and no coats; without firings in the plan that column is empty. Text that a
/// spreadsheet would run as a formula gets an apostrophe in front.
///
/// # Errors
/// [`ReportError::Table`] only by a fault of this program.
pub fn plan_csv(plan: &Plan) -> Result<Vec<u8>, ReportError> {
    let failed = |error: &dyn std::fmt::Display| ReportError::Table(error.to_string());
    let mut writer = csv::Writer::from_writer(Vec::new());
    let header = ["tile", "row", "column", "swatch", "role", "slip", "paint", "coats", "firing", "seed"];
    writer.write_record(header).map_err(|error| failed(&error))?;
    for swatch in &plan.swatches {
        let told = |cell: &Option<String>| cell.as_deref().map(safe_cell).unwrap_or_default();
        let row = [
            swatch.tile.to_string(),
            swatch.row.to_string(),
            swatch.column.to_string(),
            swatch.id.clone(),
            swatch.role.name().into(),
            safe_cell(&swatch.slip),
            told(&swatch.paint),
            told(&swatch.coats),
            told(&swatch.firing),
            plan.layout.seed.to_string(),
        ];
        writer.write_record(row).map_err(|error| failed(&error))?;
    }
    writer.into_inner().map_err(|error| failed(&error))
}
