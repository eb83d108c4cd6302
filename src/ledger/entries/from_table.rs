//! Firings, recipes and pieces entered from a table (CSV), a row an entry.

use super::entry::Values;
use super::fields::{FIRINGS, Kind, LOADS, PIECES, RECIPES};
use crate::ledger::file::Ledger;
use crate::ledger::table::{CellFault, Table};
use crate::ledger::{LedgerError, Named};
use std::path::Path;

/// What a table of entries came to.
#[derive(Debug, Clone, Default)]
pub struct Entered {
    /// Names of the entries that are new.
    pub names: Vec<String>,
    /// Rows that were left out, with `partial`.
    pub left_out: Vec<CellFault>,
    /// What was found and dealt with, for people.
    pub remarks: Vec<String>,
}

/// A row that can be entered.
struct Ready {
    line: usize,
    named: Named,
    values: Values,
    /// Of a piece: the firing it lay in, and what is told of it there.
    load: Option<(String, Values)>,
}

impl Ledger {
    /// Enters every row of a table: column `name`, for recipes `kind`, for pieces also `firing` and `place`, and the fields.
    /// All of it or nothing; with `partial` the rows that are right.
    ///
    /// # Errors
    /// [`LedgerError::Cells`] with every cell that cannot be used, unless `partial`.
    pub fn add_table(
        &mut self,
        kind: &'static Kind,
        path: &Path,
        partial: bool,
    ) -> Result<Entered, LedgerError> {
        let unreadable = |reason: String| LedgerError::Unreadable { path: path.into(), reason };
        let bytes = std::fs::read(path).map_err(|e| unreadable(e.to_string()))?;
        let table = Table::read(&bytes).map_err(|e| unreadable(e.to_string()))?;
        let (ready, mut faults) = rows(kind, &table);
        let taken = self.entries(kind)?;
        let mut seen: Vec<(Named, usize)> = Vec::new();
        let ready: Vec<Ready> = ready
            .into_iter()
            .filter(|row| {
                let named = &row.named;
                let known = taken.iter().any(|e| e.name == named.name && e.kind == named.kind);
                let doubled = seen.iter().find(|(other, _)| other == named).map(|(_, line)| *line);
                seen.push((named.clone(), row.line));
                if known {
                    let what = format!(
                        "the {} '{}' is in the ledger already; 'edit' corrects it",
                        kind.word, named.name
                    );
                    faults.push(CellFault::cell(row.line, "name", what));
                } else if let Some(line) = doubled {
                    let what = format!("'{}' stands in row {line} already", named.name);
                    faults.push(CellFault::cell(row.line, "name", what));
                }
                !known && doubled.is_none()
            })
            .collect();
        faults.sort_by_key(|fault| fault.line);
        if !faults.is_empty() && !partial {
            return Err(LedgerError::Cells { what: format!("'{}'", path.display()), faults });
        }
        let names = ready.iter().map(|row| row.named.name.clone()).collect();
        self.at_once(|entering| {
            for row in &ready {
                let id = entering.enter(kind, &row.named, &row.values)?;
                if let Some((firing, here)) = &row.load {
                    let (firing, _) = entering.firing(firing)?;
                    entering.load(firing, id, here)?;
                }
            }
            Ok(())
        })?;
        Ok(Entered { names, left_out: faults, remarks: table.remarks })
    }
}

fn rows(kind: &'static Kind, table: &Table) -> (Vec<Ready>, Vec<CellFault>) {
    let mut known = vec!["name"];
    if kind == &RECIPES {
        known.push("kind");
    }
    if kind == &PIECES {
        known.extend(["firing", "place"]);
    }
    known.extend(kind.fields.iter().map(|f| f.word));
    let (columns, mut faults) = table.columns(&known);
    faults.extend(columns.missing(&known[..usize::from(kind == &RECIPES) + 1]));
    faults.extend(table.faults.iter().cloned());
    if !columns.has("name") {
        return (Vec::new(), faults);
    }
    let mut ready = Vec::new();
    'rows: for row in &table.rows {
        let Some(name) = columns.cell(row, "name") else {
            faults.push(columns.fault(row, "name", format!("a {} needs a name", kind.word)));
            continue;
        };
        let mut named = Named::new(name);
        if kind == &RECIPES {
            match columns.cell(row, "kind") {
                Some(of @ ("clay" | "slip" | "red" | "paint")) => named.kind = Some(of.into()),
                other => {
                    let what =
                        format!("'{}' is no kind: clay, slip, red or paint is wanted", other.unwrap_or(""));
                    faults.push(columns.fault(row, "kind", what));
                    continue;
                }
            }
        }
        let firing = columns.cell(row, "firing").filter(|_| kind == &PIECES).map(str::to_owned);
        let (mut values, mut here) = (Values::new(), Values::new());
        let fields =
            kind.fields.iter().chain(LOADS.fields.iter().filter(|f| kind == &PIECES && f.word == "place"));
        for field in fields {
            let Some(cell) = columns.cell(row, field.word) else { continue };
            match field.value(cell) {
                Ok(Some(value)) if firing.is_some() && LOADS.field(field.word).is_some() => {
                    here.insert(field.column, value);
                }
                Ok(Some(_)) if field.word == "place" && kind != &FIRINGS => {
                    faults.push(columns.fault(
                        row,
                        "place",
                        "a place in the fire needs a firing in the same row",
                    ));
                    continue 'rows;
                }
                Ok(Some(value)) => drop(values.insert(field.column, value)),
                Ok(None) => {}
                Err(LedgerError::Value { value, wanted, .. }) => {
                    faults.push(columns.fault(
                        row,
                        field.word,
                        format!("'{value}' cannot be used: {wanted}"),
                    ));
                    continue 'rows;
                }
                Err(other) => {
                    faults.push(columns.fault(row, field.word, other.to_string()));
                    continue 'rows;
                }
            }
        }
        ready.push(Ready { line: row.line, named, values, load: firing.map(|firing| (firing, here)) });
    }
    (ready, faults)
}
