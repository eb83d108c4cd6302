//! Firings, recipes, pieces and their places in a load: entered, corrected, looked up.
//!
//! An entry is known by its name. A correction changes the value that counts; the file itself keeps what stood there before
//! (`corrections`), and an entry shows both.

use super::fields::{FIRINGS, Field, Holds, Kind, LOADS, PIECES, RECIPES, Value};
use super::open::{Entering, Inside, Ledger};
use super::{LedgerError, Named};
use rusqlite::types::{ToSqlOutput, ValueRef};
use rusqlite::{OptionalExtension, Row, ToSql};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Values by the column of their field; what is unknown is not there.
pub type Values = BTreeMap<&'static str, Value>;

/// An entry as it stands now, and what was corrected in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    #[serde(skip)]
    pub(super) id: i64,
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
    pub(super) id: i64,
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

    /// Corrects what is known of a piece in a firing. Goes out: what changed.
    ///
    /// # Errors
    /// [`LedgerError::NoSuch`] where the piece did not lie in that firing.
    pub fn correct_load(
        &mut self,
        firing: &str,
        piece: &str,
        values: &Values,
        because: Option<&str>,
    ) -> Result<Vec<Correction>, LedgerError> {
        let known: Vec<String> = self.loads(None, Some(piece))?.into_iter().map(|load| load.firing).collect();
        let load = self.loads(Some(firing), Some(piece))?;
        let Some(load) = load.first().map(|load| load.id) else {
            let name = format!("{piece} in {firing}");
            return Err(LedgerError::NoSuch { what: LOADS.word, name, known });
        };
        self.at_once(|entering| entering.change(&LOADS, load, values, &[], because))
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

    pub(super) fn names(&self, kind: &Kind) -> Result<Vec<String>, LedgerError> {
        let read = || -> Result<Vec<String>, Inside> {
            let mut asked =
                self.connection.prepare(&format!("SELECT name FROM {} ORDER BY name", kind.table))?;
            Ok(asked.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?)
        };
        self.said(read())
    }

    pub(super) fn said<T>(&self, done: Result<T, Inside>) -> Result<T, LedgerError> {
        done.map_err(|inside| match inside {
            Inside::Said(error) => error,
            Inside::Database(error) => self.failed(&error),
        })
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

    pub(super) fn corrections(&self, kind: &Kind, id: i64) -> Result<Vec<Correction>, LedgerError> {
        let of_row = "\"table\" = ?1 AND row_id = ?2";
        self.said(corrections(&self.connection, kind, of_row, &[&kind.table, &id]))
    }
}

/// The corrections that fit, the oldest first.
fn corrections(
    connection: &rusqlite::Connection,
    kind: &Kind,
    fitting: &str,
    given: &[&dyn ToSql],
) -> Result<Vec<Correction>, Inside> {
    let sql =
        format!("SELECT field, was, now, because, entered FROM corrections WHERE {fitting} ORDER BY id");
    let mut asked = connection.prepare_cached(&sql)?;
    let mut rows = asked.query(given)?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let column: String = row.get(0)?;
        let field = kind.fields.iter().find(|f| f.column == column);
        found.push(Correction {
            was: shown(connection, field, row.get_ref(1)?)?,
            now: shown(connection, field, row.get_ref(2)?)?,
            field: field.map_or(column, |f| f.word.into()),
            because: row.get(3)?,
            entered: row.get(4)?,
        });
    }
    Ok(found)
}

/// A stored value as it is shown: the name of a recipe for its number.
fn shown(
    connection: &rusqlite::Connection,
    field: Option<&Field>,
    stored: ValueRef,
) -> Result<Option<Value>, Inside> {
    let recipe = field.is_some_and(|f| matches!(f.holds, Holds::Recipe(_)));
    Ok(match stored {
        ValueRef::Null | ValueRef::Blob(_) => None,
        ValueRef::Integer(id) if recipe => {
            let mut asked = connection.prepare_cached("SELECT name FROM recipes WHERE id = ?1")?;
            asked.query_row([id], |row| row.get(0)).optional()?.map(Value::Words)
        }
        ValueRef::Integer(number) => Some(Value::Number(number as f64)),
        ValueRef::Real(number) => Some(Value::Number(number)),
        ValueRef::Text(text) => Some(Value::Words(String::from_utf8_lossy(text).into_owned())),
    })
}

impl ToSql for Value {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        match self {
            Self::Number(number) => number.to_sql(),
            Self::Words(words) => words.to_sql(),
        }
    }
}

