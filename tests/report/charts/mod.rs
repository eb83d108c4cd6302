//! The charts of a report, read as XML: what they say, where things stand, and that they can be seen.

mod every;
mod load;
mod piece;

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
