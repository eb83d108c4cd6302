//! The charts of a report, read as XML: what they say, where things stand, and that they can be seen.

use crate::page::contrast_ratio;
use roxmltree::{Document, Node};
use sherdlight::reading::*;
use sherdlight::report::*;
use sherdlight::verdict::{Quantity, Range, Target, Targets};
use std::collections::BTreeSet;

/// Names made to break out of markup, lines and rooms.
const WICKED: &str = "</title><script>alert(1)</script>\"'&\u{202e}\u{7}\u{0}\t";

/// The ground of all charts.
const PAPER: &str = "#fffdf9";

fn target(surface: &str, value: Quantity, aim: Range, accept: Range) -> Target {
    Target { surface: surface.into(), value, aim, accept, fully_off: None }
}

/// White and paint open upwards, black closed, contrast open.
fn targets() -> Targets {
    let mut targets = Targets::load("three-colour-low-fired").unwrap();
    for one in [
        target("white", Quantity::Lightness, [Some(73.5), None], [Some(71.0), None]),
        target("black", Quantity::Lightness, [Some(24.0), Some(36.0)], [Some(22.0), Some(38.0)]),
        target("contrast", Quantity::DeltaLightness, [Some(42.0), None], [Some(38.0), None]),
        target("paint", Quantity::RetainedFraction, [Some(0.85), None], [Some(0.8), None]),
    ] {
        targets.set(one);
    }
    targets
}

fn mark(number: usize, white: f64, black: f64) -> LoadMark {
    LoadMark {
        number,
        name: format!("Jar {number}"),
        grade: [Grade::Sound, Grade::Marginal, Grade::Faulty, Grade::CannotTell][number % 4],
        white: Some([white, 3.0]),
        black: Some([black, 2.5]),
        kept: Some([0.9, 0.05]),
        contrast: Some([white - black, 3.5]),
    }
}

/// Forty pieces scattered as a load is, by a fixed linear congruence (seed 7).
fn forty() -> Vec<LoadMark> {
    let mut seed = 7u64;
    let mut chance = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as f64 / (1u64 << 31) as f64
    };
    (1..=40).map(|n| mark(n, 82.0 - 14.0 * chance() * chance(), 27.0 + 20.0 * chance() * chance())).collect()
}

/// A chart as XML, with all that holds for every chart checked.
fn checked<'a>(svg: &'a str, id: &str) -> Document<'a> {
    let chart = Document::parse(svg).unwrap_or_else(|e| panic!("{e}: {svg}"));
    let root = chart.root_element();
    assert!(root.has_tag_name(("http://www.w3.org/2000/svg", "svg")));
    let labels = format!("{id}-title {id}-description");
    assert_eq!(root.attribute("aria-labelledby"), Some(labels.as_str()));
    for (name, end) in [("title", "title"), ("desc", "description")] {
        let found = root.children().find(|node| node.tag_name().name() == name).unwrap();
        assert_eq!(found.attribute("id"), Some(format!("{id}-{end}").as_str()));
        assert!(found.text().unwrap().len() > 8);
    }
    let mut ids = BTreeSet::new();
    for node in chart.descendants().filter(Node::is_element) {
        let name = node.tag_name().name();
        assert!(name != "style" && name != "script" && node.attribute("style").is_none());
        for attribute in node.attributes() {
            let value = attribute.value();
            match attribute.name() {
                "id" => assert!(value.starts_with(&format!("{id}-")) && ids.insert(value), "{value}"),
                "x" | "y" | "x1" | "x2" | "y1" | "y2" | "cx" | "cy" | "r" | "width" | "height"
                | "stroke-width" => {
                    assert!(value.parse::<f64>().is_ok_and(|v| v.abs() < 2500.0), "{name} {value}");
                }
                "font-size" => assert!(value.parse::<f64>().unwrap() >= 11.0),
                "points" | "d" => assert!(!value.contains("NaN") && !value.contains("inf")),
                "fill" if value.starts_with("url(") => assert!(value.starts_with(&format!("url(#{id}-"))),
                _ => {}
            }
        }
        let text = node.text().unwrap_or_default();
        assert!(
            !text.contains("NaN") && text != "inf" && !text.contains(" inf") && !text.contains('\u{202e}')
        );
    }
    seen(&chart);
    chart
}

fn number(node: &Node, name: &str) -> f64 {
    node.attribute(name).unwrap_or_else(|| panic!("no {name} in {node:?}")).parse().unwrap()
}

fn named<'a, 'i>(chart: &'a Document<'i>, name: &'static str) -> impl Iterator<Item = Node<'a, 'i>> {
    chart.descendants().filter(move |node| node.tag_name().name() == name)
}