impl Entering<'_> {
    /// The row of an entry.
    pub(super) fn find(&self, kind: &Kind, named: &Named) -> Result<Option<i64>, Inside> {
        let by_kind = if kind.table == "recipes" { "AND kind IS ?2" } else { "AND ?2 IS NULL" };
        let sql = format!("SELECT id FROM {} WHERE name = ?1 {by_kind}", kind.table);
        let mut asked = self.connection.prepare_cached(&sql)?;
        Ok(asked.query_row((&named.name, &named.kind), |row| row.get(0)).optional()?)
    }

    /// A new row.
    pub(super) fn enter(&self, kind: &Kind, named: &Named, values: &Values) -> Result<i64, Inside> {
        let mut columns = vec!["name", "entered"];
        let mut stored: Vec<Box<dyn ToSql>> = vec![Box::new(named.name.clone()), Box::new(self.now.clone())];
        if kind.table == "recipes" {
            columns.push("kind");
            stored.push(Box::new(named.kind.clone()));
        }
        for (column, value) in values {
            columns.push(column);
            stored.push(self.stored(kind, column, value)?);
        }
        self.insert(kind.table, &columns, &stored)
    }

    /// The row of an entry, a new one with nothing but its name where there is none; true where it is new.
    pub(super) fn find_or_enter(&self, kind: &Kind, named: &Named) -> Result<(i64, bool), Inside> {
        match self.find(kind, named)? {
            Some(id) => Ok((id, false)),
            None => Ok((self.enter(kind, named, &Values::new())?, true)),
        }
    }

    /// A firing by its name.
    pub(super) fn firing(&self, name: &str) -> Result<(i64, bool), Inside> {
        self.find_or_enter(&FIRINGS, &Named::new(name))
    }

    /// A piece by its name.
    pub(super) fn piece(&self, name: &str) -> Result<(i64, bool), Inside> {
        self.find_or_enter(&PIECES, &Named::new(name))
    }

    /// A piece's place in a firing, entered with these values where it is new; true where it is.
    pub(super) fn load(&self, firing: i64, piece: i64, first: &Values) -> Result<(i64, bool), Inside> {
        let mut asked =
            self.connection.prepare_cached("SELECT id FROM loads WHERE firing_id = ?1 AND piece_id = ?2")?;
        let known = asked.query_row([firing, piece], |row| row.get(0)).optional()?;
        if let Some(id) = known {
            return Ok((id, false));
        }
        let mut columns = vec!["firing_id", "piece_id", "entered"];
        let mut stored: Vec<Box<dyn ToSql>> =
            vec![Box::new(firing), Box::new(piece), Box::new(self.now.clone())];
        for (column, value) in first {
            columns.push(column);
            stored.push(self.stored(&LOADS, column, value)?);
        }
        Ok((self.insert("loads", &columns, &stored)?, true))
    }

    /// Changes the fields of a row; what was there is kept by the file itself.
    pub(super) fn change(
        &self,
        kind: &Kind,
        id: i64,
        values: &Values,
        clear: &[&'static str],
        because: Option<&str>,
    ) -> Result<Vec<Correction>, Inside> {
        let last: i64 =
            self.connection
                .query_row("SELECT coalesce(max(id), 0) FROM corrections", [], |row| row.get(0))?;
        let mut stored: Vec<(&str, Box<dyn ToSql>)> = Vec::new();
        for (column, value) in values {
            stored.push((column, self.stored(kind, column, value)?));
        }
        stored.extend(clear.iter().map(|column| (*column, Box::new(None::<String>) as Box<dyn ToSql>)));
        for (column, value) in &stored {
            let sql = format!("UPDATE {} SET \"{column}\" = ?1 WHERE id = ?2", kind.table);
            self.connection.prepare_cached(&sql)?.execute(rusqlite::params![value, id])?;
        }
        if let Some(because) = because {
            self.connection.execute(
                "UPDATE corrections SET because = ?1 WHERE id > ?2",
                rusqlite::params![because, last],
            )?;
        }
        corrections(self.connection, kind, "id > ?1", &[&last])
    }

    /// What a field of a row holds now.
    pub(super) fn value(&self, kind: &Kind, id: i64, field: &Field) -> Result<Option<Value>, Inside> {
        let sql = format!("SELECT \"{}\" FROM {} WHERE id = ?1", field.column, kind.table);
        let mut asked = self.connection.prepare_cached(&sql)?;
        let mut rows = asked.query([id])?;
        match rows.next()? {
            Some(row) => shown(self.connection, Some(field), row.get_ref(0)?),
            None => Ok(None),
        }
    }

    /// A value as the file holds it: the row of a recipe for its name.
    pub(super) fn stored(&self, kind: &Kind, column: &str, value: &Value) -> Result<Box<dyn ToSql>, Inside> {
        let field = kind.fields.iter().find(|f| f.column == column);
        match (field.map(|f| f.holds), value) {
            (Some(Holds::Recipe(of)), name) => {
                let named = Named { kind: Some(of.into()), name: name.to_string() };
                Ok(Box::new(self.find_or_enter(&RECIPES, &named)?.0))
            }
            (_, value) => Ok(Box::new(value.clone())),
        }
    }

    pub(super) fn insert(
        &self,
        table: &str,
        columns: &[&str],
        stored: &[Box<dyn ToSql>],
    ) -> Result<i64, Inside> {
        let names: Vec<String> = columns.iter().map(|c| format!("\"{c}\"")).collect();
        let places: Vec<String> = (1..=columns.len()).map(|n| format!("?{n}")).collect();
        let sql = format!("INSERT INTO {table} ({}) VALUES ({})", names.join(", "), places.join(", "));
        let given: Vec<&dyn ToSql> = stored.iter().map(AsRef::as_ref).collect();
        self.connection.prepare_cached(&sql)?.execute(&given[..])?;
        Ok(self.connection.last_insert_rowid())
    }
}
