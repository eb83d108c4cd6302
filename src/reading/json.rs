//! Records as JSON text: three decimals at most, null for what is not finite, fixed key order.

use super::Record;
use serde::Serialize;
use serde_json::ser::{Formatter, Serializer};
use std::io;

/// Writes numbers with three decimals at most, as the record's contract says.
struct ThreeDecimals;

impl Formatter for ThreeDecimals {
    fn write_f64<W: ?Sized + io::Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        // + 0.0 turns a negative zero into a plain one.
        let rounded = (value * 1000.0).round() / 1000.0 + 0.0;
        write!(writer, "{rounded}")
    }
}

/// Any of the record's parts as one line of JSON, without the line end.
///
/// # Errors
/// Only where the value cannot be JSON, such as a map with keys that are no text.
pub fn to_json_line<T: Serialize + ?Sized>(value: &T) -> Result<String, serde_json::Error> {
    let mut text = Vec::new();
    value.serialize(&mut Serializer::with_formatter(&mut text, ThreeDecimals))?;
    Ok(String::from_utf8_lossy(&text).into_owned())
}

/// Reads one line of a records file.
///
/// # Errors
/// Where the line is no record of this schema.
pub fn from_json_line(line: &str) -> Result<Record, serde_json::Error> {
    serde_json::from_str(line)
}
