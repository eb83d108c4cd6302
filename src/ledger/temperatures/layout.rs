//! Where the header of a log stands, and what each of its columns is.

use super::cell::{Seen, seen};
use super::clock::TimeForm;
use super::unit::{Unit, time_unit_of_column, unit_alone, unit_in_words, unit_of_column};
use super::{LogError, names};
use crate::ledger::table::{DecimalSigns, Grid, Row, filled_width};

/// Rows whose cells tell what a column is.
const SAMPLE: usize = 400;

/// The plan of a file.
#[derive(Debug)]
pub(super) struct Layout {
    /// Names of the columns, empty where there are none.
    pub(super) names: Vec<String>,
    pub(super) has_header: bool,
    /// Place of the first row of readings.
    pub(super) first: usize,
    /// Columns that make up the time: one, or date and time of day.
    pub(super) time: Vec<usize>,
    pub(super) form: TimeForm,
    /// Columns of temperatures.
    pub(super) values: Vec<usize>,
    /// Column that tells the probe: one row a probe and time.
    pub(super) probe: Option<usize>,
    /// Column that tells the unit of its row.
    pub(super) unit: Option<usize>,
    /// The unit that the lines before the header give.
    pub(super) unit_before: Option<Unit>,
    /// Columns passed over.
    pub(super) left_out: Vec<usize>,
}

impl Layout {
    pub(super) fn of(grid: &Grid) -> Result<Self, LogError> {
        let first = first_row(&grid.rows, grid.decimals).ok_or(LogError::NoReadings)?;
        let (header, begun) = header(&grid.rows[..first], &grid.rows[first], grid.decimals);
        let has_header = header.is_some();
        let names = header.unwrap_or_else(|| vec![String::new(); common_width(&grid.rows[first..])]);
        let unit_before = unit_before(&grid.rows[..begun]);
        let columns = Columns::of(&names, has_header, &grid.rows[first..], grid.decimals);
        let (time, form) = columns.time()?;
        let mut layout = Self {
            values: Vec::new(),
            probe: None,
            unit: columns
                .kinds
                .iter()
                .enumerate()
                .position(|(c, k)| *k == Kind::Unit && !names::is_probe(&names[c])),
            left_out: Vec::new(),
            unit_before,
            has_header,
            first,
            time,
            form,
            names: names.clone(),
        };
        layout.take_values(&columns);
        if layout.values.is_empty() { Err(LogError::NoReadings) } else { Ok(layout) }
    }

    /// Shares out what is neither time nor unit.
    fn take_values(&mut self, columns: &Columns) {
        let free: Vec<usize> = (0..self.names.len())
            .filter(|c| !self.time.contains(c) && Some(*c) != self.unit && !columns.is_index(*c, &self.time))
            .collect();
        let is_value = |c: &usize| {
            let name = &self.names[*c];
            let numeric = match columns.kinds[*c] {
                Kind::Number => true,
                Kind::Empty => unit_of_column(name).is_some(),
                _ => false,
            };
            numeric && !names::is_other(name) && !names::is_time(name)
        };
        let texts: Vec<usize> = free.iter().copied().filter(|c| columns.kinds[*c] == Kind::Text).collect();
        let mut values: Vec<usize> = free.iter().copied().filter(is_value).collect();
        let named = free
            .iter()
            .copied()
            .find(|c| names::is_probe(&self.names[*c]) && values.iter().filter(|v| *v != c).count() == 1);
        self.probe = match (named, texts.as_slice(), self.has_header) {
            (Some(named), ..) => Some(named),
            (None, [text], false) if values.len() == 1 => Some(*text),
            _ => None,
        };
        values.retain(|c| Some(*c) != self.probe);
        self.left_out = free
            .into_iter()
            .filter(|c| !values.contains(c) && Some(*c) != self.probe && columns.kinds[*c] == Kind::Number)
            .collect();
        self.values = values;
    }

    /// The name of a column for a sentence.
    pub(super) fn called(&self, column: usize) -> String {
        match self.names.get(column).map(String::as_str) {
            Some("") | None => format!("{} (without a name)", column + 1),
            Some(name) => name.to_owned(),
        }
    }
}

