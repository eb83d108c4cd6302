//! The grade of a piece.

use super::decide::{DecisionRule, Estimate, Place, beyond};
use super::estimate::estimate;
use super::targets::{Target, Targets};
use super::words::{place_words, range_words, value_words};
use crate::reading::{Grade, NO_GRADE, Reading, Warning};

/// Sound: every value inside aim. Faulty: one outside accept. Marginal: all inside accept and one outside aim. Else
/// cannot tell. Inside and outside are what the decision rule can say. A value that the piece does not show decides
/// nothing, but a piece that shows none of the values cannot be told.
pub(super) fn grade(reading: &Reading, targets: &Targets, rule: DecisionRule) -> (Grade, Vec<String>) {
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
    // Clouds alone are seen on any piece and say nothing of its slips.
    if seen.iter().all(|(t, _)| t.surface == "clouds") {
        return (Grade::CannotTell, vec!["No surface of this piece has a target range.".into()]);
    }
    let which = |wanted: Place, accept: bool| -> Vec<String> {
        let range = |t: &Target| if accept { t.accept } else { t.aim };
        let mut found: Vec<&(&Target, Estimate)> =
            seen.iter().filter(|(t, value)| rule.place(*value, range(t)) == wanted).collect();
        // The one farthest out comes first: it is the one that people are shown.
        let out = |(t, value): &(&Target, Estimate)| beyond(*value, range(t));
        found.sort_by(|a, b| out(b).total_cmp(&out(a)));
        found.into_iter().map(|(t, value)| sentence(t, *value, wanted, accept)).collect()
    };
    let steps = [
        (Grade::Faulty, Place::Outside, true),
        (Grade::CannotTell, Place::Across, true),
        (Grade::Marginal, Place::Outside, false),
        (Grade::CannotTell, Place::Across, false),
    ];
    steps
        .into_iter()
        .map(|(grade, place, accept)| (grade, which(place, accept)))
        .find(|(_, because)| !because.is_empty())
        .unwrap_or_else(|| (Grade::Sound, vec![format!("All {} values lie inside the aim.", seen.len())]))
}

/// `White L* 66.2 ± 3.1: outside the accepted range (at least 71).`
pub(crate) fn sentence(target: &Target, value: Estimate, place: Place, accept: bool) -> String {
    let (range, name) = if accept { (target.accept, "accepted range") } else { (target.aim, "aim") };
    format!(
        "{}: {} the {name} ({}).",
        value_words(&target.surface, target.value, value),
        place_words(place),
        range_words(target.value, range)
    )
}
