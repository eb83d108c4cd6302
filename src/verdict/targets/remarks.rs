//! What follows from a target file that is good.

use super::{BUILT_IN, Quantity, Range, Targets};

/// Remarks on what the file leaves out, for its maker.
pub(super) fn remarks(targets: &Targets) -> Vec<String> {
    let mut out = Vec::new();
    // A set that is compiled in is read by a test; were it broken, nothing would be compared.
    if let Some(starter) = BUILT_IN.first().and_then(|(_, text)| Targets::parse(text).ok()) {
        let missing: Vec<String> = starter
            .values
            .iter()
            .filter(|t| targets.get(&t.surface, t.value).is_none())
            .map(|t| format!("{} {}", t.surface, t.value.name()))
            .collect();
        if !missing.is_empty() {
            out.push(format!(
                "no range for {}: not graded, and a fault that rests on it stays 'cannot tell'",
                missing.join(", ")
            ));
        }
    }
    for target in &targets.values {
        let name = format!("{} {}", target.surface, target.value.name());
        if target.accept == [None, None] {
            out.push(format!("{name}: everything is accepted; only the aim bears on the grade"));
        }
        if target.aim == target.accept {
            out.push(format!(
                "{name}: aim and accept are the same, so that this value never makes 'marginal'"
            ));
        }
        let lab = targets.aim_colours.get(&target.surface);
        if let Some(is) = lab.and_then(|lab| centre(*lab, target.value))
            && !holds(target.accept, is)
        {
            out.push(format!(
                "aim_colours.{}: its {} is {is:.1}, outside the accept range",
                target.surface,
                target.value.name()
            ));
        }
    }
    for surface in super::COLOURED {
        let ranged = targets.values.iter().any(|t| t.surface == surface);
        if ranged && !targets.aim_colours.contains_key(surface) {
            out.push(format!("aim_colours: none for {surface}: no distance to the target is given"));
        }
    }
    out
}

fn centre([l, a, b]: [f64; 3], quantity: Quantity) -> Option<f64> {
    match quantity {
        Quantity::Lightness => Some(l),
        Quantity::Chroma => Some(a.hypot(b)),
        Quantity::Hue => Some(b.atan2(a).to_degrees().rem_euclid(360.0)),
        _ => None,
    }
}

fn holds([low, high]: Range, value: f64) -> bool {
    low.is_none_or(|low| value >= low) && high.is_none_or(|high| value <= high)
}
