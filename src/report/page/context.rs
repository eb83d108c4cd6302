//! What the page of a load says: records turned into ready strings.

use super::fires::{FireText, fires};
use super::groups::{Group, Values, groups};
use super::picture::{PhotoText, PictureText, crop};
use super::view::{ViewText, view_text};
use super::{PageEntry, PageInput, PagePictures};
use crate::ledger::safe_cell;
use crate::reading::{Failure, Grade, Reading, Record, SheetRow};
use crate::report::ReportError;
use crate::report::charts::{LoadMark, kept_chart, load_chart};
use crate::report::file_name_of;
use crate::report::trend::trend_chart;
use crate::report::words::{UNKNOWN, capital, grade_words, percent, percent_pm, plain, plus_minus, sentence};
use crate::verdict::Targets;
use serde::Serialize;
use std::collections::BTreeSet;

/// The whole page.
#[derive(Debug, Serialize)]
pub(super) struct PageContext {
    title: String,
    /// Firing, dates, number of pieces: one line each.
    about: Vec<NameValue>,
    /// One sentence that sums the load up.
    summary: String,
    counts: Vec<Count>,
    fires: Vec<FireText>,
    /// What goes with the changes, each once.
    beside: Vec<String>,
    /// Whether any sheet says where pieces stood in the fire, and whether pieces of several firings are shown.
    has_places: bool,
    has_firings: bool,
    /// The orders that the pieces can be put in, besides worst first: key and words.
    orders: Vec<NameValue>,
    pieces: Vec<PieceText>,
    failures: Vec<FailureText>,
    photos: Vec<PhotoText>,
    /// Charts of the load; empty where there is nothing to draw.
    load_chart: String,
    kept_chart: String,
    /// The white slip across firings; empty without a ledger.
    trend_chart: String,
    versions: String,
    colours: String,
    made: String,
}

/// A name and what belongs to it.
#[derive(Debug, Clone, Serialize)]
pub(super) struct NameValue {
    pub(super) name: String,
    pub(super) value: String,
    /// Whether the value is a long row of digits.
    digits: bool,
}

impl NameValue {
    pub(super) fn new(name: &str, value: impl Into<String>) -> Self {
        Self { name: name.into(), value: value.into(), digits: false }
    }

    pub(super) fn hash(name: &str, value: &str) -> Self {
        let known = !value.is_empty();
        Self { name: name.into(), value: if known { value } else { UNKNOWN }.into(), digits: known }
    }
}

#[derive(Debug, Serialize)]
struct Count {
    /// `sound`, `marginal`, `faulty`, `cannot-tell`, `not-measured`.
    key: &'static str,
    words: &'static str,
    number: String,
}

#[derive(Debug, Serialize)]
struct FailureText {
    file: String,
    code: String,
    text: String,
}

/// All strings of one piece.
#[derive(Debug, Serialize)]
struct PieceText {
    number: String,
    anchor: String,
    name: String,
    place: String,
    firing: String,
    grade: &'static str,
    grade_words: &'static str,
    /// What decided: the first sentence stands on the first screen.
    because: Vec<String>,
    small: Option<PictureText>,
    sheet: Vec<NameValue>,
    /// Cells of the table of the load.
    cells: Vec<Cell>,
    /// Where several photographs show it: what they say together.
    joined: Vec<String>,
    views: Vec<ViewText>,
}

/// A cell of the table of the load.
#[derive(Debug, Serialize)]
struct Cell {
    /// The bare number to sort by; empty where there is none.
    value: String,
    /// Its half-width.
    #[serde(skip)]
    u95: String,
    words: String,
}

/// The columns of the table of the load: key, unit in the CSV table.
const COLUMNS: [&str; 6] = [
    "white_l_star",
    "white_b_star",
    "black_l_star",
    "contrast_delta_l",
    "paint_retained_fraction",
    "cloud_fraction",
];

