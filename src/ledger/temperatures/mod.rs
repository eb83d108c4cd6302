//! Temperature logs of a firing: files of loggers read, and what they say of the heat.
//!
//! Comes in: the bytes of a delimited file with times and the temperatures of one or several probes, in nearly any
//! dialect ([`TemperatureLog::read`]). Goes out: the right rows in degrees Celsius and seconds since the first of
//! them, with every fault told by row and column ([`LogRead`]); and of these the figures of the firing
//! ([`summary()`]): degrees Celsius, minutes, degrees Celsius a minute. What is not known is `None`, never 0.
//! A temperature is only ever read from a probe, never from a colour.

mod broken;
mod cell;
mod clock;
mod curve;
mod layout;
mod names;
mod order;
mod read;
mod spread;
mod stamp;
mod summary;
mod unit;

pub use broken::{Broken, BrokenKind};
pub use read::{LogRead, Told};
pub use spread::Spread;
pub use summary::{Gap, Marks, MinutesAbove, Moment, Peak, ProbeSummary, Steepest, Summary, summary};
pub use unit::{TimeUnit, Unit};

pub(crate) use curve::{Curve, Point, curves};

use super::table::TableError;
use serde::{Deserialize, Serialize};

/// What the times of a log are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TimeKind {
    /// Date and time with a zone.
    ZonedDates,
    /// Date and time without a zone: the clock of the place, taken as written.
    LocalDates,
    /// Time of day without a date; over midnight the day goes on.
    TimeOfDay,
    /// Time since a start that is not told.
    Elapsed,
}

/// One cell of a log.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cell {
    /// A reading in degrees Celsius, finite.
    Celsius(f64),
    /// The logger's word where it has no reading, such as `OL` for an open circuit.
    NoReading(String),
    /// Nothing written: unknown.
    Empty,
}

/// All readings of one time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LogRow {
    /// Line in the file, from 1; of several, the first.
    pub line: usize,
    /// The time as written.
    pub written: String,
    /// Seconds since the first row.
    pub seconds: f64,
    /// One cell a probe.
    pub cells: Vec<Cell>,
}

/// A temperature log: rows in the order of time, each time once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TemperatureLog {
    /// What its times are.
    pub time: TimeKind,
    /// The units its temperatures were written in.
    pub units: Vec<Unit>,
    /// The probes' names as written, without their unit; `probe 1`, ... where they have none.
    pub probes: Vec<String>,
    /// The rows.
    pub rows: Vec<LogRow>,
}

/// A temperature log that cannot be read at all.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LogError {
    /// The file is empty or no text.
    #[error(transparent)]
    Table(#[from] TableError),
    /// No rows of times and temperatures.
    #[error("no row of it holds a time and a temperature")]
    NoReadings,
    /// No column of times.
    #[error(
        "no column holds the time; call it 'time', or 'time (s)' or 'time (min)' where it counts from the start"
    )]
    NoTime,
    /// Nobody says what the temperatures are in.
    #[error("nothing says whether {columns} is in degrees C or F; say which")]
    UnitUnknown {
        /// The columns in question.
        columns: String,
    },
    /// The file and the person say different things.
    #[error("the file says that its temperatures are in degrees {file}, and you said {}", told.letter())]
    UnitContradicted {
        /// The letter of the file's unit.
        file: char,
        /// The unit that was told.
        told: Unit,
    },
    /// Nobody says what the elapsed times are in.
    #[error("nothing says whether {column} counts hours, minutes or seconds; say which")]
    TimeUnitUnknown {
        /// The column in question.
        column: String,
    },
    /// More columns of numbers than a logger has.
    #[error("it has {count} probes, and no more than {most} are read; take out what is no temperature")]
    TooManyProbes {
        /// How many.
        count: usize,
        /// The most that are read.
        most: usize,
    },
}
