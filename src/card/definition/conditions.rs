//! For which illuminant and observer the colours of a CGATS table hold, as far as its header says.

use super::cgats::{CgatsTable, CgatsWord};
use super::fault::DefinitionFault;
use crate::colour::constants::{WHITE_C, WHITE_D50, WHITE_D65};

/// What the header says.
#[derive(Debug, Default)]
pub(super) struct Conditions {
    /// The illuminant's name in capitals, and the line that says so.
    pub illuminant: Option<(String, usize)>,
    /// The observer in degrees, and the line that says so.
    pub observer: Option<(u8, usize)>,
}

/// Header words in which illuminant and observer are told.
const TOLD_IN: [&str; 4] = ["MEASUREMENT_SOURCE", "WEIGHTING_FUNCTION", "ILLUMINANT", "OBSERVER"];

/// Reads the header words.
///
/// # Errors
/// Two words that contradict each other, or an observer that is neither of the two.
pub(super) fn conditions(table: &CgatsTable) -> Result<Conditions, DefinitionFault> {
    let mut found = Conditions::default();
    for word in table.header.iter().filter(|w| TOLD_IN.iter().any(|t| w.word.eq_ignore_ascii_case(t))) {
        take(&mut found, word)?;
    }
    Ok(found)
}

fn take(found: &mut Conditions, word: &CgatsWord) -> Result<(), DefinitionFault> {
    let text = format!("{} {}", word.word, word.value).to_uppercase();
    let parts: Vec<&str> = text.split(|c: char| !(c.is_alphanumeric() || c == '.')).collect();
    let parts: Vec<&str> = parts.into_iter().filter(|p| !p.is_empty()).collect();
    let fault = |reason: String| DefinitionFault::at(word.line, reason).of(word.word.as_str());
    for (i, part) in parts.iter().enumerate() {
        let next = parts.get(i + 1).copied();
        if (part.starts_with("ILLUMINANT") || *part == "ILLUMINATION")
            && let Some(name) = next.filter(|n| !n.starts_with("ILLUMIN"))
        {
            match &found.illuminant {
                Some((before, line)) if before != name => {
                    return Err(fault(format!("illuminant {name} here, {before} on line {line}")));
                }
                _ => found.illuminant = Some((name.into(), word.line)),
            }
        }
        if part.starts_with("OBSERVER") {
            let degrees = parts[i + 1..].iter().take(3).find_map(|p| match p.trim_end_matches("DEG") {
                "2" | "1931" => Some(2),
                "10" | "1964" => Some(10),
                _ => None,
            });
            match (degrees, found.observer) {
                (Some(now), Some((before, line))) if now != before => {
                    return Err(fault(format!("{now} degree observer here, {before} on line {line}")));
                }
                (Some(now), _) => found.observer = Some((now, word.line)),
                (None, _) if next.is_some_and(|n| !n.starts_with("OBSERVER")) => {
                    return Err(fault(format!(
                        "the observer in '{}' is not understood; write 2 or 10",
                        word.value
                    )));
                }
                _ => {}
            }
        }
    }
    Ok(())
}

/// XYZ, Y = 1, of the illuminants known here for the 2 degree observer. A and D55 from their
/// chromaticities in CIE 15:2018 (as held by colour-science 0.4.7), the others from [`crate::colour`].
pub(super) fn white_of(illuminant: &str) -> Option<[f64; 3]> {
    let of_xy = |x: f64, y: f64| [x / y, 1.0, (1.0 - x - y) / y];
    match illuminant {
        "D50" => Some(WHITE_D50),
        "D65" => Some(WHITE_D65),
        "C" => Some(WHITE_C),
        "A" => Some(of_xy(0.447_58, 0.407_45)),
        "D55" => Some(of_xy(0.332_43, 0.347_44)),
        _ => None,
    }
}
