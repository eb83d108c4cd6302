//! Faults: present, absent or cannot tell, each with the evidence it rests on.

use super::decide::{DecisionRule, Estimate, Place, conformance};
use super::estimate::{estimate, retained_as_seen};
use super::targets::{Quantity, Range, Target, Targets};
use super::words::{chance_words, place_words, range_words, value_words};
use crate::reading::{Fault, Reading, Verdict};

/// Which side of a range is the bad one. A white lighter than a learned range is no grey.
#[derive(Clone, Copy)]
enum Bad {
    Low,
    High,
}

impl Bad {
    /// The range without its limit on the good side.
    fn side(self, [low, high]: Range) -> Range {
        match self {
            Bad::Low => [low, None],
            Bad::High => [None, high],
        }
    }
}

/// Which value bears on which fault. Beyond its accept range on the bad side the fault is present.
const RULES: [(&str, &str, Quantity, Bad); 6] = [
    ("burned-out", "paint", Quantity::RetainedFraction, Bad::Low),
    ("greyed", "white", Quantity::Lightness, Bad::Low),
    ("buffed", "white", Quantity::Chroma, Bad::High),
    ("weak-black", "black", Quantity::Lightness, Bad::High),
    ("dull-red", "red", Quantity::Chroma, Bad::Low),
    ("clouded", "clouds", Quantity::AreaFraction, Bad::High),
];

/// Verdicts on all six faults, in a fixed order.
pub(super) fn faults(reading: &Reading, targets: &Targets, rule: DecisionRule) -> Vec<Fault> {
    let court = Court { reading, targets, rule };
    RULES
        .iter()
        .map(|&(fault, surface, quantity, bad)| court.verdict(fault, surface, quantity, bad))
        .collect()
}

/// What every verdict looks at.
struct Court<'a> {
    reading: &'a Reading,
    targets: &'a Targets,
    rule: DecisionRule,
}

impl Court<'_> {
    fn verdict(&self, name: &str, surface: &str, quantity: Quantity, bad: Bad) -> Fault {
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
        if bad.side(target.accept) == [None, None] {
            return nothing("The target file has no limit on the side of this fault.".into());
        }
        let Some(value) = estimate(self.reading, surface, quantity) else {
            return nothing(format!("No {surface} is seen."));
        };
        let accept = bad.side(target.accept);
        let place = self.rule.place(value, accept);
        let verdict = match place {
            Place::Inside => Verdict::Absent,
            Place::Outside => Verdict::Present,
            Place::Across => Verdict::CannotTell,
        };
        let beyond = conformance(value, accept).map(|inside| 1.0 - inside);
        let sentence = format!(
            "{}: {} the accepted range ({}); chance that it lies outside: {}.",
            value_words(surface, quantity, value),
            place_words(place),
            range_words(quantity, accept),
            beyond.map_or_else(|| "not known".into(), chance_words)
        );
        let fault = Fault {
            fault: name.into(),
            verdict,
            severity: severity(value.value, target, bad),
            probability: beyond,
            because: vec![sentence],
        };
        self.with_doubt(fault)
    }

    /// Chance that a value is acceptable on its bad side; a value that is not seen raises no doubt.
    fn chance(&self, surface: &str, quantity: Quantity, bad: Bad) -> f64 {
        self.chance_of(estimate(self.reading, surface, quantity), surface, quantity, bad)
    }

    fn chance_of(&self, value: Option<Estimate>, surface: &str, quantity: Quantity, bad: Bad) -> f64 {
        let target = self.targets.get(surface, quantity).zip(value);
        target.and_then(|(target, value)| conformance(value, bad.side(target.accept))).unwrap_or(1.0)
    }

    /// Where another value makes a verdict doubtful, it is not given.
    fn with_doubt(&self, mut fault: Fault) -> Fault {
        let sure = 1.0 - self.rule.risk;
        let (needed, doubt) = match fault.fault.as_str() {
            "greyed" => (
                self.chance("white", Quantity::Chroma, Bad::High),
                "The white is coloured as well, so it may be buff rather than grey.",
            ),
            // What burned away unseen is reckoned from how pale the black is: that would be no second witness.
            "weak-black" => (
                self.chance_of(
                    self.reading.paint.as_ref().map(retained_as_seen),
                    "paint",
                    Quantity::RetainedFraction,
                    Bad::Low,
                ),
                "Paint is lost in places, so what is pale may be burned out rather than thin.",
            ),
            // Paint can burn away without a mark. What stays on such a piece has paled as well: where it is spotty, the doubt
            // of the share kept holds that already; this is for paint that has paled evenly.
            "burned-out" => (
                self.chance("black", Quantity::Lightness, Bad::High),
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

/// How far off a value lies, 0 at the limit of the aim, 1 where the target file says 'fully off'; `None` where the file
/// names no such place on the bad side.
fn severity(value: f64, target: &Target, bad: Bad) -> Option<f64> {
    let off = target.fully_off?;
    let limit = match bad {
        Bad::Low => target.aim[0].filter(|low| off < *low)?,
        Bad::High => target.aim[1].filter(|high| off > *high)?,
    };
    Some(((value - limit) / (off - limit)).clamp(0.0, 1.0))
}
