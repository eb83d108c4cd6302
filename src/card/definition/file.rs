//! A card from a file: opened with a limit, told apart by content, checked as a whole.

use super::cgats::CgatsFile;
use super::check::{self, At, ILLUMINANT, OBSERVER};
use super::fault::{DefinitionError, DefinitionFault};
use super::layout::Layout;
use super::places::{layout_of, place};
use super::{BUILT_IN, CardDefinition, PatchDefinition, colours, json};
use crate::colour::LabD50;
use crate::colour::constants::WHITE_D50;
use std::io::Read;
use std::path::Path;

/// Largest file read, in bytes: 1600 patches with spectra have room in it.
const MOST_BYTES: u64 = 4 << 20;

/// A definition with what had to be assumed to read it.
#[derive(Debug, Clone, PartialEq)]
pub struct CardFile {
    /// The definition; it has passed its self-test.
    pub definition: CardDefinition,
    /// What was assumed, decided or is unusual, in sentences.
    pub remarks: Vec<String>,
}

/// The layout of a card whose colours are not known, or stand in another file.
#[derive(Debug, Clone, PartialEq)]
pub struct CardLayout {
    /// What the card is, in a sentence.
    pub name: Option<String>,
    /// Where the patches lie.
    pub layout: Layout,
    /// In reading order; empty where the file names none.
    pub patches: Vec<LayoutPatch>,
}

/// A patch of a layout.
#[derive(Debug, Clone, PartialEq)]
pub struct LayoutPatch {
    /// Short word without commas.
    pub id: String,
    /// Plain words; may be empty.
    pub name: String,
    /// About what colour it has, where told: tells which way the card lies.
    pub lab: Option<LabD50>,
}

impl CardFile {
    /// Loads a card by id or from a file, JSON or CGATS text; `layout` is used for CGATS text only.
    /// An argument with a path separator or an extension is a file.
    ///
    /// # Errors
    /// [`DefinitionError`] with every fault found.
    pub fn load(id_or_path: &str, layout: Option<&CardLayout>) -> Result<Self, DefinitionError> {
        let name_faults = |faults| DefinitionError { name: id_or_path.into(), faults };
        if !is_file(id_or_path) {
            let built_in = BUILT_IN.iter().find(|(id, _)| *id == id_or_path);
            let (_, text) = built_in.ok_or_else(|| {
                let ids = CardDefinition::ids().join(", ");
                name_faults(vec![DefinitionFault::whole(format!(
                    "no such id; use {ids}, or the path of a file (.json, or CGATS text)"
                ))])
            })?;
            return from_json(text).map_err(name_faults);
        }
        let path = Path::new(id_or_path);
        let bytes = read_capped(path).map_err(|fault| name_faults(vec![fault]))?;
        let stem = path.file_stem().map_or_else(|| "card".into(), |s| s.to_string_lossy().into_owned());
        Self::from_bytes(&stem, &bytes, layout).map_err(|mut error| {
            error.name = id_or_path.into();
            error
        })
    }

    /// Reads a card from the bytes of a file. `name` becomes the id of a CGATS file's card.
    ///
    /// # Errors
    /// [`DefinitionError`] with every fault found.
    pub fn from_bytes(
        name: &str,
        bytes: &[u8],
        layout: Option<&CardLayout>,
    ) -> Result<Self, DefinitionError> {
        let name_faults = |faults| DefinitionError { name: name.into(), faults };
        let (text, remark) = text_of(bytes).map_err(|fault| name_faults(vec![fault]))?;
        let mut file = if text.trim_start().starts_with('{') {
            from_json(&text).map_err(name_faults)?
        } else {
            from_cgats(name, &text, layout).map_err(name_faults)?
        };
        file.remarks.splice(0..0, remark);
        Ok(file)
    }
}

impl CardLayout {
    /// Loads a layout from our JSON: `layout`, and if wanted `patches` with ids, names and about what
    /// colours. A whole definition will do, by id or as a file.
    ///
    /// # Errors
    /// [`DefinitionError`] with every fault found.
    pub fn load(id_or_path: &str) -> Result<Self, DefinitionError> {
        let name_faults = |faults| DefinitionError { name: id_or_path.into(), faults };
        if let Some((_, text)) = BUILT_IN.iter().find(|(id, _)| *id == id_or_path) {
            return json::layout(text).map_err(name_faults);
        }
        let bytes = read_capped(Path::new(id_or_path)).map_err(|fault| name_faults(vec![fault]))?;
        let (text, _) = text_of(&bytes).map_err(|fault| name_faults(vec![fault]))?;
        json::layout(&text).map_err(name_faults)
    }
}

/// A value that may be an id or a file is a file when it has a separator or an extension.
fn is_file(id_or_path: &str) -> bool {
    id_or_path.contains(['/', '\\']) || Path::new(id_or_path).extension().is_some()
}

