//! Records as JSON text: three decimals at most, null for what is not finite, fixed key order.

use super::Record;
use serde::Serialize;
use serde_json::ser::{Formatter, Serializer};
use std::io;

/// Writes numbers with three decimals at most, as the record's contract says.
struct ThreeDecimals;

impl Formatter for ThreeDecimals {
    fn write_f64<W: ?Sized + io::Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        let thousandths = (value * 1000.0).round();
        // Up to twelve digits before the point the shortest decimal of a double is that of its thousandths, and whole
        // numbers are written several times faster.
        if thousandths.abs() < 1e15 {
            write_thousandths(writer, thousandths as i64)
        } else {
            write!(writer, "{}", thousandths / 1000.0)
        }
    }
}

fn write_thousandths<W: ?Sized + io::Write>(writer: &mut W, thousandths: i64) -> io::Result<()> {
    let (mut text, mut at) = ([0u8; 24], 24);
    let mut put = |letter: u8| {
        at -= 1;
        text[at] = letter;
    };
    let mut rest = thousandths.unsigned_abs();
    let mut decimals = false;
    for _ in 0..3 {
        let digit = (rest % 10) as u8;
        rest /= 10;
        decimals |= digit != 0;
        if decimals {
            put(b'0' + digit);
        }
    }
    if decimals {
        put(b'.');
    }
    loop {
        put(b'0' + (rest % 10) as u8);
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    if thousandths < 0 {
        put(b'-');
    }
    writer.write_all(&text[at..])
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The plain form: rounded, then the shortest decimal; + 0.0 turns a negative zero into a plain one.
    fn plain(value: f64) -> String {
        format!("{}", (value * 1000.0).round() / 1000.0 + 0.0)
    }

    #[test]
    fn numbers_of_note_are_written_as_by_the_plain_form() {
        for value in [
            0.0,
            -0.0,
            -0.0004,
            0.0005,
            1.0,
            -1.0,
            0.1,
            100.0,
            12.340,
            999.9995,
            1e11 + 0.123,
            1e12,
            -4e14,
            1e18,
        ] {
            assert_eq!(to_json_line(&value).unwrap(), plain(value), "{value}");
        }
        assert_eq!(to_json_line(&f64::NAN).unwrap(), "null");
    }

    proptest! {
        #[test]
        fn any_number_is_written_as_by_the_plain_form(value in -1e13f64..1e13, small in -200.0f64..200.0) {
            prop_assert_eq!(to_json_line(&value).unwrap(), plain(value));
            prop_assert_eq!(to_json_line(&small).unwrap(), plain(small));
        }
    }
}
