//! The trend as a whole: order, values, levels, words, what is left out.

use crate::luck::{Kind, Luck};
use sherdlight::colour::{IndexIlluminant, LabD50, ciede2000, whiteness};
use sherdlight::ledger::trend::*;
use sherdlight::reading::to_json_line;
use sherdlight::report::{trend_chart, trend_table};
use sherdlight::verdict::Targets;

fn targets() -> Targets {
    Targets::load("three-colour-low-fired").unwrap()
}

/// White of `count` pieces, one a firing; from `onset` on L* is `drop` less and the slip another.
fn season(count: usize, onset: usize, drop: f64) -> Vec<TrendPoint> {
    let mut luck = Luck::new(11);
    luck.series(Kind::Normal, count)
        .into_iter()
        .enumerate()
        .map(|(at, scatter)| {
            let late = at >= onset;
            let l = 85.0 + scatter - if late { drop } else { 0.0 };
            TrendPoint {
                piece: format!("bowl {}", at + 1),
                firing: Some(format!("fire {}", at + 1)),
                taken: Some(format!(
                    "{}-{:02}-{:02}T10:00:00",
                    2026 + at / 336,
                    at / 28 % 12 + 1,
                    at % 28 + 1
                )),
                batch: Some(if late { "second bag" } else { "first bag" }.into()),
                photo: format!("{at}.jpg"),
                lab: [l, 1.0, 6.0],
                u95: [2.0, 0.7, 0.9],
                whiteness: (at % 3 > 0)
                    .then(|| whiteness(LabD50 { l, a: 1.0, b: 6.0 }, IndexIlluminant::D65).value),
                area_fraction: 0.4,
                ..TrendPoint::default()
            }
        })
        .collect()
}

fn trend(points: Vec<TrendPoint>, value: TrendValue, by: TrendBy) -> Trend {
    Trend::new(points, "white", value, by, &targets(), vec![])
}

#[test]
fn a_worse_bag_is_told_with_place_size_and_batch() {
    let found = trend(season(60, 35, 4.0), TrendValue::Lightness, TrendBy::Date);
    assert_eq!(found.finding.state, "drift");
    assert_eq!(found.calls.len(), 1, "{:?}", found.calls);
    let call = &found.calls[0];
    assert_eq!((call.direction, call.onset, call.batch_change), ("fell", 36, Some(36)));
    assert!(call.called_at <= 40 && call.lasts);
    assert!((call.size + 4.0).abs() < call.size_u95 && call.size_u95 < 1.0, "{call:?}");
    for said in ["L* of white fell", "bowl 36", "batch changed there from first bag to second bag"] {
        assert!(found.finding.text.contains(said), "{said}: {}", found.finding.text);
    }
    assert_eq!(
        found.batch_changes,
        [BatchChange { at: 36, from: "first bag".into(), to: "second bag".into() }]
    );
    // Two levels, each with the limits of its own values.
    assert_eq!(found.stretches.iter().map(|s| (s.first, s.last)).collect::<Vec<_>>(), [(1, 35), (36, 60)]);
    let late: Vec<f64> = found.points[35..].iter().filter_map(|row| row.value).collect();
    assert_eq!(found.stretches[1].limits, individuals_limits(&late));
    // The distance falls towards an aim and rises away from it.
    let far =
        Trend::new(season(60, 35, 12.0), "white", TrendValue::Distance, TrendBy::Date, &targets(), vec![]);
    assert!(far.finding.text.contains("rose, away from the aim"), "{}", far.finding.text);
}

#[test]
fn few_readings_are_too_few_and_said_so() {
    let found = trend(season(11, 5, 8.0), TrendValue::Lightness, TrendBy::Date);
    assert_eq!(found.finding.state, "too-few");
    assert!(found.finding.text.contains("11 of 20 readings"), "{}", found.finding.text);
    assert_eq!((found.finding.baseline, found.finding.needed), (11, LEAST_BASELINE + NEWEST));
    assert!(found.calls.is_empty());
    // Forty pieces of two fires are two looks at the fire's luck, no more.
    let mut two = season(40, 20, 8.0);
    two.iter_mut().enumerate().for_each(|(at, point)| point.firing = Some(format!("fire {}", at / 20)));
    let found = trend(two, TrendValue::Lightness, TrendBy::Date);
    assert_eq!(found.finding.state, "too-few", "{}", found.finding.text);
    assert!(found.finding.text.contains("2 firings"));
    assert_eq!(trend(vec![], TrendValue::Lightness, TrendBy::Date).finding.state, "no-value");
}

#[test]
fn the_order_given_does_not_matter_where_times_are_there() {
    let points = season(60, 35, 4.0);
    let mut turned = points.clone();
    turned.reverse();
    turned.swap(3, 40);
    // Two photographs of one second.
    let (mut points, mut turned) = (points, turned);
    points
        .iter_mut()
        .chain(&mut turned)
        .filter(|p| p.piece == "bowl 8")
        .for_each(|p| p.taken = Some("2026-01-07T10:00:00".into()));
    for by in [TrendBy::Date, TrendBy::Firing] {
        let one = trend(points.clone(), TrendValue::Distance, by);
        let other = trend(turned.clone(), TrendValue::Distance, by);
        assert_eq!(one.order, "time");
        assert_eq!(to_json_line(&one).unwrap(), to_json_line(&other).unwrap());
        assert_eq!(trend_table(&one), trend_table(&other));
        assert_eq!(trend_chart(&one), trend_chart(&other));
    }
    // The firing's date stands in for the camera's time; without either the order given stays.
    let mut dated = points.clone();
    dated.reverse();
    dated.iter_mut().for_each(|p| p.date = p.taken.take().map(|time| time[..10].into()));
    let found = trend(dated.clone(), TrendValue::Lightness, TrendBy::Date);
    assert_eq!((found.order, found.points[0].piece.as_deref()), ("time", Some("bowl 1")));
    dated[0].date = None;
    let found = trend(dated, TrendValue::Lightness, TrendBy::Date);
    assert_eq!((found.order, found.points[0].piece.as_deref()), ("given", Some("bowl 60")));
}

