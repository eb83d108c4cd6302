//! The page of a trial: what it concludes, what it draws, and that nothing breaks it.

use crate::one_way::one_way;
use crate::page::WICKED;
use crate::support::balanced;
use roxmltree::Document;
use sherdlight::report::*;
use sherdlight::trial::{Findings, Readings, TrialTile};

fn page_in(table: &str, value: &str, order: Order) -> String {
    let readings = Readings::read(table.as_bytes(), value).unwrap();
    let findings = Findings::new(&readings).unwrap();
    let tiles = TrialTile::read_all(table.as_bytes(), value).unwrap();
    let html = TrialPage { title: "A trial", findings: &findings, tiles: &tiles, order }.html().unwrap();
    balanced(html.split("<body>").nth(1).unwrap().split("</body>").next().unwrap());
    for svg in pictures(&html) {
        Document::parse(svg).unwrap_or_else(|error| panic!("{error}: {svg}"));
    }
    html
}

fn page(table: &str) -> String {
    page_in(table, "l", Order::HighestFirst)
}

fn pictures(html: &str) -> Vec<&str> {
    html.split("<svg")
        .skip(1)
        .map(|rest| rest.split_inclusive("</svg>").next().unwrap())
        .map(|svg| {
            let at = svg.as_ptr() as usize - html.as_ptr() as usize - "<svg".len();
            &html[at..at + "<svg".len() + svg.len()]
        })
        .collect()
}

/// The two sentences, as they read.
fn conclusion(html: &str) -> [String; 2] {
    let said = html.split("<div class=\"conclusion\">").nth(1).unwrap().split("</div>").next().unwrap();
    let sentences: Vec<String> = said
        .split("<p>")
        .skip(1)
        .map(|p| {
            p.split("</p>")
                .next()
                .unwrap()
                .replace("&#x27;", "'")
                .replace("&lt;", "<")
                .replace("&quot;", "\"")
        })
        .collect();
    sentences.try_into().unwrap()
}

#[test]
fn what_is_told_apart_is_said_with_its_interval_and_no_more() {
    // Difference 3.22 with the standard error 0.76271 of 12 degrees of freedom; Student's t for three pairs at once
    // (1 - 0.05 / 6) is 2.7795 and for one pair's 95 % and 80 of 100 2.1788 + 0.8726 (scipy 1.17.1, stats.t.ppf). A difference
    // of 0.84 with a scatter of 1.206 is seen with 34 of each (power 0.808 by stats.nct); five of each are there.
    let [told, left] = conclusion(&page(&one_way()));
    assert_eq!(
        told,
        "In L* this trial tells apart, with 95 % intervals: slip '3' lies 3.2 above slip '1' (1.1 to 5.3, the widest of 2 \
         pairs that differ)."
    );
    assert!(
        left.starts_with("Left open, with the difference that four in five such trials would see"),
        "{left}"
    );
    assert!(left.contains("1 of 3 pairs of slips (2.3); next, lay 29 more swatches of each slip"), "{left}");
    let [lower, _] = conclusion(&page_in(&one_way(), "l", Order::LowerIsBetter));
    assert!(lower.contains("slip '1' lies 3.2 below slip '3' (1.1 to 5.3"), "{lower}");
}

#[test]
fn the_wanted_end_stands_first() {
    let first = |order: Order| {
        let html = page_in(&one_way(), "l", order);
        let table = html.split("id=\"slip\"").nth(1).unwrap().split("<tbody>").nth(1).unwrap().to_owned();
        let name = table.split("<bdi>").nth(1).unwrap().split("</bdi>").next().unwrap().to_owned();
        (name, html.contains("best first"))
    };
    assert_eq!(first(Order::HighestFirst), ("3".into(), false));
    assert_eq!(first(Order::HigherIsBetter), ("3".into(), true));
    assert_eq!(first(Order::LowerIsBetter), ("1".into(), true));
}

#[test]
fn where_nothing_differs_the_page_says_what_could_have_been_seen() {
    let [told, left] = conclusion(&page("slip,l\na,60\na,62\na,61\nb,61\nb,60.5\nb,62\n"));
    assert_eq!(told, "No difference in L* between slips is larger than luck explains.");
    // Squares within: 2 and 1.1667 with 4 degrees of freedom; standard error 0.72648; t 2.7764 + 0.9410.
    assert!(left.contains("the slips (2.7)") && left.contains("more swatches of each slip"), "{left}");
    assert!(!left.contains("alike"));
}

