//! The ledger with many readings: adding one, following a surface over all of them, room on the disk.
//!
//! `cargo bench --bench ledger` takes 3,000 readings; `cargo bench --bench ledger -- 100000` as many as are asked. The readings
//! are those of the demo images with their numbers moved at random (seed 7), so that no two are alike.

#![allow(clippy::print_stdout)] // a bench talks to people

use sherdlight::ledger::trend::{Trend, TrendBy, TrendValue};
use sherdlight::ledger::{Ledger, Shot};
use sherdlight::reading::{Reading, Record, SheetRow, to_json_line};
use sherdlight::road::{Settings, measure};
use sherdlight::verdict::Targets;
use std::fs::File;
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

fn main() {
    let count = std::env::args().filter_map(|a| a.parse().ok()).next().unwrap_or(3000usize);
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).expect("a folder beside the build");
    let models = demo_readings();
    let mut ledger = Ledger::open(&folder.path().join("ledger.sqlite")).expect("a new ledger");
    ledger.hurry();
    let mut luck = Luck(7);
    let (mut adding, mut bytes) = (Vec::with_capacity(count), 0);
    for number in 0..count {
        let record = moved(&models[number % models.len()], number, &mut luck);
        bytes += to_json_line(&record).map_or(0, |line| line.len());
        let Record::Measured(reading) = &record else { continue };
        let path = Path::new(&reading.photo.path);
        let sha256 = reading.photo.sha256.as_deref().unwrap_or_default();
        let settings_sha256 = &reading.made_by.settings_sha256;
        let shot = Shot { sha256, path, settings_sha256, sheet: reading.sheet.as_ref() };
        let begun = Instant::now();
        ledger.keep(shot, std::slice::from_ref(&record)).expect("kept");
        adding.push(begun.elapsed());
    }
    let begun = Instant::now();
    ledger.settle();
    println!("bringing it all into one file: {:.0} ms", ms(begun.elapsed()));
    let size = ledger.path().metadata().map_or(0, |m| m.len());
    let flush = flushes(folder.path());
    adding.sort();
    let (median, last) = (adding[count / 2], adding[count - 1 - count / 100]);
    println!("{count} readings");
    println!(
        "adding one: median {:.2} ms, 99th percentile {:.2} ms; {:.1} times writing 4 kB and flushing it ({:.2} ms)",
        ms(median),
        ms(last),
        median.as_secs_f64() / flush.as_secs_f64(),
        ms(flush)
    );
    println!(
        "room: {:.1} MB, {:.0} bytes a reading, {:.2} of the records as text; 100,000 would take {:.0} MB",
        size as f64 / 1e6,
        size as f64 / count as f64,
        size as f64 / bytes as f64,
        size as f64 / count as f64 / 10.0
    );
    let targets = Targets::load("three-colour-low-fired").expect("built in");
    let begun = Instant::now();
    let look = Ledger::look(ledger.path()).expect("opened");
    let (points, _) = look.points("white").expect("points");
    let read = begun.elapsed();
    let trend = Trend::new(points, "white", TrendValue::Distance, TrendBy::Date, &targets, Vec::new());
    let text = sherdlight::report::trend_table(&trend);
    let chart = sherdlight::report::trend_chart(&trend);
    let all = begun.elapsed();
    println!(
        "trend: {:.0} ms ({:.0} ms reading {} points), {:.2} of the time to write the table and chart twice over: {} and {} kB",
        ms(all),
        ms(read),
        trend.points.len(),
        all.as_secs_f64() / (2.0 * (all - read).as_secs_f64()),
        text.len() / 1000,
        chart.len() / 1000
    );
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

fn demo_readings() -> Vec<Reading> {
    let settings = Settings::new().expect("built in");
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-images");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .expect("demo images")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|ending| ending == "jpg"))
        .collect();
    paths.sort();
    paths
        .iter()
        .flat_map(|path| measure(path, &settings).map_or_else(|_| Vec::new(), |m| m.readings))
        .collect()
}

/// Another photograph of the same kind: numbers moved, another hash, one of forty pieces of a firing.
fn moved(model: &Reading, number: usize, luck: &mut Luck) -> Record {
    let mut reading = model.clone();
    let mut shift = |value: &mut f64, by: f64| *value += by * (luck.next() - 0.5);
    // Another size at another place: the outline's steps come out otherwise.
    let [mut dx, mut dy, mut size] = [400.0, 400.0, 1.0];
    [(&mut dx, 600.0), (&mut dy, 600.0), (&mut size, 0.3)].into_iter().for_each(|(v, by)| shift(v, by));
    for [x, y] in &mut reading.piece.outline_px {
        (*x, *y) = ((*x * size + dx).round(), (*y * size + dy).round());
    }
    for patch in &mut reading.card.patches {
        patch.rgb_linear.iter_mut().for_each(|v| shift(v, 0.02));
        patch.centre_px.iter_mut().for_each(|v| shift(v, 300.0));
        patch.lab_corrected.iter_mut().for_each(|v| shift(v, 2.0));
    }
    let of = &mut reading.surfaces;
    for surface in [&mut of.white, &mut of.red, &mut of.black].into_iter().flatten() {
        surface.lab.iter_mut().chain(&mut surface.u95).chain(&mut surface.lch).for_each(|v| shift(v, 2.0));
    }
    let name = format!("shot-{number:06}");
    reading.photo.path = format!("{name}.jpg");
    reading.photo.sha256 = Some(format!("{:064x}", number + 1));
    let minute = number % 60;
    let (hour, day, year) = (number / 60 % 24, number / 1440 % 28 + 1, 2000 + number / 40_320);
    reading.photo.taken = Some(format!("{year}-05-{day:02}T{hour:02}:{minute:02}:00"));
    reading.sheet = Some(SheetRow {
        piece: Some(name),
        firing: Some(format!("firing {:04}", number / 40)),
        slip: Some(format!("white batch {}", number / 4000)),
        ..SheetRow::default()
    });
    Record::Measured(Box::new(reading))
}

/// Median time to write 4 kB and flush them to the disk: what any ledger must do at least.
fn flushes(folder: &Path) -> Duration {
    let mut file = File::create(folder.join("flush")).expect("a file");
    let mut times: Vec<Duration> = (0..200)
        .map(|_| {
            let begun = Instant::now();
            file.write_all(&[7; 4096]).and_then(|()| file.sync_data()).expect("written");
            begun.elapsed()
        })
        .collect();
    times.sort();
    times[100]
}

/// A linear congruential generator (Knuth's MMIX constants, from memory): numbers in 0 to 1.
struct Luck(u64);

impl Luck {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}
