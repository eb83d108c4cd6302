//! The figures of a firing: worked by hand, and rules that hold for every log.

use proptest::prelude::*;
use sherdlight::ledger::temperatures::{BrokenKind, Marks, Summary, TemperatureLog, Told, Unit, summary};

fn log(text: &str) -> TemperatureLog {
    let read =
        TemperatureLog::read(text.as_bytes(), &Told::default()).unwrap_or_else(|e| panic!("{e}\n{text}"));
    assert!(read.faults.is_empty(), "{:?}", read.faults);
    read.log
}

fn figures(text: &str) -> Summary {
    summary(&log(text), &Marks::default())
}

/// A log of readings, seconds and degrees C of each probe; nothing where there is no reading.
fn written(rows: &[(f64, Vec<Option<f64>>)], unit: Unit) -> String {
    let probes = rows.first().map_or(0, |row| row.1.len());
    let mut text = "time (s)".to_owned();
    (0..probes).for_each(|probe| text += &format!(",p{probe} ({})", unit.letter()));
    text.push('\n');
    for (seconds, values) in rows {
        text += &seconds.to_string();
        for value in values {
            let value = value.map(|c| if unit == Unit::Celsius { c } else { c * 1.8 + 32.0 });
            text += &value.map_or_else(|| ",".into(), |v| format!(",{v}"));
        }
        text.push('\n');
    }
    text
}

/// One probe, read every minute.
fn minutely(of: impl Fn(f64) -> f64, minutes: usize) -> String {
    let rows: Vec<_> = (0..=minutes).map(|m| (60.0 * m as f64, vec![Some(of(m as f64))])).collect();
    written(&rows, Unit::Celsius)
}

/// From 20 to 800 degrees C in 30 minutes and back in 60.
fn triangle(minute: f64) -> f64 {
    if minute <= 30.0 { 20.0 + 26.0 * minute } else { 800.0 - 13.0 * (minute - 30.0) }
}

fn near(value: f64, wanted: f64) {
    assert!((value - wanted).abs() < 1e-9 * wanted.abs().max(1.0), "{value} is not {wanted}");
}

#[test]
fn fixed_points_of_the_two_scales() {
    // Water freezes at 32 F = 0 C and boils at 212 F = 100 C; the scales meet at -40. Exact by the definition
    // C = (F - 32) / 1.8 (NIST SP 811 appendix B.8, from memory).
    for (fahrenheit, celsius) in [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0), (1292.0, 700.0)] {
        near(Unit::Fahrenheit.celsius(fahrenheit), celsius);
        assert_eq!(Unit::Celsius.celsius(celsius), celsius);
    }
}

#[test]
fn a_triangle_is_worked_by_similar_triangles() {
    // The part of the base, 90 minutes, at or above a mark is as the height above it to the whole height of 780:
    // 600: 90 * 200 / 780; 650: 90 * 150 / 780; 700: 90 * 100 / 780; 750: 90 * 50 / 780; 800: the point alone.
    // Between 680 and 750: 90 * (120 - 50) / 780.
    let three = "time (min),p0 (C)\n0,20\n30,800\n90,20\n";
    for text in [minutely(triangle, 90), three.to_owned()] {
        let figures = figures(&text);
        let probe = &figures.probes[0];
        near(figures.minutes, 90.0);
        for (above, height) in probe.above.iter().zip([200.0, 150.0, 100.0, 50.0, 0.0]) {
            near(above.minutes, 90.0 * height / 780.0);
        }
        near(probe.window_minutes.unwrap(), 90.0 * 70.0 / 780.0);
        let peak = probe.peak.as_ref().unwrap();
        assert_eq!((peak.celsius, peak.at.minutes), (800.0, 30.0));
        // Straight sides: 780 / 30 and 780 / 60 everywhere.
        near(probe.heating_celsius_per_minute.unwrap(), 26.0);
        near(probe.heating_steepest.as_ref().unwrap().celsius_per_minute, 26.0);
        near(probe.cooling_steepest.as_ref().unwrap().celsius_per_minute, 13.0);
        near(probe.cooling_first_celsius_per_minute.unwrap(), 13.0);
        assert!(probe.gaps.is_empty() && probe.broken.is_empty());
        near(probe.known_minutes, 90.0);
        assert_eq!(probe.unknown_minutes, 0.0);
        assert!(figures.spread.is_none() && figures.peaks_celsius.is_none());
        assert_eq!(figures.remarks[0], "One probe tells the heat where it sat and never describes a load.");
    }
}

