//! The readings of a surface that count, for a trend.

use crate::ledger::LedgerError;
use crate::ledger::file::{Inside, Ledger};
use crate::ledger::trend::TrendPoint;
use rayon::prelude::*;
use std::collections::HashMap;

impl Ledger {
    /// Every reading that counts of one surface, as points of a trend, and how many readings hold none. They stand in the order
    /// of firings by date, then of the camera's times, then of file names. A piece of a photograph that is not its largest has no
    /// name of its own.
    ///
    /// # Errors
    /// What the database says.
    pub fn points(&self, surface: &str) -> Result<(Vec<TrendPoint>, usize), LedgerError> {
        self.said(self.read_points(surface))
    }

    fn read_points(&self, surface: &str) -> Result<(Vec<TrendPoint>, usize), Inside> {
        let recipe = match surface {
            "white" => "slip_id",
            "red" => "red_id",
            "black" => "paint_id",
            _ => "clay_id",
        };
        // Firings and recipes are few and asked for often: they are looked up here, not by the database.
        let mut asked = self.connection.prepare("SELECT id, name, date FROM firings")?;
        let firings: HashMap<i64, (String, Option<String>)> = asked
            .query_map([], |row| Ok((row.get(0)?, (row.get(1)?, row.get(2)?))))?
            .collect::<Result<_, _>>()?;
        let mut asked = self.connection.prepare("SELECT id, name FROM recipes")?;
        let recipes: HashMap<i64, String> =
            asked.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?.collect::<Result<_, _>>()?;
        let all: i64 = self.connection.query_row(
            "SELECT count(*) FROM readings r
             WHERE NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = r.pass_id)",
            [],
            |row| row.get(0),
        )?;
        let all = usize::try_from(all).unwrap_or(0);
        let mut asked = self.connection.prepare(&format!(
            "SELECT i.name, h.firing_id, h.taken, i.{recipe}, h.file_name, s.l, s.a, s.b, s.u95_l, s.u95_a, s.u95_b,
                s.whiteness, s.area_fraction, r.piece_number
             FROM surfaces s JOIN readings r ON r.id = s.reading_id JOIN passes p ON p.id = r.pass_id
             JOIN photographs h ON h.id = p.photograph_id LEFT JOIN pieces i ON i.id = h.piece_id
             WHERE s.surface = ?1 AND NOT EXISTS (SELECT 1 FROM passes later WHERE later.replaces = p.id)"
        ))?;
        let found = asked.query_map([surface], |row| {
            let photo: String = row.get(4)?;
            let number: i64 = row.get(13)?;
            let name: Option<String> = row.get(0)?;
            let name = name.unwrap_or_else(|| {
                photo.rsplit_once('.').map_or(photo.as_str(), |(stem, _)| stem).to_owned()
            });
            let firing = row.get::<_, Option<i64>>(1)?.and_then(|id| firings.get(&id));
            let batch = row.get::<_, Option<i64>>(3)?.filter(|_| number == 1).and_then(|id| recipes.get(&id));
            let point = TrendPoint {
                piece: if number > 1 { format!("{name}, piece {number}") } else { name },
                firing: firing.map(|(name, _)| name.clone()),
                taken: row.get(2)?,
                date: firing.and_then(|(_, date)| date.clone()),
                batch: batch.cloned(),
                photo,
                lab: [row.get(5)?, row.get(6)?, row.get(7)?],
                u95: [row.get(8)?, row.get(9)?, row.get(10)?],
                whiteness: row.get(11)?,
                area_fraction: row.get(12)?,
            };
            Ok((number, point))
        })?;
        let mut points: Vec<(i64, TrendPoint)> = Vec::with_capacity(all);
        for point in found {
            points.push(point?);
        }
        // Where all carry a time the trend puts them in its order. Else photographs of one name are told apart by what was
        // measured: the order of entering is that of chance.
        if points.iter().any(|(_, point)| point.taken.is_none() && point.date.is_none()) {
            points.par_sort_unstable_by(|(number, one), (other_number, other)| {
                let plain = |point: &TrendPoint| point.lab.map(f64::to_bits);
                (one.date.is_none(), &one.date, &one.taken, &one.photo, number, plain(one)).cmp(&(
                    other.date.is_none(),
                    &other.date,
                    &other.taken,
                    &other.photo,
                    other_number,
                    plain(other),
                ))
            });
        }
        let without = all.saturating_sub(points.len());
        Ok((points.into_iter().map(|(_, point)| point).collect(), without))
    }
}
