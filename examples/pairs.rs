//! Measures how well photographs before and after the fire are laid over each other, and what is said of the paint.
//!
//! `cargo run --release --example pairs -- FOLDER [FOLDER]`. The first folder holds `NAME.pair.json` with the truth, as
//! `same_places_px` ([x before, y before, x after, y after]) and `retained_fraction_after_where_seen_before`, the two
//! photographs it names, and `NAME_after.labels.png` (3 kept paint, 6 lost paint). Every photograph after the fire is
//! also held against the wrong ones before it, and against the photographs of the second folder: all must be refused.
//! Errors of places are in pixels of a piece 1,000 pixels wide.
#![allow(clippy::print_stdout)]

use image::GrayImage;
use serde_json::Value;
use sherdlight::road::{Measured, Settings, measure};
use sherdlight::survival::{Fate, Registration, Unmatched, View, register, survive};
use std::error::Error;
use std::path::{Path, PathBuf};
use std::time::Instant;

type Any = Box<dyn Error>;

/// One pair.
struct Pair {
    name: String,
    truth: Value,
    before: Measured,
    after: Measured,
}

fn main() -> Result<(), Any> {
    let folders: Vec<PathBuf> = std::env::args().skip(1).map(PathBuf::from).collect();
    let folder = folders.first().ok_or("name the folder of the pairs")?;
    let settings = Settings::new()?;
    let mut pairs = Vec::new();
    for path in files(folder, ".pair.json")? {
        let truth: Value = serde_json::from_str(&std::fs::read_to_string(&path)?)?;
        let side = |key: &str| -> Result<Measured, Any> {
            let name = truth[key].as_str().ok_or("a pair names no photograph")?;
            Ok(measure(&folder.join(format!("{name}.jpg")), &settings).map_err(|s| s.fault.to_string())?)
        };
        let (before, after) = (side("before")?, side("after")?);
        let name = truth["name"].as_str().unwrap_or_default().to_owned();
        pairs.push(Pair { name, truth, before, after });
    }
    println!(
        "pair       agrees in place  median   p95 px on slip      p95    kept thinned  lost  retained   truth    off  IoU lost     s"
    );
    for pair in &pairs {
        println!("{}", row(folder, pair)?);
    }
    if folders.len() < 2 {
        return Ok(());
    }
    println!("\nheld against another piece: agreement (refused?)");
    for after in &pairs {
        let mut line = format!("{:<10}", after.name);
        for before in pairs.iter().filter(|before| before.name != after.name) {
            line += &format!("  {} {}", before.name, refusal(&before.before, &after.after));
        }
        println!("{line}");
    }
    for other in folders.get(1).map_or(Ok(Vec::new()), |folder| files(folder, ".jpg"))? {
        let Ok(other_piece) = measure(&other, &settings) else { continue };
        let mut line = format!("{:<28}", other.file_name().unwrap_or_default().to_string_lossy());
        for pair in &pairs {
            line += &format!("  {}", refusal(&pair.before, &other_piece));
            line += &format!("  {}", refusal(&other_piece, &pair.after));
        }
        println!("{line}");
    }
    Ok(())
}

fn files(folder: &Path, ending: &str) -> Result<Vec<PathBuf>, Any> {
    let mut found: Vec<PathBuf> =
        std::fs::read_dir(folder)?.map(|entry| entry.map(|entry| entry.path())).collect::<Result<_, _>>()?;
    found.retain(|path| path.to_string_lossy().ends_with(ending));
    found.sort();
    Ok(found)
}

fn view(measured: &Measured) -> View<'_> {
    View { image: &measured.image, map: &measured.map, index: 0 }
}

fn refusal(before: &Measured, after: &Measured) -> String {
    match register(&view(before), &view(after)) {
        Ok(found) => format!("{:.2} {:.2} TAKEN", found.agreement.correlation, found.agreement.in_place),
        Err(Unmatched::AnotherPiece(a)) => format!("{:.2} {:.2} no", a.correlation, a.in_place),
        Err(other) => format!("{other}"),
    }
}

