//! Our own JSON form of a card, put together from its fields: a whole definition, or a layout alone.

use super::check::{At, ILLUMINANT, OBSERVER};
use super::fault::DefinitionFault;
use super::raw::{Places, Reader};
use super::{CardDefinition, CardLayout, LayoutPatch, PatchDefinition};
use crate::colour::constants::WHITE_D50;

/// Reads a whole definition; its colours are not yet checked together.
pub(super) fn definition(text: &str) -> Result<Located, Vec<DefinitionFault>> {
    let mut reader = Reader { text, faults: Vec::new() };
    let card = reader.card();
    let (card, places) = match (card, reader.faults.is_empty()) {
        (Some(card), true) => card,
        _ => return Err(reader.faults),
    };
    let mut missing = Vec::new();
    let mut need = |field: &str, there: bool| {
        if !there {
            missing.push(DefinitionFault::whole("is missing").of(field));
        }
    };
    need("id", card.id.is_some());
    need("name", card.name.is_some());
    need("source", card.source.is_some());
    need("observer", card.observer.is_some());
    need("illuminant", card.illuminant.is_some());
    need("patches", !card.patches.is_empty());
    let mut patches = Vec::with_capacity(card.patches.len());
    for (i, patch) in card.patches.into_iter().enumerate() {
        match patch.lab {
            Some(lab) => {
                patches.push(PatchDefinition { id: patch.id, name: patch.name, lab, u95: patch.u95 });
            }
            None => missing
                .push(DefinitionFault::at(places.each[i], "is missing").of(format!("patch {}, lab", i + 1))),
        }
    }
    if !missing.is_empty() {
        return Err(missing);
    }
    let definition = CardDefinition {
        id: card.id.unwrap_or_default(),
        name: card.name.unwrap_or_default(),
        source: card.source.unwrap_or_default(),
        observer: card.observer.unwrap_or_else(|| OBSERVER.into()),
        illuminant: card.illuminant.unwrap_or_else(|| ILLUMINANT.into()),
        white: card.white.unwrap_or(WHITE_D50),
        layout: card.layout,
        patches,
    };
    Ok(Located { definition, places })
}

/// A definition that still knows where its parts stand in the text.
pub(super) struct Located {
    pub definition: CardDefinition,
    places: Places,
}

impl Located {
    /// A flaw of the self-test with its place.
    pub fn fault(&self, at: At, reason: String) -> DefinitionFault {
        match at {
            At::Card(field) => DefinitionFault::whole(reason).of(field),
            At::Layout(field) => {
                DefinitionFault::at(self.places.layout, reason).of(format!("layout, {field}"))
            }
            At::Patch(i, field) => {
                let line = self.places.each.get(i).copied();
                DefinitionFault { line, field: Some(format!("patch {}, {field}", i + 1)), reason }
            }
            At::Patches => DefinitionFault::at(self.places.patches, reason).of("patches"),
        }
    }
}

/// Reads a layout; a whole definition will do too.
pub(super) fn layout(text: &str) -> Result<CardLayout, Vec<DefinitionFault>> {
    let mut reader = Reader { text, faults: Vec::new() };
    let card = reader.card();
    let (card, places) = match (card, reader.faults.is_empty()) {
        (Some(card), true) => card,
        _ => return Err(reader.faults),
    };
    let mut faults: Vec<DefinitionFault> = card
        .layout
        .flaws()
        .into_iter()
        .map(|(field, reason)| DefinitionFault::at(places.layout, reason).of(format!("layout, {field}")))
        .collect();
    let patches: Vec<LayoutPatch> =
        card.patches.into_iter().map(|p| LayoutPatch { id: p.id, name: p.name, lab: p.lab }).collect();
    if faults.is_empty() && !patches.is_empty() && patches.len() != card.layout.patches() {
        let reason =
            format!("{} patches are listed, the layout has {}", patches.len(), card.layout.patches());
        faults.push(DefinitionFault::at(places.patches, reason).of("patches"));
    }
    for (i, patch) in patches.iter().enumerate() {
        if let Some(first) = patches[..i].iter().position(|p| p.id == patch.id) {
            let reason = format!("patch '{}' is listed twice: patches {} and {}", patch.id, first + 1, i + 1);
            faults.push(DefinitionFault::at(places.each[i], reason).of(format!("patch {}, id", i + 1)));
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(CardLayout { name: card.name, layout: card.layout, patches })
}
