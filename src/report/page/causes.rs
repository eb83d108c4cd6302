//! What the page says of the faults of one piece, what may lie behind them, and what to change.

use crate::reading::{Reading, Views};
use crate::report::words::{capital, fixed, grade_words, percent, plain, sentence, verdict_words};
use serde::Serialize;

/// Faults, causes and advice as ready strings.
#[derive(Debug, Serialize)]
pub(super) struct CausesText {
    faults: Vec<FaultText>,
    causes: Vec<CauseText>,
    next_time: Vec<String>,
    views: Option<ViewsText>,
}

#[derive(Debug, Serialize)]
struct FaultText {
    name: String,
    verdict: &'static str,
    verdict_key: &'static str,
    severity: String,
    because: Vec<String>,
}

#[derive(Debug, Serialize)]
struct CauseText {
    cause: String,
    support: String,
    signs: Vec<String>,
    basis: String,
}

#[derive(Debug, Serialize)]
struct ViewsText {
    head: String,
    said: Vec<String>,
}

/// All strings of a piece's faults.
pub(super) fn causes_text(reading: &Reading) -> CausesText {
    let faults = reading.faults.iter().map(|fault| {
        let (verdict, verdict_key) = verdict_words(fault.verdict);
        FaultText {
            name: plain(&fault.fault),
            verdict,
            verdict_key,
            severity: fault.severity.map_or_else(|| "not seen".into(), |severity| fixed(severity, 2)),
            because: fault.because.iter().map(|text| sentence(text)).collect(),
        }
    });
    let causes = reading.causes.iter().map(|cause| CauseText {
        cause: plain(&cause.cause),
        support: percent(cause.support),
        signs: cause
            .evidence_for
            .iter()
            .map(|sign| format!("For: {sign}"))
            .chain(cause.against.iter().map(|sign| format!("Against: {sign}")))
            .map(|text| sentence(&text))
            .collect(),
        basis: cause.basis.clone(),
    });
    CausesText {
        faults: faults.collect(),
        causes: causes.collect(),
        next_time: reading.next_time.iter().map(|text| sentence(text)).collect(),
        views: reading.views.as_ref().map(views_text),
    }
}

fn views_text(views: &Views) -> ViewsText {
    let after = views.firing.as_ref().map_or_else(String::new, |firing| format!(" after firing {firing}"));
    ViewsText {
        head: format!(
            "{}{after}, over {}: {}.",
            views.piece,
            views.photos.join(", "),
            grade_words(views.grade).to_lowercase()
        ),
        said: views
            .disagreements
            .iter()
            .chain(&views.since_last_firing)
            .map(|text| capital(&sentence(text)))
            .collect(),
    }
}
