//! Readings as one tidy CSV table.
//!
//! One row a photograph, piece and surface: what belongs to the piece or the photograph (grade,
//! contrast, paint, light, card) is repeated on each of its rows, so that every row can be sorted
//! and filtered alone. A piece on which no surface was read, and a photograph that could not be
//! measured, have one row with an empty `surface`; the latter says why in `error_code` and
//! `error_text`. UTF-8, comma, dot as decimal mark, LF; lengths in mm, areas in full-size pixels,
//! shares 0 to 1, angles in degrees; empty means unknown or not measured, never zero. Columns that
//! begin with `u95_` are half-widths of 95 % intervals. Colours are for the `illuminant` and
//! `observer` named in the row. Text that begins with `=`, `+`, `-` or `@` gets an apostrophe in
//! front, for spreadsheets would run it as a formula.

use super::ReportError;
use crate::ledger::safe_cell;
use crate::reading::{PhotoPart, Reading, Record, SheetRow, Surface};

/// One cell: a name and its text, built row by row so that names and values cannot drift apart.
type Cells = Vec<(&'static str, String)>;

/// The table of all records, in their order, with a header line.
///
/// # Errors
/// [`ReportError::Table`] only by a fault of this program.
pub fn readings_csv(records: &[Record]) -> Result<Vec<u8>, ReportError> {
    let failed = |error: &dyn std::fmt::Display| ReportError::Table(error.to_string());
    let mut writer = csv::Writer::from_writer(Vec::new());
    let header = cells(&PhotoPart::default(), None, None, None);
    writer.write_record(header.iter().map(|(name, _)| *name)).map_err(|error| failed(&error))?;
    for record in records {
        let rows = match record {
            Record::Failed(failure) => {
                let mut row = cells(&failure.photo, None, None, None);
                set(&mut row, "error_code", safe_cell(&failure.error.code));
                set(&mut row, "error_text", safe_cell(&failure.error.text));
                set(&mut row, "program_version", safe_cell(&failure.made_by.version));
                set(&mut row, "settings_sha256", safe_cell(&failure.made_by.settings_sha256));
                vec![row]
            }
            Record::Measured(reading) => {
                let mut rows: Vec<Cells> = reading
                    .surfaces
                    .iter()
                    .map(|(name, surface)| cells(&reading.photo, Some(reading), Some(name), Some(surface)))
                    .collect();
                if rows.is_empty() {
                    rows.push(cells(&reading.photo, Some(reading), None, None));
                }
                rows
            }
        };
        for row in rows {
            writer.write_record(row.iter().map(|(_, value)| value)).map_err(|error| failed(&error))?;
        }
    }
    writer.into_inner().map_err(|error| failed(&error))
}

fn set(row: &mut Cells, name: &str, value: String) {
    if let Some(cell) = row.iter_mut().find(|(known, _)| *known == name) {
        cell.1 = value;
    }
}

/// All cells of a row; those of the parts that are not there are empty.
fn cells(
    photo: &PhotoPart,
    reading: Option<&Reading>,
    name: Option<&str>,
    surface: Option<&Surface>,
) -> Cells {
    let sheet = reading.and_then(|r| r.sheet.as_ref());
    let said = |field: fn(&SheetRow) -> &Option<String>| {
        sheet.and_then(|row| field(row).as_deref()).map_or(String::new(), safe_cell)
    };
    let told = |field: fn(&Reading) -> &str| reading.map_or(String::new(), |r| safe_cell(field(r)));
    let of = |field: fn(&Reading) -> Option<f64>| number(reading.and_then(field));
    let on = |field: fn(&Surface) -> Option<f64>| number(surface.and_then(field));
    vec![
        ("photo_path", safe_cell(&photo.path)),
        ("photo_sha256", photo.sha256.as_deref().map_or(String::new(), safe_cell)),
        ("taken", photo.taken.as_deref().map_or(String::new(), safe_cell)),
        ("piece_number", of(|r| Some(r.piece.number as f64))),
        ("piece_count", of(|r| Some(r.piece.count as f64))),
        ("piece", said(|row| &row.piece)),
        ("firing", said(|row| &row.firing)),
        ("slip", said(|row| &row.slip)),
        ("red", said(|row| &row.red)),
        ("paint", said(|row| &row.paint)),
        ("place", said(|row| &row.place)),
        ("clay", said(|row| &row.clay)),
        ("shape", said(|row| &row.shape)),
        ("size", said(|row| &row.size)),
        ("state", said(|row| &row.state)),
        ("soak_test", said(|row| &row.soak_test)),
        ("flaws", said(|row| &row.flaws)),
        ("notes", said(|row| &row.notes)),
        ("grade", told(|r| r.grade.name())),
        ("surface", name.map_or(String::new(), safe_cell)),
        ("area_px", on(|s| Some(s.area_px as f64))),
        ("area_fraction", on(|s| Some(s.area_fraction))),
        ("l_star", on(|s| Some(s.lab[0]))),
        ("a_star", on(|s| Some(s.lab[1]))),
        ("b_star", on(|s| Some(s.lab[2]))),
        ("u95_l_star", on(|s| Some(s.u95[0]))),
        ("u95_a_star", on(|s| Some(s.u95[1]))),
        ("u95_b_star", on(|s| Some(s.u95[2]))),
        ("c_star", on(|s| Some(s.lch[1]))),
        ("hue_deg", on(|s| Some(s.lch[2]))),
        ("l_star_p05", on(|s| s.l_spread.map(|spread| spread.p05))),
        ("l_star_p50", on(|s| s.l_spread.map(|spread| spread.p50))),
        ("l_star_p95", on(|s| s.l_spread.map(|spread| spread.p95))),
        ("l_star_sd", on(|s| s.l_spread.map(|spread| spread.sd))),
        (
            "munsell",
            surface.and_then(|s| s.munsell.first()).map_or(String::new(), |m| safe_cell(&m.notation)),
        ),
        ("munsell_de00", on(|s| s.munsell.first().map(|m| m.de00))),
        // An index outside its formula's limits is no measurement: left empty.
        ("whiteness", on(|s| s.whiteness.as_ref().filter(|w| w.valid).map(|w| w.value))),
        ("yellowness", on(|s| s.yellowness.as_ref().filter(|y| y.valid).map(|y| y.value))),
        ("to_target_de00", on(|s| s.to_target_de00)),
        ("contrast_delta_l", of(|r| r.contrast.as_ref().map(|c| c.delta_l))),
        ("u95_contrast_delta_l", of(|r| r.contrast.as_ref().map(|c| c.u95.delta_l))),
        ("contrast_de00", of(|r| r.contrast.as_ref().map(|c| c.de00))),
        ("u95_contrast_de00", of(|r| r.contrast.as_ref().map(|c| c.u95.de00))),
        ("reflectance_ratio", of(|r| r.contrast.as_ref().map(|c| c.reflectance_ratio))),
        ("u95_reflectance_ratio", of(|r| r.contrast.as_ref().map(|c| c.u95.reflectance_ratio))),
        ("reflectance_ratio_from", told(|r| r.contrast.as_ref().map_or("", |c| &c.ratio_from))),
        ("paint_applied_px", of(|r| r.paint.as_ref().map(|p| p.applied_px as f64))),
        ("paint_retained_fraction", of(|r| r.paint.as_ref().map(|p| p.retained_fraction))),
        ("u95_paint_retained_fraction", of(|r| r.paint.as_ref().map(|p| p.u95))),
        ("survival_kept", of(|r| r.survival.as_ref().map(|s| s.kept))),
        ("survival_thinned", of(|r| r.survival.as_ref().map(|s| s.thinned))),
        ("survival_lost", of(|r| r.survival.as_ref().map(|s| s.lost))),
        ("u95_survival", of(|r| r.survival.as_ref().map(|s| s.u95))),
        ("line_width_mm_p05", of(|r| r.paint.as_ref()?.line_width_mm.map(|w| w.p05))),
        ("line_width_mm_p50", of(|r| r.paint.as_ref()?.line_width_mm.map(|w| w.p50))),
        ("line_width_mm_p95", of(|r| r.paint.as_ref()?.line_width_mm.map(|w| w.p95))),
        ("line_width_px_p50", of(|r| r.paint.as_ref()?.line_width_px.map(|w| w.p50))),
        ("margin_mm_p50", of(|r| r.piece.margin_mm.map(|w| w.p50))),
        ("margin_px_p50", of(|r| r.piece.margin_px.map(|w| w.p50))),
        ("paint_edge_mm", of(|r| r.paint.as_ref()?.edge_mm.map(|w| w.p50))),
        ("paint_edge_px", of(|r| r.paint.as_ref()?.edge_px.map(|w| w.p50))),
        ("paint_edge_own_px", of(|r| r.paint.as_ref()?.edge_own_px)),
        ("paint_spottiness", of(|r| r.paint.as_ref()?.spottiness.map(|m| m.value))),
        ("u95_paint_spottiness", of(|r| r.paint.as_ref()?.spottiness.map(|m| m.u95))),
        ("white_unevenness_l_star", of(|r| r.piece.white_unevenness.map(|m| m.value))),
        ("u95_white_unevenness_l_star", of(|r| r.piece.white_unevenness.map(|m| m.u95))),
        ("cloud_fraction", of(|r| Some(r.clouds.area_fraction))),
        ("glare_fraction", of(|r| Some(r.left_out.glare.area_fraction))),
        ("shade_fraction", of(|r| Some(r.left_out.shade.area_fraction))),
        ("clipped_fraction", of(|r| Some(r.piece.clipped_fraction))),
        ("crushed_fraction", of(|r| Some(r.piece.crushed_fraction))),
        ("out_of_gamut_fraction", of(|r| Some(r.piece.out_of_gamut_fraction))),
        ("unclear_fraction", of(|r| Some(r.left_out.unclear.area_fraction))),
        ("size_width_mm", of(|r| r.piece.size_mm.map(|size| size.width))),
        ("size_height_mm", of(|r| r.piece.size_mm.map(|size| size.height))),
        ("u95_size_mm", of(|r| r.piece.size_mm.map(|size| size.u95))),
        ("card_status", told(|r| &r.card.status)),
        ("card_definition", told(|r| r.card.definition.as_deref().unwrap_or(""))),
        ("card_model", told(|r| r.card.model.as_deref().unwrap_or(""))),
        ("card_held_out_de00_mean", of(|r| r.card.held_out_de00.map(|residual| residual.mean))),
        ("observer", told(|r| &r.observer)),
        ("illuminant", told(|r| &r.illuminant)),
        ("targets", told(|r| &r.targets)),
        ("targets_sha256", told(|r| &r.targets_sha256)),
        ("program_version", told(|r| &r.made_by.version)),
        ("settings_sha256", told(|r| &r.made_by.settings_sha256)),
        (
            "null_because",
            reading.map_or(String::new(), |r| {
                let said: Vec<String> =
                    r.null_because.iter().map(|(field, reason)| format!("{field}: {reason}")).collect();
                safe_cell(&said.join("; "))
            }),
        ),
        (
            "warnings",
            reading.map_or(String::new(), |r| {
                safe_cell(&r.warnings.iter().map(|w| w.code.as_str()).collect::<Vec<_>>().join(" "))
            }),
        ),
        ("error_code", String::new()),
        ("error_text", String::new()),
    ]
}

/// A number with three decimals at most; empty where it is not known or not finite.
fn number(value: Option<f64>) -> String {
    value
        .filter(|v| v.is_finite())
        .map_or(String::new(), |v| ((v * 1000.0).round() / 1000.0 + 0.0).to_string())
}
