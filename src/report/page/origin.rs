//! Where the numbers of a reading come from: its card, its photograph, the program, its settings and the rule.

use super::name_value::NameValue;
use crate::reading::{Reading, ResidualPart};
use crate::report::file_name_of;
use crate::report::words::{UNKNOWN, exposure, fixed, percent, plus_minus};

pub(super) fn card(reading: &Reading) -> Vec<NameValue> {
    let card = &reading.card;
    let residual = |part: Option<ResidualPart>| {
        part.map_or(UNKNOWN.into(), |r| format!("{}, at most {}", fixed(r.mean, 1), fixed(r.max, 1)))
    };
    let status = match card.status.as_str() {
        "found" => "found in the photograph",
        "given" => "corners told by hand",
        "borrowed" => "borrowed from another photograph in the same light",
        _ => "none",
    };
    let left: Vec<String> = card
        .patches
        .iter()
        .filter(|patch| !patch.used)
        .map(|patch| format!("{} ({})", patch.id, patch.why_not.as_deref().unwrap_or("no reason given")))
        .collect();
    let used = card.patches.len() - left.len();
    let patches = match left.is_empty() {
        true if card.patches.is_empty() => UNKNOWN.into(),
        true => format!("all {used}"),
        false => format!("{used} of {}; left out: {}", card.patches.len(), left.join(", ")),
    };
    if let Some(from) = &card.borrowed_from {
        return vec![
            NameValue::new("Card", status),
            NameValue::new("Card shot", file_name_of(&from.path)),
            NameValue::hash("SHA-256 of the card shot", &from.sha256),
            NameValue::new(
                "Exposure against the card shot",
                format!("{} times", plus_minus(from.exposure_ratio, from.u95, 2)),
            ),
            NameValue::new("Definition", card.definition.as_deref().unwrap_or(UNKNOWN)),
            NameValue::new("Correction", card.model.as_deref().unwrap_or(UNKNOWN)),
            NameValue::new("Error on patches kept out of the fit (CIEDE2000)", residual(card.held_out_de00)),
        ];
    }
    vec![
        NameValue::new("Card", status),
        NameValue::new("Definition", card.definition.as_deref().unwrap_or(UNKNOWN)),
        NameValue::new("Correction", card.model.as_deref().unwrap_or(UNKNOWN)),
        NameValue::new("Patches used", patches),
        NameValue::new("Error on patches kept out of the fit (CIEDE2000)", residual(card.held_out_de00)),
        NameValue::new("Error on patches in the fit (CIEDE2000)", residual(card.fit_de00)),
        NameValue::new(
            "Change of light across the card",
            card.light_gradient.map_or(UNKNOWN.into(), |g| percent(g.abs())),
        ),
        NameValue::new(
            "Width of its borders in the photo",
            card.capture
                .and_then(|c| c.edge_px)
                .map_or(UNKNOWN.into(), |px| format!("{} pixels", fixed(px, 1))),
        ),
    ]
}

pub(super) fn provenance(reading: &Reading) -> Vec<NameValue> {
    let photo = &reading.photo;
    let size = match (photo.width, photo.height) {
        (Some(width), Some(height)) => format!("{width} × {height} pixels"),
        _ => UNKNOWN.into(),
    };
    vec![
        NameValue::new("File", file_name_of(&photo.path)),
        NameValue::hash("SHA-256 of the file", photo.sha256.as_deref().unwrap_or("")),
        NameValue::new("Taken, by the camera's clock", photo.taken.as_deref().unwrap_or(UNKNOWN)),
        NameValue::new("Exposure", exposure(photo.exposure.as_ref())),
        NameValue::new("Size", size),
        NameValue::new(
            "Colour profile",
            photo.profile.as_deref().unwrap_or("none in the file: sRGB assumed"),
        ),
        NameValue::new("Program", format!("sherdlight {}", reading.made_by.version)),
        NameValue::hash("SHA-256 of the settings", &reading.made_by.settings_sha256),
        NameValue::new("Told by hand", told(reading)),
        NameValue::new("Target ranges", if reading.targets.is_empty() { UNKNOWN } else { &reading.targets }),
        NameValue::hash("SHA-256 of the target ranges", &reading.targets_sha256),
        NameValue::new("Decided by", decision(reading)),
        NameValue::new(
            "Colours",
            format!("CIELAB for {}, {} observer", reading.illuminant, reading.observer),
        ),
    ]
}

fn decision(reading: &Reading) -> String {
    match reading.decision.rule.as_str() {
        "" => UNKNOWN.into(),
        rule => format!("{rule}; risk of a wrong call at most {}", percent(reading.decision.risk)),
    }
}

/// What a person told the program that bears on the numbers, edits of the map among it.
fn told(reading: &Reading) -> String {
    let settings = reading.made_by.settings.as_deref().and_then(|text| serde_json::from_str(text).ok());
    let Some(serde_json::Value::Object(settings)) = settings else {
        return "not recorded by the version that read it".into();
    };
    let mut said: Vec<String> = Vec::new();
    for (name, value) in &settings {
        let words = match name.as_str() {
            "card" | "card_definition" | "card_from" => continue,
            "targets" | "targets_sha256" | "risk" | "without_card" => continue,
            "patch_mm" => format!("a patch of the card is {value} mm wide"),
            "card_corners" => "corners of the card".into(),
            "skip_patches" => format!(
                "patches left out: {}",
                value
                    .as_array()
                    .into_iter()
                    .flatten()
                    .filter_map(|id| id.as_str())
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
            "outline" | "outline_box" => "where the piece lies".into(),
            "smudged" => "blackened on purpose".into(),
            "ball" => "where the light ball lies".into(),
            "form" => format!("form: {}", value.as_str().unwrap_or(UNKNOWN)),
            other => other.replace('_', " "),
        };
        said.push(words);
    }
    if reading.corrections.is_some() {
        said.push("places of the map".into());
    }
    if said.is_empty() { "nothing; no edits by hand".into() } else { said.join("; ") }
}
