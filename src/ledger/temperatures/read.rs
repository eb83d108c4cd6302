//! A file of readings as a log.

use super::cell::{Seen, seen, temperature};
use super::clock::{Clocked, TimeForm};
use super::layout::Layout;
use super::order::rising;
use super::unit::{TimeUnit, Unit, unit_alone, unit_of_column, without_unit};
use super::{Cell, LogError, LogRow, TemperatureLog, names};
use crate::ledger::table::{CellFault, DecimalSigns, Grid, Row, fits, number, shown};
use std::collections::BTreeMap;

/// Probes that are read at most: no logger at a fire has more.
const MOST_PROBES: usize = 64;

/// What the person says of a file that does not say it itself.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Told {
    /// What the temperatures are in.
    pub temperature: Option<Unit>,
    /// What elapsed times count; of `12:30` its first figure.
    pub time: Option<TimeUnit>,
}

/// A log as far as it could be read.
#[derive(Debug, Clone, PartialEq)]
pub struct LogRead {
    /// The right rows.
    pub log: TemperatureLog,
    /// What could not be read, in the order of the file. A row whose time is at fault is not in the log; where only a
    /// cell is at fault, the row is, and that cell is empty. Whether the rest is taken is for the caller to say.
    pub faults: Vec<CellFault>,
    /// What was found and dealt with, as sentences for the person.
    pub remarks: Vec<String>,
}

impl TemperatureLog {
    /// Reads a log. Its columns and times are told by content, and by words in the header where there is one.
    ///
    /// # Errors
    /// [`LogError`]: no text, no readings, or a unit that neither the file nor `told` says; units are never guessed.
    pub fn read(bytes: &[u8], told: &Told) -> Result<LogRead, LogError> {
        let grid = Grid::read(bytes)?;
        let layout = Layout::of(&grid)?;
        let units = Units::of(&layout, &grid, told)?;
        let Grid { decimals, rows, mut faults, mut remarks, .. } = grid;
        let header =
            layout.has_header.then(|| rows[..layout.first].last().map(|row| row.cells.clone())).flatten();
        let width = layout.names.len();
        let rows: Vec<Row> = rows
            .into_iter()
            .skip(layout.first)
            // A logger that starts again writes its header again.
            .filter(|row| Some(&row.cells) != header.as_ref())
            .filter(|row| fits(row, width, &mut faults))
            .collect();
        let clocked = times(&layout, &rows, decimals, told)?;
        remarks.extend(clocked.remarks);
        let mut entries = Vec::new();
        for (row, seconds) in rows.iter().zip(clocked.seconds) {
            match seconds {
                Ok(seconds) => entries.push(Entry { row, seconds, written: written(&layout, row) }),
                Err(what) => faults.push(time_fault(&layout, row, &said(&layout, row, &what))),
            }
        }
        let (probes, mut series) = sorted_by_probe(&layout, entries, &mut faults);
        if probes.len() > MOST_PROBES {
            return Err(LogError::TooManyProbes { count: probes.len(), most: MOST_PROBES });
        }
        for (_, entries) in &mut series {
            keep_rising(&layout, entries, &mut faults);
        }
        let mut log = TemperatureLog { time: clocked.kind, units: Vec::new(), probes, rows: Vec::new() };
        let mut reader =
            Cells { layout: &layout, units: &units, decimals, faults: &mut faults, used: Vec::new() };
        log.rows = merged(&mut reader, series, log.probes.len());
        log.units = reader.used;
        if log.rows.iter().all(|row| row.cells.iter().all(|cell| *cell == Cell::Empty)) {
            return Err(LogError::NoReadings);
        }
        if log.units.contains(&Unit::Fahrenheit) {
            remarks.push("Temperatures in degrees F were turned into degrees C.".into());
        }
        let passed: Vec<String> =
            layout.left_out.iter().map(|c| format!("'{}'", shown(&layout.called(*c)))).collect();
        if !passed.is_empty() {
            remarks.push(format!("Passed over, being no temperature of the fire: {}.", passed.join(", ")));
        }
        faults.sort_by_key(|fault| fault.line);
        Ok(LogRead { log, faults, remarks })
    }
}

/// One row with its time.
struct Entry<'a> {
    row: &'a Row,
    seconds: f64,
    written: String,
}

/// The place of a probe, and its rows.
type Series<'a> = (usize, Vec<Entry<'a>>);

fn written(layout: &Layout, row: &Row) -> String {
    let cells: Vec<&str> =
        layout.time.iter().map(|c| row.cells[*c].as_str()).filter(|c| !c.is_empty()).collect();
    cells.join(" ")
}

