//! Swatches of test tiles kept with their reading, and those of a trial given out again.
//!
//! A tile is known by trial and number. Of each photograph the last reading by a plan counts, and of several photographs of one
//! tile the one that was read last: the view `tiles_that_count`.

use super::known::text_of;
use super::passes::rounded;
use crate::ledger::LedgerError;
use crate::ledger::file::{Entering, Inside, Ledger};
use crate::reading::{Record, Swatch, from_json_line};
use rusqlite::params;
use serde::Serialize;
use std::collections::BTreeMap;

/// A swatch that was laid by the plan of a trial.
#[derive(Debug, Clone)]
pub struct TrialSwatch {
    /// File name of the photograph of its tile.
    pub photograph: String,
    /// What was read and laid; the firing is that of the photograph in the ledger.
    pub swatch: Swatch,
}

/// A trial that the ledger holds tiles of.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct KnownTrial {
    /// Its name.
    pub name: String,
    /// Tiles that were read, by number.
    pub tiles: Vec<usize>,
    /// Their firings, by name.
    pub firings: Vec<String>,
    /// Swatches of these tiles.
    pub swatches: usize,
    /// How many of them have a colour.
    pub read: usize,
}

/// A tile that counts: its trial, file name of the photograph, firing and reading.
type CountedTile = (String, String, Option<String>, i64);

impl Ledger {
    /// The trials that tiles were read of, by name.
    ///
    /// # Errors
    /// What the database says.
    pub fn trials(&self) -> Result<Vec<KnownTrial>, LedgerError> {
        let read = || -> Result<Vec<KnownTrial>, Inside> {
            let mut asked = self.connection.prepare(
                "SELECT trial, tile, firing, count(*), count(l) FROM swatches_that_count
                 GROUP BY trial, tile ORDER BY trial, tile",
            )?;
            let mut trials: Vec<KnownTrial> = Vec::new();
            let mut rows = asked.query([])?;
            while let Some(row) = rows.next()? {
                let (name, firing): (String, Option<String>) = (row.get(0)?, row.get(2)?);
                if trials.last().is_none_or(|trial| trial.name != name) {
                    trials.push(KnownTrial { name, ..KnownTrial::default() });
                }
                let Some(trial) = trials.last_mut() else { continue };
                trial.tiles.push(row.get::<_, u32>(1)? as usize);
                trial.firings.extend(firing);
                trial.firings.sort();
                trial.firings.dedup();
                trial.swatches += row.get::<_, u32>(3)? as usize;
                trial.read += row.get::<_, u32>(4)? as usize;
            }
            Ok(trials)
        };
        self.said(read())
    }

    /// The swatches that count of these trials, in the order of trial, tile, row and column; with firings named, only those of
    /// tiles fired in them.
    ///
    /// # Errors
    /// [`LedgerError::NoSuch`] for a trial that no tile was read of, [`LedgerError::NoReadings`] where none lies in the firings,
    /// [`LedgerError::Damaged`] where a kept record no longer fits its hash.
    pub fn trial_swatches(
        &self,
        trials: &[String],
        firings: &[String],
    ) -> Result<Vec<TrialSwatch>, LedgerError> {
        let known = self.trials()?;
        if let Some(name) = trials.iter().find(|name| !known.iter().any(|trial| trial.name == **name)) {
            let known = known.into_iter().map(|trial| trial.name).collect();
            return Err(LedgerError::NoSuch { what: "trial", name: name.clone(), known });
        }
        let mut found = Vec::new();
        for (trial, photograph, firing, reading) in self.said(self.tiles_that_count())? {
            let fired = firings.is_empty() || firing.as_ref().is_some_and(|firing| firings.contains(firing));
            if !trials.contains(&trial) || !fired {
                continue;
            }
            let text = self.said(text_of(&self.connection, &self.path, reading))?;
            let record = from_json_line(&text).map_err(|error| LedgerError::Damaged {
                path: self.path.clone(),
                what: format!("a record cannot be read: {error}"),
            })?;
            let Record::Measured(record) = record else { continue };
            for mut swatch in record.swatches.into_iter().flatten() {
                let Some(laid) = &mut swatch.laid else { continue };
                laid.firing = firing.clone().or(laid.firing.take());
                laid.trial = trial.clone();
                found.push(TrialSwatch { photograph: photograph.clone(), swatch });
            }
        }
        found.sort_by_key(|kept| {
            kept.swatch.laid.as_ref().map(|l| (l.trial.clone(), l.tile, l.row, l.column))
        });
        match found.is_empty() {
            false => Ok(found),
            true => {
                let quoted: Vec<String> = firings.iter().map(|name| format!("'{name}'")).collect();
                let of = format!("of tiles of this trial in the firing {}", quoted.join(", "));
                Err(LedgerError::NoReadings { of })
            }
        }
    }

