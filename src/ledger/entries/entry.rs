//! Firings, recipes, pieces and their places in a load: entered, corrected, looked up.
//!
//! An entry is known by its name. A correction changes the value that counts; the file itself keeps what stood there before
//! (`corrections`), and an entry shows both.

use super::fields::{Kind, LOADS, Value};
use super::rows::{corrections, shown};
use crate::ledger::file::{Inside, Ledger};
use crate::ledger::{LedgerError, Named};
use rusqlite::Row;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Values by the column of their field; what is unknown is not there.
pub type Values = BTreeMap<&'static str, Value>;

/// An entry as it stands now, and what was corrected in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    #[serde(skip)]
    pub(in crate::ledger) id: i64,
    /// Which recipe it is: `clay`, `slip`, `red`, `paint`; of other entries nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// Its name.
    pub name: String,
    /// What is known of it, by the word of the field.
    pub values: BTreeMap<&'static str, Value>,
    /// When it was entered, UTC.
    pub entered: String,
    /// What was changed since, the oldest first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<Correction>,
}

/// A change of one field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Correction {
    /// The word of the field.
    pub field: String,
    /// What stood there; null: it was unknown.
    pub was: Option<Value>,
    /// What stands there now; null: it is unknown.
    pub now: Option<Value>,
    /// Why, if that was said.
    pub because: Option<String>,
    /// When, UTC.
    pub entered: String,
}

/// A piece in a firing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Load {
    #[serde(skip)]
    pub(in crate::ledger) id: i64,
    /// The firing.
    pub firing: String,
    /// The piece.
    pub piece: String,
    /// Place in the fire, flaws and notes, by the word of the field.
    pub values: BTreeMap<&'static str, Value>,
    /// What was changed since.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<Correction>,
}

impl Ledger {
    /// Enters a new firing, recipe or piece. Recipes that a piece names and the ledger does not know are entered by name.
    ///
    /// # Errors
    /// [`LedgerError::AlreadyThere`] for a name that is taken.
    pub fn add(&mut self, kind: &'static Kind, named: &Named, values: &Values) -> Result<(), LedgerError> {
        self.at_once(|entering| {
            if entering.find(kind, named)?.is_some() {
                let (what, name) = (kind.word, named.name.clone());
                return Err(LedgerError::AlreadyThere { what, name }.into());
            }
            entering.enter(kind, named, values).map(drop)
        })
    }

