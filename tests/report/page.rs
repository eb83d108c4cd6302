//! The page of a load, the trend, and the record's schema, from literal records.

use serde_json::Value;
use sherdlight::ledger::trend::{Trend, TrendBy, TrendLeftOut, TrendValue, points_of};
use sherdlight::reading::*;
use sherdlight::report::*;
use sherdlight::verdict::Targets;

/// Names made to break out of markup wherever they are put.
const WICKED: &str = "</title><script>alert(1)</script>\"'&.jpg";

fn load() -> Vec<Record> {
    let mut faulty = crate::records::reading("shots/a.jpg", 'a', Some("2026-05-02T18:20:00"));
    faulty.grade = Grade::Faulty;
    faulty.grade_because = vec!["61 % +- 3 % of the paint still reads black; accept begins at 85 %.".into()];
    faulty.sheet = Some(SheetRow {
        piece: Some(WICKED.into()),
        firing: Some("<b>May</b>".into()),
        place: Some("\" onload=\"x".into()),
        ..SheetRow::default()
    });
    faulty.surfaces.black = None;
    faulty.surfaces.white.as_mut().unwrap().u95 = [f64::NAN; 3];
    faulty.contrast = None;
    let mut bare = crate::records::reading("", 'b', None);
    bare.surfaces = Surfaces::default();
    bare.paint = None;
    bare.photo.exposure = None;
    bare.grade = Grade::CannotTell;
    bare.grade_because.clear();
    bare.targets.clear();
    vec![
        crate::records::measured(crate::records::reading(
            &format!("/home/me/secret/{WICKED}"),
            'c',
            Some("2026-05-04T09:00:00"),
        )),
        crate::records::measured(bare),
        crate::records::failed(crate::records::failure(
            WICKED,
            "card-not-found",
            "No card <found>. Lay it beside the pot.",
        )),
        crate::records::measured(faulty),
    ]
}

fn page(records: &[Record]) -> String {
    let white = image::RgbImage::from_pixel(40, 30, image::Rgb([200, 190, 180]));
    let pictures =
        PagePictures::new(&white, &white, &[[10.0, 10.0], [60.0, 10.0], [60.0, 50.0]], 80).unwrap();
    let entries: Vec<PageEntry> = records
        .iter()
        .enumerate()
        .map(|(number, record)| PageEntry { record, pictures: (number == 0).then_some(&pictures) })
        .collect();
    LoadPage::new(WICKED, &entries).html().unwrap()
}

#[test]
fn the_page_asks_nothing_of_any_network_and_runs_nothing() {
    let html = page(&load());
    assert!(!html.contains("http://") && !html.contains("https://"));
    assert!(!html.contains("<script") && !html.contains("<link") && !html.contains("@import"));
    assert_eq!(html.matches("src=").count(), html.matches("src=\"data:image/jpeg;base64,").count());
    assert!(html.contains("src=\"data:"));
    for address in html.split("url(").skip(1) {
        assert!(address.starts_with('#'), "{}", &address[..20]);
    }
    assert!(html.contains("default-src 'none'; img-src data:; style-src 'sha256-"));
    // The policy allows the style sheet by its hash, and no style in attributes.
    let style = html.split("<style>").nth(1).unwrap().split("</style>").next().unwrap();
    assert_eq!(style, STYLE);
    assert!(!html.contains("style=\""));
}

#[test]
fn names_are_never_markup_and_folders_are_not_told() {
    let html = page(&load());
    assert!(!html.contains("alert(1)</script>"));
    assert!(!html.contains("<b>May"));
    assert!(!html.contains("onload=\""));
    assert!(!html.contains("secret"));
    assert!(html.contains("&lt;script&gt;alert(1)"));
    let svg = trend_chart(&trend(&load(), TrendValue::Distance));
    balanced(&svg);
}

#[test]
fn the_page_is_the_same_every_time_and_holds_no_gaps() {
    let records = load();
    let html = page(&records);
    assert_eq!(html, page(&records));
    for gap in ["NaN", "inf", "undefined", "none</dd>"] {
        assert!(!html.contains(gap), "{gap}");
    }
    assert!(page(&[]).contains("No piece was measured."));
}