/// Builds all strings of the page.
pub(super) fn build(input: &PageInput) -> PageContext {
    let entries = input.entries;
    let groups = groups(entries);
    let failures: Vec<FailureText> = entries
        .iter()
        .filter_map(|entry| match entry.record {
            Record::Failed(failure) => Some(failure_text(failure)),
            Record::Measured(_) => None,
        })
        .collect();
    let count_of = |grade: Grade| groups.iter().filter(|group| group.grade() == grade).count();
    let grades = [Grade::Sound, Grade::Marginal, Grade::Faulty, Grade::CannotTell];
    let count = |grade: Grade| Count {
        key: grade.name(),
        words: grade_words(grade),
        number: count_of(grade).to_string(),
    };
    let mut counts: Vec<Count> = grades.into_iter().map(count).collect();
    counts.push(Count { key: "not-measured", words: "Not measured", number: failures.len().to_string() });
    let mut photos: Vec<&PagePictures> = Vec::new();
    for pictures in entries.iter().filter_map(|entry| entry.pictures) {
        if !photos.iter().any(|known| std::ptr::eq(*known, pictures)) {
            photos.push(pictures);
        }
    }
    let photo_id = |pictures: &PagePictures| {
        let at = photos.iter().position(|known| std::ptr::eq(*known, pictures)).map_or(0, |at| at + 1);
        format!("photo-{at}")
    };
    let pieces =
        groups.iter().enumerate().map(|(at, group)| piece_text(at + 1, group, entries, &photo_id)).collect();
    let marks: Vec<LoadMark> = groups.iter().enumerate().map(|(at, group)| mark(at + 1, group)).collect();
    let targets = common_targets(entries);
    let readings: Vec<&Reading> =
        groups.iter().flat_map(|group| group.views.iter().map(|(reading, _)| *reading)).collect();
    let fires = fires(&groups, input.firings);
    let mut beside: Vec<String> = Vec::new();
    for said in fires.iter().flat_map(|fire| &fire.beside) {
        if !beside.contains(said) {
            beside.push(said.clone());
        }
    }
    let has_places = groups.iter().any(|group| group.place().is_some());
    PageContext {
        title: if input.title.trim().is_empty() {
            "A load of fired pottery".into()
        } else {
            input.title.into()
        },
        about: about(&readings, input, groups.len()),
        summary: summary(&grades.map(|grade| (grade, count_of(grade))), failures.len()),
        counts,
        fires,
        beside,
        has_places,
        has_firings: groups.iter().any(|group| group.firing() != groups[0].firing()),
        orders: orders(has_places),
        pieces,
        failures,
        photos: photos
            .iter()
            .map(|pictures| PhotoText {
                id: photo_id(pictures),
                source: pictures.photo.clone(),
                width: pictures.size[0],
                height: pictures.size[1],
            })
            .collect(),
        load_chart: targets
            .filter(|_| !marks.is_empty())
            .map_or_else(String::new, |t| load_chart("load-chart", &marks, t)),
        kept_chart: targets
            .filter(|_| !marks.is_empty())
            .map_or_else(String::new, |t| kept_chart("kept-chart", &marks, t)),
        trend_chart: input.trend.map_or_else(String::new, trend_chart),
        versions: listed(entries.iter().map(|entry| match entry.record {
            Record::Failed(failure) => failure.made_by.version.as_str(),
            Record::Measured(reading) => reading.made_by.version.as_str(),
        })),
        colours: match readings.first() {
            Some(reading) => {
                format!("CIELAB for {} and the {} observer", reading.illuminant, reading.observer)
            }
            None => "CIELAB for D50 and the CIE 1931 2 degree observer".into(),
        },
        made: input.made.into(),
    }
}

impl PageContext {
    /// The table of the load: a row a piece, values and half-widths of their 95 % intervals apart.
    pub(super) fn pieces_csv(&self) -> Result<Vec<u8>, ReportError> {
        let failed = |error: &dyn std::fmt::Display| ReportError::Table(error.to_string());
        let mut writer = csv::Writer::from_writer(Vec::new());
        let mut head: Vec<String> =
            ["number", "piece", "firing", "place", "grade", "because"].map(str::to_owned).into();
        for column in COLUMNS {
            head.push(column.into());
            head.extend((column != "cloud_fraction").then(|| format!("u95_{column}")));
        }
        writer.write_record(&head).map_err(|error| failed(&error))?;
        for piece in &self.pieces {
            let because = piece.because.join(" ");
            let texts = [&piece.number, &piece.name, &piece.firing, &piece.place];
            let mut row: Vec<String> = texts.into_iter().map(|text| safe_cell(text)).collect();
            row.extend([piece.grade.to_owned(), safe_cell(&because)]);
            for (cell, column) in piece.cells.iter().zip(COLUMNS) {
                row.push(cell.value.clone());
                row.extend((column != "cloud_fraction").then(|| cell.u95.clone()));
            }
            writer.write_record(&row).map_err(|error| failed(&error))?;
        }
        writer.into_inner().map_err(|error| failed(&error))
    }
}