    /// Corrects an entry: the values given count from now on, the ones before are kept. `clear` names columns whose value
    /// turned out unknown. Goes out: what changed.
    ///
    /// # Errors
    /// [`LedgerError::NoSuch`] for a name the ledger does not know.
    pub fn correct(
        &mut self,
        kind: &'static Kind,
        named: &Named,
        values: &Values,
        clear: &[&'static str],
        because: Option<&str>,
    ) -> Result<Vec<Correction>, LedgerError> {
        let known = self.names(kind)?;
        self.at_once(|entering| {
            let Some(id) = entering.find(kind, named)? else {
                return Err(LedgerError::NoSuch { what: kind.word, name: named.name.clone(), known }.into());
            };
            entering.change(kind, id, values, clear, because)
        })
    }

    /// Enters a piece's place in a firing, or corrects it where it is known; both are entered by name where they are new.
    ///
    /// # Errors
    /// What the database says.
    pub fn load_piece(&mut self, firing: &str, piece: &str, values: &Values) -> Result<(), LedgerError> {
        self.at_once(|entering| {
            let (firing, piece) = (entering.firing(firing)?.0, entering.piece(piece)?.0);
            let (load, new) = entering.load(firing, piece, values)?;
            if !new {
                entering.change(&LOADS, load, values, &[], None)?;
            }
            Ok(())
        })
    }

    /// Corrects what is known of a piece in a firing, as [`Ledger::correct`] does an entry. Goes out: what changed.
    ///
    /// # Errors
    /// [`LedgerError::NoSuch`] where the piece did not lie in that firing.
    pub fn correct_load(
        &mut self,
        firing: &str,
        piece: &str,
        values: &Values,
        clear: &[&'static str],
        because: Option<&str>,
    ) -> Result<Vec<Correction>, LedgerError> {
        let known: Vec<String> = self.loads(None, Some(piece))?.into_iter().map(|load| load.firing).collect();
        let load = self.loads(Some(firing), Some(piece))?;
        let Some(load) = load.first().map(|load| load.id) else {
            let name = format!("{piece} in {firing}");
            return Err(LedgerError::NoSuch { what: LOADS.word, name, known });
        };
        self.at_once(|entering| entering.change(&LOADS, load, values, clear, because))
    }

    /// Gives an entry another name; the one before is kept among its corrections.
    ///
    /// # Errors
    /// [`LedgerError::AlreadyThere`] where the new name is taken, [`LedgerError::NoSuch`] where the old one is not known.
    pub fn rename(
        &mut self,
        kind: &'static Kind,
        named: &Named,
        name: &str,
        because: Option<&str>,
    ) -> Result<Vec<Correction>, LedgerError> {
        let known = self.names(kind)?;
        self.at_once(|entering| {
            let Some(id) = entering.find(kind, named)? else {
                let name = named.name.clone();
                return Err(LedgerError::NoSuch { what: kind.word, name, known }.into());
            };
            if entering.find(kind, &Named { kind: named.kind.clone(), name: name.into() })?.is_some() {
                return Err(LedgerError::AlreadyThere { what: kind.word, name: name.into() }.into());
            }
            let values = Values::from([("name", Value::Words(name.into()))]);
            entering.change(kind, id, &values, &[], because)
        })
    }

    /// All entries of a kind, by name; firings by date first, those without one last.
    pub fn entries(&self, kind: &'static Kind) -> Result<Vec<Entry>, LedgerError> {
        let order = match kind.table {
            "firings" => "date IS NULL, date, name",
            "recipes" => "kind, name",
            _ => "name",
        };
        let read = || -> Result<Vec<Entry>, Inside> {
            let sql = format!("SELECT * FROM {} ORDER BY {order}", kind.table);
            let mut asked = self.connection.prepare(&sql)?;
            let mut rows = asked.query([])?;
            let mut entries = Vec::new();
            while let Some(row) = rows.next()? {
                entries.push(Entry {
                    id: row.get("id")?,
                    kind: if kind.table == "recipes" { row.get("kind")? } else { None },
                    name: row.get("name")?,
                    values: self.values(kind, row)?,
                    entered: row.get("entered")?,
                    corrections: Vec::new(),
                });
            }
            Ok(entries)
        };
        self.said(read())
    }

    /// One entry with its corrections. Of a recipe the kind may be left out where the name is that of one alone.
    ///
    /// # Errors
    /// [`LedgerError::NoSuch`] for a name the ledger does not know or that two recipes bear.
    pub fn entry(&self, kind: &'static Kind, named: &Named) -> Result<Entry, LedgerError> {
        let entries = self.entries(kind)?;
        let known = entries.iter().map(|e| e.name.clone()).collect();
        let mut fitting = entries
            .into_iter()
            .filter(|e| e.name == named.name && (named.kind.is_none() || e.kind == named.kind));
        match (fitting.next(), fitting.next()) {
            (Some(mut entry), None) => {
                entry.corrections = self.corrections(kind, entry.id)?;
                Ok(entry)
            }
            (Some(_), Some(_)) => Err(LedgerError::Value {
                field: kind.word.into(),
                value: named.name.clone(),
                wanted: "two of its kinds bear this name; say --kind as well".into(),
            }),
            _ => Err(LedgerError::NoSuch { what: kind.word, name: named.name.clone(), known }),
        }
    }

    /// The pieces of a firing, or the firings of a piece, or all where neither is named.
    pub fn loads(&self, firing: Option<&str>, piece: Option<&str>) -> Result<Vec<Load>, LedgerError> {
        let read = || -> Result<Vec<Load>, Inside> {
            let mut asked = self.connection.prepare(
                "SELECT l.*, f.name AS firing, p.name AS piece FROM loads l
                 JOIN firings f ON f.id = l.firing_id JOIN pieces p ON p.id = l.piece_id
                 WHERE (?1 IS NULL OR f.name = ?1) AND (?2 IS NULL OR p.name = ?2)
                 ORDER BY f.date IS NULL, f.date, f.name, p.name",
            )?;
            let mut rows = asked.query((firing, piece))?;
            let mut loads = Vec::new();
            while let Some(row) = rows.next()? {
                let id = row.get("id")?;
                let values = self.values(&LOADS, row)?;
                let corrections = self.corrections(&LOADS, id)?;
                loads.push(Load {
                    id,
                    firing: row.get("firing")?,
                    piece: row.get("piece")?,
                    values,
                    corrections,
                });
            }
            Ok(loads)
        };
        self.said(read())
    }

    pub(in crate::ledger) fn names(&self, kind: &Kind) -> Result<Vec<String>, LedgerError> {
        let read = || -> Result<Vec<String>, Inside> {
            let mut asked =
                self.connection.prepare(&format!("SELECT name FROM {} ORDER BY name", kind.table))?;
            Ok(asked.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?)
        };
        self.said(read())
    }

    /// The fields of a row by their words, recipes by their names.
    fn values(&self, kind: &Kind, row: &Row) -> Result<BTreeMap<&'static str, Value>, Inside> {
        let mut values = BTreeMap::new();
        for field in kind.fields {
            let value = shown(&self.connection, Some(field), row.get_ref(field.column)?)?;
            values.extend(value.map(|value| (field.word, value)));
        }
        Ok(values)
    }

    pub(in crate::ledger) fn corrections(
        &self,
        kind: &Kind,
        id: i64,
    ) -> Result<Vec<Correction>, LedgerError> {
        let of_row = "\"table\" = ?1 AND row_id = ?2";
        self.said(corrections(&self.connection, kind, of_row, &[&kind.table, &id]))
    }
}
