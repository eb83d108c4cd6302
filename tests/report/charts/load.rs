//! Charts of a whole load.

use super::*;

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
