//! Tables for the terminal.

use sherdlight::reading::{Grade, Reading, Record};
use sherdlight::report::{survival_table, survival_words};
use std::path::Path;

/// Lines of equal columns; numbers to the right.
pub fn align(rows: &[Vec<String>], right: &[usize]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |c: usize| rows.iter().filter_map(|r| r.get(c)).map(|t| t.chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .enumerate()
            .map(|(c, cell)| {
                let gap = " ".repeat(widths[c] - cell.chars().count());
                if right.contains(&c) { format!("{gap}{cell}") } else { format!("{cell}{gap}") }
            })
            .collect();
        text.push_str(cells.join("  ").trim_end());
        text.push('\n');
    }
    text
}

/// The load, worst first; photographs that failed are not in it.
pub fn load(records: &[Record]) -> String {
    let mut readings: Vec<&Reading> = records.iter().filter_map(Record::reading).collect();
    // Stable: pieces of one grade keep the order of the photographs.
    readings.sort_by_key(|r| r.grade);
    let titles =
        ["grade", "piece", "white L*", "black L*", "white : black", "red C*", "paint kept", "clouds"];
    let mut rows = vec![titles.map(str::to_owned).to_vec()];
    rows.extend(readings.iter().map(|r| row(r)));
    let mut text = align(&rows, &[2, 3, 4, 5, 6, 7]);
    text.push('\n');
    for reading in &readings {
        if let Some(why) = reading.grade_because.first().filter(|_| reading.grade != Grade::Sound) {
            text.push_str(&format!("{}: {}. {why}\n", piece_name(reading), grade_words(reading.grade)));
        }
    }
    text.push_str(&joined(&readings));
    text
}

/// Strokes that are listed, those that lost most.
const STROKES: usize = 8;

/// What the fire left of the paint on a piece; nothing where no photograph before the fire was given.
pub fn survival(reading: &Reading) -> String {
    let Some(survival) = &reading.survival else { return String::new() };
    let mut text = format!("\n{}: {}\n", piece_name(reading), survival_words(survival));
    if survival.strokes.len() > 1 {
        text.push_str(&align(&survival_table(survival, STROKES), &[0, 1, 2, 3, 4]));
    }
    if survival.strokes.len() > STROKES {
        text.push_str(&format!("{} strokes in all; these lost most.\n", survival.strokes.len()));
    }
    text
}

/// Pieces that the sheet names in several photographs: one grade each, and what does not fit together.
fn joined(readings: &[&Reading]) -> String {
    let mut text = String::new();
    let mut told = Vec::new();
    for views in readings.iter().filter_map(|r| r.views.as_ref()) {
        let key = (&views.piece, &views.firing);
        if told.contains(&key) {
            continue;
        }
        told.push(key);
        let firing = views.firing.as_ref().map_or_else(String::new, |f| format!(", firing {f}"));
        text.push_str(&format!(
            "{}{firing}: {} over {} photographs.\n",
            views.piece,
            grade_words(views.grade),
            views.photos.len()
        ));
        for said in views.disagreements.iter().chain(&views.since_last_firing) {
            text.push_str(&format!("  {said}\n"));
        }
    }
    text
}

/// The piece's name from the sheet, else the file's; with its number where there are several.
pub fn piece_name(reading: &Reading) -> String {
    let file = Path::new(&reading.photo.path)
        .file_name()
        .map_or_else(|| reading.photo.path.clone(), |n| n.to_string_lossy().into_owned());
    let named = reading.sheet.as_ref().and_then(|s| s.piece.clone()).map(|piece| format!("{piece} ({file})"));
    let name = named.unwrap_or(file);
    if reading.piece.count > 1 { format!("{name} #{}", reading.piece.number) } else { name }
}

fn row(reading: &Reading) -> Vec<String> {
    let lightness = |name: &str| {
        reading.surfaces.get(name).map_or_else(blank, |s| format!("{:.1} ±{:.1}", s.lab[0], s.u95[0]))
    };
    vec![
        grade_words(reading.grade).into(),
        piece_name(reading),
        lightness("white"),
        lightness("black"),
        reading
            .contrast
            .as_ref()
            .map_or_else(blank, |c| format!("{:.1} ±{:.1}", c.reflectance_ratio, c.u95.reflectance_ratio)),
        reading.surfaces.red.as_ref().map_or_else(blank, |s| format!("{:.1}", s.lch[1])),
        reading
            .paint
            .as_ref()
            .map_or_else(blank, |p| format!("{:.0} ±{:.0} %", p.retained_fraction * 100.0, p.u95 * 100.0)),
        format!("{:.1} %", reading.clouds.area_fraction * 100.0),
    ]
}

fn blank() -> String {
    "-".into()
}

/// The grade for people.
pub fn grade_words(grade: Grade) -> &'static str {
    match grade {
        Grade::CannotTell => "cannot tell",
        other => other.name(),
    }
}
