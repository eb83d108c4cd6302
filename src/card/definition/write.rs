//! A definition written as our JSON.

use super::{CardDefinition, PatchDefinition};

/// The definition as a file: one patch a line.
pub(super) fn to_json(card: &CardDefinition) -> String {
    let text = |s: &str| serde_json::Value::from(s).to_string();
    let list = |values: &[f64]| {
        let each: Vec<String> = values.iter().map(|v| serde_json::Value::from(*v).to_string()).collect();
        format!("[{}]", each.join(", "))
    };
    let layout = &card.layout;
    let mut lines = vec![
        format!("    \"unit\": {}", text(layout.unit.name())),
        format!("    \"rows\": {}", layout.rows),
        format!("    \"columns\": {}", layout.columns),
        format!("    \"patch\": {}", list(&layout.patch)),
        format!("    \"gap\": {}", list(&layout.gap)),
        format!("    \"frame\": {}", list(&layout.frame)),
    ];
    lines.extend(layout.outer.map(|outer| format!("    \"outer\": {}", list(&outer))));
    lines.extend(layout.neutral_row.map(|row| format!("    \"neutral_row\": {row}")));
    if !layout.note.is_empty() {
        lines.push(format!("    \"note\": {}", text(&layout.note)));
    }
    let patch = |p: &PatchDefinition| {
        let lab: [f64; 3] = p.lab.into();
        let u95 = p.u95.map(|u| format!(", \"u95\": {}", list(&u))).unwrap_or_default();
        format!("    {{\"id\": {}, \"name\": {}, \"lab\": {}{u95}}}", text(&p.id), text(&p.name), list(&lab))
    };
    let patches: Vec<String> = card.patches.iter().map(patch).collect();
    let head = [
        format!("  \"id\": {}", text(&card.id)),
        format!("  \"name\": {}", text(&card.name)),
        format!("  \"source\": {}", text(&card.source)),
        format!("  \"observer\": {}", text(&card.observer)),
        format!("  \"illuminant\": {}", text(&card.illuminant)),
        format!("  \"white\": {}", list(&card.white)),
    ];
    format!(
        "{{\n{},\n  \"layout\": {{\n{}\n  }},\n  \"patches\": [\n{}\n  ]\n}}\n",
        head.join(",\n"),
        lines.join(",\n"),
        patches.join(",\n")
    )
}
