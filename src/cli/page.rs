//! The report of a load as files: the page, and its tables beside it.

use super::exit::{Trouble, say};
use super::keeper::written;
use sherdlight::ledger::temperatures::{Marks, summary};
use sherdlight::ledger::trend::{Trend, TrendBy, TrendLeftOut, TrendValue};
use sherdlight::ledger::{FIRINGS, Holds, Ledger, Named};
use sherdlight::reading::Record;
use sherdlight::report::{
    FiringFacts, LoadPage, PageEntry, PageInput, PagePictures, ReadPage, readings_csv, stem_of,
    without_folders, write_file,
};
use sherdlight::road::Settings;
use sherdlight::verdict::Targets;
use std::collections::{BTreeMap, BTreeSet};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

/// What a report is written from.
pub struct Load<'a> {
    /// Records in their order.
    pub records: &'a [Record],
    /// Pictures of each record's photograph.
    pub pictures: &'a [Option<Arc<PagePictures>>],
    /// The ledger, where one is in use.
    pub ledger: Option<&'a Ledger>,
    /// Records that their photographs no longer give when they are measured again for their pictures.
    pub misfits: &'a BTreeSet<usize>,
    /// The firing that was named; the report is called after it where the records name none.
    pub firing: Option<&'a str>,
    /// What the report is called; unset: after the firings.
    pub title: Option<&'a str>,
}

/// Writes `FILE.html`, and beside it `FILE.pieces.csv` and `FILE.readings.csv`.
pub fn write(load: &Load, file: &Path, context: Option<&Path>) -> Result<(), Trouble> {
    // As they are written: a page made while measuring shows the same digits as one that is made of the records later.
    let records = written(load.records.to_vec());
    let targets: Vec<Option<Arc<Targets>>> = targets_of(&records);
    let entries: Vec<PageEntry> = records
        .iter()
        .enumerate()
        .map(|(at, record)| PageEntry {
            record,
            pictures: load.pictures.get(at).and_then(Option::as_deref),
            targets: targets[at].as_deref(),
            map_fits: !load.misfits.contains(&at),
        })
        .collect();
    let (firings, trend) = match load.ledger {
        Some(ledger) => (firings(ledger, &records)?, trend(ledger, targets.iter().flatten().next())?),
        None => (Vec::new(), None),
    };
    let title = load.title.map_or_else(|| title(&records, load.firing), str::to_owned);
    let page = LoadPage::new(&PageInput {
        title: &title,
        entries: &entries,
        firings: &firings,
        trend: trend.as_ref(),
        made: &utc(now()?),
    })?;
    write_file(file, page.html()?.as_bytes())?;
    write_file(&beside(file, PIECES), &page.pieces_csv()?)?;
    let bare: Vec<Record> = records.iter().map(without_folders).collect();
    write_file(&beside(file, READINGS), &readings_csv(&bare)?)?;
    if let Some(context) = context {
        write_file(context, page.context_json().as_bytes())?;
    }
    Ok(())
}

/// Says where a report is to go before an hour of work is lost to a wrong name, or a file that is no report is lost to it.
pub fn check_place(file: &Path) -> Result<(), Trouble> {
    let unfit = |what: &str, hint: &str| {
        let sentence = format!("the report cannot be written to '{}': {what}", file.display());
        Err(Trouble::settings(sentence, hint))
    };
    let ending = file.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    if !matches!(ending.as_deref(), Some("html" | "htm")) {
        return unfit("its name does not end in .html", "Name a file such as my-firing.html.");
    }
    if let Some(parent) = file.parent().filter(|p| !p.as_os_str().is_empty() && !p.is_dir()) {
        let what = format!("there is no folder '{}'", parent.display());
        return unfit(&what, "Make the folder first, or name another.");
    }
    if file.is_dir() {
        return unfit("it is a folder", "Name a file, such as my-firing.html.");
    }
    // An earlier report may be replaced with its tables; anything else that somebody made stays.
    if std::fs::read(file).is_ok_and(|there| !is_report(&String::from_utf8_lossy(&there))) {
        return unfit("the file is there already and is no report", "Name another file.");
    }
    for (ending, head) in [(PIECES, PIECES_HEAD), (READINGS, READINGS_HEAD)] {
        let table = beside(file, ending);
        if !is_ours_or_free(&table, head) {
            let what = format!("its table '{}' is there already and was not written here", table.display());
            return unfit(&what, "Name another file.");
        }
    }
    Ok(())
}

