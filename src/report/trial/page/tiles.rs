//! Tiles on the page: the picture in measured colours, and beside it what was laid where.

use super::names::{ValueName, reason};
use crate::report::charts::{PatchMark, TilePatch, tile_chart};
use crate::report::display::{hex_of_lab, is_shown};
use crate::report::file_name_of;
use crate::report::trial::lines::one_line;
use crate::report::words::{fixed, plus_minus, sentence};
use crate::trial::{Factor, Role, TilePlace, TrialTile, in_words};
use serde::Serialize;

/// A tile.
#[derive(Debug, Serialize)]
pub(super) struct TileView {
    id: String,
    name: String,
    /// Firing and photograph.
    about: String,
    chart: String,
    columns: Vec<usize>,
    rows: Vec<PlanRow>,
    notes: Vec<String>,
}

#[derive(Debug, Serialize)]
struct PlanRow {
    number: usize,
    /// A free place is none.
    cells: Vec<Option<PlanCell>>,
}

#[derive(Debug, Serialize)]
struct PlanCell {
    name: String,
    role: &'static str,
    laid: Vec<String>,
    value: String,
}

pub(super) fn views(tiles: &[TrialTile], name: &ValueName) -> Vec<TileView> {
    tiles.iter().enumerate().map(|(at, tile)| view(tile, at + 1, name)).collect()
}

fn view(tile: &TrialTile, number: usize, name: &ValueName) -> TileView {
    let title = tile_name(tile);
    let [rows, columns] = tile.size();
    let patches: Vec<TilePatch> = tile.places.iter().map(|place| patch(place, name)).collect();
    let id = format!("tile-{number}");
    let lost = tile.places.iter().filter(|place| place.value.is_none()).count();
    let described = format!(
        "{rows} rows and {columns} columns as photographed, {} swatches in their measured colours with {}; {lost} without a value. \
         The table beside it says the same in words.",
        tile.places.len(),
        name.long
    );
    let row = |row: usize| PlanRow {
        number: row,
        cells: (1..=columns)
            .map(|column| tile.places.iter().find(|p| (p.row, p.column) == (row, column)))
            .map(|place| place.map(|place| cell(place, name)))
            .collect(),
    };
    let mut notes = Vec::new();
    let outside: Vec<String> = tile
        .places
        .iter()
        .filter(|place| place.lab.is_some_and(|lab| !is_shown(lab)))
        .map(|place| format!("row {}, column {}", place.row, place.column))
        .collect();
    if !outside.is_empty() {
        notes.push(format!(
            "A white corner marks a colour that a screen (sRGB) cannot show; the nearest stands there: {}.",
            outside.join("; ")
        ));
    }
    if tile.places.iter().all(|place| place.lab.is_none()) {
        notes.push("The table holds no colours l, a, b of this tile, so that no swatch shows one.".into());
    }
    let parts = [
        tile.firing.as_deref().map(|firing| format!("fired in {}", one_line(firing))),
        tile.photograph.as_deref().map(|photo| format!("photograph {}", one_line(file_name_of(photo)))),
    ];
    TileView {
        chart: tile_chart(&id, &format!("{title}, as measured"), &described, [rows, columns], &patches),
        id,
        name: title,
        about: parts.into_iter().flatten().collect::<Vec<_>>().join(", "),
        columns: (1..=columns).collect(),
        rows: (1..=rows).map(row).collect(),
        notes,
    }
}

/// `Tile 3`; with its trial where that is told.
fn tile_name(tile: &TrialTile) -> String {
    match &tile.trial {
        Some(trial) => format!("{}, tile {}", one_line(trial), one_line(&tile.number)),
        None => format!("Tile {}", one_line(&tile.number)),
    }
}

/// Slip, paint and coats as they are told, each for itself.
fn laid(place: &TilePlace) -> Vec<String> {
    let told = [(Factor::Slip, &place.slip), (Factor::Paint, &place.paint), (Factor::Coats, &place.coats)];
    told.into_iter()
        .filter_map(|(factor, level)| Some(one_line(&in_words(factor, level.as_deref()?))))
        .collect()
}

fn value(place: &TilePlace, name: &ValueName) -> String {
    match (place.value, place.u95) {
        (Some(value), Some(u95)) => sentence(&plus_minus(value, u95, name.digits)),
        (Some(value), None) => fixed(value, name.digits),
        (None, _) => reason(place.left_out.as_deref()),
    }
}

fn patch(place: &TilePlace, name: &ValueName) -> TilePatch {
    let mark = match place.role {
        Role::Trial => PatchMark::None,
        Role::Control => PatchMark::Control,
        Role::Blank => PatchMark::Blank,
    };
    TilePatch {
        row: place.row,
        column: place.column,
        colour: place.lab.map(hex_of_lab),
        out_of_gamut: place.lab.is_some_and(|lab| !is_shown(lab)),
        mark,
        laid: laid(place),
        value: value(place, name),
    }
}

fn cell(place: &TilePlace, name: &ValueName) -> PlanCell {
    let own = place.name.as_deref().map(one_line);
    PlanCell {
        name: own.unwrap_or_else(|| format!("row {}, column {}", place.row, place.column)),
        role: if place.role == Role::Trial { "" } else { place.role.name() },
        laid: laid(place),
        value: value(place, name),
    }
}
