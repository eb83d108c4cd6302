//! From readings to grades, faults, causes and differences, each with what decided.
//!
//! Comes in: a [`Reading`], the [`Targets`] and the [`DecisionRule`]. Goes out: the same reading with its faults, causes,
//! grade and distances to the target filled in, or the differences between a replica and its reference. Values are
//! CIELAB for D50, 2 degree observer; every decision is taken on the probability that a value lies in its range.

mod causes;
mod compare;
mod decide;
mod estimate;
mod family;
mod faults;
mod fire;
mod grade;
mod learn;
mod notation;
mod swatches;
mod targets;
mod tolerance;
mod turns;
mod views;
mod words;

pub use compare::compare;
pub use decide::{DecisionRule, Estimate, Place, conformance};
pub(crate) use estimate::estimate;
pub use fire::{FireVerdict, LoadPiece, fire};
pub(crate) use grade::sentence;
pub use learn::{LearnSettings, LearnedTargets, LearnedValue, learn_targets};
pub use notation::{AddedNotation, add_notation};
pub use swatches::judge_swatches;
pub use targets::{Quantity, Range, Target, TargetError, TargetFault, Targets};
pub use turns::{JoinedSwatch, join_swatches};
pub use views::join;

use crate::colour::{LabD50, ciede2000};
use crate::reading::{Decision, Reading};

/// What decides, as records name it.
const DECISION_RULE: &str = "probability that the value lies in the range (JCGM 106:2012)";

/// Fills in faults, causes, grade and the distances to the centre of the aim.
pub fn judge(reading: &mut Reading, targets: &Targets, rule: DecisionRule) {
    let distance = |name: &str, lab: [f64; 3]| {
        targets.aim_colours.get(name).map(|&aim| ciede2000(LabD50::from(lab), LabD50::from(aim)))
    };
    let surfaces = &mut reading.surfaces;
    for (name, surface) in [
        ("white", &mut surfaces.white),
        ("red", &mut surfaces.red),
        ("black", &mut surfaces.black),
        ("body", &mut surfaces.body),
    ] {
        if let Some(surface) = surface {
            surface.to_target_de00 = distance(name, surface.lab);
        }
    }
    reading.faults = faults::faults(reading, targets, rule);
    (reading.causes, reading.next_time) = causes::causes(&reading.faults);
    (reading.grade, reading.grade_because) = grade::grade(reading, targets, rule);
    reading.decision = Decision { rule: DECISION_RULE.into(), risk: rule.risk };
    reading.targets = targets.id.clone();
    reading.targets_sha256 = targets.sha256.clone();
}
