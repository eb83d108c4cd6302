//! Which set of a CGATS table is which patch of the card, and the card's layout.

use super::cgats::{CgatsCell, CgatsTable, CgatsWord, shortened};
use super::fault::DefinitionFault;
use super::layout::{Layout, LengthUnit, MOST_PATCHES};
use super::{BUILT_IN, CardLayout, LayoutPatch, json};

/// Header words of our own, declared with `KEYWORD`. Lengths are two numbers: along a row, and down.
const ROWS: &str = "CARD_ROWS";
const COLUMNS: &str = "CARD_COLUMNS";
const UNIT: &str = "CARD_UNIT";
const PATCH: &str = "CARD_PATCH";
const GAP: &str = "CARD_GAP";
const FRAME: &str = "CARD_FRAME";
const OUTER: &str = "CARD_OUTER";
const NEUTRAL_ROW: &str = "CARD_NEUTRAL_ROW";

/// The layout: the one told, else that of the header, else for 24 sets that of the built-in chart.
pub(super) fn layout_of(
    table: &CgatsTable,
    told: Option<&CardLayout>,
    remarks: &mut Vec<String>,
) -> Result<CardLayout, Vec<DefinitionFault>> {
    let sets = table.sets.len();
    if sets > MOST_PATCHES {
        let reason = format!("{sets} sets; a card has at most {MOST_PATCHES} patches, 40 rows of 40");
        return Err(vec![DefinitionFault::at(table.line, reason)]);
    }
    if let Some(told) = told {
        return Ok(told.clone());
    }
    if [ROWS, COLUMNS, PATCH].iter().any(|word| table.word(word).is_some()) {
        return header_layout(table);
    }
    if sets == 24 {
        remarks.push(
            "the file tells no layout: for its 24 sets that of the 24-patch chart is taken, 4 rows of 6"
                .into(),
        );
        return json::layout(BUILT_IN[0].1);
    }
    let reason = format!(
        "{sets} sets and no layout; give one with 'sherdlight card check FILE --layout FILE --out CARD.json', or in \
         the file with the header words {ROWS}, {COLUMNS}, {PATCH}, {GAP}, {FRAME} (24 sets alone are taken for \
         the 24-patch chart: are some missing?)"
    );
    Err(vec![DefinitionFault::at(table.line, reason)])
}

fn header_layout(table: &CgatsTable) -> Result<CardLayout, Vec<DefinitionFault>> {
    let mut faults = Vec::new();
    let missing = |word: &str| DefinitionFault::whole("this header word is missing").of(word);
    let count = |name: &str| match table.word(name) {
        None => Err(missing(name)),
        Some(word) => word.value.parse::<usize>().map_err(|_| {
            let reason = format!("a whole number is wanted; this is '{}'", shortened(&word.value));
            DefinitionFault::at(word.line, reason).of(name)
        }),
    };
    let (rows, columns) = (count(ROWS), count(COLUMNS));
    let neutral_row = table.word(NEUTRAL_ROW).map(|_| count(NEUTRAL_ROW)).transpose();
    let lengths = |name: &str| table.word(name).map(pair).transpose();
    let must = |name: &str| lengths(name).and_then(|found| found.ok_or_else(|| missing(name)));
    let unit = match table.word(UNIT) {
        None => Ok(LengthUnit::Mm),
        Some(word) => LengthUnit::named(&word.value)
            .ok_or_else(|| DefinitionFault::at(word.line, "must be mm or patch").of(UNIT)),
    };
    let (patch, gap, frame, outer) = (must(PATCH), must(GAP), must(FRAME), lengths(OUTER));
    let mut keep = |fault: Option<DefinitionFault>| faults.extend(fault);
    keep(rows.as_ref().err().cloned());
    keep(columns.as_ref().err().cloned());
    keep(neutral_row.as_ref().err().cloned());
    keep(unit.as_ref().err().cloned());
    keep(patch.as_ref().err().cloned());
    keep(gap.as_ref().err().cloned());
    keep(frame.as_ref().err().cloned());
    keep(outer.as_ref().err().cloned());
    let (Ok(rows), Ok(columns), Ok(neutral_row), Ok(unit), Ok(patch), Ok(gap), Ok(frame), Ok(outer)) =
        (rows, columns, neutral_row, unit, patch, gap, frame, outer)
    else {
        return Err(faults);
    };
    let layout = Layout { unit, rows, columns, patch, gap, frame, outer, neutral_row, note: String::new() };
    faults.extend(layout.flaws().into_iter().map(|(field, reason)| {
        let name = format!("CARD_{}", field.to_uppercase());
        let line = table.word(&name).map(|w| w.line);
        DefinitionFault { line, field: Some(name), reason }
    }));
    if faults.is_empty() { Ok(CardLayout { name: None, layout, patches: Vec::new() }) } else { Err(faults) }
}

