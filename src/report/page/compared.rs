//! What a page says of a replica beside its reference.

use super::groups::{piece_name, references_of};
use super::name_value::NameValue;
use super::picture::{PictureText, crop};
use super::{PageEntry, PagePictures};
use crate::reading::{Comparison, Reading};
use crate::report::charts::difference_chart;
use crate::report::names::file_name_of;
use crate::report::words::{capital, fixed, percent, plus_minus, sentence, surface_words};
use serde::Serialize;

/// A comparison as ready strings.
#[derive(Debug, Serialize)]
pub(super) struct ComparedText {
    /// What stands out.
    findings: Vec<String>,
    /// Replica and first reference, where there are pictures.
    sides: Vec<SideText>,
    rows: Vec<DifferenceText>,
    /// Contrast, shares and the rest.
    others: Vec<NameValue>,
    chart: String,
    /// What was assumed, and how it was decided.
    assumed: Vec<String>,
}

#[derive(Debug, Serialize)]
struct SideText {
    caption: String,
    picture: Option<PictureText>,
}

#[derive(Debug, Serialize)]
struct DifferenceText {
    surface: String,
    /// CIEDE2000 and its interval.
    difference: String,
    l: String,
    c: String,
    h: String,
    /// Real, and how, or not told apart.
    words: String,
}

/// All strings of a comparison; `number` is that of the piece on the page.
pub(super) fn compared(
    number: usize,
    replica: &Reading,
    found: &Comparison,
    entries: &[PageEntry],
    photo_id: &dyn Fn(&PagePictures) -> String,
) -> ComparedText {
    let side = |who: &str, reading: &Reading, pictures: Option<&PagePictures>| {
        let caption = format!("{who}: {}", file_name_of(&reading.photo.path));
        let alt = format!("{caption}. {}", found.findings.first().map_or_else(String::new, |f| sentence(f)));
        SideText { picture: pictures.map(|p| crop(p, &reading.piece.outline_px, photo_id(p), alt)), caption }
    };
    let own =
        entries.iter().position(|entry| entry.record.reading().is_some_and(|r| std::ptr::eq(r, replica)));
    let pictures = own.and_then(|at| entries[at].pictures);
    let mut sides = vec![side(&format!("Replica, {}", piece_name(replica)), replica, pictures)];
    let shots = own.map_or_else(Vec::new, |at| references_of(entries, at));
    let reference = shots.iter().find_map(|at| Some((entries[*at].record.reading()?, entries[*at].pictures)));
    sides.extend(reference.map(|(reading, pictures)| side("Reference", reading, pictures)));
    let mut assumed: Vec<String> = vec![format!(
        "Replica less reference, brought to one light. Real: {} chance of any false call over all {} comparisons ({}).",
        percent(found.family.level),
        found.family.comparisons,
        found.family.procedure
    )];
    assumed.extend(found.assumed.iter().map(|text| sentence(text)));
    ComparedText {
        findings: found.findings.iter().map(|text| sentence(text)).collect(),
        sides,
        rows: found.differences.iter().map(row).collect(),
        others: others(found),
        chart: difference_chart(&format!("differences-{number}"), found),
        assumed,
    }
}

fn real(differs: bool) -> &'static str {
    if differs { "Real" } else { "Not told apart" }
}

fn row(found: &crate::reading::Difference) -> DifferenceText {
    let colour = &found.in_one_light;
    let [l, c, h] = [0, 1, 2].map(|at| (colour.delta_lch[at], colour.u95_lch[at]));
    DifferenceText {
        surface: capital(surface_words(&found.surface)),
        difference: format!(
            "{} ({} to {})",
            fixed(colour.de00, 1),
            fixed(colour.de00_interval[0], 1),
            fixed(colour.de00_interval[1], 1)
        ),
        l: plus_minus(l.0, l.1, 1),
        c: plus_minus(c.0, c.1, 1),
        h: if h.1 < 90.0 { format!("{}°", plus_minus(h.0, h.1, 0)) } else { "not known".into() },
        words: match (found.differs, found.words.is_empty()) {
            (true, false) => format!("{}: {}", real(true), sentence(&found.words)),
            (differs, _) => real(differs).into(),
        },
    }
}

fn others(found: &Comparison) -> Vec<NameValue> {
    let mut said = Vec::new();
    let times = |log: f64| fixed(log.exp(), 2);
    if let Some(c) = &found.contrast {
        said.push(NameValue::new(
            "White over black in reflected light, replica; reference",
            format!("{}; {}: {}", fixed(c.replica, 1), fixed(c.reference, 1), real(c.differs).to_lowercase()),
        ));
    }
    said.extend(found.tones.iter().map(|tone| {
        NameValue::new(
            &format!("Light given back by {}, replica over reference", surface_words(&tone.surface)),
            format!(
                "{} times ({} to {}): {}",
                times(tone.log_ratio),
                times(tone.log_ratio - tone.u95),
                times(tone.log_ratio + tone.u95),
                real(tone.differs).to_lowercase()
            ),
        )
    }));
    said.extend(found.shares.iter().map(|share| {
        NameValue::new(
            &format!("Share of {}, replica; reference", surface_words(&share.surface)),
            format!(
                "{}; {} (the difference ± {}): {}",
                percent(share.replica),
                percent(share.reference),
                percent(share.u95),
                real(share.differs).to_lowercase()
            ),
        )
    }));
    said
}
