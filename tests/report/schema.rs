//! Records against the JSON Schema (2020-12) that the project carries.

use crate::trends::series;
use serde_json::Value;
use sherdlight::reading::*;

/// Checks a value against the parts of JSON Schema 2020-12 that the schema uses; an unknown
/// keyword is an error, so that the schema cannot say what is not checked.
fn check(root: &Value, schema: &Value, value: &Value, at: &str) -> Result<(), String> {
    let failed = |what: &str| Err(format!("{at}: {what}: {value}"));
    let is = |name: &str| match name {
        "integer" => value.is_u64() || value.is_i64(),
        "number" => value.is_number(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        "null" => value.is_null(),
        other => panic!("unknown type {other}"),
    };
    for (keyword, wanted) in schema.as_object().unwrap() {
        let holds = match keyword.as_str() {
            "$schema" | "$id" | "$defs" | "title" | "description" | "properties" => true,
            "$ref" => {
                let target = root.pointer(wanted.as_str().unwrap().trim_start_matches('#')).unwrap();
                check(root, target, value, at)?;
                true
            }
            "oneOf" => {
                let fits = |part: &&Value| check(root, part, value, at).is_ok();
                wanted.as_array().unwrap().iter().filter(fits).count() == 1
            }
            "type" => match wanted {
                Value::String(name) => is(name),
                several => several.as_array().unwrap().iter().any(|name| is(name.as_str().unwrap())),
            },
            "const" => value == wanted,
            "enum" => wanted.as_array().unwrap().contains(value),
            "pattern" => {
                assert_eq!(wanted, "^[0-9a-f]{64}$", "the only pattern known here");
                value.as_str().is_some_and(|text| {
                    text.len() == 64 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
                })
            }
            "minimum" => value.as_f64().is_none_or(|v| v >= wanted.as_f64().unwrap()),
            "maximum" => value.as_f64().is_none_or(|v| v <= wanted.as_f64().unwrap()),
            "minItems" => value.as_array().is_none_or(|v| v.len() as u64 >= wanted.as_u64().unwrap()),
            "maxItems" => value.as_array().is_none_or(|v| v.len() as u64 <= wanted.as_u64().unwrap()),
            "items" => {
                for (number, item) in value.as_array().into_iter().flatten().enumerate() {
                    check(root, wanted, item, &format!("{at}/{number}"))?;
                }
                true
            }
            "required" => value.as_object().is_none_or(|map| {
                wanted.as_array().unwrap().iter().all(|key| map.contains_key(key.as_str().unwrap()))
            }),
            "additionalProperties" => true,
            other => panic!("unknown keyword {other}"),
        };
        if !holds {
            return failed(keyword);
        }
    }
    if let Some(map) = value.as_object() {
        for (key, part) in map {
            let known = schema.pointer("/properties").and_then(|known| known.get(key));
            match known.or_else(|| schema.get("additionalProperties")) {
                Some(known) => check(root, known, part, &format!("{at}/{key}"))?,
                // Stricter than the schema: what the program writes must be described there.
                None if schema.get("type") == Some(&"object".into()) => {
                    return failed(&format!("{key} is not described"));
                }
                None => {}
            }
        }
    }
    Ok(())
}

#[test]
fn records_are_what_the_schema_says() {
    let schema: Value = serde_json::from_str(READING_SCHEMA).unwrap();
    let check = |value: &Value| check(&schema, &schema, value, "");
    let mut all = series();
    all.push(crate::records::measured(crate::records::reading("a.jpg", 'e', None)));
    let mut least = crate::records::reading("b.jpg", 'f', None);
    least.surfaces = Surfaces::default();
    (least.contrast, least.paint, least.light.range) = (None, None, None);
    (least.piece.size_mm, least.card.light_gradient, least.card.mm_per_px) = (None, None, None);
    all.push(crate::records::measured(least));
    for record in &all {
        let line = to_json_line(record).unwrap();
        let value: Value = serde_json::from_str(&line).unwrap();
        check(&value).unwrap_or_else(|error| panic!("{error}"));
        // It reads back as the same record.
        assert_eq!(to_json_line(&from_json_line(&line).unwrap()).unwrap(), line);
    }
    // What breaks the contract is refused.
    let good: Value = serde_json::from_str(&to_json_line(&all[4]).unwrap()).unwrap();
    check(&good).unwrap();
    for (pointer, bad) in [
        ("/schema", Value::from("sherdlight.reading/2")),
        ("/surfaces/white/lab", serde_json::json!([1.0, 2.0])),
        ("/surfaces/white/area_fraction", Value::from(1.2)),
        ("/grade", Value::from("good")),
        ("/photo/sha256", Value::from("abc")),
        ("/card/status", Value::Null),
        ("/contrast/delta_l", Value::Null),
        ("/contrast/ratio_from", Value::from("guess")),
        ("/paint/line_width_mm", Value::from(3.4)),
        ("/paint/spottiness/u95", Value::Null),
    ] {
        let mut broken = good.clone();
        *broken.pointer_mut(pointer).unwrap() = bad;
        assert!(check(&broken).is_err(), "{pointer}");
    }
}

#[test]
fn swatches_are_what_the_schema_says() {
    let schema: Value = serde_json::from_str(READING_SCHEMA).unwrap();
    let tile = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-images/09-first-frost-tile.jpg");
    let mut program = assert_cmd::Command::cargo_bin("sherdlight").unwrap();
    let run = program.args(["tiles", tile, "--grid", "1x4", "--json"]).output().unwrap();
    let mut value: Value = serde_json::from_slice(&run.stdout).unwrap();
    check(&schema, &schema, &value, "").unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(value["swatches"].as_array().map(Vec::len), Some(4));
    let laid = Laid {
        trial: "slips".into(),
        tile: 1,
        row: 1,
        column: 1,
        role: Some("control".into()),
        ..Laid::default()
    };
    value["swatches"][0]["laid"] = serde_json::to_value(laid).unwrap();
    check(&schema, &schema, &value, "").unwrap_or_else(|error| panic!("{error}"));
    for (field, strange) in [("left_out", Value::from("tired")), ("laid", serde_json::json!({"tile": 1}))] {
        let mut value = value.clone();
        value["swatches"][0][field] = strange;
        assert!(check(&schema, &schema, &value, "").is_err(), "{field}");
    }
    let mut survival = SurvivalPart { kept: 0.5, lost: 0.5, ..SurvivalPart::default() };
    survival.before.piece = 1;
    survival.strokes.push(StrokePart { number: 1, kept: 1.0, ..StrokePart::default() });
    survival.same_places_px.push([1.0, 2.0, 3.0, 4.5]);
    value["survival"] = serde_json::to_value(survival).unwrap();
    check(&schema, &schema, &value, "").unwrap_or_else(|error| panic!("{error}"));
    value["survival"]["strokes"][0]["lost"] = Value::from(1.5);
    assert!(check(&schema, &schema, &value, "").is_err());
}