#[test]
fn the_worst_comes_first_and_everything_is_counted() {
    let html = page(&load());
    let place = |text: &str| html.find(text).unwrap_or_else(|| panic!("'{text}' is missing"));
    assert!(place("61\u{a0}%\u{a0}±\u{a0}3\u{a0}% of the paint") < place("All seven values lie"));
    assert!(html.contains("Of 3 pieces: 1 sound, 1 faulty, 1 cannot be told. One photograph could not"));
    assert!(html.contains("2026-05-02 to 2026-05-04 (2 photographs carry no date)"));
    for text in [
        "lang=\"en\"",
        "No card &lt;found&gt;. Lay it beside the pot.",
        "relates only to the pieces shown",
        "not for food",
        "cccccccccccc",
        "84.2 ± 2.1",
        "84.2 (± not known)",
        // The template escapes a slash too.
        "10YR 8&#x2f;2 (2.1)",
        "1 (glare)",
        "three-colour-low-fired, SHA-256 7a7a7a7a7a7a",
    ] {
        place(text);
    }
    assert!(!html.contains(&"c".repeat(13)), "only twelve digits of a hash");
    // Headings: one of the first level, none skips a level.
    let levels: Vec<u32> =
        html.match_indices("<h").filter_map(|(at, _)| html[at + 2..].chars().next()?.to_digit(10)).collect();
    assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
    assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
    // Every header cell says what it heads, every picture what it shows.
    assert_eq!(html.matches("<th ").count(), html.matches("<th scope=").count());
    assert_eq!(html.matches("<th>").count(), 0);
    assert_eq!(html.matches("<img ").count(), html.matches("alt=\"").count());
    assert_eq!(html.matches("alt=\"\"").count(), 0);
    balanced(html.split("<body>").nth(1).unwrap().split("</body>").next().unwrap());
}

