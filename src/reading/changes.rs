//! What differs between two readings of one photograph.
//!
//! Comes in: two records. Goes out: each value that is not the same, by the name of its field. What does not come from the
//! photograph does not count: where the file lies, what a sheet says, files written, other views, a comparison, and which
//! version read it.

use super::{Record, from_json_line, to_json_line};
use serde_json::Value;

/// Fields that do not come from the photograph and the settings. Swatches are read with a grid of their own, which the
/// settings do not tell.
const APART: [&str; 12] = [
    "photo.path",
    "made_by.version",
    "made_by.settings",
    "card.borrowed_from.path",
    "survival.before.path",
    "sheet",
    "outputs",
    "views",
    "comparison",
    "corrections",
    "swatches",
    "null_because.swatches",
];

/// One value that is not the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Its field, such as `surfaces.white.lab[0]`.
    pub field: String,
    /// As the first record has it, as JSON; empty where it has none.
    pub was: String,
    /// As the second has it.
    pub is: String,
}

/// What differs from one record to the other, in the order of the fields; empty where they say the same.
pub fn changes(one: &Record, other: &Record) -> Vec<Change> {
    let mut found = Vec::new();
    differ("", &as_written(one), &as_written(other), &mut found);
    found
}

/// The record as it is written, so that a number rounded when it was written is no change.
fn as_written(record: &Record) -> Value {
    let line = to_json_line(record).unwrap_or_default();
    let again = from_json_line(&line).ok().and_then(|record| serde_json::to_value(record).ok());
    again.unwrap_or_default()
}

fn differ(field: &str, one: &Value, other: &Value, found: &mut Vec<Change>) {
    if one == other || APART.contains(&field) {
        return;
    }
    let inside = |name: &str| if field.is_empty() { name.to_owned() } else { format!("{field}.{name}") };
    match (one, other) {
        (Value::Object(a), Value::Object(b)) => {
            let more = b.keys().filter(|key| !a.contains_key(*key));
            for key in a.keys().chain(more) {
                let of = |map: &serde_json::Map<String, Value>| map.get(key).cloned().unwrap_or_default();
                differ(&inside(key), &of(a), &of(b), found);
            }
        }
        (Value::Array(a), Value::Array(b)) if a.len() == b.len() => {
            for (at, (a, b)) in a.iter().zip(b).enumerate() {
                differ(&format!("{field}[{at}]"), a, b, found);
            }
        }
        _ => {
            let text = |value: &Value| if value.is_null() { String::new() } else { value.to_string() };
            found.push(Change { field: field.into(), was: text(one), is: text(other) });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::{Reading, Surface};

    #[test]
    fn only_what_comes_from_the_photograph_counts() {
        let mut one = Reading { grade_because: vec!["a".into()], ..Reading::default() };
        one.surfaces.white = Some(Surface { lab: [80.0, 1.0, 2.0], ..Surface::default() });
        let mut other = one.clone();
        other.photo.path = "elsewhere/a.jpg".into();
        other.made_by.version = "9".into();
        other.made_by.settings = Some("{}".into());
        other.sheet = Some(Default::default());
        other.outputs.insert("overlay".into(), "a.jpg".into());
        other.swatches = Some(vec![Default::default()]);
        // Less than what is written.
        other.surfaces.white.as_mut().unwrap().lab[1] += 0.0004;
        let record = |reading: &Reading| Record::Measured(Box::new(reading.clone()));
        assert_eq!(changes(&record(&one), &record(&other)), []);
        other.surfaces.white.as_mut().unwrap().lab[0] = 80.5;
        other.made_by.settings_sha256 = "5e".into();
        other.grade_because.push("b".into());
        let found = changes(&record(&one), &record(&other));
        let fields: Vec<&str> = found.iter().map(|change| change.field.as_str()).collect();
        assert_eq!(fields.len(), 3, "{fields:?}");
        for field in ["surfaces.white.lab[0]", "made_by.settings_sha256", "grade_because"] {
            assert!(fields.contains(&field), "{fields:?}");
        }
        let lab = found.iter().find(|change| change.field.contains("lab")).unwrap();
        assert_eq!((lab.was.as_str(), lab.is.as_str()), ("80.0", "80.5"));
    }
}
