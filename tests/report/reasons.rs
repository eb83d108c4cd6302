//! The account of one record, from literal records.

use super::records::{measured, reading};
use sherdlight::reading::{Cause, Decision, from_json_line, to_json_line};
use sherdlight::report::reasons;

/// Every number with its doubt by component, and how the grade followed.
#[test]
fn the_reasons_of_a_record_name_each_number() {
    let mut reading = reading("pots/one.jpg", 'a', None);
    reading.causes = vec![Cause {
        cause: "thin paint".into(),
        support: 0.8,
        evidence_for: vec!["Likely weak black".into()],
        basis: "common practice".into(),
        ..Cause::default()
    }];
    reading.decision = Decision { rule: "probability".into(), risk: 0.05 };
    let text = reasons(&reading);
    for said in [
        "pots/one.jpg, piece 1 of 1: Sound",
        "White: L* 84.2 ± 2.1",
        "± 2.1 / 0.7 / 0.9  card",
        "nearest Munsell notations, computed, dry: 10YR 8/2",
        "White reflects 13.20 ± 1.40 times",
        "at 61 places where they touch",
        "98 ± 2 % of the paint still reads black",
        "risk 5 % a decision: probability",
        "Greyed: cannot tell, severity 0.40",
        "May lie behind it (common practice): thin paint, support 80 %",
        "  for: Likely weak black",
        "  because: All seven values",
    ] {
        assert!(text.contains(said), "'{said}' is not in\n{text}");
    }
}

/// A record of an earlier version is read again, comparison and all.
#[test]
fn a_record_of_an_earlier_version_is_still_read() {
    let line = to_json_line(&measured(reading("pots/one.jpg", 'a', None))).unwrap();
    let mut old: serde_json::Value = serde_json::from_str(&line).unwrap();
    for field in ["causes", "next_time", "decision", "one_light"] {
        old.as_object_mut().unwrap().remove(field);
    }
    old["clouds"] = serde_json::json!({"area_fraction": 0.02});
    old["comparison"] = serde_json::json!({
        "references": ["pots/two.jpg"],
        "differences": [{
            "surface": "white", "de00": 2.1, "u95": 1.4, "delta_lch": [2.0, 0.5, 1.0],
            "parts": [1.9, 0.4, 0.1], "colour_only_de00": 0.5, "differs": true
        }]
    });
    let again = from_json_line(&old.to_string()).unwrap();
    let comparison = again.reading().and_then(|r| r.comparison.as_ref()).unwrap();
    assert_eq!((comparison.differences[0].plain.de00, comparison.differences[0].differs), (2.1, true));
    assert!(reasons(again.reading().unwrap()).contains("decided by an earlier version"));
}
