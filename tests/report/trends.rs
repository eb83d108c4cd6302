//! The trend as table and chart, from literal records.

use crate::support::balanced;
use sherdlight::ledger::trend::{Trend, TrendBy, TrendLeftOut, TrendValue, points_of};
use sherdlight::reading::*;
use sherdlight::report::*;
use sherdlight::verdict::Targets;

pub fn series() -> Vec<Record> {
    let day = |path: &str, taken: Option<&str>, l: f64, firing: &str| {
        let mut reading = crate::records::reading(path, 'd', taken);
        let white = reading.surfaces.white.as_mut().unwrap();
        white.lab[0] = l;
        white.whiteness.as_mut().unwrap().valid = l > 84.0;
        reading.sheet = Some(SheetRow { firing: Some(firing.into()), ..SheetRow::default() });
        crate::records::measured(reading)
    };
    vec![
        day("late.jpg", Some("2026-06-01T10:00:00.120"), 80.0, "June"),
        day("early.jpg", Some("2026-04-01T10:00:00+02:00"), 85.0, "April <1>"),
        day("middle.jpg", Some("2026-05-01T10:00:00"), 83.0, "April <1>"),
        crate::records::failed(crate::records::failure("x.jpg", "truncated", "The file ends early.")),
    ]
}

pub fn trend(records: &[Record], value: TrendValue) -> Trend {
    let (points, without) = points_of(records, "white");
    let left_out = vec![TrendLeftOut { reason: "without this surface".into(), count: without }];
    let targets = Targets::load("three-colour-low-fired").unwrap();
    Trend::new(points, "white", value, TrendBy::Date, &targets, left_out)
}

#[test]
fn a_trend_runs_in_time_and_says_so() {
    let found = trend(&series(), TrendValue::Distance);
    let order: Vec<&str> = found.points.iter().filter_map(|point| point.piece.as_deref()).collect();
    assert_eq!(order, ["early", "middle", "late"]);
    assert_eq!(found.order, "time");
    assert_eq!(found.left_out, [TrendLeftOut { reason: "without this surface".into(), count: 1 }]);
    let mut undated = series();
    if let Record::Measured(reading) = &mut undated[1] {
        reading.photo.taken = None;
    }
    let given = trend(&undated, TrendValue::Distance);
    assert_eq!((given.order, given.points[0].piece.as_deref()), ("given", Some("late")));
    assert!(trend_table(&given).contains("in the order given"));
    assert_eq!(points_of(&series(), "smudged").0.len(), 0);
}

#[test]
fn the_trend_table_is_aligned() {
    let table = trend_table(&trend(&series(), TrendValue::Distance));
    let rows: Vec<&str> = table.lines().skip(3).take(4).collect();
    let ends: Vec<usize> = rows.iter().map(|row| row.chars().count()).collect();
    assert!(ends.windows(2).all(|pair| pair[0] == pair[1]), "{table}");
    assert!(rows[1].contains("85.0 ± 2.1") && rows[1].contains("April <1>"), "{table}");
    assert!(table.contains("Too few to call a drift: 3 of 20 readings."), "{table}");
    assert!(table.contains("1 reading is left out, without this surface."), "{table}");
    // An index outside its limits is not shown: one of three is left.
    let white = trend(&series(), TrendValue::Whiteness);
    assert_eq!((white.points.len(), white.points[0].value), (1, Some(12.5)));
    assert!(trend_table(&white).contains("2 readings are left out, whose colour lies outside"));
}

#[test]
fn the_trend_chart_is_well_formed_and_true() {
    let found = trend(&series(), TrendValue::Distance);
    let svg = trend_chart(&found);
    assert_eq!(svg, trend_chart(&found));
    balanced(&svg);
    assert!(
        svg.contains("<title id=\"trend-title\">") && svg.contains("<desc id=\"trend-description\">Too few")
    );
    assert_eq!(svg.matches("<circle").count(), 9, "three readings in three panels");
    assert!(svg.contains("April &lt;1&gt;") && svg.contains("stroke-dasharray"));
    // Heights of the L* dots, in the second panel, go with L*: 85, 83, 80 stand at equal steps of 2 and 3.
    let heights: Vec<f64> = svg
        .split("<circle")
        .skip(4)
        .take(3)
        .map(|part| part.split("cy=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap())
        .collect();
    let (first, second) = (heights[1] - heights[0], heights[2] - heights[1]);
    assert!(first > 0.0 && (first / second - 2.0 / 3.0).abs() < 1e-2, "{heights:?}");
    for one in [1usize, 200, 700] {
        let many: Vec<Record> = series()[..1].iter().cycle().take(one).cloned().collect();
        balanced(&trend_chart(&trend(&many, TrendValue::Lightness)));
    }
}
