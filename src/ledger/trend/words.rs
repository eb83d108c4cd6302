//! What is found, and by which rules, in plain words.

use super::answer::{Trend, TrendCall, TrendFinding, TrendRow, TrendRule};
use super::drift::{
    BACK_SCORE, CALL_SCORE, HELD_T, LEAST_BASELINE, LEAST_BEFORE_BACK, NEWEST, SURE_BASELINE,
};
use super::point::{TrendBy, TrendValue};
use super::statistics::{EWMA_WEIGHT, LIMIT_SIGMAS};
use std::collections::{BTreeMap, BTreeSet};

/// A point for people.
pub(super) fn name_of(row: &TrendRow) -> String {
    match (&row.piece, &row.firing) {
        (Some(piece), _) => piece.clone(),
        (None, Some(firing)) => format!("firing {firing}"),
        (None, None) => format!("point {}", row.number),
    }
}

/// What is followed, at the beginning of a sentence.
fn subject(trend: &Trend) -> String {
    let surface = &trend.surface;
    match trend.value {
        TrendValue::Distance => format!("The distance of {surface} to the target"),
        TrendValue::Whiteness => format!("The whiteness of {surface}"),
        value => format!("{} of {surface}", value.sign()),
    }
}

fn points_word(by: TrendBy) -> &'static str {
    match by {
        TrendBy::Date => "readings",
        TrendBy::Firing => "firings",
    }
}

/// A drift in one or two sentences.
pub(super) fn call(trend: &Trend, call: &TrendCall) -> String {
    let points = points_word(trend.by);
    let point = points.trim_end_matches('s');
    let way = match (trend.value, call.direction) {
        (TrendValue::Distance, "rose") => ", away from the aim",
        (TrendValue::Distance, _) => ", towards the aim",
        _ => "",
    };
    let [from, to] = call.onset_range;
    let doubt = if from == to { String::new() } else { format!(", somewhere from {from} to {to}") };
    let begin = format!(
        "{} {}{}{way}: from about {} on ({point} {}{doubt})",
        subject(trend),
        call.direction,
        if call.back { " back" } else { "" },
        call.onset_name,
        call.onset,
    );
    let mut text = match call.lasts {
        true => format!("{begin}, by about {:.1} +- {:.1}.", call.size.abs(), call.size_u95),
        false => format!(
            "{begin}, but it passed: over all {points} since, {:.1} +- {:.1}.",
            call.size, call.size_u95
        ),
    };
    if let Some(change) = trend.batch_changes.iter().find(|change| Some(change.at) == call.batch_change) {
        let place = match (from..=to).contains(&change.at) {
            true => "there".to_owned(),
            false => format!("close by, at {point} {},", change.at),
        };
        text += &format!(" The batch changed {place} from {} to {}.", change.from, change.to);
    }
    text
}

/// The answer in short.
pub(super) fn finding(trend: &Trend, firings: &[usize]) -> TrendFinding {
    let points = points_word(trend.by);
    let needed = LEAST_BASELINE + NEWEST;
    let baseline = trend.stretches.last().map_or(0, |stretch| stretch.count);
    let count = trend.points.len();
    let said = |state, text| TrendFinding { state, baseline, needed, text };
    if trend.stretches.is_empty() {
        return said(
            "no-value",
            match trend.value {
                TrendValue::Distance if count > 0 => format!(
                    "No distance: the target ranges '{}' have no aim colour for {}. Follow another value, such as L.",
                    trend.targets, trend.surface
                ),
                _ => format!("No {} to follow.", points),
            },
        );
    }
    if let Some((at, last)) = trend.calls.iter().enumerate().rev().find(|(_, call)| call.lasts) {
        let others = match trend.calls.len() - 1 {
            0 => String::new(),
            1 => " One other call is listed below.".into(),
            many => format!(" {many} other calls are listed below."),
        };
        let next = match needed.saturating_sub(baseline) {
            0 if at + 1 == trend.calls.len() => {
                format!(" No further drift in the {baseline} {points} since.")
            }
            0 => String::new(),
            more => format!(" A further drift can be called after {more} more {points}."),
        };
        return said("drift", format!("{}{next}{others}", last.text));
    }
    if count < needed {
        return said("too-few", format!("Too few to call a drift: {count} of {needed} {points}."));
    }
    let known: BTreeSet<usize> = firings.iter().copied().collect();
    let shared = known.len() < count;
    if shared && known.len() < 4 {
        return said(
            "too-few",
            format!(
                "Too few to call a drift: {count} readings, but of {} firings only, and pieces of one firing share its luck.",
                known.len()
            ),
        );
    }
    if let Some(last) = trend.calls.last() {
        return said("no-drift", format!("No lasting drift in {count} {points}. {}", last.text));
    }
    let mut text = format!("No drift in {count} {points}.");
    let sd = trend.stretches.last().and_then(|stretch| stretch.sd).filter(|_| !shared);
    if let Some(sd) = sd {
        text += &if count >= SURE_BASELINE {
            format!(
                " A lasting change by {:.1} would be called within {NEWEST} {points} in 85 of 100 cases.",
                2.0 * sd
            )
        } else {
            format!(" From {SURE_BASELINE} on most drifts are called within {NEWEST}.")
        };
    }
    said("no-drift", text)
}

