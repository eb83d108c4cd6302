//! What holds for all charts: nothing made up, nothing broken by names.

use super::*;

const LEVELS: LevelsTold = LevelsTold {
    title: "Slips in order",
    remark: "How to read it.",
    unit: "lightness",
    digits: 1,
    about_zero: false,
};

fn patch(column: usize, laid: &str) -> TilePatch {
    TilePatch {
        row: 1,
        column,
        colour: (column != 2).then(|| "#777777".to_owned()),
        out_of_gamut: column == 3,
        mark: [PatchMark::None, PatchMark::Control, PatchMark::Blank][column % 3],
        laid: vec![laid.to_owned(); 5],
        value: laid.to_owned(),
    }
}

#[test]
fn levels_stand_at_their_values_and_the_control_is_drawn_in() {
    let level = |name: &str, value: f64, half: f64, control: bool| LevelMark {
        name: name.into(),
        value: Some(value),
        interval: Some([value - half, value + half]),
        control,
    };
    let unknown = LevelMark { value: None, interval: None, ..level("ochre", 0.0, 0.0, false) };
    let marks = [level("chalk", 80.0, 2.0, false), level("buff", 70.0, 4.0, true), unknown];
    let svg = levels_chart("levels", LEVELS, &marks);
    let chart = checked(&svg, "levels");
    let dots: Vec<f64> = named(&chart, "circle").map(|dot| number(&dot, "cx")).collect();
    // The scale is straight: its ticks give pixels a unit.
    let ticks: Vec<(f64, f64)> = named(&chart, "text")
        .filter_map(|text| Some((text.text()?.parse().ok()?, number(&text, "x"))))
        .collect();
    let slope = (ticks[1].1 - ticks[0].1) / (ticks[1].0 - ticks[0].0);
    assert!((dots[0] - dots[1] - 10.0 * slope).abs() < 0.1 && dots.len() == 2, "{dots:?}");
    let dashed: Vec<Node> =
        named(&chart, "line").filter(|line| line.attribute("stroke-dasharray").is_some()).collect();
    assert!(dashed.len() == 1 && (number(&dashed[0], "x1") - dots[1]).abs() < 0.1);
    let said = description(&chart);
    assert!(said.contains("chalk: 80.0 (78.0 to 82.0); buff, the control: 70.0 (66.0 to 74.0)"), "{said}");
    assert!(said.contains("ochre: cannot be separated"), "{said}");
}

#[test]
fn what_is_missing_is_said_and_nothing_is_made_up() {
    let all = [
        load_chart("c", &[], &targets()),
        kept_chart("c", &[], &targets()),
        ranges_chart("c", &Reading::default(), &Targets { values: vec![], ..targets() }),
        residual_chart("c", &CardPart::default()),
        difference_chart("c", &Comparison::default()),
        levels_chart("c", LEVELS, &[]),
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
    let level = |name: &String| LevelMark {
        name: name.clone(),
        value: Some(40.0),
        interval: Some([38.0, 42.0]),
        control: name.len() > 300,
    };
    checked(&levels_chart("levels", LEVELS, &names.each_ref().map(level)), "levels");
    let patches: Vec<TilePatch> = (1..).zip(&names).map(|(at, name)| patch(at, name)).collect();
    checked(&tile_chart("tile", WICKED, &WICKED.repeat(2), [1, 5], &patches), "tile");
    // A patch's name comes from a file.
    let mut card = card(24);
    card.patches[0].id = WICKED.repeat(9);
    card.patches[2].why_not = Some(WICKED.into());
    checked(&residual_chart("card", &card), "card");
}