#[test]
fn a_constant_moves_the_limits_by_it() {
    let points = season(60, 35, 4.0);
    let mut moved = points.clone();
    moved.iter_mut().for_each(|point| point.lab[0] -= 7.25);
    let one = trend(points, TrendValue::Lightness, TrendBy::Date);
    let other = trend(moved, TrendValue::Lightness, TrendBy::Date);
    assert_eq!(one.calls.len(), other.calls.len());
    for (a, b) in one.stretches.iter().zip(&other.stretches) {
        let (a, b) = (a.limits.unwrap(), b.limits.unwrap());
        for (a, b) in [(a.lower, b.lower), (a.centre, b.centre), (a.upper, b.upper)] {
            assert!((a - 7.25 - b).abs() < 1e-9);
        }
    }
}

#[test]
fn values_are_what_they_say_and_the_rest_is_counted() {
    let points = season(30, 99, 0.0);
    let centre = targets().aim_colours["white"];
    let distance = trend(points.clone(), TrendValue::Distance, TrendBy::Date);
    for (row, point) in distance.points.iter().zip(&points) {
        let exact = ciede2000(centre.into(), point.lab.into());
        let [low, high] = row.interval.unwrap();
        assert!((row.value.unwrap() - exact).abs() < 1e-9 && low <= exact && exact <= high);
        assert_eq!((row.l, row.b), (point.lab[0], point.lab[2]), "L* and b* stand beside it");
    }
    let chroma = trend(points.clone(), TrendValue::Chroma, TrendBy::Date);
    assert!((chroma.points[0].value.unwrap() - 1f64.hypot(6.0)).abs() < 1e-12);
    // Whiteness only where it is valid; a third is not.
    let white = trend(points.clone(), TrendValue::Whiteness, TrendBy::Date);
    assert_eq!((white.points.len(), white.left_out[0].count), (20, 10));
    assert!(white.points.iter().all(|row| row.interval.unwrap()[0] < row.value.unwrap()));
    // A surface without a target has no distance, and that is said.
    let mut bare = targets();
    bare.aim_colours.remove("white");
    let found = Trend::new(points, "white", TrendValue::Distance, TrendBy::Date, &bare, vec![]);
    assert_eq!((found.finding.state, found.points.len()), ("no-value", 30));
    assert!(found.points.iter().all(|row| row.value.is_none() && row.l > 0.0));
    assert!(found.finding.text.contains("no aim colour for white"), "{}", found.finding.text);
}

#[test]
fn a_firing_is_the_mean_of_its_pieces() {
    let mut points = season(9, 99, 0.0);
    points
        .iter_mut()
        .enumerate()
        .for_each(|(at, p)| p.firing = (at < 8).then(|| format!("fire {}", at.min(6) / 3)));
    points[1].batch = Some("second bag".into());
    let ls: Vec<f64> = points.iter().map(|p| p.lab[0]).collect();
    let found = trend(points, TrendValue::Lightness, TrendBy::Firing);
    assert_eq!(found.points.iter().map(|row| row.readings).collect::<Vec<_>>(), [3, 3, 2]);
    assert!((found.points[0].value.unwrap() - mean(&ls[..3])).abs() < 1e-12);
    let [low, high] = found.points[0].interval.unwrap();
    assert!(((high - low) / 2.0 - mean_u95(&ls[..3]).unwrap()).abs() < 1e-9);
    assert_eq!(found.left_out, [TrendLeftOut { reason: "whose firing is not known".into(), count: 1 }]);
    assert_eq!(found.points[0].batch, None, "a firing of two batches has none");
    let mut single = season(3, 99, 0.0);
    single[0].firing = None;
    let found = trend(single, TrendValue::Lightness, TrendBy::Firing);
    assert!(
        found.points.iter().all(|row| row.readings == 1 && row.interval.is_none()),
        "one reading tells no scatter"
    );
    assert!(trend_table(&found).contains("not known"));
}

#[test]
fn charts_of_any_number_stay_small_and_show_every_call() {
    for count in [1, 3, 60, 300, 301, 2000, 20_000] {
        let found = trend(season(count, count / 2, 6.0), TrendValue::Lightness, TrendBy::Date);
        let chart = trend_chart(&found);
        assert!(chart.len() < 1_000_000, "{count}: {}", chart.len());
        assert!(chart.starts_with("<svg") && chart.ends_with("</svg>\n"));
        for call in &found.calls {
            assert!(chart.contains(&format!("from about {} on", call.onset_name)), "{count}: {}", call.text);
        }
    }
}

#[test]
fn a_long_table_lists_the_newest_and_counts_all() {
    let found = trend(season(700, 650, 0.0), TrendValue::Lightness, TrendBy::Date);
    let table = trend_table(&found);
    assert!(table.contains("The last 500 points; the 200 before are counted as well"), "{}", &table[..400]);
    assert!(table.contains("Points 1 to "), "levels count from the first");
    let listed = table.lines().filter(|line| line.trim_start().starts_with("700  ")).count();
    let before = table.lines().filter(|line| line.trim_start().starts_with("200  ")).count();
    assert_eq!((listed, before), (1, 0));
}