fn read_capped(path: &Path) -> Result<Vec<u8>, DefinitionFault> {
    let unreadable = |e: std::io::Error| DefinitionFault::whole(format!("the file cannot be read: {e}"));
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(unreadable)?;
    file.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(DefinitionFault::whole(format!(
            "the file is larger than {} MB; this is no card's file",
            MOST_BYTES >> 20
        )));
    }
    Ok(bytes)
}

/// The text of a file without its byte-order mark: UTF-8, else one byte a character.
fn text_of(bytes: &[u8]) -> Result<(String, Option<String>), DefinitionFault> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(DefinitionFault::whole("the file is UTF-16 text; save it as UTF-8"));
    }
    if bytes.contains(&0) {
        return Err(DefinitionFault::whole("the file is no text"));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok((text.trim_start_matches('\u{feff}').into(), None)),
        Err(_) => {
            let text = bytes.iter().map(|&b| char::from(b)).collect();
            let remark = "the file is not UTF-8: letters beyond A to Z may be shown wrong";
            Ok((text, Some(remark.into())))
        }
    }
}

/// Our own JSON.
pub(super) fn from_json(text: &str) -> Result<CardFile, Vec<DefinitionFault>> {
    let located = json::definition(text)?;
    let checked = check::check(&located.definition);
    if !checked.flaws.is_empty() {
        return Err(checked.flaws.into_iter().map(|(at, reason)| located.fault(at, reason)).collect());
    }
    Ok(CardFile { definition: located.definition, remarks: checked.remarks })
}

/// CGATS text: the first table that tells colours.
fn from_cgats(name: &str, text: &str, layout: Option<&CardLayout>) -> Result<CardFile, Vec<DefinitionFault>> {
    let file = CgatsFile::read(text).map_err(|fault| vec![fault])?;
    let mut remarks = file.remarks;
    let mut refused = Vec::new();
    let mut usable = None;
    for (i, table) in file.tables.iter().enumerate() {
        match colours::colours(table) {
            Ok(colours) => {
                usable = Some((i, table, colours));
                break;
            }
            Err(faults) => refused.extend(faults),
        }
    }
    let Some((i, table, colours)) = usable else { return Err(refused) };
    if file.tables.len() > 1 {
        remarks.push(format!(
            "the file holds {} tables; the one at number {} is used",
            file.tables.len(),
            i + 1
        ));
    }
    remarks.extend(colours.remarks);
    let layout = layout_of(table, layout, &mut remarks)?;
    let placed = place(table, &layout, &mut remarks)?;
    let patches = placed
        .sets
        .iter()
        .zip(placed.names)
        .map(|(&set, patch)| PatchDefinition {
            id: patch.id,
            name: patch.name,
            lab: colours.lab[set],
            u95: colours.u95.as_ref().map(|u| u[set]),
        })
        .collect();
    let described = |word: &str| {
        let value = table.word(word)?.value.split_whitespace().collect::<Vec<_>>().join(" ");
        (!value.is_empty()).then(|| value.chars().take(400).collect::<String>())
    };
    let mut source = format!("CGATS text '{name}', {}", colours.from);
    for (word, words) in [("INSTRUMENTATION", "measured with"), ("CREATED", "of"), ("ORIGINATOR", "by")] {
        source.extend(described(word).map(|value| format!(", {words} {value}")));
    }
    let plain: String = name.chars().map(|c| if c.is_control() { ' ' } else { c }).take(64).collect();
    let definition = CardDefinition {
        id: plain.clone(),
        name: described("FILE_DESCRIPTOR").or(layout.name).unwrap_or(plain),
        source: source.chars().map(|c| if c.is_control() { ' ' } else { c }).collect(),
        observer: OBSERVER.into(),
        illuminant: ILLUMINANT.into(),
        white: WHITE_D50,
        layout: layout.layout,
        patches,
    };
    let checked = check::check(&definition);
    if !checked.flaws.is_empty() {
        let fault = |(at, reason)| {
            let line = match at {
                At::Patch(i, _) => placed.sets.get(i).and_then(|&set| Some(table.sets[set].first()?.line)),
                At::Layout(_) | At::Patches => Some(table.line),
                At::Card(_) => None,
            };
            DefinitionFault { line, field: Some(field_of(at)), reason }
        };
        return Err(checked.flaws.into_iter().map(fault).collect());
    }
    remarks.extend(checked.remarks);
    Ok(CardFile { definition, remarks })
}

/// The field of a flaw in words.
pub(super) fn field_of(at: At) -> String {
    match at {
        At::Card(field) => field.into(),
        At::Layout(field) => format!("layout, {field}"),
        At::Patch(i, field) => format!("patch {}, {field}", i + 1),
        At::Patches => "patches".into(),
    }
}
