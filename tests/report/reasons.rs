//! The account of one record, from literal records.

use super::records::reading;
use sherdlight::reading::{Cause, Decision};
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
