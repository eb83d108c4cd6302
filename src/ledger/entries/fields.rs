//! What is known of a firing, a recipe, a piece and its place in a load: one table of fields for each.
//!
//! The same tables check what is typed, name the columns of a CSV file and say how a value is shown.

use crate::ledger::LedgerError;

/// A kind of entry.
#[derive(Debug, PartialEq, Eq)]
pub struct Kind {
    /// The word for one, such as `firing`.
    pub word: &'static str,
    /// Its table in the file.
    pub table: &'static str,
    /// Its fields in the order they are shown; the name is none of them.
    pub fields: &'static [Field],
}

/// One field of an entry.
#[derive(Debug, PartialEq, Eq)]
pub struct Field {
    /// The column in the file.
    pub column: &'static str,
    /// The word for it, in options and headers of CSV files, with hyphens.
    pub word: &'static str,
    /// What it is, one sentence without a full stop.
    pub help: &'static str,
    /// What it holds.
    pub holds: Holds,
}

/// What a field holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Any words.
    Words,
    /// A number between two bounds, with its unit.
    Number(i32, i32, &'static str),
    /// A day: 2026-05-03.
    Date,
    /// A time of day, or a day and a time, with a zone or without.
    Time,
    /// `unfired`, `fired`, `fired N times` or `refired`.
    State,
    /// The name of a recipe of this kind.
    Recipe(&'static str),
}

/// A value of a field.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(untagged)]
pub enum Value {
    /// A number.
    Number(f64),
    /// Words, a date, a time, or the name of a recipe.
    Words(String),
}

impl std::fmt::Display for Value {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number(number) => write!(f, "{number}"),
            Self::Words(words) => f.write_str(words),
        }
    }
}

const fn field(column: &'static str, word: &'static str, help: &'static str, holds: Holds) -> Field {
    Field { column, word, help, holds }
}

const NOTES: Field = field("notes", "notes", "Anything else", Holds::Words);

/// Firings: the steps of the work from laying the fire to raking it out.
pub static FIRINGS: Kind = Kind {
    word: "firing",
    table: "firings",
    fields: &[
        field("date", "date", "Day of the firing, such as 2026-05-03", Holds::Date),
        field("place", "place", "Where it was", Holds::Words),
        field("fuel", "fuel", "Kind and weight of the fuel", Holds::Words),
        field("weather", "weather", "Wind and damp", Holds::Words),
        field("cover", "cover", "What lay over the pots", Holds::Words),
        field(
            "pre_warm_minutes",
            "pre-warm",
            "How long the pots were warmed beside the fire, minutes",
            Holds::Number(0, 2880, "minutes"),
        ),
        field("start_time", "start", "When the fire was lit, such as 14:05", Holds::Time),
        field("peak_time", "peak", "When it was hottest", Holds::Time),
        field(
            "peak_celsius",
            "peak-celsius",
            "The highest temperature that was measured, degrees C",
            Holds::Number(20, 1400, "degrees C"),
        ),
        field("end_time", "end", "When the firing was ended", Holds::Time),
        field("end_action", "end-action", "How it was ended: smothered, let clear, raked out", Holds::Words),
        field("cooling", "cooling", "How the pots cooled, and how long", Holds::Words),
        NOTES,
        field("intent", "intent", "What this firing was to show", Holds::Words),
        field("next_change", "next-change", "The one thing to change the next time", Holds::Words),
    ],
};

/// Recipes: clays, slips, reds and paints as they were mixed and laid on. The name is one of its kind.
pub static RECIPES: Kind = Kind {
    word: "recipe",
    table: "recipes",
    fields: &[
        field("batch", "batch", "Which mixing it is", Holds::Words),
        field("coats", "coats", "How many coats", Holds::Number(0, 50, "coats")),
        field("thickness", "thickness", "How thick it is laid on", Holds::Words),
        field(
            "strength",
            "strength",
            "How strong it is, such as how far the paint was boiled down",
            Holds::Words,
        ),
        field("date", "date", "Day it was made, such as 2026-04-20", Holds::Date),
        NOTES,
    ],
};

/// Pieces.
pub static PIECES: Kind = Kind {
    word: "piece",
    table: "pieces",
    fields: &[
        field("shape", "shape", "Jar, bowl, dish, tile, ...", Holds::Words),
        field("size", "size", "Its size, with the unit", Holds::Words),
        field("state", "state", "unfired, fired, fired 2 times, refired", Holds::State),
        field("soak_test", "soak-test", "How it stood the soak test", Holds::Words),
        field("flaws", "flaws", "Cracks, spalls, peeling slip, in words", Holds::Words),
        field("clay_id", "clay", "Recipe of its clay", Holds::Recipe("clay")),
        field("slip_id", "slip", "Recipe of its white slip", Holds::Recipe("slip")),
        field("red_id", "red", "Recipe of its red", Holds::Recipe("red")),
        field("paint_id", "paint", "Recipe of its paint", Holds::Recipe("paint")),
        NOTES,
    ],
};