    /// The photographs whose readings count for a trial, by the number of their tile: hash and file name.
    ///
    /// # Errors
    /// What the database says.
    pub fn trial_photographs(&self, trial: &str) -> Result<BTreeMap<usize, (String, String)>, LedgerError> {
        let read = || -> Result<BTreeMap<usize, (String, String)>, Inside> {
            let mut asked = self.connection.prepare(
                "SELECT t.tile, h.sha256, h.file_name FROM tiles_that_count t JOIN photographs h ON h.id = t.photograph_id
                 WHERE t.trial = ?1",
            )?;
            let rows = asked
                .query_map([trial], |row| Ok((row.get::<_, u32>(0)? as usize, (row.get(1)?, row.get(2)?))))?;
            Ok(rows.collect::<Result<_, _>>()?)
        };
        self.said(read())
    }

    /// Makes the reading of a photograph the last that was entered, so that of several photographs of one tile it is the one
    /// that counts.
    ///
    /// # Errors
    /// [`LedgerError`]; nothing is changed then.
    pub fn count_again(&mut self, photograph_sha256: &str) -> Result<(), LedgerError> {
        self.at_once(|entering| {
            let mut asked =
                entering.connection.prepare_cached("SELECT id FROM photographs WHERE sha256 = ?1")?;
            let photograph = asked.query_row([photograph_sha256], |row| row.get(0))?;
            match entering.current_pass(photograph)? {
                Some(pass) => entering.take_up(pass, pass),
                None => Ok(()),
            }
        })
    }

    /// The piece that a photograph is known to show.
    ///
    /// # Errors
    /// What the database says.
    pub fn piece_of(&self, photograph_sha256: &str) -> Result<Option<String>, LedgerError> {
        let read = || -> Result<Option<String>, Inside> {
            let mut asked = self.connection.prepare_cached(
                "SELECT i.name FROM photographs h JOIN pieces i ON i.id = h.piece_id WHERE h.sha256 = ?1",
            )?;
            let mut rows = asked.query([photograph_sha256])?;
            Ok(rows.next()?.map(|row| row.get(0)).transpose()?)
        };
        self.said(read())
    }

    fn tiles_that_count(&self) -> Result<Vec<CountedTile>, Inside> {
        let mut asked = self.connection.prepare(
            "SELECT t.trial, h.file_name, f.name, t.reading_id FROM tiles_that_count t
             JOIN photographs h ON h.id = t.photograph_id LEFT JOIN firings f ON f.id = h.firing_id",
        )?;
        let rows = asked.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?)))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

impl Entering<'_> {
    /// The rows of a reading's swatches.
    pub(super) fn enter_swatches(&self, reading: i64, swatches: &[Swatch]) -> Result<(), Inside> {
        let mut entered = self.connection.prepare_cached(
            "INSERT INTO swatches (reading_id, photo_row, photo_column, name, trial, tile, \"row\", \"column\", role, slip, paint,
                coats, l, a, b, u95_l, u95_a, u95_b, contrast_delta_l, contrast_left, retained, stands_out, left_out)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21, ?22, ?23)",
        )?;
        for swatch in swatches {
            let laid = swatch.laid.as_ref();
            let [l, a, b] = [0, 1, 2].map(|c| swatch.lab.map(|lab| rounded(lab[c])));
            let [u95_l, u95_a, u95_b] = [0, 1, 2].map(|c| swatch.u95.map(|u95| rounded(u95[c])));
            entered.execute(params![
                reading,
                swatch.row as i64,
                swatch.column as i64,
                swatch.id,
                laid.map(|laid| &laid.trial),
                laid.map(|laid| laid.tile as i64),
                laid.map(|laid| laid.row as i64),
                laid.map(|laid| laid.column as i64),
                laid.and_then(|laid| laid.role.as_ref()),
                laid.and_then(|laid| laid.slip.as_ref()),
                laid.and_then(|laid| laid.paint.as_ref()),
                laid.and_then(|laid| laid.coats.as_ref()),
                l,
                a,
                b,
                u95_l,
                u95_a,
                u95_b,
                swatch.contrast.map(|contrast| rounded(contrast.delta_l)),
                swatch.contrast_left.map(rounded),
                swatch.retained_fraction.map(rounded),
                swatch.stands_out,
                swatch.left_out,
            ])?;
        }
        Ok(())
    }
}