fn orders(has_places: bool) -> Vec<NameValue> {
    let mut orders = vec![NameValue::new("name", "by name")];
    orders.extend(has_places.then(|| NameValue::new("place", "by place in the fire")));
    orders.extend([
        NameValue::new("white", "by white, darkest first"),
        NameValue::new("black", "by black, palest first"),
        NameValue::new("kept", "by paint kept, least first"),
    ]);
    orders
}

fn piece_text(
    number: usize,
    group: &Group,
    entries: &[PageEntry],
    photo_id: &dyn Fn(&PagePictures) -> String,
) -> PieceText {
    let mut because: Vec<String> = group.because().iter().map(|text| sentence(text)).collect();
    if because.is_empty() {
        because.push("No reason was recorded.".into());
    }
    let decisive = group.decisive();
    let pictures = group
        .views
        .iter()
        .filter(|(reading, _)| std::ptr::eq(*reading, decisive))
        .chain(&group.views)
        .find_map(|(reading, entry)| Some((*reading, entry.pictures?)));
    let grade = grade_words(group.grade());
    let small = pictures.map(|(reading, pictures)| {
        let alt = format!("{}, {}. {}", group.name, grade.to_lowercase(), because[0]);
        crop(pictures, &reading.piece.outline_px, photo_id(pictures), alt)
    });
    let several = group.views.len() > 1;
    PieceText {
        number: number.to_string(),
        anchor: format!("piece-{number}"),
        place: group.place().unwrap_or_default().into(),
        firing: group.firing().unwrap_or_default().into(),
        grade: group.grade().name(),
        grade_words: grade,
        small,
        sheet: sheet(decisive.sheet.as_ref()),
        cells: cells(&group.values()),
        joined: group.joined.map_or_else(Vec::new, |views| {
            let mut said = Vec::new();
            said.extend(several.then(|| format!("Seen in {} photographs.", group.views.len())));
            let more = views.disagreements.iter().chain(&views.since_last_firing);
            said.extend(more.map(|text| capital(&sentence(text))));
            said
        }),
        views: group
            .views
            .iter()
            .enumerate()
            .map(|(at, (reading, entry))| {
                view_text([number, at + 1], &group.name, reading, entry, entries, photo_id)
            })
            .collect(),
        name: group.name.clone(),
        because,
    }
}

fn cells(values: &Values) -> Vec<Cell> {
    let number = |value: f64, decimals: usize| match value.is_finite() {
        true => format!("{value:.decimals$}"),
        false => String::new(),
    };
    let cell = |pair: Option<[f64; 2]>, decimals: usize, words: fn(f64, f64) -> String, none: &str| Cell {
        value: pair.map_or_else(String::new, |[value, _]| number(value, decimals)),
        u95: pair.map_or_else(String::new, |[_, u95]| number(u95, decimals)),
        words: pair.map_or_else(|| none.into(), |[value, u95]| words(value, u95)),
    };
    let lightness = |value: f64, u95: f64| plus_minus(value, u95, 1);
    vec![
        cell(values.white_l, 2, lightness, "not seen"),
        cell(values.white_b, 2, lightness, "not seen"),
        cell(values.black_l, 2, lightness, "not seen"),
        cell(values.contrast, 2, lightness, "not seen"),
        cell(values.kept, 3, percent_pm, "none seen"),
        Cell { value: number(values.clouds, 3), u95: String::new(), words: percent(values.clouds) },
    ]
}

fn mark(number: usize, group: &Group) -> LoadMark {
    let values = group.values();
    LoadMark {
        number,
        name: group.name.clone(),
        grade: group.grade(),
        white: values.white_l,
        black: values.black_l,
        kept: values.kept,
        contrast: values.contrast,
    }
}