/// The rules in words.
pub(super) fn rules(value: TrendValue, by: TrendBy) -> Vec<TrendRule> {
    let points = points_word(by);
    let rule = |name, text: String, source| TrendRule { name, text, source };
    let interval = match (by, value) {
        (TrendBy::Firing, _) => "Of a firing: mean +- t times standard deviation over root n of its readings. One reading \
                                 tells no scatter and gets no interval."
            .to_owned(),
        (_, TrendValue::Distance) => "Of a reading: all distances that colours in its 95 % region have to the centre of \
                                      the aim. A distance near 0 is biased upward, so the colour's region is carried."
            .to_owned(),
        _ => "Of a reading: what measuring may be off by. Much of it (the card, its edition) is common to all readings, so \
              it is not used to call a drift; the scatter from point to point is."
            .to_owned(),
    };
    vec![
        rule(
            "drift",
            format!(
                "The mean of the last {NEWEST} {points} against all before, back to the last drift, at least \
                 {LEAST_BASELINE}: a t test, called above a normal score of {CALL_SCORE} if without the farthest of the {NEWEST} t is still \
                 {HELD_T}. Pieces of one firing count for \
                 less where they are alike. After a call the baseline begins anew at the onset; sooner than after \
                 {LEAST_BASELINE} only a way back is called, above {BACK_SCORE}. In simulation at most 1 false call in \
                 200 {points}; from {SURE_BASELINE} on a change by 2 standard deviations is called within {NEWEST} in \
                 85 of 100 cases."
            ),
            "two-sample t test in normal scores after Quesenberry 1991 and Hawkins, Qiu & Kang 2003; numbers by simulation",
        ),
        rule(
            "limits",
            format!(
                "Mean of the level +- {LIMIT_SIGMAS} times mean moving range / 1.128. A single point outside is marked; it \
                 is no drift."
            ),
            "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2",
        ),
        rule(
            "ewma",
            format!(
                "Exponentially weighted moving average with weight {EWMA_WEIGHT}, begun at the mean of the level."
            ),
            "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4",
        ),
        rule("interval", interval, "JCGM 100:2008, JCGM 102:2011; NIST/SEMATECH e-Handbook, 1.3.5.2"),
    ]
}

/// The numbers of the rules.
pub(super) fn parameters() -> BTreeMap<&'static str, f64> {
    [
        ("least_baseline", LEAST_BASELINE as f64),
        ("newest", NEWEST as f64),
        ("sure_baseline", SURE_BASELINE as f64),
        ("call_score", CALL_SCORE),
        ("held_t", HELD_T),
        ("back_score", BACK_SCORE),
        ("least_before_back", LEAST_BEFORE_BACK as f64),
        ("ewma_weight", EWMA_WEIGHT),
        ("limit_sigmas", LIMIT_SIGMAS),
    ]
    .into()
}
