//! Values as words for people. Records keep the bare numbers; rounding for the eye happens here.

use super::label_style::label_style;
use crate::reading::{ExposurePart, Grade, Verdict};
use crate::surface::Label;

/// What stands where a value is not known.
pub(super) const UNKNOWN: &str = "not known";

/// A number with fixed decimals and a true minus sign; [`UNKNOWN`] where it is not finite.
pub(super) fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return UNKNOWN.into();
    }
    let text = format!("{value:.decimals$}");
    // A value that rounds to zero has no sign.
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

/// `84.2 ± 2.1`; the value alone with a remark where the half-width is not known.
pub(super) fn plus_minus(value: f64, u95: f64, decimals: usize) -> String {
    match (value.is_finite(), u95.is_finite()) {
        // What is there is never rounded to nothing.
        (true, true) => {
            let least = if u95 > 0.0 { 0.1f64.powi(decimals as i32) } else { 0.0 };
            format!("{} ± {}", fixed(value, decimals), fixed(u95.max(least), decimals))
        }
        (true, false) => format!("{} (± not known)", fixed(value, decimals)),
        _ => UNKNOWN.into(),
    }
}

/// A share of 0 to 1 as `46 %`; what is there but small as `under 1 %`.
pub(super) fn percent(share: f64) -> String {
    match share {
        s if !s.is_finite() => UNKNOWN.into(),
        s if s > 0.0 && s < 0.005 => "under 1 %".into(),
        s => format!("{} %", fixed(100.0 * s, 0)),
    }
}

/// A share with its half-width: `98 ± 2 %`. The half-width is never rounded to zero.
pub(super) fn percent_pm(share: f64, u95: f64) -> String {
    match (share.is_finite(), u95.is_finite()) {
        (true, true) => {
            format!("{} ± {} %", fixed(100.0 * share, 0), fixed((100.0 * u95).round().max(1.0), 0))
        }
        (true, false) => format!("{} (± not known)", percent(share)),
        _ => UNKNOWN.into(),
    }
}

/// A sentence of a record, with a true plus-minus sign and its numbers kept on one line.
pub(super) fn sentence(text: &str) -> String {
    text.replace("+-", "±").replace(" ± ", "\u{a0}±\u{a0}").replace(" %", "\u{a0}%")
}

/// The first twelve digits of a hash.
pub(super) fn short_hash(hash: &str) -> String {
    match hash.chars().take(12).collect::<String>() {
        short if short.is_empty() => UNKNOWN.into(),
        short => short,
    }
}

/// A kebab-case name as plain words with a capital.
pub(super) fn plain(name: &str) -> String {
    capital(&name.replace('-', " "))
}

/// The text with a capital.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// The grade for people.
pub(super) fn grade_words(grade: Grade) -> &'static str {
    match grade {
        Grade::Faulty => "Faulty",
        Grade::CannotTell => "Cannot tell",
        Grade::Marginal => "Marginal",
        Grade::Sound => "Sound",
    }
}

/// A verdict for people, and the key of its symbol.
pub(super) fn verdict_words(verdict: Verdict) -> (&'static str, &'static str) {
    match verdict {
        Verdict::Present => ("Present", "present"),
        Verdict::Absent => ("Absent", "absent"),
        Verdict::CannotTell => ("Cannot tell", "cannot-tell"),
    }
}

/// `1/200 s, f/2.8, ISO 100`, as far as it is known.
pub(super) fn exposure(part: Option<&ExposurePart>) -> String {
    let Some(part) = part else { return UNKNOWN.into() };
    let mut said = Vec::new();
    match part.seconds {
        Some(seconds) if seconds > 0.0 && seconds < 0.4 => said.push(format!("1/{:.0} s", 1.0 / seconds)),
        Some(seconds) if seconds.is_finite() => said.push(format!("{} s", fixed(seconds, 1))),
        _ => {}
    }
    said.extend(part.f_number.map(|f| format!("f/{}", fixed(f, 1))));
    said.extend(part.iso.map(|iso| format!("ISO {}", fixed(iso, 0))));
    if said.is_empty() { UNKNOWN.into() } else { said.join(", ") }
}

/// A surface's name for people.
pub(super) fn surface_words(name: &str) -> &'static str {
    Label::ALL
        .into_iter()
        .find(|label| label.name() == name)
        .map_or("surface", |label| label_style(label).words)
}

/// A name that stands inside a sentence. One that holds letters or marks of a script written from right to left is set apart
/// (Unicode Standard Annex 9, first strong isolate), so that it turns nothing beside it round.
pub(super) fn isolated(name: &str) -> String {
    let turns = |c: char| matches!(c, '\u{590}'..='\u{8ff}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}' | '\u{10800}'..='\u{10fff}' | '\u{1e800}'..='\u{1efff}');
    match name.chars().any(turns) {
        true => format!("\u{2068}{name}\u{2069}"),
        false => name.to_owned(),
    }
}
