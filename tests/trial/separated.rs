//! What cannot be separated, and what it is confounded with.

use sherdlight::trial::{Answer, Comparison, Factor, Readings};

fn answer(table: &str, by: Factor, pair: [&str; 2]) -> Answer {
    let readings = Readings::read(table.as_bytes(), "l").unwrap();
    let told = Comparison::new(&readings, by).unwrap();
    let found = told.pairs.iter().find(|p| [&*p.first, &*p.second] == pair);
    found.unwrap_or_else(|| panic!("{:?}", told.pairs)).answer.clone()
}

fn reason(table: &str, by: Factor, pair: [&str; 2]) -> String {
    match answer(table, by, pair) {
        Answer::CannotBeSeparated { reason } => reason,
        other => panic!("{other:?}"),
    }
}

/// Each slip in its own firing, two tiles a firing.
const APART: &str = "tile,slip,firing,l\n1,A,one,60\n1,A,one,61\n2,A,one,62\n2,A,one,60\n3,B,two,65\n3,B,two,66\n\
                     4,B,two,64\n4,B,two,66\n";

#[test]
fn slips_in_their_own_firings() {
    assert_eq!(
        reason(APART, Factor::Slip, ["A", "B"]),
        "confounded with firing: every swatch of slip 'A' was fired in 'one', every one of slip 'B' was fired in 'two'"
    );
    assert!(
        reason(APART, Factor::Firing, ["one", "two"])
            .starts_with("confounded with slip: every swatch of firing 'one'")
    );
}

#[test]
fn one_slip_on_all_tiles_links_them_and_its_loss_parts_them() {
    let linked = format!("{APART}1,C,one,70\n2,C,one,71\n3,C,two,75\n4,C,two,74\n");
    let Answer::Estimated(told) = answer(&linked, Factor::Slip, ["A", "B"]) else { panic!() };
    // Against C: A is 60.75 - 70.5, B is 65.25 - 74.5.
    assert!((told.difference - (-9.75 + 9.25)).abs() < 1e-9, "{told:?}");
    let lost = format!("{APART}1,C,one,70\n2,C,one,71\n3,C,two,\n4,C,two,\n");
    assert!(reason(&lost, Factor::Slip, ["A", "B"]).contains("confounded with firing"));
    assert!(
        matches!(answer(&lost, Factor::Slip, ["A", "C"]), Answer::Estimated(_)),
        "these still lie together"
    );
}

#[test]
fn a_firing_of_one_tile_is_that_tile() {
    let table =
        "tile,slip,firing,l\n1,A,one,60\n1,A,one,61\n1,B,one,63\n2,A,two,65\n2,B,two,66\n2,B,two,67\n";
    assert!(reason(table, Factor::Firing, ["one", "two"]).contains("one tile only"));
    assert!(matches!(answer(table, Factor::Slip, ["A", "B"]), Answer::Estimated(_)));
}

#[test]
fn paints_on_slips_of_their_own_and_levels_lost() {
    let table = "slip,paint,l\nA,P,60\nA,P,61\nB,Q,65\nB,Q,64\nC,Q,\n";
    assert!(reason(table, Factor::Paint, ["P", "Q"]).contains("confounded with slip"));
    assert_eq!(reason(table, Factor::Slip, ["A", "C"]), "no swatch of slip 'C' has a value");
}

#[test]
fn slips_on_tiles_of_their_own_within_one_firing() {
    let table = "tile,slip,l\n1,A,60\n1,C,61\n2,A,60\n2,C,62\n3,B,65\n3,D,63\n4,B,66\n4,D,67\n";
    assert!(reason(table, Factor::Slip, ["A", "B"]).starts_with("confounded with tile"));
}

/// A hundred slips, each lying on one tile with the one before and on the next with the one after: linked end to end by
/// the weakest chain there is. One heavy tile draws the largest singular value up.
fn chain(cut: Option<usize>) -> String {
    let mut table = "tile,slip,l\n".to_owned();
    for tile in 0..99 {
        for slip in [tile, tile + 1] {
            let repeats = if tile == 3 { 500 } else { 2 };
            for n in 0..repeats {
                let lost = cut == Some(tile) && slip == tile;
                let value = if lost { String::new() } else { format!("{}.{}", 40 + slip % 7, n % 2) };
                table += &format!("{tile},s{slip:03},{value}\n");
            }
        }
    }
    table
}

#[test]
fn the_longest_chain_links_and_one_loss_parts_it() {
    let whole = Readings::read(chain(None).as_bytes(), "l").unwrap();
    let told = Comparison::new(&whole, Factor::Slip).unwrap();
    assert!(told.pairs.iter().all(|pair| matches!(pair.answer, Answer::Estimated(_))));
    let cut = Readings::read(chain(Some(60)).as_bytes(), "l").unwrap();
    // Slips up to 60 lie on one side, the others on the other.
    for pair in Comparison::new(&cut, Factor::Slip).unwrap().pairs {
        let sides = [&pair.first, &pair.second].map(|name| name[1..].parse::<usize>().unwrap() <= 60);
        let told = matches!(pair.answer, Answer::Estimated(_));
        assert_eq!(told, sides[0] == sides[1], "{pair:?}");
    }
}

#[test]
fn nothing_repeated_leaves_no_scatter() {
    let table = "slip,l\nA,60\nB,64.5\n";
    let Answer::NoScatter { difference } = answer(table, Factor::Slip, ["A", "B"]) else { panic!() };
    assert!((difference - -4.5).abs() < 1e-9, "{difference}");
}
