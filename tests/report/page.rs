//! The page of a load, from literal records.

use crate::support::balanced;
use crate::trends::{series, trend};
use sherdlight::card::CorrectedImage;
use sherdlight::ledger::temperatures::{Marks, TemperatureLog, Told, summary};
use sherdlight::ledger::trend::TrendValue;
use sherdlight::reading::*;
use sherdlight::report::*;
use sherdlight::surface::{Label, Piece, SurfaceMap};
use sherdlight::verdict::Targets;

/// Names made to break out of markup wherever they are put.
pub const WICKED: &str = "</title><script>alert(1)</script>\"'&.jpg";

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

/// Pictures of a photograph of 80 x 60 pixels: white slip, a black stroke, ground about them.
fn pictures() -> PagePictures {
    let (width, height) = (40, 30);
    let label = |i: usize| match (i % width, i / width) {
        (10..30, 12..16) => Label::Black,
        (5..35, 5..25) => Label::White,
        _ => Label::Background,
    };
    let labels: Vec<Label> = (0..width * height).map(label).collect();
    let outline_px = vec![[10.0, 10.0], [70.0, 10.0], [70.0, 50.0], [10.0, 50.0]];
    let map = SurfaceMap {
        width,
        height,
        factor: 2,
        piece_of: labels.iter().map(|label| u8::from(*label != Label::Background)).collect(),
        light: vec![1.0; labels.len()],
        labels,
        smudged: false,
        pieces: vec![Piece {
            outline_px,
            bounds: [5, 5, 35, 25],
            area: 600,
            doubtful_cloud: 0,
            warnings: vec![],
        }],
        warnings: vec![],
    };
    let image = CorrectedImage {
        width,
        height,
        factor: 2,
        xyz: vec![[0.5, 0.5, 0.4]; width * height],
        light: vec![[0.0; 3]; width * height],
        clipped: vec![false; width * height],
    };
    PagePictures::new(&image, &map, 80).unwrap()
}

/// The page with pictures of the first record, a firing with a log, and a trend.
fn load_page(records: &[Record], title: &str) -> LoadPage {
    let (pictures, targets) = (pictures(), Targets::load("three-colour-low-fired").unwrap());
    let entries: Vec<PageEntry> = records
        .iter()
        .enumerate()
        .map(|(number, record)| PageEntry {
            record,
            pictures: (number == 0).then_some(&pictures),
            targets: Some(&targets),
            map_fits: true,
        })
        .collect();
    let log = b"minutes,probe (C)\n0,20\n20,700\n40,200\n";
    let log = TemperatureLog::read(log, &Told::default()).unwrap().log;
    let figures = summary(&log, &Marks::default());
    let facts = vec![("fuel".to_owned(), format!("reeds {title}"))];
    let firings =
        [FiringFacts { name: "<b>May</b>".into(), facts, logs: vec![(title.into(), log, figures)] }];
    let trend = trend(&series(), TrendValue::Distance);
    let made = "2026-05-03 18:20 UTC";
    LoadPage::new(&PageInput { title, entries: &entries, firings: &firings, trend: Some(&trend), made })
        .unwrap()
}

fn page(records: &[Record]) -> String {
    load_page(records, WICKED).html().unwrap()
}

/// The page without the records for programs and the script.
fn shown(html: &str) -> String {
    let (before, rest) = html.split_once("<script type=\"application/json\"").unwrap();
    let (_, after) = rest.rsplit_once("</script>").unwrap();
    format!("{before}{after}")
}

