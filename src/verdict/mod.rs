//! From readings to grades, faults and differences, each with what decided.
//!
//! Comes in: a [`Reading`] and the [`Targets`]. Goes out: the same reading with its faults, grade and
//! distances to the target filled in, or the differences between a replica and its reference.
//! Values are CIELAB for D50, 2 degree observer; every decision respects the 95 % interval.

mod compare;
mod decide;
mod faults;
mod grade;
mod targets;

pub use compare::compare;
pub use targets::{Quantity, Range, Target, TargetError, Targets};

use crate::colour::{LabD50, ciede2000};
use crate::reading::Reading;

/// Fills in faults, grade and the distances to the centre of the aim.
pub fn judge(reading: &mut Reading, targets: &Targets) {
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
    reading.faults = faults::faults(reading, targets);
    (reading.grade, reading.grade_because) = grade::grade(reading, targets);
    reading.targets = targets.id.clone();
    reading.targets_sha256 = targets.sha256.clone();
}
