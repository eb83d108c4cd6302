//! Charts of one piece: its ranges, its card, its reference.

use super::*;

#[test]
fn a_reading_stands_in_its_ranges() {
    let mut reading = crate::records::reading("a.jpg", 'a', None);
    reading.surfaces.white.as_mut().unwrap().lab[0] = 73.5;
    reading.surfaces.black.as_mut().unwrap().lab[0] = 50.0;
    reading.surfaces.red = None;
    let svg = ranges_chart("ranges", &reading, &targets());
    assert_eq!(svg, ranges_chart("ranges", &reading, &targets()));
    let chart = checked(&svg, "ranges");
    // White L* and C*, black L*, two contrasts, paint, clouds; none of red.
    let at = middles(&chart);
    assert_eq!(at.len(), 7);
    assert!((at[0][0] - area(&chart, AIM).unwrap()[0]).abs() < 0.02, "73.5 is where the aim begins");
    let said = description(&chart);
    assert!(said.contains("Black L* 50.0\u{a0}±\u{a0}3.1: outside the accepted range (22 to 38)."), "{said}");
    assert!(!said.contains("Red"));
    // Only what lies outside is a diamond.
    assert_eq!(named(&chart, "polygon").count(), 1);
    let texts: Vec<&str> = named(&chart, "text").filter_map(|t| t.text()).collect();
    for wanted in ["73.5 ± 2.1 L*", "85 %", "73.5", "13.2 ± 1.4 times", "98 ± 2 %"] {
        assert!(texts.contains(&wanted), "{wanted}: {texts:?}");
    }
    reading.surfaces.white.as_mut().unwrap().u95 = [f64::NAN; 3];
    reading.contrast.as_mut().unwrap().delta_l = f64::INFINITY;
    let svg = ranges_chart("ranges", &reading, &targets());
    assert_eq!(middles(&checked(&svg, "ranges")).len(), 6);
}

#[test]
fn bars_of_the_card_are_its_colour_differences() {
    let svg = residual_chart("card", &card(3));
    let chart = checked(&svg, "card");
    let bars: Vec<Node> = named(&chart, "g")
        .map(|group| group.children().find(|n| n.tag_name().name() == "rect").unwrap())
        .collect();
    let heights: Vec<f64> = bars.iter().map(|bar| number(bar, "height")).collect();
    assert!((heights[1] / heights[0] - 27.1492 / 2.0425).abs() < 0.02, "{heights:?}");
    assert!((heights[2] / heights[0] - 1.2644 / 2.0425).abs() < 0.002, "{heights:?}");
    // The mean was set to the first residual: its line lies on the first bar's top.
    let line = named(&chart, "line").find(|l| l.attribute("stroke-dasharray").is_some()).unwrap();
    assert!((number(&line, "y1") - number(&bars[0], "y")).abs() < 0.02);
    assert_eq!(bars[2].attribute("fill"), Some("url(#card-hatching)"));
    assert!(named(&chart, "text").any(|t| t.text().is_some_and(|t| t.contains("glare (3)"))));
    let said = description(&chart);
    assert!(said.contains("27.1 at most, patch 2") && said.contains("Not used, glare: 3."), "{said}");
    for (patches, rows) in [(24, 1), (96, 3), (140, 4)] {
        let svg = residual_chart("card", &card(patches));
        let chart = checked(&svg, "card");
        assert_eq!(named(&chart, "g").count(), patches);
        assert_eq!(named(&chart, "text").filter(|t| t.text() == Some("CIEDE2000")).count(), rows);
    }
    let mut broken = card(24);
    broken.patches[0].lab_corrected = [f64::NAN; 3];
    broken.held_out_de00 = None;
    checked(&residual_chart("card", &broken), "card");
}

fn difference(surface: &str, lch: [f64; 3], differs: bool) -> Difference {
    let in_one_light = ColourDifference {
        de00: 4.2,
        de00_interval: [2.0, 6.5],
        delta_lch: lch,
        u95_lch: [2.0, 3.0, 180.0],
        ..ColourDifference::default()
    };
    let words = if differs { "lighter, redder" } else { "not told apart" }.into();
    Difference { surface: surface.into(), in_one_light, differs, words, ..Difference::default() }
}

#[test]
fn differences_stand_about_zero() {
    let found = Comparison {
        differences: vec![
            difference("white", [0.0, -4.0, 10.0], false),
            difference("black", [8.0, 4.0, -10.0], true),
            difference("body", [f64::NAN, 1.0, 0.0], false),
        ],
        contrast: Some(ContrastDifference {
            log_ratio: 0.5f64.ln(),
            u95: 0.2,
            differs: true,
            ..Default::default()
        }),
        ..Comparison::default()
    };
    let svg = difference_chart("match", &found);
    let chart = checked(&svg, "match");
    let at = middles(&chart);
    assert_eq!(at.len(), 3 + 3 + 2 + 1);
    // Zero is the thick line of the column; equal and opposite values stand as far to either side.
    let zero = named(&chart, "line").find(|l| l.attribute("stroke-width") == Some("1.4")).unwrap();
    assert!((number(&zero, "x1") - at[0][0]).abs() < 0.02 && at[3][0] > at[0][0]);
    let middle = (at[1][0] + at[4][0]) / 2.0;
    let chroma = named(&chart, "line").filter(|l| l.attribute("stroke-width") == Some("1.4")).nth(1).unwrap();
    assert!((number(&chroma, "x1") - middle).abs() < 0.02);
    // A ratio of one half stands to the left of 1, at the place of its tick.
    let tick = named(&chart, "text").find(|t| t.text() == Some("0.5")).unwrap();
    assert!((number(&tick, "x") - at[8][0]).abs() < 0.02);
    let hollow = named(&chart, "circle").filter(|c| c.attribute("fill") == Some(PAPER)).count();
    assert_eq!(hollow, 5, "white and body are not told apart");
    let said = description(&chart);
    assert!(
        said.starts_with(
            "The difference is real in black and white : black; not told apart: white and body."
        )
    );
    assert!(said.contains("0.50 (0.41 to 0.61)"), "{said}");
}

#[test]
fn without_a_card_the_tones_are_shown() {
    let tone = |surface: &str, log_ratio, differs| ToneDifference {
        surface: surface.into(),
        log_ratio,
        u95: 0.3,
        differs,
        ..ToneDifference::default()
    };
    let found = Comparison {
        tones: vec![tone("white", 0.0, false), tone("black", -0.6, true), tone("red", f64::NAN, false)],
        ..Comparison::default()
    };
    let svg = difference_chart("match", &found);
    let chart = checked(&svg, "match");
    let at = middles(&chart);
    assert!(at.len() == 2 && at[1][0] < at[0][0]);
    assert!(!svg.contains("chroma") && description(&chart).contains("darker in its piece"));
}