/// Whether it is a report, also of a version that gave it no number, or nothing at all.
fn is_report(page: &str) -> bool {
    page.is_empty() || ReadPage::new(page).is_some() || page.contains("<p class=\"kind\">Firing report</p>")
}

/// The same for the words of the page.
pub fn check_context(file: &Path) -> Result<(), Trouble> {
    match is_ours_or_free(file, CONTEXT_HEAD) {
        true => Ok(()),
        false => Err(Trouble::settings(
            format!("'{}' is there already and does not hold the words of a report", file.display()),
            "Name another file.",
        )),
    }
}

/// Whether nothing is lost by writing to this place: nothing is there, or what begins as we begin such a file.
fn is_ours_or_free(file: &Path, head: &str) -> bool {
    let mut there = Vec::new();
    match std::fs::File::open(file) {
        Err(error) => error.kind() == std::io::ErrorKind::NotFound,
        Ok(open) => {
            let read = open.take(head.len() as u64).read_to_end(&mut there);
            read.is_ok() && (there.is_empty() || there == head.as_bytes())
        }
    }
}

/// The tables beside a page: how their names end and their texts begin.
const PIECES: &str = "pieces.csv";
const PIECES_HEAD: &str = "number,piece,firing,place,grade,because,";
const READINGS: &str = "readings.csv";
const READINGS_HEAD: &str = "photo_path,photo_sha256,";

fn beside(file: &Path, ending: &str) -> PathBuf {
    file.with_file_name(format!("{}.{ending}", stem_of(file)))
}

/// How the words of a page begin.
const CONTEXT_HEAD: &str = "{\n  \"title\"";

/// The target ranges that each record was judged by: as it holds them, else those compiled in where the hash is theirs.
fn targets_of(records: &[Record]) -> Vec<Option<Arc<Targets>>> {
    let mut known: BTreeMap<&str, Arc<Targets>> = BTreeMap::new();
    for reading in records.iter().filter_map(Record::reading) {
        let hash = reading.targets_sha256.as_str();
        if known.contains_key(hash) {
            continue;
        }
        let told = reading.made_by.settings.as_deref();
        let recorded = told.and_then(|text| Settings::recalled(text).ok()).map(|r| r.settings.targets);
        let is_name = !Targets::is_file(&reading.targets);
        let built_in = || is_name.then(|| Targets::load(&reading.targets).ok()).flatten();
        if let Some(targets) = recorded.or_else(built_in).filter(|targets| targets.sha256 == hash) {
            known.insert(hash, Arc::new(targets));
        }
    }
    let of = |record: &Record| known.get(record.reading()?.targets_sha256.as_str()).cloned();
    records.iter().map(of).collect()
}

/// What the ledger knows of the firings that the records name.
fn firings(ledger: &Ledger, records: &[Record]) -> Result<Vec<FiringFacts>, Trouble> {
    let mut found: Vec<FiringFacts> = Vec::new();
    for name in names(records) {
        let Ok(entry) = ledger.entry(&FIRINGS, &Named::new(name)) else { continue };
        if found.iter().any(|known| known.name == entry.name) {
            continue;
        }
        // Where a firing was is for its maker; a report is sent to others.
        let fields = FIRINGS.fields.iter().filter(|field| field.word != "place");
        let facts = fields.filter_map(|field| {
            let value = entry.values.get(field.word)?;
            let unit = match field.holds {
                Holds::Number(_, _, unit) => format!(" {unit}"),
                _ => String::new(),
            };
            let name = match field.word {
                "peak-celsius" => "highest temperature".to_owned(),
                word => word.replace('-', " "),
            };
            Some((name, format!("{value}{unit}")))
        });
        let facts = facts.collect();
        let logs = ledger.logs(&entry.name)?;
        let told = |(file, log)| {
            let figures = summary(&log, &Marks::default());
            (file, log, figures)
        };
        found.push(FiringFacts { name: entry.name, facts, logs: logs.into_iter().map(told).collect() });
    }
    Ok(found)
}

