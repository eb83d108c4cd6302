//! Our JSON taken apart field by field, each still in its raw form, so that a fault knows its line.

use super::fault::DefinitionFault;
use super::layout::{Layout, LengthUnit, MOST_PATCHES};
use crate::colour::LabD50;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::value::RawValue;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCard<'a> {
    #[serde(borrow)]
    id: Option<&'a RawValue>,
    #[serde(borrow)]
    name: Option<&'a RawValue>,
    #[serde(borrow)]
    source: Option<&'a RawValue>,
    #[serde(borrow)]
    observer: Option<&'a RawValue>,
    #[serde(borrow)]
    illuminant: Option<&'a RawValue>,
    #[serde(borrow)]
    white: Option<&'a RawValue>,
    #[serde(borrow)]
    layout: Option<&'a RawValue>,
    #[serde(borrow)]
    patches: Option<&'a RawValue>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawLayout<'a> {
    #[serde(borrow)]
    unit: Option<&'a RawValue>,
    #[serde(borrow)]
    rows: Option<&'a RawValue>,
    #[serde(borrow)]
    columns: Option<&'a RawValue>,
    #[serde(borrow)]
    patch: Option<&'a RawValue>,
    #[serde(borrow)]
    gap: Option<&'a RawValue>,
    #[serde(borrow)]
    frame: Option<&'a RawValue>,
    #[serde(borrow)]
    outer: Option<&'a RawValue>,
    #[serde(borrow)]
    neutral_row: Option<&'a RawValue>,
    #[serde(borrow)]
    note: Option<&'a RawValue>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawPatch<'a> {
    #[serde(borrow)]
    id: Option<&'a RawValue>,
    #[serde(borrow)]
    name: Option<&'a RawValue>,
    #[serde(borrow)]
    lab: Option<&'a RawValue>,
    #[serde(borrow)]
    u95: Option<&'a RawValue>,
}

/// What stands where each patch begins, for faults found later.
pub(super) struct Places {
    pub layout: usize,
    pub patches: usize,
    pub each: Vec<usize>,
}

/// What both kinds of file hold.
pub(super) struct Card {
    pub id: Option<String>,
    pub name: Option<String>,
    pub source: Option<String>,
    pub observer: Option<String>,
    pub illuminant: Option<String>,
    pub white: Option<[f64; 3]>,
    pub layout: Layout,
    pub patches: Vec<Patch>,
}

pub(super) struct Patch {
    pub id: String,
    pub name: String,
    pub lab: Option<LabD50>,
    pub u95: Option<[f64; 3]>,
}

pub(super) struct Reader<'a> {
    pub text: &'a str,
    pub faults: Vec<DefinitionFault>,
}

const TEXT: &str = "text in double quotes is wanted";
const COUNT: &str = "a whole number is wanted";
const PAIR: &str = "two numbers in brackets are wanted, along a row and down, such as [40, 40]";
const TRIPLE: &str = "three numbers in brackets are wanted, with decimal points, such as [50.1, -2.5, 0]";

impl<'a> Reader<'a> {
    pub fn card(&mut self) -> Option<(Card, Places)> {
        let raw: RawCard = match serde_json::from_str(self.text) {
            Ok(raw) => raw,
            Err(error) => {
                self.broken(self.text, &error, "");
                return None;
            }
        };
        let mut card = (
            self.maybe(raw.id, "id", TEXT),
            self.maybe(raw.name, "name", TEXT),
            self.maybe(raw.source, "source", TEXT),
            self.maybe(raw.observer, "observer", TEXT),
            self.maybe(raw.illuminant, "illuminant", TEXT),
            self.maybe(raw.white, "white", TRIPLE),
        );
        let layout = self.layout(raw.layout);
        let (patches, each) = self.patches(raw.patches);
        let line = |raw: Option<&RawValue>| raw.map_or(1, |raw| self.line(raw.get()));
        let places = Places { layout: line(raw.layout), patches: line(raw.patches), each };
        let card = Card {
            id: card.0.take(),
            name: card.1.take(),
            source: card.2.take(),
            observer: card.3.take(),
            illuminant: card.4.take(),
            white: card.5,
            layout: layout?,
            patches,
        };
        Some((card, places))
    }

    fn layout(&mut self, raw: Option<&'a RawValue>) -> Option<Layout> {
        let Some(raw) = raw else {
            self.faults.push(DefinitionFault::whole("is missing").of("layout"));
            return None;
        };
        let raw_layout: RawLayout = self.object(raw, "layout, ")?;
        let line = self.line(raw.get());
        let unit = self.must(raw_layout.unit, line, "layout, unit", TEXT).and_then(|word: String| {
            let unit = LengthUnit::named(&word);
            if unit.is_none() {
                let reason = format!("must be \"mm\" or \"patch\", is \"{word}\"");
                self.faults.push(DefinitionFault::at(line, reason).of("layout, unit"));
            }
            unit
        });
        let rows = self.must(raw_layout.rows, line, "layout, rows", COUNT);
        let columns = self.must(raw_layout.columns, line, "layout, columns", COUNT);
        let patch = self.must(raw_layout.patch, line, "layout, patch", PAIR);
        let gap = self.must(raw_layout.gap, line, "layout, gap", PAIR);
        let frame = self.must(raw_layout.frame, line, "layout, frame", PAIR);
        let outer = self.maybe(raw_layout.outer, "layout, outer", PAIR);
        let neutral_row = self.maybe(raw_layout.neutral_row, "layout, neutral_row", COUNT);
        let note = self.maybe(raw_layout.note, "layout, note", TEXT).unwrap_or_default();
        Some(Layout {
            unit: unit?,
            rows: rows?,
            columns: columns?,
            patch: patch?,
            gap: gap?,
            frame: frame?,
            outer,
            neutral_row,
            note,
        })
    }