#[test]
fn what_is_confounded_is_said_and_how_to_go_on() {
    let rows = |slip: &str, firing: &str, tile: usize| {
        (0..4)
            .map(move |n| format!("{tile},{slip},{firing},{}\n", 60 + (n * 7 + tile) % 5))
            .collect::<String>()
    };
    let table = format!(
        "tile,slip,firing,l\n{}{}{}{}",
        rows("a", "one", 1),
        rows("a", "one", 2),
        rows("b", "two", 3),
        rows("b", "two", 4)
    );
    let [told, left] = conclusion(&page(&table));
    assert!(
        told.starts_with(
            "In L* this trial tells nothing apart, for every swatch of slip 'a' was fired in 'one'"
        ),
        "{told}"
    );
    assert!(told.contains("(cannot be separated from the firing)"), "{told}");
    assert!(left.starts_with("Firings cannot be separated either; next, cross what is confounded"), "{left}");
    // One tile a firing: the fire is not to be told from the tile.
    let one = format!("tile,slip,firing,l\n{}{}", rows("a", "one", 1), rows("a", "two", 2));
    let [told, left] = conclusion(&page(&one));
    assert!(
        told.contains("tells nothing apart") && left.contains("fire two tiles or more in each firing"),
        "{told} {left}"
    );
    let [told, left] = conclusion(&page("slip,paint,l\na,p,60\nb,p,61\na,q,64\n"));
    assert!(
        told.contains("no swatch is repeated") && left.contains("lay each combination twice"),
        "{told} {left}"
    );
}

#[test]
fn of_many_combinations_the_first_are_drawn_and_all_are_told() {
    let mut table = String::from("slip,paint,role,l\n");
    for number in 0..60 {
        for n in 0..2 {
            let role = if number == 59 { "control" } else { "trial" };
            table += &format!("s{},p{},{role},{}\n", number / 6, number % 6, 90 - number + n);
        }
    }
    let html = page(&table);
    let combined = html.split("id=\"combinations\"").nth(1).unwrap().split("</section>").next().unwrap();
    assert!(combined.contains("The first 40 of 60: the table has all."));
    let chart = Document::parse(pictures(combined)[0]).unwrap();
    let circles = chart.descendants().filter(|node| node.tag_name().name() == "circle").count();
    // The control is the last of all, and drawn in all the same.
    assert_eq!((circles, combined.matches("control-mark").count()), (41, 1));
    let table = combined.split("<tbody>").nth(1).unwrap().split("</tbody>").next().unwrap();
    assert_eq!(table.matches("<tr>").count(), 60);
}

#[test]
fn factors_that_change_each_other_are_told() {
    // The table of `an_interaction_is_the_librarys` (tests/trial/compare.rs): paint changes sides with the slip.
    let crossing = "slip,paint,l\nA,P,60\nA,P,61\nA,Q,70\nA,Q,71\nB,P,70\nB,P,71\nB,Q,60\nB,Q,61\n";
    let html = page(crossing);
    let [told, left] = conclusion(&html);
    assert_eq!(told, "No difference in L* between slips and paints is larger than luck explains.");
    assert!(
        left.contains(
            "beware, what one does changes with the other (slip with paint), so look at the combinations"
        ),
        "{left}"
    );
    // The combinations, which add nothing up, tell what the two by themselves hide.
    let combined = html.split("id=\"combinations\"").nth(1).unwrap();
    assert!(combined.contains("<bdi>A, Q</bdi>") && combined.contains("70.5"));
}

/// A tile of two rows with everything that a place can be.
fn tile() -> String {
    let head = "tile,row,column,swatch,role,slip,paint,coats,firing,seed,photo,l,a,b,u95_l,left_out\n";
    let rows = [
        "1,1,1,T1R1C1,control,chalk,reed,2,wet reed,11,shots/t1.jpg,50,0,0,2.5,",
        "1,1,2,T1R1C2,blank,chalk,,,wet reed,11,shots/t1.jpg,84,1,8,2.5,",
        "1,1,3,T1R1C3,trial,buff,reed,1,wet reed,11,shots/t1.jpg,,,,,glare",
        "1,2,1,T1R2C1,trial,buff,reed,2,wet reed,11,shots/t1.jpg,40,110,-110,2.5,",
        "1,2,2,T1R2C2,trial,buff,reed,2,wet reed,11,shots/t1.jpg,44,1,3,2.5,",
        "1,2,3,T1R2C3,trial,chalk,reed,1,wet reed,11,shots/t1.jpg,52,1,3,2.5,",
        "2,1,1,T2R1C1,trial,chalk,reed,1,wet reed,11,shots/t2.jpg,53,1,3,2.5,",
        "2,1,2,T2R1C2,trial,buff,reed,1,wet reed,11,shots/t2.jpg,47,1,3,2.5,",
    ];
    format!("{head}{}\n", rows.join("\n"))
}