#[test]
fn a_hold_lies_inside_the_window_to_its_edge() {
    // 10 minutes up by 73 a minute from 20 to 750, 7 held there, 10 down.
    // At or above 750: the 7 minutes. Inside 680 to 750: 7 + 2 * 70 / 73.
    let of = |m: f64| if m <= 10.0 { 20.0 + 73.0 * m } else { 750.0 - 73.0 * (m - 17.0).max(0.0) };
    let figures = figures(&minutely(of, 27));
    near(figures.probes[0].above[3].minutes, 7.0);
    near(figures.probes[0].window_minutes.unwrap(), 7.0 + 140.0 / 73.0);
}

#[test]
fn rates_are_told_by_their_own_minutes() {
    // 10 a minute for 20 minutes from 0 to 200, 50 a minute for 10 to 700, then down: 20 a minute for 10 to 500,
    // 5 a minute for 40 to 300.
    let of = |m: f64| match m {
        m if m <= 20.0 => 10.0 * m,
        m if m <= 30.0 => 200.0 + 50.0 * (m - 20.0),
        m if m <= 40.0 => 700.0 - 20.0 * (m - 30.0),
        m => 500.0 - 5.0 * (m - 40.0),
    };
    let figures = figures(&minutely(of, 80));
    let probe = &figures.probes[0];
    // 100 is passed at minute 10, the peak is at 30: (700 - 100) / 20.
    near(probe.heating_celsius_per_minute.unwrap(), 30.0);
    let rise = probe.heating_steepest.as_ref().unwrap();
    near(rise.celsius_per_minute, 50.0);
    near(rise.from.minutes, 20.0);
    let fall = probe.cooling_steepest.as_ref().unwrap();
    near(fall.celsius_per_minute, 20.0);
    near(fall.from.minutes, 30.0);
    // 0.9 of 700 is 630, left at minute 33.5. Ten minutes on, at 43.5, it is at 500 - 5 * 3.5 = 482.5:
    // (630 - 482.5) / 10.
    near(probe.cooling_first_celsius_per_minute.unwrap(), 14.75);
}

#[test]
fn what_the_log_does_not_hold_is_none() {
    // It begins hot and ends hot: no heating from 100, no cooling.
    let probe = &figures(&minutely(|m| 300.0 + 10.0 * m, 40)).probes[0];
    assert!(probe.heating_celsius_per_minute.is_none() && probe.cooling_first_celsius_per_minute.is_none());
    assert!(probe.cooling_steepest.is_none());
    // Under five minutes there is no steepest five.
    let probe = &figures(&minutely(|m| 20.0 + 90.0 * m, 4)).probes[0];
    assert!(probe.heating_steepest.is_none());
    // One reading has a peak and no minutes.
    let probe = &figures("time,A (C)\n14:00:30,700\n").probes[0];
    assert!(probe.peak.is_some() && probe.window_minutes.is_none() && probe.above.is_empty());
    // Nothing but an open circuit.
    let all = figures("time,A (C),B (C)\n14:00,OL,20\n14:01,OL,30\n");
    assert!(all.probes[0].peak.is_none() && all.probes[0].usual_interval_seconds.is_some());
    assert!(all.remarks.iter().any(|r| r.contains("A has no sound reading")), "{:?}", all.remarks);
}