fn pair(word: &CgatsWord) -> Result<[f64; 2], DefinitionFault> {
    let fault = |reason: String| DefinitionFault::at(word.line, reason).of(word.word.as_str());
    let values: Vec<f64> = word
        .value
        .split_whitespace()
        .map(|text| CgatsCell { text: text.into(), line: word.line }.number())
        .collect::<Result<_, _>>()
        .map_err(fault)?;
    match values[..] {
        [across, down] => Ok([across, down]),
        _ => Err(fault("two numbers are wanted, along a row and down".into())),
    }
}

/// Patches in reading order: the set each is in, with its id and name.
pub(super) struct Placed {
    pub sets: Vec<usize>,
    pub names: Vec<LayoutPatch>,
}

/// Brings the sets into the order of the layout by their ids.
pub(super) fn place(
    table: &CgatsTable,
    layout: &CardLayout,
    remarks: &mut Vec<String>,
) -> Result<Placed, Vec<DefinitionFault>> {
    let wanted = layout.layout.patches();
    let ids = ids(table)?;
    let order = match &ids {
        Some(ids) => order_by_id(ids, layout)?,
        None => {
            remarks.push("the file has no SAMPLE_ID: its sets are taken row by row".into());
            if table.sets.len() != wanted {
                let reason = format!("{} sets, the layout has {wanted} patches", table.sets.len());
                return Err(vec![DefinitionFault::at(table.line, reason)]);
            }
            (0..wanted).collect()
        }
    };
    let name_column = table.field("SAMPLE_NAME");
    let names = order
        .iter()
        .enumerate()
        .map(|(i, &set)| {
            let listed = layout.patches.get(i);
            let id = ids.as_ref().map(|ids| ids[set].text.trim().to_owned());
            let name = name_column.map(|c| plain(&table.sets[set][c].text)).filter(|n| !n.is_empty());
            LayoutPatch {
                id: id.or_else(|| listed.map(|p| p.id.clone())).unwrap_or_else(|| (i + 1).to_string()),
                name: name.or_else(|| listed.map(|p| p.name.clone())).unwrap_or_default(),
                lab: None,
            }
        })
        .collect();
    Ok(Placed { sets: order, names })
}

fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The cells that hold the ids; none twice.
fn ids(table: &CgatsTable) -> Result<Option<Vec<&CgatsCell>>, Vec<DefinitionFault>> {
    let Some(column) = table.field("SAMPLE_ID").or_else(|| table.field("SAMPLE_LOC")) else {
        return Ok(None);
    };
    let mut seen = std::collections::BTreeMap::new();
    let mut faults = Vec::new();
    let ids: Vec<&CgatsCell> = table.sets.iter().map(|set| &set[column]).collect();
    for cell in &ids {
        if let Some(line) = seen.insert(cell.text.trim(), cell.line) {
            let reason = format!("'{}' stands twice, first on line {line}", shortened(&cell.text));
            faults.push(DefinitionFault::at(cell.line, reason).of(table.fields[column].as_str()));
        }
    }
    if faults.is_empty() { Ok(Some(ids)) } else { Err(faults) }
}