    fn patches(&mut self, raw: Option<&'a RawValue>) -> (Vec<Patch>, Vec<usize>) {
        let mut out = (Vec::new(), Vec::new());
        let Some(raw) = raw else { return out };
        let Ok(list) = serde_json::from_str::<Vec<&'a RawValue>>(raw.get()) else {
            let fault = DefinitionFault::at(self.line(raw.get()), "a list of patches in brackets is wanted");
            self.faults.push(fault.of("patches"));
            return out;
        };
        if list.len() > MOST_PATCHES {
            let reason = format!(
                "{} patches are listed; a card has at most {MOST_PATCHES}, 40 rows of 40",
                list.len()
            );
            self.faults.push(DefinitionFault::at(self.line(raw.get()), reason).of("patches"));
            return out;
        }
        let mut lines = LineCount::new(self.text);
        for (i, raw) in list.iter().enumerate() {
            let line = lines.at(self.offset(raw.get()));
            let field = |name: &str| format!("patch {}, {name}", i + 1);
            let Some(patch) = self.object::<RawPatch>(raw, &field("")) else { continue };
            let id = self.must(patch.id, line, &field("id"), TEXT);
            let name = self.maybe(patch.name, &field("name"), TEXT).unwrap_or_default();
            let lab = self.maybe::<[f64; 3]>(patch.lab, &field("lab"), TRIPLE).map(LabD50::from);
            let u95 = self.maybe(patch.u95, &field("u95"), TRIPLE);
            if let Some(id) = id {
                out.0.push(Patch { id, name, lab, u95 });
                out.1.push(line);
            }
        }
        out
    }

    /// A field that must be there.
    fn must<T: DeserializeOwned>(
        &mut self,
        raw: Option<&'a RawValue>,
        line: usize,
        field: &str,
        wanted: &str,
    ) -> Option<T> {
        if raw.is_none() {
            self.faults.push(DefinitionFault::at(line, "is missing").of(field));
        }
        self.maybe(raw, field, wanted)
    }

    /// A field that may be left out.
    fn maybe<T: DeserializeOwned>(
        &mut self,
        raw: Option<&'a RawValue>,
        field: &str,
        wanted: &str,
    ) -> Option<T> {
        let raw = raw?.get();
        match serde_json::from_str(raw) {
            Ok(value) => Some(value),
            Err(_) => {
                let reason = format!("{wanted}; this is {}", shortened(raw));
                self.faults.push(DefinitionFault::at(self.line(raw), reason).of(field));
                None
            }
        }
    }

    /// An object whose fields are looked at one by one; `before` is set before its fields' names.
    fn object<T: Deserialize<'a>>(&mut self, raw: &'a RawValue, before: &str) -> Option<T> {
        let result = serde_json::from_str(raw.get());
        result.map_err(|error| self.broken(raw.get(), &error, before)).ok()
    }

    /// A fault of the JSON itself, or of the names in it.
    fn broken(&mut self, part: &str, error: &serde_json::Error, before: &str) {
        let words = error.to_string();
        let words = words.split(" at line ").next().unwrap_or_default();
        let words = words.replace('`', "'");
        let line = self.line(part) + error.line().saturating_sub(1);
        let mut fault = DefinitionFault::at(line, words);
        // The name in quotes is the field at fault, else the last one named before the place.
        let named = fault.reason.split('\'').nth(1).filter(|_| fault.reason.contains("field"));
        let reached: usize =
            part.split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum();
        let reached = part.len().min(reached + error.column());
        let field = named.map(str::to_owned).or_else(|| last_key(part.get(..reached)?));
        let before = before.trim_end_matches(", ");
        fault.field = match (before, field) {
            ("", field) => field,
            (before, Some(field)) => Some(format!("{before}, {field}")),
            (before, None) => Some(before.into()),
        };
        self.faults.push(fault);
    }

    /// Where a borrowed part of the text begins.
    fn offset(&self, part: &str) -> usize {
        (part.as_ptr() as usize).saturating_sub(self.text.as_ptr() as usize).min(self.text.len())
    }

    /// The line on which a borrowed part of the text begins.
    fn line(&self, part: &str) -> usize {
        LineCount::new(self.text).at(self.offset(part))
    }
}

/// Counts lines up to places that come in order.
struct LineCount<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
}

impl<'a> LineCount<'a> {
    fn new(text: &'a str) -> Self {
        Self { bytes: text.as_bytes(), at: 0, line: 1 }
    }
    fn at(&mut self, offset: usize) -> usize {
        let to = offset.clamp(self.at, self.bytes.len());
        self.line += self.bytes[self.at..to].iter().filter(|b| **b == b'\n').count();
        self.at = to;
        self.line
    }
}

/// The last name of a field in a piece of JSON.
fn last_key(text: &str) -> Option<String> {
    let colon = text.rfind("\":")?;
    let start = text[..colon].rfind('"')?;
    Some(text[start + 1..colon].into())
}

/// A piece of the file for a message.
fn shortened(raw: &str) -> String {
    let line: String = raw.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() <= 40 {
        line
    } else {
        format!("{}...", line.chars().take(40).collect::<String>())
    }
}