/// The colour that lies at a place before `node` is drawn: that of the last filled rectangle there.
fn ground<'a>(chart: &'a Document, node: &Node, [x, y]: [f64; 2]) -> &'a str {
    let inside = |rect: &Node| {
        let [left, top] = ["x", "y"].map(|n| rect.attribute(n).map_or(0.0, |_| number(rect, n)));
        (left..=left + number(rect, "width")).contains(&x)
            && (top..=top + number(rect, "height")).contains(&y)
    };
    named(chart, "rect")
        .filter(|rect| rect.range().start < node.range().start)
        .filter(|rect| rect.attribute("fill").is_some_and(|fill| fill.starts_with('#')) && inside(rect))
        .last()
        .and_then(|rect| rect.attribute("fill"))
        .unwrap_or(PAPER)
}

/// WCAG 2.2, criteria 1.4.3 and 1.4.11, by the contrast ratio of its glossary: words 4.5 : 1 against what lies behind
/// them, marks 3 : 1 in fill or edge.
fn seen(chart: &Document) {
    for words in named(chart, "text") {
        let at = [number(&words, "x"), number(&words, "y")];
        let behind = words.attribute("stroke").unwrap_or_else(|| ground(chart, &words, at));
        let ratio = contrast_ratio(words.attribute("fill").unwrap(), behind);
        assert!(ratio >= 4.5, "{:?}: {ratio:.2} on {behind}", words.text());
    }
    let meant = |node: &Node| ["circle", "polygon", "polyline"].contains(&node.tag_name().name());
    for shape in chart.descendants().filter(meant) {
        let at = match shape.attribute("points") {
            Some(points) => {
                let (x, y) = points.split(' ').next().unwrap().split_once(',').unwrap();
                [x.parse().unwrap(), y.parse().unwrap()]
            }
            None => [number(&shape, "cx"), number(&shape, "cy")],
        };
        let behind = ground(chart, &shape, at);
        let colours = ["fill", "stroke"].into_iter().filter_map(|name| shape.attribute(name));
        let best = colours
            .filter(|colour| colour.starts_with('#'))
            .map(|colour| contrast_ratio(colour, behind))
            .fold(0.0, f64::max);
        assert!(best >= 3.0, "{shape:?}: {best:.2} on {behind}");
    }
}

fn description(chart: &Document) -> String {
    named(chart, "desc").next().unwrap().text().unwrap().to_owned()
}

/// Middles of the marks of the load chart, in the order of the pieces. A mark is the first shape of a group.
fn middles(chart: &Document) -> Vec<[f64; 2]> {
    let middle = |group: Node| {
        let shape = group.children().filter(Node::is_element).nth(1).unwrap();
        match shape.attribute("points") {
            // A diamond begins at its top and goes on to its right corner.
            Some(points) => {
                let corners: Vec<(f64, f64)> = points
                    .split(' ')
                    .map(|c| {
                        c.split_once(',').map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap())).unwrap()
                    })
                    .collect();
                [corners[0].0, corners[1].1]
            }
            None => [number(&shape, "cx"), number(&shape, "cy")],
        }
    };
    named(chart, "g").map(middle).collect()
}

/// Left, top, right, bottom of the first rectangle of a colour that is larger than a sample of the key.
fn area(chart: &Document, colour: &str) -> Option<[f64; 4]> {
    let rect = named(chart, "rect").find(|r| {
        r.attribute("fill") == Some(colour) && r.attribute("x").is_some() && r.attribute("stroke").is_none()
    })?;
    let [x, y, width, height] = ["x", "y", "width", "height"].map(|name| number(&rect, name));
    Some([x, y, x + width, y + height])
}

const AIM: &str = "#d8c7a6";
const ACCEPT: &str = "#e9dfcf";

