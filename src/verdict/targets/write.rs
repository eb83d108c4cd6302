//! Ranges written as the JSON that people read and change.

use super::{Range, Target, Targets};

/// The file: one value a line.
pub(super) fn to_json(targets: &Targets) -> String {
    let head = [
        ("id", &targets.id),
        ("name", &targets.name),
        ("note", &targets.note),
        ("illuminant", &targets.illuminant),
        ("observer", &targets.observer),
    ]
    .map(|(field, words)| format!("  \"{field}\": {},\n", text(words)))
    .concat();
    let values: Vec<String> = targets.values.iter().map(|t| format!("    {}", value(t))).collect();
    let colours: Vec<String> = targets
        .aim_colours
        .iter()
        .map(|(surface, lab)| format!("    {}: [{}]", text(surface), lab.map(number).join(", ")))
        .collect();
    let colours = match colours.as_slice() {
        [] => "{}".to_owned(),
        colours => format!("{{\n{}\n  }}", colours.join(",\n")),
    };
    format!("{{\n{head}  \"values\": [\n{}\n  ],\n  \"aim_colours\": {colours}\n}}\n", values.join(",\n"))
}

fn value(target: &Target) -> String {
    format!(
        "{{ \"surface\": {}, \"value\": \"{}\", \"unit\": \"{}\", \"aim\": {}, \"accept\": {}, \"fully_off\": {} }}",
        text(&target.surface),
        target.value.name(),
        target.value.unit(),
        range(target.aim),
        range(target.accept),
        target.fully_off.map_or_else(|| "null".into(), number)
    )
}

fn range(ends: Range) -> String {
    let [low, high] = ends.map(|end| end.map_or_else(|| "null".into(), number));
    format!("[{low}, {high}]")
}

fn number(value: f64) -> String {
    // Display gives the shortest digits that read back the same, without an exponent: valid JSON.
    format!("{value}")
}

fn text(words: &str) -> String {
    serde_json::Value::from(words).to_string()
}
