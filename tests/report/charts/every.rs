//! What holds for all charts: nothing made up, nothing broken by names.

use super::*;

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