/// A sentence about the time of a row; those of numbers say themselves what stands there.
fn said(layout: &Layout, row: &Row, what: &str) -> String {
    match (written(layout, row), what.starts_with('\'')) {
        (_, true) => what.to_owned(),
        (text, _) if text.is_empty() => "the time is missing".to_owned(),
        (text, _) => format!("'{}' {what}", shown(&text)),
    }
}

fn time_fault(layout: &Layout, row: &Row, what: &str) -> CellFault {
    CellFault::cell(row.line, &layout.called(layout.time[0]), what)
}

fn times(layout: &Layout, rows: &[Row], decimals: DecimalSigns, told: &Told) -> Result<Clocked, LogError> {
    let column = layout.time[0];
    let name = layout.names[column].as_str();
    let unit = names::time_unit(name).or(told.time);
    let texts = || rows.iter().map(|row| written(layout, row)).collect::<Vec<_>>();
    Ok(match layout.form {
        TimeForm::Dated => Clocked::dated(&texts()),
        TimeForm::Clock { elapsed } => Clocked::clock(&texts(), &layout.called(column), elapsed, unit)?,
        TimeForm::Number => {
            let values: Vec<_> = rows.iter().map(|row| number(&row.cells[column], decimals)).collect();
            let unix = || {
                let first = values.iter().find_map(|v| v.as_ref().ok().copied().flatten()).unwrap_or(0.0);
                // The years 2000 to 2100.
                match first {
                    f if (946_684_800.0..4_102_444_800.0).contains(&f) => Some(TimeUnit::Seconds),
                    f if (946_684_800_000.0..4_102_444_800_000.0).contains(&f) => {
                        Some(TimeUnit::Milliseconds)
                    }
                    _ => None,
                }
            };
            let unit = unit.or_else(|| names::is_unix(name).then(unix).flatten());
            let unit =
                unit.ok_or_else(|| LogError::TimeUnitUnknown { column: called_in_words(layout, column) })?;
            Clocked::numbers(values, unit)
        }
    })
}

fn called_in_words(layout: &Layout, column: usize) -> String {
    format!("column {}", shown(&layout.called(column)))
}

/// What each column of temperatures is written in.
struct Units {
    of_column: BTreeMap<usize, Unit>,
}

impl Units {
    fn of(layout: &Layout, grid: &Grid, told: &Told) -> Result<Self, LogError> {
        let rows = || grid.rows[layout.first..].iter();
        let cell_unit = |column: usize| {
            rows().find_map(|row| match seen(row.cells.get(column)?, grid.decimals) {
                Seen::Number(_, unit) => unit,
                _ => None,
            })
        };
        let row_unit = layout.unit.and_then(|c| rows().find_map(|row| unit_alone(row.cells.get(c)?)));
        let (mut of_column, mut unknown) = (BTreeMap::new(), Vec::new());
        for column in &layout.values {
            let file = unit_of_column(&layout.names[*column])
                .or_else(|| cell_unit(*column))
                .or(row_unit)
                .or(layout.unit_before);
            match (file, told.temperature) {
                (Some(file), Some(told)) if file != told => {
                    return Err(LogError::UnitContradicted { file: file.letter(), told });
                }
                (Some(unit), _) | (None, Some(unit)) => {
                    of_column.insert(*column, unit);
                }
                (None, None) => unknown.push(called_in_words(layout, *column)),
            }
        }
        match unknown.is_empty() {
            true => Ok(Self { of_column }),
            false => {
                unknown.truncate(4);
                Err(LogError::UnitUnknown { columns: unknown.join(" or ") })
            }
        }
    }
}

/// The probes' names, and rows with the place of their probe. Where each row holds all probes there is one series,
/// and its place is 0.
fn sorted_by_probe<'a>(
    layout: &Layout,
    entries: Vec<Entry<'a>>,
    faults: &mut Vec<CellFault>,
) -> (Vec<String>, Vec<Series<'a>>) {
    let Some(column) = layout.probe else {
        let mut names: Vec<String> = Vec::new();
        for (number, column) in layout.values.iter().enumerate() {
            let name = match without_unit(&layout.names[*column]) {
                name if name.is_empty() => format!("probe {}", number + 1),
                name => name,
            };
            let twice = names.iter().filter(|n| **n == name || n.starts_with(&format!("{name} ("))).count();
            names.push(if twice > 0 { format!("{name} ({})", twice + 1) } else { name });
        }
        return (names, vec![(0, entries)]);
    };
    let mut names: Vec<String> = Vec::new();
    let mut series: Vec<Series<'a>> = Vec::new();
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    for entry in entries {
        let name = entry.row.cells[column].clone();
        if name.is_empty() {
            faults.push(CellFault::cell(entry.row.line, &layout.called(column), "the probe is missing"));
            continue;
        }
        let place = *places.entry(name.clone()).or_insert_with(|| {
            names.push(name);
            series.push((names.len() - 1, Vec::new()));
            names.len() - 1
        });
        series[place].1.push(entry);
    }
    for name in &mut names {
        if name.bytes().all(|b| b.is_ascii_digit()) {
            *name = format!("probe {name}");
        }
    }
    (names, series)
}

