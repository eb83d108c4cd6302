//! Where the spread lies: against an analysis of variance by hand, and over simulated trials.

use crate::simulate;
use sherdlight::trial::{Answer, Factor, Factors, Layout, Lots, Parts, Plan, Readings, TrialError};
use std::fmt::Write;

fn parts(table: &str) -> Parts {
    Parts::new(&Readings::read(table.as_bytes(), "l").unwrap()).unwrap()
}

#[test]
fn a_one_way_layout_has_the_moment_estimate() {
    // Handbook 7.4.3 (doi 10.18434/M32189, figures from memory): mean squares 13.949 of treatments and 1.454 of error, five a
    // group, so that the variance between groups is (13.949 - 1.454) / 5.
    let groups = [
        ("1", [6.9, 5.4, 5.8, 4.6, 4.0]),
        ("2", [8.3, 6.8, 7.8, 9.2, 6.5]),
        ("3", [8.0, 10.5, 8.1, 6.9, 9.3]),
    ];
    let rows = groups.iter().flat_map(|(slip, values)| values.map(|v| format!("{slip},{v}\n")));
    let told = parts(&format!("slip,l\n{}", rows.collect::<String>()));
    let slip = &told.sources[0];
    assert_eq!((slip.factor, slip.levels, told.freedom), (Factor::Slip, 3, 12));
    assert!((slip.spread.unwrap().powi(2) - (13.949 - 1.454) / 5.0).abs() < 5e-4, "{slip:?}");
    assert!((told.rest.unwrap().powi(2) - 1.454).abs() < 5e-4);
    // Chi-squared of 12 degrees of freedom as tables print it: 4.404 and 23.337.
    let [low, high] = told.rest_interval.unwrap();
    assert!((low.powi(2) - 17.452 / 23.337).abs() < 1e-3 && (high.powi(2) - 17.452 / 4.404).abs() < 1e-3);
    let widest = slip.widest.as_ref().unwrap();
    assert_eq!((&*widest.first, &*widest.second), ("3", "1"));
    assert!((widest.difference - 3.22).abs() < 1e-9 && widest.interval[0] < 3.22 - 1.66, "wider than alone");
}

#[test]
fn tiles_and_the_rest_come_out_as_planted() {
    // Planted: standard deviations of 1.0 and 1.5. A trial tells the variance of tiles from 4 degrees of freedom with a
    // standard error of 0.9, that of the rest from about 43 with 0.5; over 200 trials three standard errors are 0.2 and 0.11.
    let (mut tile, mut rest) = (0.0, 0.0);
    for seed in 0..200 {
        let told = parts(&simulate::crossed(seed, false).table);
        let found = told.sources.iter().find(|source| source.factor == Factor::Tile).unwrap();
        tile += found.spread.unwrap().powi(2) / 200.0;
        rest += told.rest.unwrap().powi(2) / 200.0;
    }
    assert!((rest - 2.25).abs() < 0.11, "{rest}");
    // Negative estimates count as zero, which lifts the mean a little.
    assert!((tile - 1.0).abs() < 0.2, "{tile}");
}

/// Two firings of three tiles; the second raises everything by 4 and the trial swatches by `more` besides.
fn fired(more: f64) -> String {
    let factors = "factor,level,control\nslip,river white,yes\nslip,bank buff,\npaint,walnut hull,yes\ncoats,1,yes\n\
                   firing,first,\nfiring,second,\n";
    let factors = Factors::read(factors.as_bytes()).unwrap();
    let layout = Layout { rows: 3, columns: 4, tiles: Some(6), repeats: 12, seed: 4 };
    let mut lots = Lots::new(8);
    let mut table = "tile,role,slip,paint,coats,firing,l\n".to_owned();
    for s in Plan::new(&factors, layout).unwrap().swatches {
        let scatter = lots.below(1000) as f64 / 1000.0;
        let firing = s.firing.unwrap();
        let raised = if firing == "second" { 4.0 } else { 0.0 };
        let own = if firing == "second" && s.role.name() == "trial" { more } else { 0.0 };
        let value = 60.0 + raised + own + scatter + s.tile as f64 * 0.1;
        let _ = writeln!(table, "{},{},{},,,{firing},{value}", s.tile, s.role.name(), s.slip);
    }
    table
}

#[test]
fn the_control_tells_fire_from_material() {
    let of = |more: f64| {
        let told = parts(&fired(more));
        let pair = &told.firings[0];
        let [raw, less] = [&pair.raw, pair.less_control.as_ref().unwrap()].map(|answer| match answer {
            Answer::Estimated(told) => told.clone(),
            other => panic!("{other:?}"),
        });
        (raw, less)
    };
    let (raw, less) = of(0.0);
    assert!(raw.interval[1] < -3.0, "the fire changed all: {raw:?}");
    assert!(less.interval[0] < 0.0 && less.interval[1] > 0.0, "but the materials as the control: {less:?}");
    let (_, less) = of(-6.0);
    assert!(less.interval[0] > 4.0 && less.interval[1] < 8.0, "{less:?}");
}

#[test]
fn what_cannot_be_separated_gets_no_part() {
    let table =
        "tile,slip,firing,l\n1,A,one,60\n1,A,one,61\n2,A,one,62\n3,B,two,65\n3,B,two,66\n4,B,two,64\n";
    let told = parts(table);
    for source in &told.sources[..2] {
        assert!(source.spread.is_none() && source.widest.is_none(), "{source:?}");
    }
    assert!(matches!(told.firings[0].raw, Answer::CannotBeSeparated { .. }));
    assert!(told.firings[0].less_control.is_none(), "no controls");
    let same = Readings::read(b"slip,l\na,1\na,2\n", "l").unwrap();
    assert_eq!(Parts::new(&same).unwrap_err(), TrialError::NothingVaries);
}

#[test]
fn the_words_say_each_part_with_digits_that_suit() {
    let told = parts(&fired(0.0));
    let said = sherdlight::report::parts_table(&told);
    for wanted in
        ["where the spread of", "firing       2", "tile         6", "rest", "Firing first - second: raw"]
    {
        assert!(said.contains(wanted), "{wanted} is missing in\n{said}");
    }
    assert!(said.lines().all(|line| line.chars().count() < 100), "{said}");
    // Shares of paint kept scatter by hundredths: they get four decimals.
    let table = "slip,l\nA,0.912\nA,0.935\nB,0.871\nB,0.882\n";
    let said = sherdlight::report::parts_table(&parts(table));
    assert!(said.contains("0.0470"), "{said}");
}
