//! Laying out: places by lot, everything on its tile, refusals by name.

use sherdlight::report::{plan_csv, plan_pages};
use sherdlight::trial::{Factors, Layout, Lots, Plan, Role, TrialError};
use std::collections::{BTreeMap, BTreeSet};

pub const FACTORS: &str = "factor,level,control\nslip,river white,yes\nslip,bank buff,\nslip,chalk,no\n\
                           paint,mustard leaf,yes\npaint,walnut hull,\ncoats,1,\ncoats,2,yes\nfiring,first,\nfiring,second,\n";

fn factors(text: &str) -> Factors {
    Factors::read(text.as_bytes()).unwrap()
}

fn layout(seed: u64) -> Layout {
    Layout { rows: 3, columns: 4, tiles: None, repeats: 2, seed }
}

#[test]
fn lots_are_those_of_the_published_generator() {
    // First five outputs of SplitMix64 for the seed 1234567, as public test suites quote them (from memory).
    let mut lots = Lots::new(1234567);
    let drawn: [u64; 5] = std::array::from_fn(|_| lots.bits());
    let published = [
        6457827717110365317,
        3203168211198807973,
        9817491932198370423,
        4593380528125082431,
        16408922859458223821,
    ];
    assert_eq!(drawn, published);
}

#[test]
fn lots_favour_no_order() {
    // Chi-squared over the 24 orders of four things, 23 degrees of freedom: 49.7 is passed once in 1000 (NIST/SEMATECH
    // e-Handbook, table 1.3.6.7.4: 49.728).
    let mut seen: BTreeMap<Vec<u8>, f64> = BTreeMap::new();
    let mut lots = Lots::new(7);
    for _ in 0..24_000 {
        let mut things = vec![0, 1, 2, 3];
        lots.shuffle(&mut things);
        *seen.entry(things).or_default() += 1.0;
    }
    assert_eq!(seen.len(), 24);
    let chi: f64 = seen.values().map(|n| (n - 1000.0).powi(2) / 1000.0).sum();
    assert!(chi < 49.728, "{chi}");
}

#[test]
fn the_seed_alone_decides_the_places() {
    let factors = factors(FACTORS);
    let of = |seed| Plan::new(&factors, layout(seed)).unwrap();
    let bytes = |seed| (plan_csv(&of(seed)).unwrap(), plan_pages(&of(seed)));
    assert_eq!(bytes(3), bytes(3));
    let places = |seed| -> Vec<_> {
        let plan = of(seed);
        plan.swatches.iter().map(|s| (s.id.clone(), s.role, s.slip.clone(), s.paint.clone())).collect()
    };
    assert_ne!(places(3), places(4));
}

#[test]
fn every_tile_has_control_and_blank_and_every_combination_is_there() {
    for (seed, tiles) in [(1, None), (2, Some(8)), (3, Some(12))] {
        let plan = Plan::new(&factors(FACTORS), Layout { tiles, ..layout(seed) }).unwrap();
        assert_eq!(plan.tiles, tiles.unwrap_or(6));
        let mut counts: BTreeMap<_, Vec<usize>> = BTreeMap::new();
        let mut loads = vec![0; plan.tiles];
        for tile in 1..=plan.tiles {
            let on_it: Vec<_> = plan.swatches.iter().filter(|s| s.tile == tile).collect();
            let of = |role| on_it.iter().filter(|s| s.role == role).collect::<Vec<_>>();
            assert_eq!((of(Role::Control).len(), of(Role::Blank).len()), (1, 1), "tile {tile}");
            let [control, blank] = [of(Role::Control)[0], of(Role::Blank)[0]];
            let known = (&*control.slip, control.paint.as_deref(), control.coats.as_deref());
            assert_eq!(known, ("river white", Some("mustard leaf"), Some("2")));
            assert_eq!((&*blank.slip, &blank.paint, &blank.coats), ("river white", &None, &None));
            assert_eq!(
                on_it.iter().map(|s| &s.firing).collect::<BTreeSet<_>>().len(),
                1,
                "one firing a tile"
            );
            let places: BTreeSet<_> = on_it.iter().map(|s| (s.row, s.column)).collect();
            assert_eq!(places.len(), on_it.len());
            assert!(places.iter().all(|(r, c)| (1..=3).contains(r) && (1..=4).contains(c)));
            for swatch in of(Role::Trial) {
                loads[tile - 1] += 1;
                let key =
                    (swatch.slip.clone(), swatch.paint.clone(), swatch.coats.clone(), swatch.firing.clone());
                counts.entry(key).or_default().push(tile);
            }
        }
        // 3 slips, 2 paints, 2 coats, 2 firings; both repeats on tiles of their own.
        assert_eq!(counts.len(), 24);
        assert!(counts.values().all(|tiles| tiles.len() == 2 && tiles[0] != tiles[1]), "{counts:?}");
        assert!(loads.iter().max().unwrap() - loads.iter().min().unwrap() <= 1, "{loads:?}");
    }
}