#[test]
fn a_gap_is_told_and_its_time_is_unknown() {
    // The triangle without minutes 21 to 39: it passes 600 and all marks above inside the gap, at 22.3 and 45.4.
    let text: String = minutely(triangle, 90)
        .lines()
        .filter(|line| {
            !line
                .split_once(',')
                .and_then(|(t, _)| t.parse::<f64>().ok())
                .is_some_and(|t| t > 1200.0 && t < 2400.0)
        })
        .map(|line| format!("{line}\n"))
        .collect();
    let figures = figures(&text);
    let probe = &figures.probes[0];
    assert_eq!(probe.gaps.len(), 1);
    assert_eq!(
        (probe.gaps[0].from.written.as_deref(), probe.gaps[0].to.written.as_deref()),
        (Some("1200"), Some("2400"))
    );
    near(probe.gaps[0].minutes, 20.0);
    near(probe.unknown_minutes, 20.0);
    near(probe.known_minutes, 70.0);
    // After the gap it stands at 800 - 130 = 670 and falls to 600 in 70 / 13 minutes.
    near(probe.above[0].minutes, 70.0 / 13.0);
    assert_eq!(probe.above[2].minutes, 0.0);
    assert_eq!(probe.peak.as_ref().unwrap().celsius, 670.0);
    assert!(figures.remarks.iter().any(|r| r.contains("least they can be")), "{:?}", figures.remarks);
    // 100 is passed before the gap, at 80 / 26 minutes.
    near(probe.heating_celsius_per_minute.unwrap(), 570.0 / (40.0 - 80.0 / 26.0));
}

/// Two probes on the same triangle, the second one as told.
fn beside(second: impl Fn(usize) -> String) -> Summary {
    let rows: String = (0..=90).map(|m| format!("{m},{},{}\n", triangle(m as f64), second(m))).collect();
    figures(&format!("time (min),A (C),B (C)\n{rows}"))
}

#[test]
fn broken_probes_are_flagged_and_left_out() {
    let sound = |m: usize| (triangle(m as f64) - 10.0).to_string();
    let cases = [
        (BrokenKind::NoReading, 40..=45, "OL"),
        (BrokenKind::OutOfRange, 33..=33, "2048"),
        (BrokenKind::OutOfRange, 20..=22, "-999"),
        // Lead off for a minute at 790 degrees: 790 to 22 and back.
        (BrokenKind::Jump, 30..=31, "22"),
        (BrokenKind::Jump, 10..=10, "650"),
        (BrokenKind::StandsStill, 35..=50, "555.5"),
    ];
    for (kind, minutes, broken) in cases {
        let figures = beside(|m| if minutes.contains(&m) { broken.to_owned() } else { sound(m) });
        assert!(figures.probes[0].broken.is_empty(), "{kind:?}");
        let probe = &figures.probes[1];
        assert_eq!(probe.broken.len(), 1, "{kind:?}: {:?}", probe.broken);
        let found = &probe.broken[0];
        assert_eq!(found.kind, kind);
        assert_eq!(found.readings, minutes.clone().count(), "{kind:?}");
        assert_eq!(found.from.written, Some(minutes.start().to_string()), "{kind:?}");
        assert_eq!(found.to.written, Some(minutes.end().to_string()), "{kind:?}");
        assert!(!found.why.is_empty());
        // From the sound reading before to the sound one after.
        near(probe.unknown_minutes, (minutes.end() - minutes.start() + 2) as f64);
        assert!(probe.peak.as_ref().unwrap().celsius <= 790.0, "{kind:?}");
        near(figures.spread.unwrap().largest_celsius, 10.0);
    }
}

