//! Units of temperature and of elapsed time, and where a file names them.

use serde::{Deserialize, Serialize};

/// A unit of temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Unit {
    /// Degrees Celsius.
    Celsius,
    /// Degrees Fahrenheit.
    Fahrenheit,
}

impl Unit {
    /// Degrees Celsius of a value in this unit. `C = (F - 32) / 1.8`, which is exact: NIST Special Publication 811
    /// (2008), appendix B.8 (from memory).
    pub fn celsius(self, value: f64) -> f64 {
        match self {
            Self::Celsius => value,
            Self::Fahrenheit => (value - 32.0) / 1.8,
        }
    }

    /// The letter people write.
    pub fn letter(self) -> char {
        match self {
            Self::Celsius => 'C',
            Self::Fahrenheit => 'F',
        }
    }
}

/// A unit of elapsed time; of `12:30` the unit of its first figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TimeUnit {
    /// Thousandths of a second.
    Milliseconds,
    /// Seconds.
    Seconds,
    /// Minutes; of `12:30` minutes and seconds.
    Minutes,
    /// Hours; of `12:30` hours and minutes.
    Hours,
}

impl TimeUnit {
    /// Its length in seconds.
    pub fn seconds(self) -> f64 {
        match self {
            Self::Milliseconds => 0.001,
            Self::Seconds => 1.0,
            Self::Minutes => 60.0,
            Self::Hours => 3600.0,
        }
    }
}

/// Words before a lone letter that name a thing, so that the letter tells it from others: `probe C`.
const NAMED_THINGS: [&str; 11] =
    ["probe", "channel", "ch", "sensor", "thermocouple", "tc", "pot", "place", "input", "type", "position"];

/// A text with one degree sign for all the signs that people and damaged files have for it.
fn one_degree_sign(text: &str) -> String {
    text.replace('\u{2103}', "°C").replace('\u{2109}', "°F").replace(['º', '˚', '\u{FFFD}'], "°")
}

fn words(text: &str) -> Vec<String> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_lowercase).collect()
}

/// A text that is nothing but a unit: `°C`, `C`, `degC`, `deg F`, `(F)`, `Celsius`.
pub(super) fn unit_alone(text: &str) -> Option<Unit> {
    let text = one_degree_sign(text).replace('°', "deg ").to_lowercase();
    match words(&text).join("").as_str() {
        "c" | "degc" | "celsius" | "centigrade" | "degcelsius" | "degreesc" | "degreescelsius" => {
            Some(Unit::Celsius)
        }
        "f" | "degf" | "fahrenheit" | "degfahrenheit" | "degreesf" | "degreesfahrenheit" => {
            Some(Unit::Fahrenheit)
        }
        _ => None,
    }
}

/// A unit written in full inside a text, such as `Temperature unit: °C`. A lone letter does not count.
pub(super) fn unit_in_words(text: &str) -> Option<Unit> {
    let text = one_degree_sign(text).replace("° ", "°");
    let letter_after_sign = |letter: char| {
        text.match_indices('°').any(|(at, sign)| {
            let mut rest = text[at + sign.len()..].chars();
            rest.next().is_some_and(|c| c.eq_ignore_ascii_case(&letter))
                && !rest.next().is_some_and(char::is_alphanumeric)
        })
    };
    let words = words(&text);
    let said = |full: &str, short: &str, letter: &str| {
        words.iter().any(|w| w == full || w == short)
            || words
                .windows(2)
                .any(|w| matches!(w[0].as_str(), "deg" | "degree" | "degrees") && w[1] == letter)
    };
    let celsius =
        letter_after_sign('C') || said("celsius", "degc", "c") || words.iter().any(|w| w == "centigrade");
    let fahrenheit = letter_after_sign('F') || said("fahrenheit", "degf", "f");
    match (celsius, fahrenheit) {
        (true, false) => Some(Unit::Celsius),
        (false, true) => Some(Unit::Fahrenheit),
        _ => None,
    }
}

/// The unit that the name of a column gives: in full, in brackets, or as the last letter after a word that is no
/// name of a thing (`temp_c`, `T1 F`, but not `probe C`).
pub(super) fn unit_of_column(name: &str) -> Option<Unit> {
    if let Some(unit) = unit_in_words(name) {
        return Some(unit);
    }
    if let Some(unit) = bracketed(name).and_then(|inner| unit_alone(inner.trim_start_matches('?'))) {
        return Some(unit);
    }
    let words = words(name);
    match words.as_slice() {
        [.., before, letter] if !NAMED_THINGS.contains(&before.as_str()) => match letter.as_str() {
            "c" | "tempc" => Some(Unit::Celsius),
            "f" | "tempf" => Some(Unit::Fahrenheit),
            _ => None,
        },
        [one] if one == "tempc" => Some(Unit::Celsius),
        [one] if one == "tempf" => Some(Unit::Fahrenheit),
        _ => None,
    }
}

/// The last text in brackets of a name.
fn bracketed(name: &str) -> Option<&str> {
    let (open, close) = (name.rfind(['(', '['])?, name.rfind([')', ']'])?);
    name.get(open + 1..close)
}

/// The name of a column without its unit; empty where it is nothing else.
pub(super) fn without_unit(name: &str) -> String {
    let plain = one_degree_sign(name);
    let clean = |text: &str| {
        text.trim_matches(|c: char| c.is_whitespace() || matches!(c, '_' | '/' | ',' | ':' | '-' | '.'))
            .to_owned()
    };
    if bracketed(&plain).is_some_and(|inner| unit_alone(inner.trim_start_matches('?')).is_some()) {
        let open = plain.rfind(['(', '[']).unwrap_or(0);
        let close = plain.rfind([')', ']']).unwrap_or(plain.len() - 1);
        return clean(&format!("{} {}", clean(&plain[..open]), &plain[close + 1..]));
    }
    if unit_alone(&plain).is_some() {
        return String::new();
    }
    // The unit stands at the end: the longest tail that is a unit alone and starts after a sign or space.
    let starts =
        plain.char_indices().filter(|(_, c)| matches!(c, ' ' | '_' | '/' | ',' | '°')).map(|(at, _)| at);
    for start in starts {
        if unit_alone(&plain[start..]).is_some() && unit_of_column(&plain).is_some() {
            return clean(&plain[..start]);
        }
    }
    clean(name)
}

/// The unit of elapsed time that the name of a column gives: `t (s)`, `time [min]`, `elapsed_s`, `mm:ss`.
pub(super) fn time_unit_of_column(name: &str) -> Option<TimeUnit> {
    let lower = name.to_lowercase();
    if lower.contains("mm:ss") && !lower.contains("h:mm:ss") {
        return Some(TimeUnit::Minutes);
    }
    if lower.contains("h:mm") {
        return Some(TimeUnit::Hours);
    }
    let words = words(name);
    words.iter().rev().find_map(|word| match word.as_str() {
        "ms" | "msec" | "millis" | "millisecond" | "milliseconds" => Some(TimeUnit::Milliseconds),
        "s" | "sec" | "secs" | "second" | "seconds" => Some(TimeUnit::Seconds),
        "min" | "mins" | "minute" | "minutes" => Some(TimeUnit::Minutes),
        "h" | "hr" | "hrs" | "hour" | "hours" => Some(TimeUnit::Hours),
        _ => None,
    })
}
