//! Whether ranges make sense: the rules of one value.

use super::{Quantity, Range, Target};

/// Faults of one value: the field and what is wrong.
pub(super) fn check(target: &Target) -> Vec<(&'static str, String)> {
    let mut faults = Vec::new();
    let quantity = target.value;
    for (field, range) in [("aim", target.aim), ("accept", target.accept)] {
        range_faults(quantity, range, &mut |reason| faults.push((field, reason)));
    }
    if target.aim == [None, None] && target.accept == [None, None] {
        faults.push(("accept", "both ranges are open at both ends: leave the value out".into()));
    }
    if faults.is_empty() {
        let ([aim_low, aim_high], [low, high]) = (ends(target.aim), ends(target.accept));
        if aim_low < low || aim_high > high {
            let reason = format!(
                "must lie inside the accept range, {}; is {}",
                words(target.accept),
                words(target.aim)
            );
            faults.push(("aim", reason));
        }
    }
    if let Some(off) = target.fully_off {
        if let Some(reason) = out_of_bounds(quantity, off) {
            faults.push(("fully_off", reason));
        } else if faults.is_empty() {
            let [low, high] = ends(target.accept);
            if (low..=high).contains(&off) {
                let reason = format!(
                    "must lie beyond the accept range, {}; is {off}. It is where the fault is at its full",
                    words(target.accept)
                );
                faults.push(("fully_off", reason));
            }
        }
    }
    faults
}

fn range_faults(quantity: Quantity, range: Range, fault: &mut impl FnMut(String)) {
    let before = range.into_iter().flatten().filter_map(|end| out_of_bounds(quantity, end));
    let out: Vec<String> = before.collect();
    if !out.is_empty() {
        out.into_iter().for_each(fault);
    } else if let [Some(low), Some(high)] = range
        && low >= high
    {
        fault(match quantity {
            Quantity::Hue => format!(
                "must run from the lower to the higher end; is {low} to {high}. A range across 0 degrees cannot be \
                 used: end it at 360 or begin it at 0, whichever side holds more of your pieces"
            ),
            _ => format!("must run from the lower to the higher end; is {low} to {high}"),
        });
    }
}

fn out_of_bounds(quantity: Quantity, value: f64) -> Option<String> {
    let [least, most] = quantity.bounds();
    if (least..=most).contains(&value) {
        return None;
    }
    let hint = if quantity.is_fraction() && (0.0..=100.0).contains(&value) {
        format!(": for {value} % write {}", value / 100.0)
    } else {
        String::new()
    };
    Some(format!("{value} is not between {least} and {most}{hint}"))
}

fn ends([low, high]: Range) -> [f64; 2] {
    [low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY)]
}

fn words([low, high]: Range) -> String {
    let end = |end: Option<f64>| end.map_or_else(|| "open".into(), |v| v.to_string());
    format!("{} to {}", end(low), end(high))
}