#[test]
fn the_pages_hold_every_swatch_as_text() {
    let plan = Plan::new(&factors(FACTORS), Layout { tiles: Some(40), ..layout(9) }).unwrap();
    let pages = plan_pages(&plan);
    assert!(pages.len() > 1);
    let mut texts = BTreeSet::new();
    for page in &pages {
        let drawn = roxmltree::Document::parse(page).unwrap();
        let root = drawn.root_element();
        // A4 at 96 pixels an inch.
        assert_eq!((root.attribute("width"), root.attribute("height")), (Some("794"), Some("1123")));
        for text in drawn.descendants().filter(|n| n.has_tag_name("text")) {
            let at = |name: &str| text.attribute(name).unwrap().parse::<f64>().unwrap();
            assert!((30.0..770.0).contains(&at("x")) && (30.0..1095.0).contains(&at("y")));
            texts.insert(text.text().unwrap().to_owned());
        }
    }
    assert!(plan.swatches.iter().all(|swatch| texts.contains(&swatch.id)));
    assert!(texts.iter().any(|t| t.starts_with("Tile 40, firing ")));
    assert!(!texts.iter().any(|t| t.contains("mustard")), "what a swatch is is not shown");
}

#[test]
fn a_plan_without_firings_leaves_them_empty() {
    let text = FACTORS.replace("firing,first,\nfiring,second,\n", "");
    let plan = Plan::new(&factors(&text), layout(1)).unwrap();
    assert_eq!(plan.tiles, 3);
    assert!(plan.swatches.iter().all(|swatch| swatch.firing.is_none()));
}

fn refused(text: &str) -> String {
    Factors::read(text.as_bytes()).unwrap_err().to_string()
}

#[test]
fn faults_of_the_factors_are_told_by_name() {
    let without = |line: &str| FACTORS.replace(line, "");
    assert!(refused(&without("slip,river white,yes\n")).contains("control's slip is missing"));
    assert!(refused(&FACTORS.replace("coats,1,", "coats,1,yes")).contains("'1' and '2' are both marked"));
    let gone = without("paint,mustard leaf,yes\n").replace("paint,walnut hull,\n", "");
    assert!(refused(&gone).contains("'paint' has no level"));
    // All cells at fault at once, each by its row.
    let bad = format!(
        "{FACTORS}slip,River  White,\nglaze,shiny,\npaint,,\nfiring,third,yes\nslip,ash,maybe\n,x,\n"
    );
    let said = refused(&bad);
    for wanted in [
        "row 11, column level: the slip 'River  White' stands in row 2 already",
        "row 12, column factor: 'glaze' is no factor; known: slip, paint, coats, firing",
        "row 13, column level: this level of 'paint' has no name",
        "row 14, column control: a firing takes no 'yes'",
        "row 15, column control: 'maybe' is neither 'yes' nor 'no'",
        "row 16, column factor: the factor is missing",
    ] {
        assert!(said.contains(wanted), "{wanted} is missing in\n{said}");
    }
    assert!(refused("factor,name\nslip,a\n").contains("this column is missing"));
    assert!(refused("").contains("empty"));
}

#[test]
fn plans_that_do_not_fit_are_refused_by_name() {
    let factors = factors(FACTORS);
    let refused = |layout| Plan::new(&factors, layout).unwrap_err();
    // 24 swatches a firing on tiles with 10 free places: 3 tiles, 6 for both firings.
    let few = refused(Layout { tiles: Some(4), ..layout(1) });
    assert_eq!(few, TrialError::DoesNotFit { swatches: 24, wanted: 3, places: 12, firings: 2, tiles: 4 });
    assert!(few.to_string().contains("need 3 tiles of 12 places"), "{few}");
    let odd = refused(Layout { tiles: Some(7), ..layout(1) });
    assert_eq!(odd, TrialError::UnequalFirings { tiles: 7, firings: 2 });
    let small = refused(Layout { rows: 1, columns: 2, ..layout(1) });
    assert_eq!(small, TrialError::SmallTile { rows: 1, columns: 2 });
    for huge in [
        Layout { rows: usize::MAX, columns: usize::MAX, ..layout(1) },
        Layout { repeats: usize::MAX, ..layout(1) },
        Layout { tiles: Some(usize::MAX), ..layout(1) },
    ] {
        assert!(matches!(refused(huge), TrialError::TooLarge { .. }), "{huge:?}");
    }
}
