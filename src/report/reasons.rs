//! One record told in full: each number, where it comes from, its uncertainty by component, and how the grade followed.

use super::survival_words;
use super::words::{fixed, grade_words, percent, percent_pm, plain, plus_minus, short_hash, verdict_words};
use crate::reading::{CardPart, Fault, Reading, Surface};
use std::collections::BTreeMap;
use std::fmt::Write;

/// What each component of an uncertainty is, in plain words; a name that is none of ours stands for itself.
fn component_words(name: &str) -> &str {
    match name {
        "card" => {
            "card: how far patches near this colour are off when the others predict them, less what is a patch's own"
        }
        "edition" => "edition: the tables of this card's editions differ",
        "light" => "light: how the light on the piece was known",
        "noise" => "noise: scatter of the surface over its independent places",
        "edges" => {
            "edges: how much of the neighbours may still be in the value, told by places farther from them"
        }
        "places" => "places: scatter of the ratio over the places it comes from",
        "counting" => "counting: so few independent places were counted",
        "labels" => "labels: places told wrong",
        "traces" => "traces: what seems lost may be brush marks or shade on bare slip, so that more is kept",
        "unseen" => {
            "unseen: where black is pale and spotty, paint may have burned away without a mark, so that less is kept"
        }
        "clouds" => "clouds: paint beside soot",
        "limit" => "limit: paint so near to half of its contrast that it may be told either way",
        "shift" => "shift: what laying the piece before the fire two pixels in a thousand aside changes",
        "exposure" => "exposure: the link to the shot the card was borrowed from",
        other => other,
    }
}

/// The whole account as text of many lines.
pub fn reasons(reading: &Reading) -> String {
    let mut text = String::new();
    // Writing to a String cannot fail.
    let mut line = |said: String| {
        let _ = writeln!(text, "{said}");
    };
    head(reading, &mut line);
    for (name, surface) in reading.surfaces.iter() {
        line(String::new());
        surface_lines(name, surface, &reading.light.source, &mut line);
    }
    line(String::new());
    measures(reading, &mut line);
    line(String::new());
    decision(reading, &mut line);
    text
}

fn head(reading: &Reading, line: &mut impl FnMut(String)) {
    let photo = &reading.photo;
    line(format!(
        "{}, piece {} of {}: {}",
        photo.path,
        reading.piece.number,
        reading.piece.count,
        grade_words(reading.grade)
    ));
    line(format!(
        "Photograph {} (first digits of its SHA-256), read by version {} with settings {}.",
        short_hash(photo.sha256.as_deref().unwrap_or("")),
        reading.made_by.version,
        short_hash(&reading.made_by.settings_sha256)
    ));
    line(format!("Colours are CIELAB for {} and the {} observer.", reading.illuminant, reading.observer));
    line(card_words(&reading.card));
    let range = reading.light.range.map_or_else(String::new, |[low, high]| {
        format!("; it is {} to {} of the light on the card", percent(low), percent(high))
    });
    let how = match reading.light.source.as_str() {
        "ball" => "The light on the piece was read from the ball beside it",
        "form" => "The light on the piece was worked out from its form",
        "field" => "The light on the piece was told from its shading alone",
        _ => "The light on the piece is not known",
    };
    line(format!("{how}{range}."));
}

fn card_words(card: &CardPart) -> String {
    let used = card.patches.iter().filter(|patch| patch.used).count();
    let mut said = format!(
        "The card was {} ({}), {used} of {} patches used",
        card.status,
        card.definition.as_deref().unwrap_or("edition not known"),
        card.patches.len()
    );
    if let Some(model) = &card.model {
        let _ = write!(said, ", correction '{model}'");
    }
    if let Some(held_out) = card.held_out_de00 {
        let _ = write!(
            said,
            "; patches predicted from the others are off by CIEDE2000 {} in the mean, {} at the 95th percentile",
            fixed(held_out.mean, 1),
            fixed(held_out.p95, 1)
        );
    }
    said + "."
}

fn surface_lines(name: &str, surface: &Surface, light: &str, line: &mut impl FnMut(String)) {
    let [l, a, b] = surface.lab;
    let [ul, ua, ub] = surface.u95;
    line(format!(
        "{}: L* {}, a* {}, b* {}",
        plain(name),
        plus_minus(l, ul, 1),
        plus_minus(a, ua, 1),
        plus_minus(b, ub, 1)
    ));
    let removed = if light == "none" { "" } else { ", shading taken out" };
    line(format!(
        "  from the mean reflectance of its inner part{removed}; the surface has {} pixels, {} of the piece",
        surface.area_px,
        percent(surface.area_fraction)
    ));
    components(&surface.u95_parts, line);
    if let Some(spread) = surface.l_spread {
        line(format!(
            "  over the surface L* runs from {} to {} (5th to 95th percentile): the piece's own spread, not the doubt",
            fixed(spread.p05, 1),
            fixed(spread.p95, 1)
        ));
    }
    if !surface.munsell.is_empty() {
        let near: Vec<String> =
            surface.munsell.iter().map(|m| format!("{} ({} off)", m.notation, fixed(m.de00, 1))).collect();
        line(format!("  nearest Munsell notations, computed, dry: {}", near.join(", ")));
    }
    if let Some(distance) = surface.to_target_de00 {
        line(format!("  CIEDE2000 {} from the middle of the aim", fixed(distance, 1)));
    }
}