#[test]
fn the_page_asks_nothing_of_any_network() {
    let html = page(&load());
    // The name of SVG's language is no address that is asked.
    let addresses = html.replace("http://www.w3.org/2000/svg", "");
    assert!(
        !addresses.contains("http://") && !addresses.contains("https://") && !addresses.contains("src=\"")
    );
    assert!(!html.contains("<link") && !html.contains("@import"));
    for address in html.split("href=\"").skip(1) {
        assert!(address.starts_with('#') || address.starts_with("data:image/"), "{}", &address[..20]);
    }
    assert!(
        html.contains("href=\"data:image/jpeg;base64,") && html.contains("href=\"data:image/png;base64,")
    );
    for address in html.split("url(").skip(1) {
        assert!(address.starts_with('#'), "{}", &address[..20]);
    }
    assert!(html.contains("default-src 'none'; img-src data:; style-src 'sha256-"));
    // The policy allows the style sheet and the script by their hashes, and no style in attributes.
    let style = html.split("<style>").nth(1).unwrap().split("</style>").next().unwrap();
    assert_eq!(style, STYLE);
    let script = html.rsplit_once("<script>").unwrap().1.split("</script>").next().unwrap();
    assert_eq!(script, SCRIPT);
    assert!(!html.contains("style=\"") && !html.contains(" onclick"));
}

#[test]
fn names_are_never_markup_and_folders_are_not_told() {
    let html = page(&load());
    assert!(!html.contains("alert(1)</script>"));
    assert!(!html.contains("<b>May"));
    assert!(!html.contains("onload=\""));
    assert!(!html.contains("secret"));
    assert!(html.contains("&lt;script&gt;alert(1)"));
    balanced(shown(&html).split("<body>").nth(1).unwrap().split("</body>").next().unwrap());
}

#[test]
fn any_name_appears_as_text_and_breaks_nothing() {
    let long = "x".repeat(300);
    let names = [
        "\u{202e}evil\u{202c} <b>",
        &long,
        "🏺 pot \u{200f}",
        "a\"'`=//",
        "{{ page }}",
        "{% raw %}",
        "a\u{0}b\nc",
        "--><!--",
    ];
    for name in names {
        let mut reading = crate::records::reading("pot.jpg", 'a', None);
        let text = || Some(name.to_owned());
        reading.sheet = Some(SheetRow {
            piece: text(),
            firing: text(),
            place: text(),
            slip: text(),
            notes: text(),
            ..SheetRow::default()
        });
        let records = [crate::records::measured(reading)];
        let made = load_page(&records, name);
        let html = made.html().unwrap();
        balanced(shown(&html).split("<body>").nth(1).unwrap().split("</body>").next().unwrap());
        // The program reads back what was written, whatever it is called, and the context says the same.
        let read = ReadPage::new(&html).unwrap();
        assert!(read.as_made, "{name}");
        let again = read.records.unwrap();
        assert_eq!(again[0].reading().unwrap().sheet.as_ref().unwrap().piece.as_deref(), Some(name));
        let context: serde_json::Value = serde_json::from_str(&made.context_json()).unwrap();
        assert_eq!(context["pieces"][0]["name"], name);
        let table = String::from_utf8(made.pieces_csv().unwrap()).unwrap();
        let row = csv::Reader::from_reader(table.as_bytes()).records().next().unwrap().unwrap();
        assert_eq!(row[1].trim_start_matches('\''), name);
    }
}

#[test]
fn the_page_is_the_same_every_time_and_holds_no_gaps() {
    let records = load();
    let html = page(&records);
    assert_eq!(html, page(&records));
    for gap in ["NaN", "inf<", ">inf", "inf ", "undefined", "none</dd>", "null<"] {
        assert!(!shown(&html).contains(gap), "{gap}");
    }
    assert!(page(&[]).contains("No piece was measured."));
}