/// An id as it is compared: 01 is 1, a 1 is A1.
fn plain_id(text: &str) -> String {
    let text: String = text.split_whitespace().collect();
    match text.parse::<u32>() {
        Ok(number) => number.to_string(),
        Err(_) => text.to_uppercase(),
    }
}

/// Ids of a letter and a number in reading order; letters count the rows, or the columns. None where
/// the letters do not suffice.
fn lettered(rows: usize, columns: usize, by_row: bool) -> Vec<String> {
    let letters: Vec<char> = ('A'..='Z').collect();
    if letters.len() < if by_row { rows } else { columns } {
        return Vec::new();
    }
    let name = |i: usize| {
        let (row, column) = (i / columns, i % columns);
        let (letter, number) = if by_row { (row, column) } else { (column, row) };
        format!("{}{}", letters[letter], number + 1)
    };
    (0..rows * columns).map(name).collect()
}

/// The set of every patch: by the layout's own ids, by numbers 1 to n, or by letter and number.
fn order_by_id(ids: &[&CgatsCell], layout: &CardLayout) -> Result<Vec<usize>, Vec<DefinitionFault>> {
    let (rows, columns) = (layout.layout.rows, layout.layout.columns);
    let listed: Vec<String> = layout.patches.iter().map(|p| plain_id(&p.id)).collect();
    let numbered: Vec<String> = (1..=rows * columns).map(|n| n.to_string()).collect();
    let found: Vec<String> = ids.iter().map(|cell| plain_id(&cell.text)).collect();
    let matching = |names: &[String]| found.iter().filter(|f| names.contains(f)).count();
    let (by_rows, by_columns) = (lettered(rows, columns, true), lettered(rows, columns, false));
    if rows == columns && matching(&by_rows) == found.len() && matching(&listed) < found.len() {
        let reason = "letters could count the rows or the columns of a square card; list the ids in reading \
                      order in a layout file, --layout FILE";
        return Err(vec![DefinitionFault::at(ids[0].line, reason).of("SAMPLE_ID")]);
    }
    let schemes = [listed, numbered, by_rows, by_columns];
    // The scheme that most ids fit is the one meant; the others' ids are then faults.
    let best = schemes.iter().enumerate().max_by_key(|(i, s)| (matching(s), usize::MAX - i)).map(|(_, s)| s);
    let Some(names) = best.filter(|names| 2 * matching(names) > found.len()) else {
        let line = ids.first().map_or(1, |c| c.line);
        let reason = "the ids do not tell where the patches lie; number them 1 to n row by row, or list them in \
                      reading order in a layout file, --layout FILE";
        return Err(vec![DefinitionFault::at(line, reason).of("SAMPLE_ID")]);
    };
    let mut faults = Vec::new();
    let mut order = Vec::with_capacity(names.len());
    let mut missing = Vec::new();
    for name in names {
        match found.iter().position(|f| *f == *name) {
            Some(set) => order.push(set),
            None => missing.push(name.clone()),
        }
    }
    for (cell, id) in ids.iter().zip(&found) {
        if !names.contains(id) {
            let reason =
                format!("the card of {rows} rows of {columns} has no patch '{}'", shortened(&cell.text));
            faults.push(DefinitionFault::at(cell.line, reason).of("SAMPLE_ID"));
        }
    }
    if !missing.is_empty() {
        let told: Vec<&str> = missing.iter().take(12).map(String::as_str).collect();
        let more = if missing.len() > 12 { ", ..." } else { "" };
        let reason =
            format!("{} of {} patches are missing: {}{more}", missing.len(), names.len(), told.join(", "));
        faults.push(DefinitionFault::at(ids.last().map_or(1, |c| c.line), reason).of("SAMPLE_ID"));
    }
    if faults.is_empty() { Ok(order) } else { Err(faults) }
}
