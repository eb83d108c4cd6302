//! What became of the pieces of a firing, and of a piece from firing to firing: the readings that count, a row each.

use crate::ledger::LedgerError;
use crate::ledger::file::{Inside, Ledger};
use serde::Serialize;

/// A reading that counts, in short.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Glance {
    /// The firing, where it is known.
    pub firing: Option<String>,
    /// The piece, where it is known.
    pub piece: Option<String>,
    /// File name of the photograph.
    pub photograph: String,
    /// Which piece of the photograph; null: it could not be measured.
    pub piece_number: Option<i64>,
    /// Its grade, or null.
    pub grade: Option<String>,
    /// Faults that are present, or why it could not be measured.
    pub remark: Option<String>,
    /// L* of white and its half-width.
    pub white_l: Option<[f64; 2]>,
    /// L* of black and its half-width.
    pub black_l: Option<[f64; 2]>,
    /// Share of the paint that still reads black, and its half-width.
    pub paint_kept: Option<[f64; 2]>,
}

impl Ledger {
    /// The readings that count of a firing, or of a piece, or all; by firing, piece and photograph.
    ///
    /// # Errors
    /// What the database says.
    pub fn glances(&self, firing: Option<&str>, piece: Option<&str>) -> Result<Vec<Glance>, LedgerError> {
        let read = || -> Result<Vec<Glance>, Inside> {
            let mut asked = self.connection.prepare(
                "SELECT f.name, i.name, h.file_name, r.piece_number, r.grade, coalesce(p.error_code, r.faults_present),
                    w.l, w.u95_l, k.l, k.u95_l, r.paint_kept, r.paint_kept_u95
                 FROM passes p JOIN photographs h ON h.id = p.photograph_id
                 LEFT JOIN readings r ON r.pass_id = p.id
                 LEFT JOIN firings f ON f.id = h.firing_id LEFT JOIN pieces i ON i.id = h.piece_id AND coalesce(r.piece_number, 1) = 1
                 LEFT JOIN surfaces w ON w.surface = 'white' AND w.reading_id = r.id
                 LEFT JOIN surfaces k ON k.surface = 'black' AND k.reading_id = r.id
                 WHERE NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id)
                    AND (?1 IS NULL OR f.name = ?1) AND (?2 IS NULL OR i.name = ?2)
                 ORDER BY f.date IS NULL, f.date, f.name, i.name, h.taken, h.file_name, r.piece_number",
            )?;
            let pair = |row: &rusqlite::Row, at: usize| -> rusqlite::Result<Option<[f64; 2]>> {
                let (value, u95): (Option<f64>, Option<f64>) = (row.get(at)?, row.get(at + 1)?);
                Ok(value.zip(u95).map(|(value, u95)| [value, u95]))
            };
            let rows = asked.query_map((firing, piece), |row| {
                Ok(Glance {
                    firing: row.get(0)?,
                    piece: row.get(1)?,
                    photograph: row.get(2)?,
                    piece_number: row.get(3)?,
                    grade: row.get(4)?,
                    remark: row.get(5)?,
                    white_l: pair(row, 6)?,
                    black_l: pair(row, 8)?,
                    paint_kept: pair(row, 10)?,
                })
            })?;
            Ok(rows.collect::<Result<_, _>>()?)
        };
        self.said(read())
    }
}