#[test]
fn the_page_bears_a_number_of_its_own_and_its_records() {
    let mut records = load();
    // What is no number is written as null, and read again as none: no record of the program has any.
    if let Record::Measured(faulty) = &mut records[3] {
        faulty.surfaces.white.as_mut().unwrap().u95 = [2.0; 3];
    }
    let html = page(&records);
    let read = ReadPage::new(&html).unwrap();
    assert!(read.as_made && html.matches(&read.id).count() >= 2);
    assert!(html.contains(&format!("Report {}", read.short_id())));
    let inside = read.records.unwrap();
    assert_eq!(inside.len(), records.len());
    for (one, other) in inside.iter().zip(&records) {
        assert_eq!(changes(one, other), []);
        assert!(!one.photo().path.contains('/'));
    }
    for changed in
        [html.replace("61\u{a0}%", "91\u{a0}%"), html.replacen("base64,", "base64,A", 1), html.clone() + " "]
    {
        assert_ne!(changed, html);
        assert!(!ReadPage::new(&changed).unwrap().as_made);
    }
    assert!(ReadPage::new("<html></html>").is_none());
    let cut = &html[..html.len() * 3 / 4];
    assert!(ReadPage::new(cut).is_none_or(|page| !page.as_made));
}

#[test]
fn views_of_a_piece_count_once_and_a_reference_is_not_of_the_load() {
    let mut front = crate::records::reading("front.jpg", 'a', None);
    let row = SheetRow { piece: Some("bowl".into()), firing: Some("May".into()), ..SheetRow::default() };
    front.sheet = Some(row);
    let mut back = front.clone();
    (back.photo.path, back.photo.sha256) = ("back.jpg".into(), Some("b".repeat(64)));
    back.grade = Grade::Faulty;
    let views = sherdlight::verdict::join(&[&front, &back]);
    (front.views, back.views) = (views.get(&0).cloned(), views.get(&1).cloned());
    let mut replica = crate::records::reading("replica.jpg", 'c', None);
    let reference = crate::records::reading("shots/old.jpg", 'd', None);
    replica.comparison = Some(sherdlight::verdict::compare(&replica, &[&reference]));
    let records = [front, back, replica, reference].map(crate::records::measured);
    let html = page(&records);
    assert!(html.contains("Of 2 pieces: 1 sound, 1 faulty."), "{}", &html[..200]);
    assert!(
        html.contains("Seen in 2 photographs.") && html.contains("Photograph 2 of 2: <bdi>back.jpg</bdi>")
    );
    assert!(html.contains("Beside its reference") && html.contains("Reference: old.jpg"));
    assert_eq!(html.matches("<section class=\"piece\"").count(), 2);
    balanced(shown(&html).split("<body>").nth(1).unwrap().split("</body>").next().unwrap());
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
        "A mark is a piece",
        "Made 2026-05-03 18:20 UTC",
        "84.2 ± 2.1",
        "84.2 (± not known)",
        // The template escapes a slash too.
        "10YR 8&#x2f;2 (2.1)",
        "1 (glare)",
        "three-colour-low-fired",
    ] {
        place(text);
    }
    place(&"c".repeat(64));
    place(&"7a".repeat(32));
    // Headings: one of the first level, none skips a level.
    let levels: Vec<u32> =
        html.match_indices("<h").filter_map(|(at, _)| html[at + 2..].chars().next()?.to_digit(10)).collect();
    assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
    assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
    // Every header cell says what it heads, every picture what it shows.
    assert_eq!(html.matches("<th ").count(), html.matches("<th scope=").count());
    assert_eq!(html.matches("<th>").count(), 0);
    for svg in shown(&html).split("<svg ").skip(1) {
        let head = svg.split('>').next().unwrap();
        let named = head.contains("aria-label=\"") || head.contains("aria-labelledby=\"");
        assert!(
            head.contains("aria-hidden=\"true\"") || (head.contains("role=\"img\"") && named),
            "<svg {head}>"
        );
    }
    // No name twice: labels point to one thing each.
    let text = shown(&html);
    let mut ids: Vec<&str> = text.split(" id=\"").skip(1).filter_map(|part| part.split('"').next()).collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all);
    balanced(shown(&html).split("<body>").nth(1).unwrap().split("</body>").next().unwrap());
}

/// WCAG 2.2: relative luminance and contrast ratio, as defined in its glossary.
pub fn contrast_ratio(one: &str, other: &str) -> f64 {
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