/// The white slip across the firings of the ledger: CIEDE2000 to the target's white.
fn trend(ledger: &Ledger, targets: Option<&Arc<Targets>>) -> Result<Option<Trend>, Trouble> {
    let Some(targets) = targets else { return Ok(None) };
    let (points, without) = ledger.points("white")?;
    let left_out = vec![TrendLeftOut { reason: "without this surface".into(), count: without }];
    let trend = Trend::new(points, "white", TrendValue::default(), TrendBy::Firing, targets, left_out);
    Ok(Some(trend).filter(|trend| !trend.points.is_empty()))
}

/// The firings by the sheet, each once.
fn names(records: &[Record]) -> Vec<&str> {
    let mut firings: Vec<&str> = Vec::new();
    for firing in records.iter().filter_map(|r| r.reading()?.sheet.as_ref()?.firing.as_deref()) {
        if !firing.trim().is_empty() && !firings.contains(&firing) {
            firings.push(firing);
        }
    }
    firings
}

/// The firings, else nothing that could be wrong.
fn title(records: &[Record], firing: Option<&str>) -> String {
    match names(records).as_slice() {
        [] => firing.map_or_else(|| "Readings".into(), |firing| format!("Firing {firing}")),
        [one] => format!("Firing {one}"),
        several => format!("Firings {}", several.join(", ")),
    }
}

/// Seconds since 1970: as `SOURCE_DATE_EPOCH` tells (reproducible-builds specification), else the clock's.
fn now() -> Result<i64, Trouble> {
    let clock = || SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs() as i64);
    let Some(told) = std::env::var_os("SOURCE_DATE_EPOCH") else { return Ok(clock()) };
    // Up to the year 9999.
    let seconds =
        told.to_str().and_then(|text| text.parse().ok()).filter(|s| (0..253_402_300_800).contains(s));
    seconds.ok_or_else(|| {
        Trouble::settings(
            format!("SOURCE_DATE_EPOCH is '{}', no number of seconds since 1970", told.to_string_lossy()),
            "Set it to such a number, or unset it.",
        )
    })
}

/// `2026-05-03 18:20 UTC`. After H. Hinnant, "chrono-compatible low-level date algorithms" (2013): years begin in March, so
/// that the leap day ends them.
fn utc(seconds: i64) -> String {
    let (days, rest) = (seconds.div_euclid(86_400), seconds.rem_euclid(86_400));
    let shifted = days + 719_468;
    let (era, day) = (shifted.div_euclid(146_097), shifted.rem_euclid(146_097));
    let year = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let (day, month) = (day - (153 * month + 2) / 5 + 1, if month < 10 { month + 3 } else { month - 9 });
    let year = year + era * 400 + i64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02} {:02}:{:02} UTC", rest / 3600, rest % 3600 / 60)
}

/// Says where the report is.
pub fn say_written(file: &Path) {
    say(&format!("The report is in {}, its tables beside it.", file.display()));
}

#[cfg(test)]
mod tests {
    use super::utc;

    // Second counts of days by GNU date, `date -u -d @N`.
    #[test]
    fn seconds_become_a_day_and_a_time() {
        for (seconds, text) in [
            (0, "1970-01-01 00:00 UTC"),
            (951_827_696, "2000-02-29 12:34 UTC"),
            (1_777_832_400, "2026-05-03 18:20 UTC"),
            (1_709_251_199, "2024-02-29 23:59 UTC"),
            (-1, "1969-12-31 23:59 UTC"),
            (4_102_444_800, "2100-01-01 00:00 UTC"),
        ] {
            assert_eq!(utc(seconds), text);
        }
    }
}
