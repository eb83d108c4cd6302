//! The readings of a surface that count, for a trend.

use crate::ledger::LedgerError;
use crate::ledger::file::{Inside, Ledger};
use crate::ledger::trend::TrendPoint;

impl Ledger {
    /// Every reading that counts of one surface, as points of a trend, and how many readings hold none. A piece of a photograph
    /// that is not its largest has no name of its own.
    ///
    /// # Errors
    /// What the database says.
    pub fn points(&self, surface: &str) -> Result<(Vec<TrendPoint>, usize), LedgerError> {
        let recipe = match surface {
            "white" => "slip_id",
            "red" => "red_id",
            "black" => "paint_id",
            _ => "clay_id",
        };
        let read = || -> Result<(Vec<TrendPoint>, usize), Inside> {
            let mut asked = self.connection.prepare(&format!(
                "SELECT i.name, f.name, h.taken, f.date, k.name, h.file_name, s.l, s.a, s.b, s.u95_l, s.u95_a, s.u95_b,
                    s.whiteness, s.area_fraction, r.piece_number
                 FROM surfaces s JOIN readings r ON r.id = s.reading_id JOIN passes p ON p.id = r.pass_id
                 JOIN photographs h ON h.id = p.photograph_id
                 LEFT JOIN firings f ON f.id = h.firing_id LEFT JOIN pieces i ON i.id = h.piece_id
                 LEFT JOIN recipes k ON k.id = i.{recipe}
                 WHERE s.surface = ?1 AND NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id)
                 ORDER BY f.date IS NULL, f.date, h.taken, h.file_name, h.sha256, r.piece_number"
            ))?;
            let points = asked
                .query_map([surface], |row| {
                    let photo: String = row.get(5)?;
                    let stem = photo.rsplit_once('.').map_or(photo.as_str(), |(stem, _)| stem).to_owned();
                    let name = row.get::<_, Option<String>>(0)?.unwrap_or(stem);
                    let number: i64 = row.get(14)?;
                    Ok(TrendPoint {
                        piece: if number > 1 { format!("{name}, piece {number}") } else { name },
                        firing: row.get(1)?,
                        taken: row.get(2)?,
                        date: row.get(3)?,
                        batch: if number > 1 { None } else { row.get(4)? },
                        photo,
                        lab: [row.get(6)?, row.get(7)?, row.get(8)?],
                        u95: [row.get(9)?, row.get(10)?, row.get(11)?],
                        whiteness: row.get(12)?,
                        area_fraction: row.get(13)?,
                    })
                })?
                .collect::<Result<Vec<_>, _>>()?;
            let all: i64 = self.connection.query_row(
                "SELECT count(*) FROM readings r JOIN passes p ON p.id = r.pass_id
                 WHERE NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id)",
                [],
                |row| row.get(0),
            )?;
            let without = usize::try_from(all).unwrap_or(0).saturating_sub(points.len());
            Ok((points, without))
        };
        self.said(read())
    }
}
