//! The grade of a piece.

use super::decide::{Estimate, Place, estimate, place, range_words, value_words};
use super::targets::{Target, Targets};
use crate::reading::{Grade, NO_GRADE, Reading, Warning};

/// Sound: every interval inside aim. Faulty: one wholly outside accept. Marginal: all inside accept
/// and one wholly outside aim. Else cannot tell. A value that the piece does not show decides nothing,
/// but a piece that shows none of the values cannot be told.
pub(super) fn grade(reading: &Reading, targets: &Targets) -> (Grade, Vec<String>) {
    let forbids = |w: &&Warning| NO_GRADE.contains(&w.code.as_str());
    let why: Vec<String> = reading
        .warnings
        .iter()
        .filter(forbids)
        .map(|w| format!("No grade ({}): {}", w.code, w.text))
        .collect();
    if !why.is_empty() {
        return (Grade::CannotTell, why);
    }
    let seen: Vec<(&Target, Estimate)> = targets
        .values
        .iter()
        .filter_map(|t| estimate(reading, &t.surface, t.value).map(|value| (t, value)))
        .collect();
    let which = |wanted: Place, accept: bool| -> Vec<String> {
        seen.iter()
            .filter(|(t, value)| place(*value, if accept { t.accept } else { t.aim }) == wanted)
            .map(|(t, value)| sentence(t, *value, wanted, accept))
            .collect()
    };
    // Clouds alone are seen on any piece and say nothing of its slips.
    if seen.iter().all(|(t, _)| t.surface == "clouds") {
        return (Grade::CannotTell, vec!["No surface of this piece has a target range.".into()]);
    }
    let outside_accept = which(Place::Outside, true);
    if !outside_accept.is_empty() {
        return (Grade::Faulty, outside_accept);
    }
    let across_accept = which(Place::Across, true);
    if !across_accept.is_empty() {
        return (Grade::CannotTell, across_accept);
    }
    let outside_aim = which(Place::Outside, false);
    if !outside_aim.is_empty() {
        return (Grade::Marginal, outside_aim);
    }
    let across_aim = which(Place::Across, false);
    if !across_aim.is_empty() {
        return (Grade::CannotTell, across_aim);
    }
    (Grade::Sound, vec![format!("All {} values lie inside the aim.", seen.len())])
}

fn sentence(target: &Target, value: Estimate, place: Place, accept: bool) -> String {
    let (range, name) = if accept { (target.accept, "accepted range") } else { (target.aim, "aim") };
    let how = match place {
        Place::Outside => "outside",
        Place::Across => "across the limit of",
        Place::Inside => "inside",
    };
    format!(
        "{}: {how} the {name} ({}).",
        value_words(&target.surface, target.value, value),
        range_words(target.value, range)
    )
}