#[test]
fn a_broken_start_or_end_does_not_cost_the_rest() {
    let sound = |m: usize| (triangle(m as f64) - 10.0).to_string();
    // Off at minute 36, at 712 degrees, for good; and a first reading of 900.
    let end = beside(|m| if m >= 36 { "21".into() } else { sound(m) });
    assert_eq!((end.probes[1].broken[0].readings, end.probes[1].readings), (55, 36));
    let start = beside(|m| if m == 0 { "900".into() } else { sound(m) });
    assert_eq!((start.probes[1].broken[0].readings, start.probes[1].readings), (1, 90));
}

#[test]
fn sound_probes_are_not_flagged() {
    // A fast fire: 60 a minute, flicker of 40, read every 5 seconds; a second probe beside it that waits in steam
    // for ten minutes.
    let rows: String = (0..=240)
        .map(|n| {
            let minute = f64::from(n) / 12.0;
            let flicker = if n % 2 == 0 { 20.0 } else { -20.0 };
            let damp =
                if minute < 12.0 { (20.0 + 10.0 * minute).min(99.0) } else { 99.0 + 60.0 * (minute - 12.0) };
            format!("{},{},{damp}\n", 5 * n, 30.0 + 60.0 * minute.min(12.0) + flicker)
        })
        .collect();
    let figures = figures(&format!("time (s),A (C),B (C)\n{rows}"));
    assert!(figures.probes.iter().all(|probe| probe.broken.is_empty()), "{:?}", figures.probes);
}

#[test]
fn the_spread_between_probes() {
    // A rises from 0 to 1000 in 10 minutes, B from 0 to 600: the spread is 40 a minute. A passes 500 at minute 5, so
    // over the time from 5 to 10 it goes evenly from 200 to 400: half of that time it is 300 or less. Largest 400.
    let figures = figures("time (min),A (C),B (C)\n0,0,0\n5,500,300\n10,1000,600\n");
    let spread = figures.spread.unwrap();
    near(spread.largest_celsius, 400.0);
    assert_eq!(spread.largest_at.written.as_deref(), Some("10"));
    near(spread.median_of_minutes, 5.0);
    near(spread.median_celsius.unwrap(), 300.0);
    assert_eq!(figures.peaks_celsius, Some([600.0, 1000.0]));
    // Two lines that cross: 600 and 700 change places in 10 minutes. The spread falls from 100 to 0 and rises again;
    // half of the time it is 50 or less.
    let crossed = summary(&log("time (min),A (C),B (C)\n0,600,700\n10,700,600\n"), &Marks::default());
    near(crossed.spread.as_ref().unwrap().median_celsius.unwrap(), 50.0);
    // Probes read at times of their own are compared on their lines: at 1 minute A is at 610, B at 600.
    let apart =
        summary(&log("time (min),probe,value (C)\n0,A,600\n1,B,600\n2,A,620\n3,B,600\n"), &Marks::default());
    // Both are known from minute 1 to 2: 10 to 20.
    near(apart.spread.as_ref().unwrap().largest_celsius, 20.0);
    near(apart.spread.as_ref().unwrap().median_celsius.unwrap(), 15.0);
}

#[test]
fn sparse_readings_are_remarked() {
    let figures = figures("time (min),A (C)\n0,20\n10,600\n20,700\n");
    assert!(figures.remarks.iter().any(|r| r.contains("every 10.0 minutes")), "{:?}", figures.remarks);
}

/// Every number of a JSON value; the text form of what is not finite would be null.
fn numbers(value: &serde_json::Value, seen: &mut Vec<f64>) {
    match value {
        serde_json::Value::Number(n) => seen.extend(n.as_f64()),
        serde_json::Value::Array(list) => list.iter().for_each(|v| numbers(v, seen)),
        serde_json::Value::Object(map) => map.values().for_each(|v| numbers(v, seen)),
        _ => {}
    }
}

