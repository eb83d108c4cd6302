//! The temperatures of a firing as a chart and as words.

use sherdlight::ledger::temperatures::{Marks, TemperatureLog, Told, summary};
use sherdlight::report::{heat_chart, heat_words};

/// A firing with two probes, read every `step` seconds for two hours: 16 minutes without a reading in the first hour,
/// an open circuit of B in the second.
pub fn firing(step: usize) -> String {
    let mut text = "time (s),A (C),B near the rim (C)\n".to_owned();
    for n in 0..=7200 / step {
        let seconds = n * step;
        let minute = seconds as f64 / 60.0;
        if minute > 8.0 && minute < 24.0 {
            continue;
        }
        let heat = |peak: f64, late: f64| {
            let t = minute - late;
            let rise = 1.0 - (-(t.max(0.0)) / 12.0).exp();
            let fall = (-((t - 45.0).max(0.0)) / 40.0).exp();
            20.0 + (peak - 20.0) * rise * fall + 8.0 * (minute * 2.3).sin()
        };
        let b = match minute {
            m if (90.0..100.0).contains(&m) => "OL".into(),
            _ => format!("{:.1}", heat(668.0, 6.0)),
        };
        text += &format!("{seconds},{:.1},{b}\n", heat(738.0, 0.0));
    }
    text
}

fn read(text: &str) -> TemperatureLog {
    TemperatureLog::read(text.as_bytes(), &Told::default()).unwrap().log
}

#[test]
fn the_chart_states_the_finding_and_breaks_its_lines() {
    let log = read(&firing(10));
    let figures = summary(&log, &Marks::default());
    let svg = heat_chart("heat", &log, &figures);
    let described =
        svg.split("<desc id=\"heat-description\">").nth(1).unwrap().split("</desc>").next().unwrap();
    let peak = format!("A peaked at {:.0} °C", figures.probes[0].peak.as_ref().unwrap().celsius);
    assert!(described.contains(&peak) && described.contains("inside 680 to 750 °C"), "{described}");
    // A in two lines, B in three, and one of each in the key.
    assert_eq!(svg.matches("<polyline").count(), 2 + 3 + 2);
    // A is solid, B is dashed.
    assert_eq!(
        svg.matches("<polyline").count() - svg.matches("stroke-linejoin=\"round\" stroke-dasharray").count(),
        3
    );
    assert_eq!(svg, heat_chart("heat", &log, &figures));
}

#[test]
fn long_lines_are_thinned_and_keep_their_peak() {
    // One reading stands out by 5 degrees among 7201.
    let of = |second: usize| if second == 3333 { 725.0 } else { 700.0 + (second % 20) as f64 };
    let text: String = (0..=7200).map(|s| format!("{s},{}\n", of(s))).collect();
    let log = read(&format!("time (s),A (C)\n{text}"));
    let figures = summary(&log, &Marks::default());
    let svg = heat_chart("heat", &log, &figures);
    let line = svg.split("<polyline points=\"").nth(1).unwrap().split('"').next().unwrap();
    let points: Vec<(f64, f64)> = line
        .split(' ')
        .map(|pair| pair.split_once(',').map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap())).unwrap())
        .collect();
    assert!((300..=604).contains(&points.len()), "{}", points.len());
    assert!(points.windows(2).all(|pair| pair[0].0 <= pair[1].0));
    // The dot at the peak lies on the line.
    let dot = svg.split("<circle cx=\"").nth(1).unwrap();
    let of = |name: &str| {
        dot.split(&format!("{name}=\"")).nth(1).unwrap().split('"').next().unwrap().parse::<f64>().unwrap()
    };
    let x: f64 = dot.split('"').next().unwrap().parse().unwrap();
    assert!(points.contains(&(x, of("cy"))));
}

#[test]
fn names_cannot_break_the_chart() {
    let log = read("time (min),\"<b>&\"\"x (C)\"\n0,20\n1,30\n");
    let svg = heat_chart("heat", &log, &summary(&log, &Marks::default()));
    assert!(!svg.contains("<b>") && svg.contains("&lt;b&gt;&amp;&quot;x"));
}

#[test]
fn the_words_fit_a_terminal_and_say_what_is_left_out() {
    let figures = summary(
        &read(&firing(10)),
        &Marks { above: (0..9).map(|n| 600.0 + 25.0 * f64::from(n)).collect(), ..Marks::default() },
    );
    let words = heat_words(&figures);
    assert!(words.lines().all(|line| line.chars().count() < 100), "{words}");
    for wanted in
        ["gap of 16.0 min", "the logger wrote 'OL'", "800 C", "Between the probes", "the load between them"]
    {
        assert!(words.contains(wanted), "{wanted} is missing in\n{words}");
    }
}

#[test]
fn probes_are_told_apart_without_colour() {
    // Seven probes that peak within minutes of each other: neighbours have other patterns.
    let names: String = (1..=7).map(|p| format!(",place {p} (C)")).collect();
    let rows: String = (0..=60)
        .map(|m| {
            let of =
                |p: f64| (700.0 + 4.0 * p) * (-((f64::from(m) - 25.0 - p / 2.0) / 14.0).powi(2)).exp() + 20.0;
            let values: String = (1..=7).map(|p| format!(",{:.1}", of(f64::from(p)))).collect();
            format!("{m}{values}\n")
        })
        .collect();
    let log = read(&format!("time (min){names}\n{rows}"));
    let svg = heat_chart("heat", &log, &summary(&log, &Marks::default()));
    let looks: Vec<&str> = svg
        .split("<polyline")
        .skip(1)
        .map(|l| l.split("stroke-linejoin").nth(1).unwrap().split("/>").next().unwrap())
        .collect();
    assert_eq!(looks.len(), 14);
    for (number, pair) in looks[..7].windows(2).enumerate() {
        assert_ne!(pair[0], pair[1], "{number}");
    }
    // The key shows the line as drawn.
    assert_eq!(looks[..7], looks[7..]);
    for number in 1..=7 {
        assert!(svg.contains(&format!(">{number}</text>")), "{number} is not in the key");
    }
    // Numbers that would lie on each other stand in one label.
    assert!(svg.contains(">1, 2, 3, 4, 5, 6, 7</text>"));
}