/// WCAG 2.2: relative luminance and contrast ratio, as defined in its glossary.
fn contrast_ratio(one: &str, other: &str) -> f64 {
    let luminance = |hex: &str| {
        let part = |i: usize| f64::from(u8::from_str_radix(&hex[1 + 2 * i..3 + 2 * i], 16).unwrap()) / 255.0;
        let linear = |v: f64| if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) };
        0.2126 * linear(part(0)) + 0.7152 * linear(part(1)) + 0.0722 * linear(part(2))
    };
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[test]
fn text_stands_out_from_paper() {
    // Anchors of the definition: black on white is 21 to 1, a colour on itself 1 to 1.
    assert!((contrast_ratio("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    assert!((contrast_ratio("#777777", "#777777") - 1.0).abs() < 1e-9);
    let colour = |name: &str| {
        let at = STYLE.find(&format!("--{name}: ")).unwrap() + name.len() + 4;
        &STYLE[at..at + 7]
    };
    for text in ["ink", "quiet", "accent"] {
        for ground in ["paper", "sheet"] {
            let ratio = contrast_ratio(colour(text), colour(ground));
            assert!(ratio >= 4.5, "{text} on {ground}: {ratio:.2}");
        }
    }
}

/// Every element is closed in order (elements without content in HTML aside), and no attribute or
/// text holds a bare `<`.
fn balanced(markup: &str) {
    const EMPTY: [&str; 3] = ["img", "br", "meta"];
    let mut open = Vec::new();
    for part in markup.split('<').skip(1) {
        let (tag, text) = part.split_once('>').unwrap_or_else(|| panic!("not closed: <{part}"));
        assert!(!text.contains('>'), "a bare > after <{tag}>: {text}");
        assert_eq!(tag.matches('"').count() % 2, 0, "<{tag}>");
        let name = tag.trim_start_matches('/').split([' ', '/', '\n']).next().unwrap();
        if tag.starts_with('/') {
            assert_eq!(open.pop(), Some(name), "</{name}>");
        } else if !tag.ends_with('/') && !EMPTY.contains(&name) {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "{open:?}");
}

fn series() -> Vec<Record> {
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

fn trend(records: &[Record], value: TrendValue) -> Trend {
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

/// Checks a value against the parts of JSON Schema 2020-12 that the schema uses; an unknown
/// keyword is an error, so that the schema cannot say what is not checked.
fn check(root: &Value, schema: &Value, value: &Value, at: &str) -> Result<(), String> {
    let failed = |what: &str| Err(format!("{at}: {what}: {value}"));
    let is = |name: &str| match name {
        "integer" => value.is_u64() || value.is_i64(),
        "number" => value.is_number(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "array" => value.is_array(),
        "object" => value.is_object(),
        "null" => value.is_null(),
        other => panic!("unknown type {other}"),
    };
    for (keyword, wanted) in schema.as_object().unwrap() {
        let holds = match keyword.as_str() {
            "$schema" | "$id" | "$defs" | "title" | "description" | "properties" => true,
            "$ref" => {
                let target = root.pointer(wanted.as_str().unwrap().trim_start_matches('#')).unwrap();
                check(root, target, value, at)?;
                true
            }
            "oneOf" => {
                let fits = |part: &&Value| check(root, part, value, at).is_ok();
                wanted.as_array().unwrap().iter().filter(fits).count() == 1
            }
            "type" => match wanted {
                Value::String(name) => is(name),
                several => several.as_array().unwrap().iter().any(|name| is(name.as_str().unwrap())),
            },
            "const" => value == wanted,
            "enum" => wanted.as_array().unwrap().contains(value),
            "pattern" => {
                assert_eq!(wanted, "^[0-9a-f]{64}$", "the only pattern known here");
                value.as_str().is_some_and(|text| {
                    text.len() == 64 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
                })
            }
            "minimum" => value.as_f64().is_none_or(|v| v >= wanted.as_f64().unwrap()),
            "maximum" => value.as_f64().is_none_or(|v| v <= wanted.as_f64().unwrap()),
            "minItems" => value.as_array().is_none_or(|v| v.len() as u64 >= wanted.as_u64().unwrap()),
            "maxItems" => value.as_array().is_none_or(|v| v.len() as u64 <= wanted.as_u64().unwrap()),
            "items" => {
                for (number, item) in value.as_array().into_iter().flatten().enumerate() {
                    check(root, wanted, item, &format!("{at}/{number}"))?;
                }
                true
            }
            "required" => value.as_object().is_none_or(|map| {
                wanted.as_array().unwrap().iter().all(|key| map.contains_key(key.as_str().unwrap()))
            }),
            "additionalProperties" => true,
            other => panic!("unknown keyword {other}"),
        };
        if !holds {
            return failed(keyword);
        }
    }
    if let Some(map) = value.as_object() {
        for (key, part) in map {
            let known = schema.pointer("/properties").and_then(|known| known.get(key));
            match known.or_else(|| schema.get("additionalProperties")) {
                Some(known) => check(root, known, part, &format!("{at}/{key}"))?,
                // Stricter than the schema: what the program writes must be described there.
                None if schema.get("type") == Some(&"object".into()) => {
                    return failed(&format!("{key} is not described"));
                }
                None => {}
            }
        }
    }
    Ok(())
}

#[test]
fn records_are_what_the_schema_says() {
    let schema: Value = serde_json::from_str(READING_SCHEMA).unwrap();
    let check = |value: &Value| check(&schema, &schema, value, "");
    let mut all = series();
    all.push(crate::records::measured(crate::records::reading("a.jpg", 'e', None)));
    let mut least = crate::records::reading("b.jpg", 'f', None);
    least.surfaces = Surfaces::default();
    (least.contrast, least.paint, least.light.range) = (None, None, None);
    (least.piece.size_mm, least.card.light_gradient, least.card.mm_per_px) = (None, None, None);
    all.push(crate::records::measured(least));
    for record in &all {
        let line = to_json_line(record).unwrap();
        let value: Value = serde_json::from_str(&line).unwrap();
        check(&value).unwrap_or_else(|error| panic!("{error}"));
        // It reads back as the same record.
        assert_eq!(to_json_line(&from_json_line(&line).unwrap()).unwrap(), line);
    }
    // What breaks the contract is refused.
    let good: Value = serde_json::from_str(&to_json_line(&all[4]).unwrap()).unwrap();
    check(&good).unwrap();
    for (pointer, bad) in [
        ("/schema", Value::from("sherdlight.reading/2")),
        ("/surfaces/white/lab", serde_json::json!([1.0, 2.0])),
        ("/surfaces/white/area_fraction", Value::from(1.2)),
        ("/grade", Value::from("good")),
        ("/photo/sha256", Value::from("abc")),
        ("/card/status", Value::Null),
        ("/contrast/delta_l", Value::Null),
        ("/contrast/ratio_from", Value::from("guess")),
        ("/paint/line_width_mm", Value::from(3.4)),
        ("/paint/spottiness/u95", Value::Null),
    ] {
        let mut broken = good.clone();
        *broken.pointer_mut(pointer).unwrap() = bad;
        assert!(check(&broken).is_err(), "{pointer}");
    }
}

#[test]
fn a_measure_that_is_missing_says_why_on_the_page_and_in_the_table() {
    let mut reading = crate::records::reading("a.jpg", 'a', None);
    reading.piece.size_mm = None;
    reading.null_because.insert("piece.size_mm".into(), "the size of the card is not known".into());
    let records = [crate::records::measured(reading)];
    let table = String::from_utf8(readings_csv(&records).unwrap()).unwrap();
    let mut rows = csv::Reader::from_reader(table.as_bytes());
    let header = rows.headers().unwrap().clone();
    let row = rows.records().next().unwrap().unwrap();
    let cell = |name: &str| row.get(header.iter().position(|known| known == name).unwrap()).unwrap();
    assert_eq!(cell("size_width_mm"), "");
    assert!(cell("null_because").contains("piece.size_mm: the size of the card is not known"));
    assert_eq!((cell("line_width_mm_p50"), cell("paint_spottiness")), ("3.4", "0.12"));
    let page = page(&records);
    assert!(page.contains("not measured: the size of the card is not known"));
    assert!(page.contains("3.4 mm (2.1 to 5.2)"));
}