/// Seconds apart and the heat of two probes: steps that no rule for broken probes can take for a fault, and so many
/// that one interval more does not change which are gaps.
fn firing() -> impl Strategy<Value = Vec<(f64, Vec<Option<f64>>)>> {
    prop::collection::vec((20u32..=40, -60i32..=70, -60i32..=70), 8..60).prop_map(|steps| {
        let (mut seconds, mut a, mut b) = (0u32, 400i32, 450i32);
        steps
            .into_iter()
            .map(|(apart, up, other)| {
                seconds += apart;
                a = (a + up).clamp(0, 1200);
                b = (b + other).clamp(0, 1200);
                (f64::from(seconds), vec![Some(f64::from(a)), Some(f64::from(b))])
            })
            .collect()
    })
}

fn of(rows: &[(f64, Vec<Option<f64>>)]) -> Summary {
    figures(&written(rows, Unit::Celsius))
}

/// All figures of two summaries within rounding; texts and moments of steepest rates apart, which may be tied.
fn alike(one: &Summary, other: &Summary) -> Result<(), TestCaseError> {
    let close = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() < 1e-6,
        (a, b) => a == b,
    };
    for (a, b) in one.probes.iter().zip(&other.probes) {
        prop_assert_eq!(&a.name, &b.name);
        prop_assert!(close(a.peak.as_ref().map(|p| p.celsius), b.peak.as_ref().map(|p| p.celsius)));
        for (a, b) in a.above.iter().zip(&b.above) {
            prop_assert!(close(Some(a.minutes), Some(b.minutes)), "{:?} {:?}", a, b);
        }
        prop_assert!(close(a.window_minutes, b.window_minutes));
        prop_assert!(close(a.heating_celsius_per_minute, b.heating_celsius_per_minute));
        prop_assert!(close(a.cooling_first_celsius_per_minute, b.cooling_first_celsius_per_minute));
        let steepest =
            |s: &Option<sherdlight::ledger::temperatures::Steepest>| s.as_ref().map(|s| s.celsius_per_minute);
        prop_assert!(close(steepest(&a.heating_steepest), steepest(&b.heating_steepest)));
        prop_assert!(close(steepest(&a.cooling_steepest), steepest(&b.cooling_steepest)));
    }
    let median = |s: &Summary| s.spread.as_ref().and_then(|s| s.median_celsius);
    let largest = |s: &Summary| s.spread.as_ref().map(|s| s.largest_celsius);
    prop_assert!(close(median(one), median(other)), "{:?} {:?}", median(one), median(other));
    prop_assert!(close(largest(one), largest(other)));
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn both_scales_give_the_same_figures(rows in firing()) {
        alike(&of(&rows), &figures(&written(&rows, Unit::Fahrenheit)))?;
    }

    #[test]
    fn the_order_of_the_probes_does_not_matter(rows in firing()) {
        let mut text = String::new();
        for line in written(&rows, Unit::Celsius).lines() {
            let cells: Vec<&str> = line.split(',').collect();
            text += &format!("{},{},{}\n", cells[0], cells[2], cells[1]);
        }
        let mut turned = figures(&text);
        turned.probes.reverse();
        alike(&of(&rows), &turned)?;
    }

    #[test]
    fn one_row_a_probe_gives_the_same_figures(rows in firing()) {
        let mut text = "time (s),probe,value (C)\n".to_owned();
        for probe in 0..2 {
            for (seconds, values) in &rows {
                text += &format!("{seconds},p{probe},{}\n", values[probe].unwrap());
            }
        }
        alike(&of(&rows), &figures(&text))?;
    }

    #[test]
    fn splitting_an_interval_on_its_line_changes_nothing(rows in firing(), at in 0usize..1000, share in 0.3..0.7f64) {
        let at = at % (rows.len() - 1);
        let (one, other) = (&rows[at], &rows[at + 1]);
        let seconds = one.0 + share * (other.0 - one.0);
        let between = |p: usize| one.1[p].unwrap() + share * (other.1[p].unwrap() - one.1[p].unwrap());
        let mut split = rows.clone();
        split.insert(at + 1, (seconds, vec![Some(between(0)), Some(between(1))]));
        alike(&of(&rows), &of(&split))?;
    }

    #[test]
    fn a_gap_never_raises_the_minutes(rows in firing(), at in 1usize..1000, count in 8usize..20) {
        prop_assume!(rows.len() > 12);
        let at = 1 + at % (rows.len() - 3);
        let mut left = rows.clone();
        left.drain(at..(at + count).min(rows.len() - 1));
        let (whole, left) = (of(&rows), of(&left));
        for (whole, left) in whole.probes.iter().zip(&left.probes).filter(|(_, left)| !left.gaps.is_empty()) {
            for (whole, left) in whole.above.iter().zip(&left.above) {
                prop_assert!(left.minutes <= whole.minutes + 1e-9);
            }
            prop_assert!(left.window_minutes.unwrap() <= whole.window_minutes.unwrap() + 1e-9);
        }
    }

    #[test]
    fn minutes_fall_with_the_mark_and_the_peak_is_a_reading(rows in firing()) {
        let marks = Marks { above: (0..25).map(|n| 50.0 * f64::from(n)).collect(), window: [680.0, 750.0] };
        let figures = summary(&log(&written(&rows, Unit::Celsius)), &marks);
        for (place, probe) in figures.probes.iter().enumerate() {
            prop_assert!(probe.above.windows(2).all(|pair| pair[0].minutes >= pair[1].minutes - 1e-9));
            let highest = rows.iter().filter_map(|row| row.1[place]).fold(f64::MIN, f64::max);
            prop_assert_eq!(probe.peak.as_ref().unwrap().celsius, highest);
            prop_assert!((probe.known_minutes + probe.unknown_minutes - figures.minutes).abs() < 1e-9);
        }
    }

    /// Bytes of a log changed anywhere: no panic, and all that comes out is finite.
    #[test]
    fn changed_bytes_never_panic(
        rows in firing(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), prop_oneof![
            any::<u8>(), prop::sample::select(b"0123456789,;.\":-/ \t\n\r\0eEOLN".to_vec())
        ]), 0..40),
        dated in any::<bool>(),
    ) {
        let mut bytes = written(&rows, Unit::Celsius).into_bytes();
        if dated {
            bytes = b"time,probe,value (C)\n5/3/2026 2:02 PM,A,650\n5/3/2026 2:03 PM,B,OL\n2026-05-03T14:02:10+02:00,A,\"1,5\"\n\
                03.05.2026 14:02;A;650,5\n23:59:59,B,20\n00:00:01,B,---\n".repeat(2);
        }
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        let told = Told { temperature: Some(Unit::Celsius), time: Some(sherdlight::ledger::temperatures::TimeUnit::Seconds) };
        for told in [Told::default(), told] {
            let Ok(read) = TemperatureLog::read(&bytes, &told) else { continue };
            prop_assert!(read.log.rows.windows(2).all(|pair| pair[0].seconds < pair[1].seconds));
            let figures = summary(&read.log, &Marks::default());
            let mut seen = Vec::new();
            numbers(&serde_json::to_value(&figures).unwrap(), &mut seen);
            prop_assert!(seen.iter().all(|n| n.is_finite()));
            // No number became null on the way: those that may be none are options.
            let text = serde_json::to_string(&figures.probes.iter().map(|p| (&p.above, p.known_minutes, p.unknown_minutes, &p.gaps)).collect::<Vec<_>>()).unwrap();
            prop_assert!(!text.contains("null"), "{}", text);
            let _ = sherdlight::report::heat_chart("temperatures", &read.log, &figures);
            let words = sherdlight::report::heat_words(&figures);
            prop_assert!(words.lines().all(|line| line.chars().count() < 100), "{}", words);
            prop_assert_eq!(&figures, &summary(&read.log, &Marks::default()));
        }
    }
}
