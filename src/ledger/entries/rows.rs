//! Rows of entries inside a transaction: found, entered, changed.

use super::entry::{Correction, Values};
use super::fields::{FIRINGS, Field, Holds, Kind, LOADS, PIECES, RECIPES, Value};
use crate::ledger::Named;
use crate::ledger::file::{Entering, Inside};
use rusqlite::types::{ToSqlOutput, ValueRef};
use rusqlite::{OptionalExtension, ToSql};

/// The corrections that fit, the oldest first.
pub(super) fn corrections(
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
pub(super) fn shown(
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
    pub(in crate::ledger) fn find(&self, kind: &Kind, named: &Named) -> Result<Option<i64>, Inside> {
        let by_kind = if kind.table == "recipes" { "AND kind IS ?2" } else { "AND ?2 IS NULL" };
        let sql = format!("SELECT id FROM {} WHERE name = ?1 {by_kind}", kind.table);
        let mut asked = self.connection.prepare_cached(&sql)?;
        Ok(asked.query_row((&named.name, &named.kind), |row| row.get(0)).optional()?)
    }

    /// A new row.
    pub(in crate::ledger) fn enter(
        &self,
        kind: &Kind,
        named: &Named,
        values: &Values,
    ) -> Result<i64, Inside> {
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
    pub(in crate::ledger) fn find_or_enter(&self, kind: &Kind, named: &Named) -> Result<(i64, bool), Inside> {
        match self.find(kind, named)? {
            Some(id) => Ok((id, false)),
            None => Ok((self.enter(kind, named, &Values::new())?, true)),
        }
    }

    /// A firing by its name.
    pub(in crate::ledger) fn firing(&self, name: &str) -> Result<(i64, bool), Inside> {
        self.find_or_enter(&FIRINGS, &Named::new(name))
    }

    /// A piece by its name.
    pub(in crate::ledger) fn piece(&self, name: &str) -> Result<(i64, bool), Inside> {
        self.find_or_enter(&PIECES, &Named::new(name))
    }

    /// A piece's place in a firing, entered with these values where it is new; true where it is.
    pub(in crate::ledger) fn load(
        &self,
        firing: i64,
        piece: i64,
        first: &Values,
    ) -> Result<(i64, bool), Inside> {
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
    pub(in crate::ledger) fn change(
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
    pub(in crate::ledger) fn value(
        &self,
        kind: &Kind,
        id: i64,
        field: &Field,
    ) -> Result<Option<Value>, Inside> {
        let sql = format!("SELECT \"{}\" FROM {} WHERE id = ?1", field.column, kind.table);
        let mut asked = self.connection.prepare_cached(&sql)?;
        let mut rows = asked.query([id])?;
        match rows.next()? {
            Some(row) => shown(self.connection, Some(field), row.get_ref(0)?),
            None => Ok(None),
        }
    }

    /// A value as the file holds it: the row of a recipe for its name.
    pub(in crate::ledger) fn stored(
        &self,
        kind: &Kind,
        column: &str,
        value: &Value,
    ) -> Result<Box<dyn ToSql>, Inside> {
        let field = kind.fields.iter().find(|f| f.column == column);
        match (field.map(|f| f.holds), value) {
            (Some(Holds::Recipe(of)), name) => {
                let named = Named { kind: Some(of.into()), name: name.to_string() };
                Ok(Box::new(self.find_or_enter(&RECIPES, &named)?.0))
            }
            (_, value) => Ok(Box::new(value.clone())),
        }
    }
}
