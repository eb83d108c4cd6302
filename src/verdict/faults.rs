//! Faults: present, absent or cannot tell, each with the evidence it rests on.

use super::decide::{DecisionRule, Place, conformance};
use super::estimate::estimate;
use super::targets::{Quantity, Range, Target, Targets};
use super::words::{chance_words, place_words, range_words, value_words};
use crate::reading::{Fault, Reading, Verdict};

/// Which value bears on which fault. Beyond its accept range the fault is present.
const RULES: [(&str, &str, Quantity); 6] = [
    ("burned-out", "paint", Quantity::RetainedFraction),
    ("greyed", "white", Quantity::Lightness),
    ("buffed", "white", Quantity::Chroma),
    ("weak-black", "black", Quantity::Lightness),
    ("dull-red", "red", Quantity::Chroma),
    ("clouded", "clouds", Quantity::AreaFraction),
];

/// Verdicts on all six faults, in a fixed order.
pub(super) fn faults(reading: &Reading, targets: &Targets, rule: DecisionRule) -> Vec<Fault> {
    let court = Court { reading, targets, rule };
    RULES.iter().map(|&(fault, surface, quantity)| court.verdict(fault, surface, quantity)).collect()
}

/// What every verdict looks at.
struct Court<'a> {
    reading: &'a Reading,
    targets: &'a Targets,
    rule: DecisionRule,
}

impl Court<'_> {
    fn verdict(&self, name: &str, surface: &str, quantity: Quantity) -> Fault {
        let nothing = |why: String| Fault {
            fault: name.into(),
            verdict: Verdict::CannotTell,
            severity: None,
            probability: None,
            because: vec![why],
        };
        let Some(target) = self.targets.get(surface, quantity) else {
            return nothing("The target file has no range for this.".into());
        };
        let Some(value) = estimate(self.reading, surface, quantity) else {
            return nothing(format!("No {surface} is seen."));
        };
        let place = self.rule.place(value, target.accept);
        let verdict = match place {
            Place::Inside => Verdict::Absent,
            Place::Outside => Verdict::Present,
            Place::Across => Verdict::CannotTell,
        };
        let beyond = conformance(value, target.accept).map(|inside| 1.0 - inside);
        let sentence = format!(
            "{}: {} the accepted range ({}); chance that it lies outside {}.",
            value_words(surface, quantity, value),
            place_words(place),
            range_words(quantity, target.accept),
            beyond.map_or_else(|| "not known".into(), chance_words)
        );
        let fault = Fault {
            fault: name.into(),
            verdict,
            severity: severity(value.value, target),
            probability: beyond,
            because: vec![sentence],
        };
        self.with_doubt(fault)
    }

    /// Chance that a value lies in a range of its target; a value that is not seen raises no doubt.
    fn chance(&self, surface: &str, quantity: Quantity, range: fn(&Target) -> Range) -> f64 {
        let target = self.targets.get(surface, quantity);
        let value = target.zip(estimate(self.reading, surface, quantity));
        value.and_then(|(target, value)| conformance(value, range(target))).unwrap_or(1.0)
    }

    /// Where another value makes a verdict doubtful, it is not given.
    fn with_doubt(&self, mut fault: Fault) -> Fault {
        let sure = 1.0 - self.rule.risk;
        let accept: fn(&Target) -> Range = |target| target.accept;
        let (needed, doubt) = match fault.fault.as_str() {
            "greyed" => (
                self.chance("white", Quantity::Chroma, accept),
                "The white is coloured as well, so it may be buff rather than grey.",
            ),
            "weak-black" => (
                self.chance("paint", Quantity::RetainedFraction, accept),
                "Paint is lost in places, so what is pale may be burned out rather than thin.",
            ),
            // Paint can burn away without a mark. What stays on such a piece has paled as well.
            "burned-out" => (
                self.chance("black", Quantity::Lightness, accept),
                "The black is not surely dark, and paint that burned away may leave no mark.",
            ),
            _ => return fault,
        };
        // Pale paint on a piece whose paint is lost is burned paint: the less of a weak black.
        if fault.fault == "weak-black" {
            fault.severity = fault.severity.map(|severity| severity * needed);
        }
        let touched = if fault.fault == "burned-out" { Verdict::Absent } else { Verdict::Present };
        if fault.verdict == touched && needed < sure {
            fault.verdict = Verdict::CannotTell;
            fault.because.push(doubt.into());
        }
        fault
    }
}

/// How far off a value lies, 0 at the limit of the aim, 1 where the target file says 'fully off'.
fn severity(value: f64, target: &Target) -> Option<f64> {
    let off = target.fully_off?;
    let limit = match target.aim {
        [Some(low), _] if off < low => low,
        [_, Some(high)] if off > high => high,
        _ => return None,
    };
    Some(((value - limit) / (off - limit)).clamp(0.0, 1.0))
}