/// A row of readings: a time with a number, or numbers only, two at least.
fn is_reading(row: &Row, decimals: DecimalSigns) -> Option<usize> {
    let seen: Vec<Seen> = row.cells.iter().map(|cell| seen(cell, decimals)).collect();
    let count = |wanted: fn(&Seen) -> bool| seen.iter().filter(|s| wanted(s)).count();
    let numbers = count(|s| matches!(s, Seen::Number(..)));
    let none = count(|s| matches!(s, Seen::NoReading));
    let timed = seen.iter().position(|s| matches!(s, Seen::Dated | Seen::Date | Seen::Clock));
    let words = count(|s| matches!(s, Seen::Text));
    match timed {
        Some(at) if numbers + none > 0 => Some(at),
        None if numbers > 1 && words == 0 => Some(0),
        // One row a probe, and seconds since the start.
        None if numbers > 1 && words == 1 && matches!(seen.first(), Some(Seen::Number(..))) => Some(0),
        _ => None,
    }
}

/// The first row of readings that is followed by its like within two rows, or by nothing.
fn first_row(rows: &[Row], decimals: DecimalSigns) -> Option<usize> {
    (0..rows.len()).find(|at| {
        let Some(place) = is_reading(&rows[*at], decimals) else { return false };
        let follow = &rows[at + 1..];
        let alike =
            |row: &Row| row.cells.len() == rows[*at].cells.len() && is_reading(row, decimals) == Some(place);
        follow.is_empty() || follow.iter().take(2).any(alike)
    })
}

/// The names of the columns from the rows before the first reading, and the place of the first row used for them.
/// A row of units under the names is joined to them.
fn header(before: &[Row], first: &Row, decimals: DecimalSigns) -> (Option<Vec<String>>, usize) {
    let drawn =
        |row: &&Row| row.cells.iter().all(|c| matches!(seen(c, decimals), Seen::Empty | Seen::NoReading));
    let mut end = before.len();
    while end > 0 && drawn(&&before[end - 1]) {
        end -= 1;
    }
    let Some(row) = end.checked_sub(1).map(|at| &before[at]) else { return (None, end) };
    let is_unit =
        |cell: &String| unit_alone(cell).is_some() || (cell.len() < 8 && time_unit_of_column(cell).is_some());
    let units = row.cells.iter().any(|cell| unit_alone(cell).is_some())
        && row.cells.iter().all(|cell| cell.is_empty() || is_unit(cell));
    if units && end >= 2 && is_header(&before[end - 2], first, decimals) {
        let names = named(&before[end - 2]);
        let width = names.len().max(filled_width(&row.cells));
        let of = |cells: &[String], c: usize| cells.get(c).cloned().unwrap_or_default();
        let joined = (0..width).map(|c| match of(&row.cells, c) {
            unit if unit.is_empty() => of(&names, c),
            unit => {
                format!("{} ({})", of(&names, c), unit.trim_matches(['(', ')', '[', ']'])).trim().to_owned()
            }
        });
        return (Some(joined.collect()), end - 2);
    }
    if is_header(row, first, decimals) { (Some(named(row)), end - 1) } else { (None, end) }
}

/// Whether a row names columns: two words at least, and as wide as the readings, or with a word for time or a unit.
fn is_header(row: &Row, first: &Row, decimals: DecimalSigns) -> bool {
    let filled = row.cells.iter().filter(|cell| !cell.is_empty());
    let words = filled.clone().any(|cell| matches!(seen(cell, decimals), Seen::Text | Seen::Unit));
    let timed = row.cells.iter().any(|c| matches!(seen(c, decimals), Seen::Dated | Seen::Date | Seen::Clock));
    let known = || row.cells.iter().any(|cell| names::is_time(cell) || unit_of_column(cell).is_some());
    words
        && !timed
        && filled.count() > 1
        && (filled_width(&row.cells) == filled_width(&first.cells) || known())
}

/// Names without what marks a comment before the first of them.
fn named(row: &Row) -> Vec<String> {
    let mut names = row.cells[..filled_width(&row.cells)].to_vec();
    if let Some(first) = names.first_mut() {
        let bare = first.trim_start_matches(['#', '%', ';', ' ']);
        if !bare.is_empty() {
            *first = bare.to_owned();
        }
    }
    names
}

/// The width that most of the sampled rows have.
fn common_width(rows: &[Row]) -> usize {
    let mut widths: Vec<usize> = rows.iter().take(SAMPLE).map(|row| filled_width(&row.cells)).collect();
    widths.sort_unstable();
    let runs = widths.chunk_by(|a, b| a == b);
    runs.max_by_key(|run| run.len()).map_or(0, |run| run[0])
}