#[test]
fn pieces_of_a_load_stand_where_their_values_say() {
    // The second lies on two limits of the aim, the third on one of what is accepted.
    let marks = [mark(1, 80.0, 30.0), mark(2, 73.5, 36.0), mark(3, 76.0, 38.0), mark(4, 60.0, 45.0)];
    let svg = load_chart("load", &marks, &targets());
    assert_eq!(svg, load_chart("load", &marks, &targets()));
    let chart = checked(&svg, "load");
    let at = middles(&chart);
    assert_eq!(at.len(), 4);
    let (aim, accept) = (area(&chart, AIM).unwrap(), area(&chart, ACCEPT).unwrap());
    let near = |one: f64, other: f64| assert!((one - other).abs() < 0.02, "{one} {other}");
    near(at[1][0], aim[2]);
    near(at[1][1], aim[3]);
    near(at[2][0], accept[2]);
    // Darker black to the left, lighter white upwards, on straight scales: 30, 36, 38, 45 and 80, 76, 73.5, 60.
    near((at[1][0] - at[0][0]) / 6.0, (at[3][0] - at[2][0]) / 7.0);
    near((at[2][1] - at[0][1]) / 4.0, (at[3][1] - at[1][1]) / 13.5);
    assert!(at[0][0] < at[1][0] && at[0][1] < at[3][1]);
    // White has no upper limit: both regions begin at the top of the plot.
    near(aim[1], accept[1]);
    let said = description(&chart);
    assert!(said.starts_with(
        "Of 4 pieces with both surfaces seen, 2 lie in the aim; 1 more lies in what is accepted, 1 outside"
    ));
    assert!(said.contains("Black paler than accepted: 4.") && said.contains("common practice"), "{said}");
    // Four grades, four forms: disc, half disc, diamond, dashed ring; each in the plot and in the key.
    assert_eq!(named(&chart, "path").count(), 2);
    assert_eq!(named(&chart, "polygon").filter(|p| p.attribute("fill") == Some("#8f3a1d")).count(), 2);
    assert_eq!(named(&chart, "circle").filter(|c| c.attribute("stroke-dasharray").is_some()).count(), 2);
}

#[test]
fn numbers_of_forty_pieces_cover_neither_each_other_nor_marks() {
    let svg = load_chart("load", &forty(), &targets());
    let chart = checked(&svg, "load");
    let at = middles(&chart);
    // Numbers on a rim are those beside the marks. Digits of 11 pixels are at most 7 wide and 8 high.
    let boxes: Vec<[f64; 4]> = named(&chart, "text")
        .filter(|text| text.attribute("paint-order").is_some())
        .map(|text| {
            let half = 3.5 * text.text().unwrap().len() as f64;
            let (x, y) = (number(&text, "x"), number(&text, "y"));
            [x - half, y - 8.0, x + half, y]
        })
        .collect();
    assert_eq!((at.len(), boxes.len()), (40, 40));
    for (i, one) in boxes.iter().enumerate() {
        for other in &boxes[i + 1..] {
            let apart = one[2] <= other[0] || other[2] <= one[0] || one[3] <= other[1] || other[3] <= one[1];
            assert!(apart, "{one:?} {other:?}");
        }
        for [x, y] in &at {
            let inside = (one[0]..=one[2]).contains(x) && (one[1]..=one[3]).contains(y);
            assert!(!inside, "{one:?} covers the mark at {x}, {y}");
        }
    }
}

#[test]
fn what_is_missing_is_said_and_nothing_is_made_up() {
    let all = [
        load_chart("c", &[], &targets()),
        kept_chart("c", &[], &targets()),
        ranges_chart("c", &Reading::default(), &Targets { values: vec![], ..targets() }),
        residual_chart("c", &CardPart::default()),
        difference_chart("c", &Comparison::default()),
    ];
    for svg in &all {
        let chart = checked(svg, "c");
        assert!(number(&chart.root_element(), "height") < 120.0);
        let said = description(&chart);
        assert!(said.contains("No ") || said.contains("no "), "{said}");
        // What is said is also to be read in the picture.
        assert!(named(&chart, "text").count() >= 2);
    }
    let nan = f64::NAN;
    let marks = [
        LoadMark { white: None, ..mark(1, 80.0, 30.0) },
        LoadMark { black: Some([nan, 1.0]), kept: Some([nan, nan]), ..mark(2, 80.0, 30.0) },
        LoadMark { white: Some([81.0, nan]), kept: None, ..mark(3, 80.0, 30.0) },
        LoadMark {
            white: Some([1e300, f64::INFINITY]),
            contrast: Some([-1e300, 5.0]),
            ..mark(4, 80.0, 30.0)
        },
    ];
    let load = load_chart("load", &marks, &targets());
    assert!(description(&checked(&load, "load")).contains("white or black is not seen: 1 and 2."));
    let kept = kept_chart("kept", &marks, &targets());
    assert_eq!(named(&checked(&kept, "kept"), "text").filter(|t| t.text() == Some("not seen")).count(), 2);
}

