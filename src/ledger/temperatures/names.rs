//! Words by which the columns of a log are known, beside their content.

use super::unit::{TimeUnit, time_unit_of_column, unit_of_column};
use crate::ledger::table::plain_name;

/// First words of columns of time.
const TIME: [&str; 13] = [
    "time",
    "t",
    "date",
    "datetime",
    "timestamp",
    "elapsed",
    "duration",
    "clock",
    "runtime",
    "run",
    "zeit",
    "temps",
    "tiempo",
];

/// Names of columns that number the rows.
const INDEX: [&str; 16] = [
    "",
    "no",
    "nr",
    "n",
    "#",
    "number",
    "sample",
    "sample no",
    "sample number",
    "record",
    "record no",
    "index",
    "id",
    "row",
    "reading",
    "point",
];

/// Names of the column that tells the probe, one row a probe and time.
const PROBE: [&str; 17] = [
    "probe",
    "probe name",
    "probe no",
    "channel",
    "channel name",
    "channel no",
    "sensor",
    "sensor name",
    "thermocouple",
    "tc",
    "ch",
    "input",
    "position",
    "place",
    "location",
    "name",
    "probe id",
];

/// Words in names of columns that are no temperature of the fire.
const OTHER: [&str; 21] = [
    "battery", "voltage", "volt", "volts", "mv", "humidity", "rh", "pressure", "hpa", "dew", "junction",
    "cj", "ambient", "internal", "setpoint", "target", "alarm", "power", "output", "status", "interval",
];

/// Whether a name is that of a column of time. A name with a unit of temperature never is.
pub(super) fn is_time(name: &str) -> bool {
    unit_of_column(name).is_none() && (first_word_is_time(name) || time_unit_alone(name).is_some())
}

/// Whether it says that it counts from the start.
pub(super) fn is_elapsed(name: &str) -> bool {
    let plain = plain_name(name);
    ["elapsed", "duration", "runtime", "run time", "since", "mm:ss"].iter().any(|word| plain.contains(word))
}

/// The unit of a column of time.
pub(super) fn time_unit(name: &str) -> Option<TimeUnit> {
    time_unit_of_column(name)
}

/// Whether it says that its numbers count seconds since 1970.
pub(super) fn is_unix(name: &str) -> bool {
    let plain = plain_name(name);
    ["timestamp", "epoch", "unix"].iter().any(|word| plain.contains(word))
}

pub(super) fn is_index(name: &str) -> bool {
    INDEX.contains(&plain_name(name).trim_end_matches('.'))
}

pub(super) fn is_probe(name: &str) -> bool {
    PROBE.contains(&plain_name(name).trim_end_matches('.'))
}

/// Whether it is a number beside the fire: a battery, the logger's own temperature, the air's.
pub(super) fn is_other(name: &str) -> bool {
    let words = words(name);
    let electric = matches!(words.last().map(String::as_str), Some("v" | "ma" | "w" | "kw"));
    name.contains('%')
        || electric
        || words.iter().any(|w| OTHER.contains(&w.as_str()))
        || words.windows(2).any(|w| w[0] == "set" && w[1] == "point")
}

fn first_word_is_time(name: &str) -> bool {
    // A capital T without a unit of time may as well be a temperature.
    if name.trim_start().starts_with('T') && words(name).first().is_some_and(|word| word == "t") {
        return time_unit_of_column(name).is_some();
    }
    words(name).first().is_some_and(|word| TIME.contains(&word.as_str()))
}

/// A name that is nothing but a unit of time, with or without brackets.
fn time_unit_alone(name: &str) -> Option<TimeUnit> {
    (words(name).len() == 1).then(|| time_unit_of_column(name)).flatten()
}

fn words(name: &str) -> Vec<String> {
    name.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_lowercase).collect()
}
