//! What the page of a load says: records turned into ready strings.

use super::fires::{FireText, fires};
use super::groups::{Group, groups};
use super::head::{about, listed, orders, summary};
use super::name_value::NameValue;
use super::picture::{PhotoText, PictureText, crop};
use super::table::{Cell, Row, cells};
use super::view::{ViewText, view_text};
use super::{PageEntry, PageInput, PagePictures};
use crate::reading::{Failure, Grade, Reading, Record, SheetRow};
use crate::report::charts::{LoadMark, kept_chart, load_chart};
use crate::report::file_name_of;
use crate::report::trend::trend_chart;
use crate::report::words::{capital, grade_words, plain, sentence};
use crate::verdict::Targets;
use serde::Serialize;

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
    /// The pieces as rows of a table.
    pub(super) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.pieces.iter().map(|piece| Row {
            texts: [
                piece.number.clone(),
                piece.name.clone(),
                piece.firing.clone(),
                piece.place.clone(),
                piece.grade.into(),
                piece.because.join(" "),
            ],
            cells: &piece.cells,
        })
    }
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