/// The target ranges, where all pieces were judged by the same.
fn common_targets<'a>(entries: &'a [PageEntry]) -> Option<&'a Targets> {
    let mut all = entries.iter().filter(|entry| entry.record.reading().is_some()).map(|entry| entry.targets);
    let first = all.next()??;
    all.all(|other| other.is_none_or(|other| other.sha256 == first.sha256)).then_some(first)
}

fn sheet(row: Option<&SheetRow>) -> Vec<NameValue> {
    let Some(row) = row else { return vec![] };
    [
        ("Firing", &row.firing),
        ("Place in the fire", &row.place),
        ("Clay", &row.clay),
        ("White slip", &row.slip),
        ("Red", &row.red),
        ("Paint", &row.paint),
        ("Shape", &row.shape),
        ("Size", &row.size),
        ("State", &row.state),
        ("Soak test", &row.soak_test),
        ("Flaws", &row.flaws),
        ("Notes", &row.notes),
    ]
    .into_iter()
    .filter_map(|(name, value)| {
        Some(NameValue::new(name, value.as_deref().filter(|v| !v.trim().is_empty())?))
    })
    .collect()
}

fn failure_text(failure: &Failure) -> FailureText {
    FailureText {
        file: file_name_of(&failure.photo.path).into(),
        code: plain(&failure.error.code),
        text: sentence(&failure.error.text),
    }
}

fn about(readings: &[&Reading], input: &PageInput, pieces: usize) -> Vec<NameValue> {
    let entries = input.entries;
    let mut about = Vec::new();
    let firings = listed(readings.iter().filter_map(|r| r.sheet.as_ref()?.firing.as_deref()));
    if !firings.is_empty() {
        about.push(NameValue::new("Firing", firings));
    }
    let dates = input.firings.iter().flat_map(|firing| &firing.facts).filter(|(name, _)| name == "date");
    let fired = listed(dates.map(|(_, date)| date.as_str()));
    if !fired.is_empty() {
        about.push(NameValue::new("Fired", fired));
    }
    let photos: BTreeSet<(&str, Option<&str>)> = entries
        .iter()
        .map(|entry| (entry.record.photo().path.as_str(), entry.record.photo().taken.as_deref()))
        .collect();
    let days: BTreeSet<String> =
        photos.iter().filter_map(|(_, taken)| Some(taken.as_ref()?.chars().take(10).collect())).collect();
    let dated = photos.iter().filter(|(_, taken)| taken.is_some()).count();
    let range = match (days.first(), days.last()) {
        (Some(first), Some(last)) if first == last => first.clone(),
        (Some(first), Some(last)) => format!("{first} to {last}"),
        _ => "the photographs carry no date".into(),
    };
    let undated = match photos.len() - dated {
        0 => String::new(),
        _ if dated == 0 => String::new(),
        1 => " (one photograph carries no date)".into(),
        count => format!(" ({count} photographs carry no date)"),
    };
    about.push(NameValue::new("Photographed", range + &undated));
    about.push(NameValue::new("Pieces", pieces.to_string()));
    about.push(NameValue::new("Photographs", photos.len().to_string()));
    let targets = listed(readings.iter().map(|r| r.targets.as_str()));
    if !targets.is_empty() {
        about.push(NameValue::new("Judged against", targets));
    }
    about
}

/// Each text once, in order, with commas.
fn listed<'a>(texts: impl Iterator<Item = &'a str>) -> String {
    let mut seen: Vec<&str> = Vec::new();
    for text in texts.filter(|text| !text.is_empty()) {
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen.join(", ")
}

fn summary(counts: &[(Grade, usize); 4], failures: usize) -> String {
    let pieces: usize = counts.iter().map(|(_, count)| count).sum();
    let parts: Vec<String> = counts
        .iter()
        .filter(|(_, count)| *count > 0)
        .map(|(grade, count)| match grade {
            Grade::CannotTell => format!("{count} cannot be told"),
            grade => format!("{count} {}", grade.name()),
        })
        .collect();
    let of = match pieces {
        0 => "No piece was measured.".into(),
        1 => format!("One piece: {}.", parts.join(", ")),
        _ => format!("Of {pieces} pieces: {}.", parts.join(", ")),
    };
    match failures {
        0 => of,
        1 => of + " One photograph could not be measured.",
        count => format!("{of} {count} photographs could not be measured."),
    }
}