#[test]
fn a_tile_is_drawn_in_its_measured_colours() {
    let html = page(&tile());
    let drawn = pictures(&html)[0];
    let chart = Document::parse(drawn).unwrap();
    let fills: Vec<&str> = chart
        .descendants()
        .filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "rect")))
        .filter_map(|rect| rect.attribute("fill"))
        .collect();
    // CIE 15: L* 50 is Y 0.18419; encoded by IEC 61966-2-1 that is 0.46633, 118.9 of 255.
    assert!(fills.contains(&"#777777"), "{fills:?}");
    assert_eq!(fills.iter().filter(|fill| **fill == "url(#tile-1-hatching)").count(), 1);
    let words: Vec<&str> = chart.descendants().filter_map(|node| node.text()).map(str::trim).collect();
    for wanted in ["control", "blank", "in shine", "50.0\u{a0}±\u{a0}2.5", "chalk", "2 coats"] {
        assert!(words.contains(&wanted), "{wanted}: {words:?}");
    }
    // No screen shows L* 40, a* 110, b* -110: one place is told, and marked.
    assert!(html.contains("(sRGB) cannot show; the nearest stands there: row 2, column 1."), "{html}");
    assert_eq!(drawn.matches("<polygon").count(), 1);
    // The plan beside it says where what lies, also for those who see no colour.
    let plan = html.split("<table class=\"plan\">").nth(1).unwrap().split("</table>").next().unwrap();
    assert_eq!((plan.matches("<tr>").count(), plan.matches("<td>").count()), (3, 6));
    for wanted in ["T1R1C3", "in shine", "<span class=\"role\">control</span>", "1 coat"] {
        assert!(plan.contains(wanted), "{wanted}: {plan}");
    }
    for wanted in
        ["seed 11", "1 in shine", "photograph t1.jpg", "No control was read on tile 2", "6 of 7", "1 blanks"]
    {
        assert!(html.contains(wanted), "{wanted} is missing");
    }
    assert!(!html.contains("shots/"), "folders are not told");
}

#[test]
fn the_page_asks_nothing_of_a_network_and_is_the_same_every_time() {
    let html = page(&tile());
    assert_eq!(html, page(&tile()));
    assert!(html.contains("default-src 'none'") && !html.contains("<script") && !html.contains(" style="));
    let links = html.matches("http").count();
    let inside =
        html.matches("http-equiv").count() + html.matches("xmlns=\"http://www.w3.org/2000/svg\"").count();
    assert_eq!(links, inside);
    assert!(TrialPage::is_one(&html) && !TrialPage::is_one("<html></html>"));
    for gap in ["NaN", "inf<", ">inf", "undefined", "none</dd>", "null<"] {
        assert!(!html.contains(gap), "{gap}");
    }
}

#[test]
fn names_are_never_markup() {
    let long = "x".repeat(300);
    for name in [WICKED, "{{ page }}", "--><!--", "=cmd()", "\u{202e}evil", "{% raw %}", &long] {
        let quoted = |name: &str| format!("\"{}\"", name.replace('"', "\"\""));
        let mut table = String::from("trial,tile,row,column,role,slip,firing,l\n");
        for row in 0..12 {
            let (slip, tile) = (if row % 2 == 0 { quoted(name) } else { "chalk".into() }, row / 3);
            let (firing, l) = (if tile % 2 == 0 { quoted(name) } else { "two".into() }, 60 + row * 7 % 5);
            table += &format!("{},{tile},1,{},trial,{slip},{firing},{l}\n", quoted(name), row % 3 + 1);
        }
        let html = page(&table);
        assert!(!html.contains("<script") && !html.contains("<b>") && !html.contains("<!-"), "{name}");
    }
}

#[test]
fn tables_of_other_makers_have_a_page_too() {
    // No tiles, no colours, a value of its own.
    let html = page_in("slip,sheen\na,1.02\na,1.04\nb,1.31\nb,1.33\n", "sheen", Order::HighestFirst);
    let [told, _] = conclusion(&html);
    assert!(told.contains("In sheen this trial tells apart") && told.contains("0.29"), "{told}");
    assert!(!html.contains("id=\"tiles\"") && html.contains("the table names no seed"));
    assert!(Findings::new(&Readings::read(b"slip,l\na,1\na,2\n", "l").unwrap()).is_err());
    let one = TrialTile::read_all(b"tile,row,column,l\n1,1,1,5\n1.0,1,2,6\n2,1,1,7\n", "l").unwrap();
    assert_eq!(one.iter().map(|tile| tile.places.len()).collect::<Vec<_>>(), [2, 1]);
    let large = TrialTile::read_all(b"tile,row,column,l\n1,1,61,5\n", "l").unwrap_err();
    assert!(large.to_string().contains("60 rows and columns at most"), "{large}");
}
