//! Faults: present, absent or cannot tell, each with the evidence it rests on.

use super::decide::{Place, estimate, place, range_words, severity, value_words};
use super::targets::{Quantity, Range, Target, Targets};
use crate::reading::{Fault, Reading, Verdict};

/// Which value bears on which fault. The first limit crossed on the bad side makes the fault.
const RULES: [(&str, &str, Quantity); 6] = [
    ("burned-out", "paint", Quantity::RetainedFraction),
    ("greyed", "white", Quantity::Lightness),
    ("buffed", "white", Quantity::Chroma),
    ("weak-black", "black", Quantity::Lightness),
    ("dull-red", "red", Quantity::Chroma),
    ("clouded", "clouds", Quantity::AreaFraction),
];

/// Verdicts on all six faults, in a fixed order.
pub(super) fn faults(reading: &Reading, targets: &Targets) -> Vec<Fault> {
    RULES
        .iter()
        .map(|&(fault, surface, quantity)| {
            let found = targets.get(surface, quantity).map(|target| judge(reading, target));
            let (verdict, severity, because) = found.unwrap_or_else(|| {
                (Verdict::CannotTell, None, vec!["The target file has no range for this.".into()])
            });
            excuse(reading, targets, Fault { fault: fault.into(), verdict, severity, because })
        })
        .collect()
}

fn judge(reading: &Reading, target: &Target) -> (Verdict, Option<f64>, Vec<String>) {
    let Some(value) = estimate(reading, &target.surface, target.value) else {
        return (Verdict::CannotTell, None, vec![format!("No {} is seen.", surface_words(&target.surface))]);
    };
    let verdict = match place(value, target.accept) {
        Place::Inside => Verdict::Absent,
        Place::Outside => Verdict::Present,
        Place::Across => Verdict::CannotTell,
    };
    let said = match verdict {
        Verdict::Absent => "inside",
        Verdict::Present => "outside",
        Verdict::CannotTell => "across the limit of",
    };
    let sentence = format!(
        "{}: {said} the accepted range ({}).",
        value_words(&target.surface, target.value, value),
        range_words(target.value, target.accept)
    );
    (verdict, severity(value.value, target), vec![sentence])
}

/// Where another value makes a verdict doubtful, it is not given.
fn excuse(reading: &Reading, targets: &Targets, mut fault: Fault) -> Fault {
    // Whether a value lies wholly inside its range; a value that is not seen raises no doubt.
    let inside = |surface: &str, quantity: Quantity, range: fn(&Target) -> Range| {
        targets
            .get(surface, quantity)
            .zip(estimate(reading, surface, quantity))
            .is_none_or(|(target, value)| place(value, range(target)) == Place::Inside)
    };
    let doubt = match (fault.fault.as_str(), fault.verdict) {
        ("greyed", Verdict::Present) if !inside("white", Quantity::Chroma, |t| t.accept) => {
            "The white is coloured as well, so it may be buff rather than grey."
        }
        ("weak-black", Verdict::Present) if !inside("paint", Quantity::RetainedFraction, |t| t.accept) => {
            "Paint is lost in places, so what is pale may be burned out rather than thin."
        }
        // Paint can burn away without a mark. What stays on such a piece has paled as well.
        ("burned-out", Verdict::Absent) if !inside("black", Quantity::Lightness, |t| t.aim) => {
            "The black is not surely dark, and paint that burned away may leave no mark."
        }
        _ => return fault,
    };
    fault.verdict = Verdict::CannotTell;
    fault.because.push(doubt.into());
    fault
}

fn surface_words(surface: &str) -> &str {
    match surface {
        "contrast" => "white beside black",
        other => other,
    }
}
