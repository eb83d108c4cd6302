//! The ledger as tables (CSV), one file a table, for spreadsheets and statistics.

use super::export::Private;
use crate::ledger::LedgerError;
use crate::ledger::file::{Inside, Ledger};
use crate::ledger::table::safe_cell;
use rusqlite::types::ValueRef;
use std::path::Path;

/// Files and what stands in them. `recipes` are shown by name; readings, surfaces and swatches carry `counts` = 0 where a later reading
/// of the photograph has replaced them; of swatches laid by a plan, where another reading of their tile counts.
const TABLES: [(&str, &str); 10] = [
    ("recipes.csv", "SELECT kind, name, batch, coats, thickness, strength, date, notes, entered FROM recipes ORDER BY kind, name"),
    (
        "firings.csv",
        "SELECT name, date, place, fuel, weather, cover, pre_warm_minutes, start_time, peak_time, peak_celsius, end_time,
            end_action, cooling, notes, intent, next_change, entered FROM firings ORDER BY date IS NULL, date, name",
    ),
    (
        "temperatures.csv",
        "SELECT f.name AS firing, l.file_name AS file, t.probe, t.seconds, t.time, t.celsius, t.no_reading,
            NOT EXISTS (SELECT 1 FROM temperature_logs later WHERE later.replaces = l.id) AS counts
         FROM temperatures t JOIN temperature_logs l ON l.id = t.log_id JOIN firings f ON f.id = l.firing_id
         ORDER BY f.name, l.file_name, l.id, t.probe_number, t.seconds",
    ),
    (
        "pieces.csv",
        "SELECT p.name, p.shape, p.size, p.state, p.soak_test, p.flaws, c.name AS clay, s.name AS slip, r.name AS red,
            t.name AS paint, p.notes, p.entered
         FROM pieces p LEFT JOIN recipes c ON c.id = p.clay_id LEFT JOIN recipes s ON s.id = p.slip_id
         LEFT JOIN recipes r ON r.id = p.red_id LEFT JOIN recipes t ON t.id = p.paint_id ORDER BY p.name",
    ),
    (
        "loads.csv",
        "SELECT f.name AS firing, p.name AS piece, l.place, l.flaws, l.notes, l.entered
         FROM loads l JOIN firings f ON f.id = l.firing_id JOIN pieces p ON p.id = l.piece_id ORDER BY f.name, p.name",
    ),
    (
        "photographs.csv",
        "SELECT h.file_name, h.folder, h.sha256, h.width, h.height, h.taken, h.exposure_seconds, h.f_number, h.iso,
            p.name AS piece, f.name AS firing, h.entered
         FROM photographs h LEFT JOIN pieces p ON p.id = h.piece_id LEFT JOIN firings f ON f.id = h.firing_id
         ORDER BY h.file_name, h.sha256",
    ),
    (
        "readings.csv",
        "SELECT h.sha256 AS photograph_sha256, h.file_name, f.name AS firing, i.name AS piece, r.piece_number, s.version,
            s.sha256 AS settings_sha256, p.error_code, r.grade, r.faults_present, r.white_black_ratio, r.white_black_ratio_u95,
            r.white_black_delta_l, r.white_black_delta_l_u95, r.paint_kept, r.paint_kept_u95, r.clouds, r.light_source,
            r.targets, r.grade_because, p.entered,
            NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id) AS counts
         FROM passes p JOIN photographs h ON h.id = p.photograph_id JOIN settings s ON s.id = p.settings_id
         LEFT JOIN readings r ON r.pass_id = p.id
         LEFT JOIN firings f ON f.id = h.firing_id LEFT JOIN pieces i ON i.id = h.piece_id AND r.piece_number = 1
         ORDER BY h.file_name, h.sha256, p.entered, p.id, r.piece_number",
    ),
    (
        "surfaces.csv",
        "SELECT h.sha256 AS photograph_sha256, h.file_name, f.name AS firing, i.name AS piece, r.piece_number, s.surface,
            s.area_fraction, s.l AS lab_l, s.a AS lab_a, s.b AS lab_b, s.u95_l, s.u95_a, s.u95_b,
            s.to_target AS to_target_de00, s.whiteness AS whiteness_e313, s.munsell, 'D50' AS illuminant,
            'CIE 1931 2 degree' AS observer, NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id) AS counts
         FROM surfaces s JOIN readings r ON r.id = s.reading_id JOIN passes p ON p.id = r.pass_id
         JOIN photographs h ON h.id = p.photograph_id LEFT JOIN firings f ON f.id = h.firing_id
         LEFT JOIN pieces i ON i.id = h.piece_id AND r.piece_number = 1
         ORDER BY h.file_name, h.sha256, p.entered, p.id, r.piece_number, s.surface",
    ),
    (
        "swatches.csv",
        "SELECT h.sha256 AS photograph_sha256, h.file_name, s.photo_row, s.photo_column, s.name AS swatch, s.trial, s.tile,
            s.\"row\", s.\"column\", s.role, s.slip, s.paint, s.coats, f.name AS firing, s.l AS lab_l, s.a AS lab_a, s.b AS lab_b,
            s.u95_l, s.u95_a, s.u95_b, s.contrast_delta_l, s.contrast_left, s.retained, s.stands_out, s.left_out,
            'D50' AS illuminant, 'CIE 1931 2 degree' AS observer,
            CASE WHEN s.trial IS NULL THEN NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id)
                ELSE s.reading_id IN (SELECT reading_id FROM tiles_that_count) END AS counts
         FROM swatches s JOIN readings r ON r.id = s.reading_id JOIN passes p ON p.id = r.pass_id
         JOIN photographs h ON h.id = p.photograph_id LEFT JOIN firings f ON f.id = h.firing_id
         ORDER BY s.trial, s.tile, h.file_name, h.sha256, p.entered, p.id, s.photo_row, s.photo_column",
    ),
    (
        "corrections.csv",
        "SELECT c.\"table\", coalesce(f.name, i.name, k.name, h.file_name, lf.name || ' / ' || li.name) AS of, c.field,
            coalesce((SELECT name FROM recipes WHERE id = c.was AND c.\"table\" = 'pieces' AND c.field LIKE '%_id'),
                (SELECT name FROM pieces WHERE id = c.was AND c.field = 'piece_id'),
                (SELECT name FROM firings WHERE id = c.was AND c.field = 'firing_id'), c.was) AS was,
            coalesce((SELECT name FROM recipes WHERE id = c.now AND c.\"table\" = 'pieces' AND c.field LIKE '%_id'),
                (SELECT name FROM pieces WHERE id = c.now AND c.field = 'piece_id'),
                (SELECT name FROM firings WHERE id = c.now AND c.field = 'firing_id'), c.now) AS now,
            c.because, c.entered
         FROM corrections c
         LEFT JOIN firings f ON c.\"table\" = 'firings' AND f.id = c.row_id
         LEFT JOIN pieces i ON c.\"table\" = 'pieces' AND i.id = c.row_id
         LEFT JOIN recipes k ON c.\"table\" = 'recipes' AND k.id = c.row_id
         LEFT JOIN photographs h ON c.\"table\" = 'photographs' AND h.id = c.row_id
         LEFT JOIN loads l ON c.\"table\" = 'loads' AND l.id = c.row_id
         LEFT JOIN firings lf ON lf.id = l.firing_id LEFT JOIN pieces li ON li.id = l.piece_id
         ORDER BY c.id",
    ),
];

/// Columns that are told only when asked for.
const FOLDERS: [&str; 1] = ["folder"];
const EXIF: [&str; 4] = ["taken", "exposure_seconds", "f_number", "iso"];

impl Ledger {
    /// Every table as CSV: name of the file, its text. Cells that a spreadsheet would take for a formula begin with an
    /// apostrophe; an empty cell is unknown.
    ///
    /// # Errors
    /// What the database says.
    pub fn tables(&self, private: Private) -> Result<Vec<(&'static str, Vec<u8>)>, LedgerError> {
        TABLES
            .iter()
            .map(|(file, sql)| self.said(self.table(file, sql, private)).map(|text| (*file, text)))
            .collect()
    }

    fn table(&self, file: &str, sql: &str, private: Private) -> Result<Vec<u8>, Inside> {
        let ours = |error: csv::Error| {
            Inside::Said(LedgerError::Ours { path: self.path.clone(), what: error.to_string() })
        };
        let hidden = |column: &str| {
            (!private.folders && FOLDERS.contains(&column))
                || (!private.exif && EXIF.contains(&column))
                || (!private.places && file == "firings.csv" && column == "place")
        };
        let hidden_correction = |table: &str, field: &str| {
            (!private.folders && field == "folder")
                || (!private.places && table == "firings" && field == "place")
        };
        let mut asked = self.connection.prepare(sql)?;
        let names: Vec<String> = asked.column_names().map(str::to_owned).collect();
        let mut writer = csv::Writer::from_writer(Vec::new());
        let shown: Vec<usize> = (0..names.len()).filter(|at| !hidden(&names[*at])).collect();
        writer.write_record(shown.iter().map(|at| &names[*at])).map_err(ours)?;
        let mut rows = asked.query([])?;
        while let Some(row) = rows.next()? {
            if file == "corrections.csv"
                && hidden_correction(&row.get::<_, String>("table")?, &row.get::<_, String>("field")?)
            {
                continue;
            }
            let mut cells = Vec::with_capacity(shown.len());
            for at in &shown {
                cells.push(match row.get_ref(*at)? {
                    ValueRef::Null | ValueRef::Blob(_) => String::new(),
                    ValueRef::Integer(number) => number.to_string(),
                    ValueRef::Real(number) => number.to_string(),
                    ValueRef::Text(text) => safe_cell(&String::from_utf8_lossy(text)),
                });
            }
            writer.write_record(&cells).map_err(ours)?;
        }
        writer.into_inner().map_err(|error| {
            Inside::Said(LedgerError::Ours { path: self.path.clone(), what: error.to_string() })
        })
    }

    /// Writes [`Ledger::tables`] into a folder.
    ///
    /// # Errors
    /// [`LedgerError::Exists`] where one of the files is there already; nothing is written then.
    pub fn export_tables(&self, folder: &Path, private: Private) -> Result<Vec<&'static str>, LedgerError> {
        let unwritable = |path: &Path, error: std::io::Error| LedgerError::Unwritable {
            path: path.into(),
            reason: error.to_string(),
        };
        std::fs::create_dir_all(folder).map_err(|e| unwritable(folder, e))?;
        if let Some((file, _)) = TABLES.iter().find(|(file, _)| folder.join(file).exists()) {
            return Err(LedgerError::Exists { path: folder.join(file) });
        }
        let mut written = Vec::new();
        for (file, text) in self.tables(private)? {
            let path = folder.join(file);
            std::fs::write(&path, text).map_err(|e| unwritable(&path, e))?;
            written.push(file);
        }
        Ok(written)
    }
}