/// The one unit that the lines before the header name.
fn unit_before(rows: &[Row]) -> Option<Unit> {
    let mut found: Vec<Unit> = Vec::new();
    for row in rows {
        for (place, cell) in row.cells.iter().enumerate() {
            let told = cell.to_lowercase().contains("unit");
            let after = cell.rsplit_once([':', '=']).map(|(_, after)| after.to_owned());
            let next = after.filter(|a| !a.trim().is_empty()).or_else(|| row.cells.get(place + 1).cloned());
            let lone = next.filter(|_| told).and_then(|next| unit_alone(&next));
            found.extend(unit_in_words(cell).or(lone));
        }
    }
    let first = *found.first()?;
    found.iter().all(|unit| *unit == first).then_some(first)
}

/// What most cells of a column are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Empty,
    /// Numbers, or words for no reading.
    Number,
    Dated,
    Date,
    Clock,
    Unit,
    Text,
}

struct Columns<'a> {
    names: &'a [String],
    has_header: bool,
    kinds: Vec<Kind>,
    /// Whether the column counts its rows.
    counts: Vec<bool>,
}

impl<'a> Columns<'a> {
    fn of(names: &'a [String], has_header: bool, rows: &[Row], decimals: DecimalSigns) -> Self {
        let all = [Kind::Number, Kind::Dated, Kind::Date, Kind::Clock, Kind::Unit, Kind::Text];
        let mut tally = vec![[0usize; 6]; names.len()];
        let mut numbers: Vec<Vec<f64>> = vec![Vec::new(); names.len()];
        for row in rows.iter().take(SAMPLE) {
            for (column, cell) in row.cells.iter().enumerate().take(names.len()) {
                let place = match seen(cell, decimals) {
                    Seen::Empty => continue,
                    Seen::Number(value, _) => {
                        numbers[column].push(value);
                        0
                    }
                    Seen::NoReading => 0,
                    Seen::Dated => 1,
                    Seen::Date => 2,
                    Seen::Clock => 3,
                    Seen::Unit => 4,
                    Seen::Text => 5,
                };
                tally[column][place] += 1;
            }
        }
        let kinds = tally.iter().map(|tally| {
            let most = (0..6).rev().max_by_key(|kind| tally[*kind]).filter(|kind| tally[*kind] > 0);
            most.map_or(Kind::Empty, |kind| all[kind])
        });
        let counting = |values: &Vec<f64>| {
            let steps = values.windows(2).filter(|pair| pair[1] - pair[0] == 1.0).count();
            values.first().is_some_and(|first| *first == 0.0 || *first == 1.0)
                && steps * 10 >= (values.len() - 1) * 9
        };
        Self { names, has_header, kinds: kinds.collect(), counts: numbers.iter().map(counting).collect() }
    }

    /// The columns of time.
    fn time(&self) -> Result<(Vec<usize>, TimeForm), LogError> {
        let first = |kind: Kind| self.kinds.iter().position(|k| *k == kind);
        let (dated, date, clock) = (first(Kind::Dated), first(Kind::Date), first(Kind::Clock));
        match (dated, date, clock) {
            (Some(dated), ..) => return Ok((vec![dated], TimeForm::Dated)),
            (None, Some(date), Some(clock)) => return Ok((vec![date, clock], TimeForm::Dated)),
            (None, None, Some(clock)) => {
                let elapsed = names::is_elapsed(&self.names[clock]);
                return Ok((vec![clock], TimeForm::Clock { elapsed }));
            }
            (None, Some(date), None) => return Ok((vec![date], TimeForm::Dated)),
            (None, None, None) => {}
        }
        let mut numbers = (0..self.names.len()).filter(|c| self.kinds[*c] == Kind::Number);
        let found = match self.has_header {
            true => numbers.find(|c| names::is_time(&self.names[*c])),
            false => numbers.next(),
        };
        found.map(|column| (vec![column], TimeForm::Number)).ok_or(LogError::NoTime)
    }

    /// Whether a column only numbers the rows: by its name; without a header, where it counts before the time.
    fn is_index(&self, column: usize, time: &[usize]) -> bool {
        let before = column == 0 && time.first().is_some_and(|t| *t > column);
        self.kinds[column] == Kind::Number
            && match self.has_header {
                true => {
                    let name = &self.names[column];
                    names::is_index(name) && (!name.is_empty() || self.counts[column])
                }
                false => before && self.counts[column],
            }
    }
}
