//! Time of many readings, and charts to look at.

use crate::luck::{Kind, Luck};
use sherdlight::ledger::trend::{Trend, TrendBy, TrendPoint, TrendValue};
use sherdlight::reading::to_json_line;
use sherdlight::report::{trend_chart, trend_table};
use sherdlight::verdict::Targets;
use std::path::Path;
use std::time::Instant;

/// White slip of a season: scatter 1.2 in L*, `drop` less from the piece `onset` on, five pieces a firing.
fn season(count: usize, onset: usize, drop: f64) -> Vec<TrendPoint> {
    let mut luck = Luck::new(42);
    let shared = luck.series(Kind::Firings { size: 5, alike: 0.3 }, count);
    (0..count)
        .map(|at| {
            let l = 84.0 + 1.2 * shared[at] - if at >= onset { drop } else { 0.0 };
            TrendPoint {
                piece: format!("bowl {}", at + 1),
                firing: Some(format!("{}", at / 5 + 1)),
                taken: Some(time(at)),
                batch: Some(if at < onset { "white 1" } else { "white 2" }.into()),
                photo: format!("bowl-{}.jpg", at + 1),
                lab: [l, 2.0 + 0.3 * luck.normal(), 11.0 + 0.6 * luck.normal()],
                u95: [2.1, 0.7, 0.9],
                area_fraction: 0.4,
                ..TrendPoint::default()
            }
        })
        .collect()
}

/// Twenty minutes from photograph to photograph.
fn time(at: usize) -> String {
    let (day, minute) = (at / 72, at % 72 * 20);
    let (month, day) = (day / 28, day % 28 + 1);
    format!("{}-{:02}-{day:02}T{:02}:{:02}:00", 2020 + month / 12, month % 12 + 1, minute / 60, minute % 60)
}

/// Times table and JSON of 100 000 readings.
#[allow(clippy::print_stdout, clippy::unwrap_used)]
pub fn speed() {
    let targets = Targets::load("three-colour-low-fired").unwrap();
    for by in [TrendBy::Date, TrendBy::Firing] {
        let mut points = season(100_000, 60_000, 3.0);
        points.reverse();
        // Once unmeasured, so that threads and tables are there.
        drop(Trend::new(points[..1000].to_vec(), "white", TrendValue::Distance, by, &targets, vec![]));
        let start = Instant::now();
        let trend = Trend::new(points, "white", TrendValue::Distance, by, &targets, vec![]);
        let built = start.elapsed();
        let table = trend_table(&trend);
        let tabled = start.elapsed();
        let json = to_json_line(&trend).unwrap();
        let written = start.elapsed();
        let chart = trend_chart(&trend);
        let drawn = start.elapsed();
        println!(
            "100000 readings {by:?}: numbers {:.3} s, table {:.3} s, JSON {:.3} s, chart {:.3} s; in all {:.3} s; {} drifts",
            built.as_secs_f64(),
            (tabled - built).as_secs_f64(),
            (written - tabled).as_secs_f64(),
            (drawn - written).as_secs_f64(),
            drawn.as_secs_f64(),
            trend.calls.len()
        );
        println!("  bytes: table {}, JSON {}, chart {}", table.len(), json.len(), chart.len());
    }
}

/// Writes charts and tables of a few sizes into a folder that exists.
#[allow(clippy::print_stdout, clippy::unwrap_used)]
pub fn charts(folder: &str) {
    let targets = Targets::load("three-colour-low-fired").unwrap();
    for (count, onset) in [(3, 99), (11, 99), (60, 35), (250, 120), (2000, 1200), (100_000, 60_000)] {
        for (by, value) in [
            (TrendBy::Date, TrendValue::Distance),
            (TrendBy::Date, TrendValue::Lightness),
            (TrendBy::Firing, TrendValue::Lightness),
        ] {
            let trend = Trend::new(season(count, onset, 5.0), "white", value, by, &targets, vec![]);
            let name =
                format!("{count}-{}-{}", value.name(), if by == TrendBy::Firing { "firing" } else { "date" });
            let chart = trend_chart(&trend);
            println!("{name}: {} bytes. {}", chart.len(), trend.finding.text);
            std::fs::write(Path::new(folder).join(format!("{name}.svg")), chart).unwrap();
            std::fs::write(Path::new(folder).join(format!("{name}.txt")), trend_table(&trend)).unwrap();
        }
    }
}