/// Leaves out the fewest rows so that time runs forward, and tells each.
fn keep_rising(layout: &Layout, entries: &mut Vec<Entry>, faults: &mut Vec<CellFault>) {
    let times: Vec<f64> = entries.iter().map(|entry| entry.seconds).collect();
    let kept = rising(&times);
    let lines: Vec<(f64, usize)> =
        entries.iter().zip(&kept).filter(|(_, k)| **k).map(|(e, _)| (e.seconds, e.row.line)).collect();
    let mut keep = kept.iter();
    entries.retain(|entry| {
        let keep = *keep.next().unwrap_or(&false);
        if !keep {
            let same = lines.binary_search_by(|(time, _)| time.total_cmp(&entry.seconds));
            let what = match same {
                Ok(at) => format!("'{}' is the time of row {} again", shown(&entry.written), lines[at].1),
                Err(_) => format!(
                    "'{}' does not fit the times around it: time runs backwards",
                    shown(&entry.written)
                ),
            };
            faults.push(time_fault(layout, entry.row, &what));
        }
        keep
    });
}

/// Cells turned into readings.
struct Cells<'a> {
    layout: &'a Layout,
    units: &'a Units,
    decimals: DecimalSigns,
    faults: &'a mut Vec<CellFault>,
    /// Units met.
    used: Vec<Unit>,
}

impl Cells<'_> {
    fn read(&mut self, row: &Row, column: usize) -> Cell {
        let text = &row.cells[column];
        let fault = |what: String| CellFault::cell(row.line, &self.layout.called(column), what);
        match seen(text, self.decimals) {
            Seen::Empty => Cell::Empty,
            Seen::NoReading => Cell::NoReading(shown(text)),
            _ => match self.celsius(row, column, text) {
                Ok(cell) => cell,
                Err(what) => {
                    self.faults.push(fault(what));
                    Cell::Empty
                }
            },
        }
    }

    fn celsius(&mut self, row: &Row, column: usize, text: &str) -> Result<Cell, String> {
        let Some((value, behind)) = temperature(text, self.decimals)? else { return Ok(Cell::Empty) };
        let of_column = self.units.of_column[&column];
        let of_row = self.layout.unit.and_then(|c| unit_alone(&row.cells[c]));
        if let Some(behind) = behind
            && unit_of_column(&self.layout.names[column]).is_some_and(|unit| unit != behind)
        {
            return Err(format!("'{}' is in another unit than its column", shown(text)));
        }
        let unit = behind.or(of_row).unwrap_or(of_column);
        let celsius = unit.celsius(value);
        if !celsius.is_finite() {
            return Err(format!("'{}' is no temperature", shown(text)));
        }
        if !self.used.contains(&unit) {
            self.used.push(unit);
        }
        Ok(Cell::Celsius(celsius))
    }
}

/// One row a time, in the order of time, counted from the first.
fn merged(reader: &mut Cells, series: Vec<Series>, probes: usize) -> Vec<LogRow> {
    let mut rows: Vec<LogRow> = Vec::new();
    let wide = reader.layout.probe.is_none();
    let mut entries: Vec<(usize, Entry)> = series
        .into_iter()
        .flat_map(|(place, list)| list.into_iter().map(move |entry| (place, entry)))
        .collect();
    entries.sort_by(|(_, a), (_, b)| a.seconds.total_cmp(&b.seconds).then(a.row.line.cmp(&b.row.line)));
    let start = entries.first().map_or(0.0, |(_, entry)| entry.seconds);
    for (place, Entry { row, seconds, written }) in entries {
        let seconds = seconds - start;
        if rows.last().is_none_or(|last| last.seconds < seconds) {
            rows.push(LogRow { line: row.line, written, seconds, cells: vec![Cell::Empty; probes] });
        }
        let Some(last) = rows.last_mut() else { continue };
        if wide {
            for (cell, column) in last.cells.iter_mut().zip(&reader.layout.values) {
                *cell = reader.read(row, *column);
            }
        } else {
            last.cells[place] = reader.read(row, reader.layout.values[0]);
        }
    }
    rows
}