#[test]
fn ranges_may_be_absent_or_open() {
    let marks = [mark(1, 80.0, 30.0), mark(2, 60.0, 45.0)];
    let bare = Targets { values: vec![], ..targets() };
    let svg = load_chart("load", &marks, &bare);
    let chart = checked(&svg, "load");
    assert!(area(&chart, AIM).is_none() && description(&chart).contains("have none for L*"));
    let svg = kept_chart("kept", &marks, &bare);
    assert!(area(&checked(&svg, "kept"), AIM).is_none());
    // One surface alone with a range: the region runs over the whole plot the other way.
    let mut white = bare.clone();
    white.set(target("white", Quantity::Lightness, [Some(70.0), None], [None, None]));
    let svg = load_chart("load", &marks, &white);
    let chart = checked(&svg, "load");
    let (aim, at) = (area(&chart, AIM).unwrap(), middles(&chart));
    assert!(aim[0] < at[0][0] && aim[2] > at[1][0] && at[0][1] < aim[3] && at[1][1] > aim[3]);
    assert!(area(&chart, ACCEPT).is_none(), "a range without a limit is no region");
}

#[test]
fn rows_of_the_paint_kept_stand_in_order() {
    let marks: Vec<LoadMark> =
        (1..=100).map(|n| LoadMark { kept: Some([0.01 * n as f64, 0.03]), ..mark(n, 80.0, 38.0) }).collect();
    let svg = kept_chart("kept", &marks, &targets());
    let chart = checked(&svg, "kept");
    let dots: Vec<[f64; 2]> = named(&chart, "circle")
        .filter(|c| c.children().any(|child| child.has_tag_name(("http://www.w3.org/2000/svg", "title"))))
        .map(|c| [number(&c, "cx"), number(&c, "cy")])
        .collect();
    assert_eq!(dots.len(), 200);
    let kept: Vec<[f64; 2]> = dots.iter().step_by(2).copied().collect();
    assert!(kept.windows(2).all(|p| p[1][0] > p[0][0] && (p[1][1] - p[0][1] - 20.0).abs() < 1e-9));
    // Accept and aim begin at 80 and 85 %, and white less black at 42 lies on the edge of its aim.
    assert!((area(&chart, ACCEPT).unwrap()[0] - kept[79][0]).abs() < 0.02);
    assert!((area(&chart, AIM).unwrap()[0] - kept[84][0]).abs() < 0.02);
    let other = named(&chart, "rect").filter(|r| r.attribute("fill") == Some(AIM)).last().unwrap();
    assert!((number(&other, "x") - dots[1][0]).abs() < 0.02);
    assert!(description(&chart).contains("16 in the aim; outside what is accepted: 1, 2, 3"));
}

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

fn card(patches: usize) -> CardPart {
    // Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1) 21-30, table 1, pairs 1, 17 and 25: CIEDE2000 2.0425, 27.1492
    // and 1.2644.
    let pairs = [
        ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485]),
        ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0]),
        ([60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387]),
    ];
    let patch = |n: usize| PatchPart {
        id: (n + 1).to_string(),
        used: n % 10 != 2,
        why_not: (n % 10 == 2).then(|| "glare".into()),
        lab_reference: pairs[n % 3].0,
        lab_corrected: pairs[n % 3].1,
        ..PatchPart::default()
    };
    CardPart {
        patches: (0..patches).map(patch).collect(),
        held_out_de00: Some(ResidualPart { mean: 2.0425, p95: 3.0, max: 4.0 }),
        ..CardPart::default()
    }
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

#[test]
fn names_neither_break_the_markup_nor_the_room() {
    let names = [
        WICKED.repeat(9),
        "m".repeat(300),
        "\u{5e9}\u{5dc}\u{5d5}\u{5dd} ".repeat(60),
        "大".repeat(300),
        "e\u{301}".repeat(300),
    ];
    let marks: Vec<LoadMark> =
        (1..).zip(&names).map(|(n, name)| LoadMark { name: name.clone(), ..mark(n, 80.0, 30.0) }).collect();
    for (svg, id) in [(load_chart("l", &marks, &targets()), "l"), (kept_chart("k", &marks, &targets()), "k")]
    {
        assert!(!svg.contains("<script") && !svg.contains('\u{7}'));
        checked(&svg, id);
    }
    let svg = kept_chart("k", &marks, &targets());
    let chart = checked(&svg, "k");
    let shown: Vec<&str> =
        named(&chart, "text").filter_map(|t| t.text()).filter(|t| t.ends_with('…')).collect();
    assert_eq!(shown.len(), 5);
    // At most 198 pixels: no face draws an m of 12 pixels, or an East Asian letter, narrower than 9.
    assert!(shown[1].chars().count() <= 22 && shown[3].chars().count() <= 22, "{shown:?}");
    assert!(shown.iter().all(|name| name.chars().count() < 60));
    // A patch's name comes from a file.
    let mut card = card(24);
    card.patches[0].id = WICKED.repeat(9);
    card.patches[2].why_not = Some(WICKED.into());
    checked(&residual_chart("card", &card), "card");
}