fn row(folder: &Path, pair: &Pair) -> Result<String, Any> {
    let start = Instant::now();
    let (before, after) = (view(&pair.before), view(&pair.after));
    let found = match register(&before, &after) {
        Ok(found) => found,
        Err(why) => return Ok(format!("{:<10} {} {}", pair.name, why, refusal(&pair.before, &pair.after))),
    };
    let labels = labels(folder, pair)?;
    let [median, p95] = errors(pair, &found, |_| true);
    // Where the painted slip is seen: elsewhere nothing tells one place from another.
    let on_slip = |[x, y]: [f64; 2]| {
        labels.get_pixel_checked(x as u32, y as u32).is_some_and(|p| [1, 3, 6].contains(&p.0[0]))
    };
    let [slip_median, slip_p95] = errors(pair, &found, on_slip);
    let what = survive(&before, &after, &found)?;
    let seconds = start.elapsed().as_secs_f64();
    let truth = pair.truth["retained_fraction_after_where_seen_before"].as_f64().unwrap_or(f64::NAN);
    let retained = what.kept + what.thinned;
    Ok(format!(
        "{:<10}  {:5.2} {:7.2} {median:8.2} {p95:8.2} {slip_median:8.2} {slip_p95:8.2}  {:6.3} {:6.3} {:6.3}   {retained:6.3}  {truth:6.3} {:6.3}    {:5.3} {seconds:6.1}",
        pair.name,
        found.agreement.correlation,
        found.agreement.in_place,
        what.kept,
        what.thinned,
        what.lost,
        retained - truth,
        overlap(&labels, pair, &what.fates),
    ))
}

/// The true labels of the fired piece.
fn labels(folder: &Path, pair: &Pair) -> Result<GrayImage, Any> {
    let name = pair.truth["after"].as_str().unwrap_or_default();
    Ok(image::open(folder.join(format!("{name}.labels.png")))?.to_luma8())
}

/// Median and 95th percentile of the distance of the places in the photograph before the fire; of those that are wanted
/// by where they lie in the photograph after it.
fn errors(pair: &Pair, found: &Registration, wanted: impl Fn([f64; 2]) -> bool) -> [f64; 2] {
    let (before, after) = (&pair.before.map, &pair.after.map);
    let [x0, _, x1, _] = before.pieces[0].bounds;
    let to_1000 = 1000.0 / (x1 - x0).max(1) as f64;
    let places = pair.truth["same_places_px"].as_array();
    let mut off: Vec<f64> = places
        .into_iter()
        .flatten()
        .filter_map(|place| {
            let value = |i: usize| place[i].as_f64();
            let place = [value(2)?, value(3)?];
            if !wanted(place) {
                return None;
            }
            let own = place.map(|v| v / after.factor as f64);
            let truth = [value(0)?, value(1)?].map(|v| v / before.factor as f64);
            let got = found.before(own).unwrap_or([f64::INFINITY; 2]);
            Some((got[0] - truth[0]).hypot(got[1] - truth[1]) * to_1000)
        })
        .collect();
    off.sort_by(f64::total_cmp);
    let at = |share: f64| off.get((off.len() as f64 * share) as usize).copied().unwrap_or(f64::NAN);
    [at(0.5), at(0.95)]
}

/// Intersection over union of lost paint; 1 where there is none in truth and none is found.
fn overlap(truth: &GrayImage, pair: &Pair, fates: &[Fate]) -> f64 {
    let map = &pair.after.map;
    let (mut both, mut either) = (0usize, 0usize);
    for (i, fate) in fates.iter().enumerate() {
        let [x, y] = [i % map.width, i / map.width].map(|v| (v * map.factor + map.factor / 2) as u32);
        let is = truth.get_pixel_checked(x, y).is_some_and(|p| p.0[0] == 6);
        let said = *fate == Fate::Lost;
        both += usize::from(is && said);
        either += usize::from(is || said);
    }
    if either == 0 { 1.0 } else { both as f64 / either as f64 }
}
