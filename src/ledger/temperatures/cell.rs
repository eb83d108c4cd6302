//! What one cell of a log may be.

use super::stamp::Stamp;
use super::unit::{Unit, unit_alone};
use crate::ledger::table::{DecimalSigns, number};

/// What a cell looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Seen {
    Empty,
    /// A number, and the unit written behind it.
    Number(f64, Option<Unit>),
    /// A word for no reading.
    NoReading,
    /// Date and time.
    Dated,
    Date,
    /// Figures between colons.
    Clock,
    /// A unit of temperature alone.
    Unit,
    Text,
}

/// Words that loggers write where the probe gives no reading (common practice), letters and digits only.
const NO_READING: [&str; 27] = [
    "ol",
    "open",
    "opentc",
    "opencircuit",
    "tcopen",
    "err",
    "error",
    "fault",
    "nan",
    "inf",
    "infinity",
    "over",
    "overload",
    "overrange",
    "overflow",
    "under",
    "underrange",
    "ovr",
    "nc",
    "notconnected",
    "disconnected",
    "noprobe",
    "nosensor",
    "bad",
    "invalid",
    "short",
    "burnout",
];

/// Words for an empty cell.
const EMPTY: [&str; 5] = ["na", "null", "none", "nil", "blank"];

pub(super) fn seen(cell: &str, decimals: DecimalSigns) -> Seen {
    if cell.is_empty() {
        return Seen::Empty;
    }
    if let Ok(Some((value, unit))) = temperature(cell, decimals) {
        return Seen::Number(value, unit);
    }
    if let Some(stamp) = Stamp::read(cell) {
        return match (stamp.date, stamp.clock) {
            (Some(_), Some(_)) => Seen::Dated,
            (Some(_), None) => Seen::Date,
            _ => Seen::Clock,
        };
    }
    if cell.chars().all(|c| !c.is_alphanumeric()) {
        let drawn = cell.chars().filter(|c| matches!(c, '-' | '–' | '—' | '*' | '#')).count();
        return match drawn {
            0 | 1 => Seen::Empty,
            _ => Seen::NoReading,
        };
    }
    let word: String = cell.to_lowercase().chars().filter(|c| c.is_alphabetic()).collect();
    match word.as_str() {
        w if EMPTY.contains(&w) => Seen::Empty,
        w if NO_READING.contains(&w) => Seen::NoReading,
        _ if unit_alone(cell).is_some() => Seen::Unit,
        _ => Seen::Text,
    }
}

/// A number with or without a unit behind it: `650`, `650,5 °C`, `1202F`.
pub(super) fn temperature(cell: &str, decimals: DecimalSigns) -> Result<Option<(f64, Option<Unit>)>, String> {
    let plain = number(cell, decimals);
    if plain.is_err()
        && let Some(at) = cell.find(|c: char| {
            c.is_alphabetic() || matches!(c, '°' | '˚' | '\u{FFFD}' | '\u{2103}' | '\u{2109}')
        })
        && let Some(unit) = unit_alone(&cell[at..])
    {
        return Ok(number(&cell[..at], decimals)?.map(|value| (value, Some(unit))));
    }
    Ok(plain?.map(|value| (value, None)))
}