/// The components, the largest in L* first.
fn components(parts: &BTreeMap<String, [f64; 3]>, line: &mut impl FnMut(String)) {
    let mut sorted: Vec<_> = parts.iter().collect();
    sorted.sort_by(|(_, a), (_, b)| b[0].total_cmp(&a[0]));
    for (name, [ul, ua, ub]) in sorted {
        line(format!(
            "  ± {} / {} / {}  {}",
            fixed(*ul, 1),
            fixed(*ua, 1),
            fixed(*ub, 1),
            component_words(name)
        ));
    }
    if parts.len() > 1 {
        line("  together the root of the sum of their squares (JCGM 100:2008, 5.1)".into());
    }
}

fn measures(reading: &Reading, line: &mut impl FnMut(String)) {
    if let Some(contrast) = &reading.contrast {
        let from = match contrast.ratio_from.as_str() {
            "touching" => {
                format!("at {} places where they touch, so free of the light", contrast.ratio_places)
            }
            _ => "from the means of both surfaces".into(),
        };
        line(format!(
            "White reflects {} times as much as black, {from}.",
            plus_minus(contrast.reflectance_ratio, contrast.u95.reflectance_ratio, 2)
        ));
        line(format!(
            "White against black: delta L* {}, CIEDE2000 {}. The light moves both alike and counts little here.",
            plus_minus(contrast.delta_l, contrast.u95.delta_l, 1),
            plus_minus(contrast.de00, contrast.u95.de00, 1)
        ));
        for (name, part) in &contrast.u95_parts {
            line(format!(
                "  ± {} in delta L*, ± {} in the ratio  {}",
                fixed(part.delta_l, 1),
                fixed(part.reflectance_ratio, 2),
                component_words(name)
            ));
        }
    }
    if let Some(paint) = &reading.paint {
        line(format!(
            "{} of the paint still reads black, counted over {} painted pixels.",
            percent_pm(paint.retained_fraction, paint.u95),
            paint.applied_px
        ));
        for (name, part) in &paint.u95_parts {
            line(format!("  ± {}  {}", percent(*part), component_words(name)));
        }
    }
    if let Some(survival) = &reading.survival {
        line(survival_words(survival));
        for (name, part) in &survival.u95_parts {
            line(format!("  ± {}  {}", percent(*part), component_words(name)));
        }
    }
    let clouds = &reading.clouds;
    line(format!(
        "Fire clouds on {} of the piece, {} without doubt; half-width {}.",
        percent(clouds.area_fraction),
        percent(clouds.proven_fraction),
        percent(clouds.u95)
    ));
    let left = &reading.left_out;
    let parts =
        [("glare", left.glare), ("shade", left.shade), ("cloud", left.cloud), ("unclear", left.unclear)];
    let out: Vec<String> = parts
        .iter()
        .filter(|(_, part)| part.area_fraction > 0.0)
        .map(|(name, part)| format!("{name} {}", percent(part.area_fraction)))
        .collect();
    let out = if out.is_empty() { "nothing".into() } else { out.join(", ") };
    line(format!("Left out of every colour, by share of the piece: {out}."));
    for (field, why) in &reading.null_because {
        line(format!("Not measured: {field}, because {why}."));
    }
    for warning in &reading.warnings {
        line(format!("Warning ({}): {}", warning.code, warning.text));
    }
}

fn decision(reading: &Reading, line: &mut impl FnMut(String)) {
    let how = match reading.decision.rule.as_str() {
        "" => "decided by an earlier version".to_owned(),
        rule => format!("risk {} a decision: {rule}", percent(reading.decision.risk)),
    };
    line(format!("Judged against '{}' ({}), {how}.", reading.targets, short_hash(&reading.targets_sha256)));
    for fault in &reading.faults {
        line(fault_words(fault));
    }
    line(format!("Grade: {}.", grade_words(reading.grade)));
    for why in &reading.grade_because {
        line(format!("  because: {why}"));
    }
    for cause in &reading.causes {
        line(format!(
            "May lie behind it ({}): {}, support {}.",
            cause.basis,
            cause.cause,
            percent(cause.support)
        ));
        cause.evidence_for.iter().for_each(|sign| line(format!("  for: {sign}")));
        cause.against.iter().for_each(|sign| line(format!("  against: {sign}")));
    }
    for next in &reading.next_time {
        line(format!("Next time: {next}"));
    }
    if let Some(views) = &reading.views {
        line(format!(
            "Seen in {} photographs of '{}'{}; together {}.",
            views.photos.len(),
            views.piece,
            views.firing.as_ref().map_or_else(String::new, |f| format!(" after firing '{f}'")),
            grade_words(views.grade).to_lowercase()
        ));
        views.disagreements.iter().for_each(|said| line(format!("  views disagree: {said}")));
        views.since_last_firing.iter().for_each(|said| line(format!("  since the firing before: {said}")));
    }
}

fn fault_words(fault: &Fault) -> String {
    let (verdict, _) = verdict_words(fault.verdict);
    let severity = fault.severity.map_or_else(String::new, |s| format!(", severity {}", fixed(s, 2)));
    format!("{}: {}{severity}. {}", plain(&fault.fault), verdict.to_lowercase(), fault.because.join(" "))
}