/// A piece in a firing.
pub static LOADS: Kind = Kind {
    word: "place in a load",
    table: "loads",
    fields: &[
        field("place", "place", "Where the piece lay in the fire", Holds::Words),
        field("flaws", "flaws", "What it had after that firing: crack, spall, peel", Holds::Words),
        NOTES,
    ],
};

impl Kind {
    /// The field of a word, however it is written: `end-action`, `End action`, `end_action`.
    pub fn field(&self, word: &str) -> Option<&'static Field> {
        let plain = |text: &str| text.trim().to_lowercase().replace(['_', ' '], "-");
        self.fields.iter().find(|f| f.word == plain(word))
    }
}

impl Field {
    /// The value in what was typed; `None` where nothing was: unknown stays empty.
    ///
    /// # Errors
    /// [`LedgerError::Value`], with what is wanted.
    pub fn value(&self, typed: &str) -> Result<Option<Value>, LedgerError> {
        let typed = typed.trim();
        if typed.is_empty() {
            return Ok(None);
        }
        let bad =
            |wanted: String| LedgerError::Value { field: self.word.into(), value: typed.into(), wanted };
        let words = |good: bool, wanted: &str| match good {
            true => Ok(Some(Value::Words(typed.into()))),
            false => Err(bad(wanted.into())),
        };
        match self.holds {
            Holds::Words | Holds::Recipe(_) => Ok(Some(Value::Words(typed.into()))),
            Holds::Number(low, high, unit) => {
                let number = typed.replace(',', ".").parse::<f64>().ok();
                let inside = number.filter(|n| (f64::from(low)..=f64::from(high)).contains(n));
                let wanted = || bad(format!("a number of {unit} between {low} and {high} is wanted"));
                inside.map(|n| Some(Value::Number(n))).ok_or_else(wanted)
            }
            Holds::Date => words(is_day(typed), "a day is wanted as year, month, day, such as 2026-05-03"),
            Holds::Time => words(
                is_time(typed),
                "a time is wanted such as 14:05, or a day and a time such as 2026-05-03T14:05, with a zone (+02:00) or without",
            ),
            Holds::State => {
                words(is_state(typed), "unfired, fired, fired 2 times (3, 4, ...) or refired is wanted")
            }
        }
    }
}

/// A day of the calendar as `2026-05-03` (ISO 8601).
/// Whether it is a day of the calendar, written as 2026-05-03.
pub fn is_day(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts[..] else { return false };
    let number = |text: &str, digits: usize| {
        (text.len() == digits && text.bytes().all(|b| b.is_ascii_digit()))
            .then(|| text.parse::<u32>().ok())?
    };
    let (Some(year), Some(month), Some(day)) = (number(year, 4), number(month, 2), number(day, 2)) else {
        return false;
    };
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => return false,
    };
    (1..=days).contains(&day)
}

/// `14:05`, `14:05:30`, each after a day and `T` or a space, each with a zone (`Z`, `+02:00`) or without.
fn is_time(text: &str) -> bool {
    let (day, time) = match text.split_once(['T', ' ']) {
        Some((day, time)) => (Some(day), time),
        None => (None, text),
    };
    let plain = match time.strip_suffix('Z') {
        Some(time) => time,
        None => match time.rsplit_once(['+', '-']) {
            Some((time, zone)) if is_clock(zone, 2) => time,
            Some(_) => return false,
            None => time,
        },
    };
    day.is_none_or(is_day) && (is_clock(plain, 2) || is_clock(plain, 3))
}

/// Hours, minutes and, of three parts, seconds.
fn is_clock(text: &str, parts: usize) -> bool {
    let told: Vec<&str> = text.split(':').collect();
    told.len() == parts
        && told.iter().zip([23, 59, 59]).all(|(part, most)| {
            (1..=2).contains(&part.len())
                && part.bytes().all(|b| b.is_ascii_digit())
                && part.parse::<u32>().is_ok_and(|n| n <= most)
        })
}

fn is_state(text: &str) -> bool {
    let times = || text.strip_prefix("fired ")?.strip_suffix(" times")?.parse::<u8>().ok();
    matches!(text, "unfired" | "fired" | "refired") || times().is_some_and(|n| n > 0)
}
