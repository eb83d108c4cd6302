//! Comparisons against the NIST/SEMATECH e-Handbook (doi 10.18434/M32189), scipy 1.17.1 and statsmodels 0.15.0.

use crate::one_way::one_way;
use sherdlight::report::comparison_table;
use sherdlight::trial::{
    Answer, Comparison, Difference, Factor, Readings, Scatter, TrialError, detectable, swatches_needed,
};

fn near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "{got} for {wanted}");
}

fn compare(table: &str, by: Factor) -> Comparison {
    Comparison::new(&Readings::read(table.as_bytes(), "l").unwrap(), by).unwrap()
}

fn estimated(comparison: &Comparison) -> Vec<Difference> {
    let of = |answer: &Answer| match answer {
        Answer::Estimated(difference) => difference.clone(),
        other => panic!("{other:?}"),
    };
    comparison.pairs.iter().map(|pair| of(&pair.answer)).collect()
}

#[test]
fn one_way_analysis_is_the_handbooks() {
    let table = one_way();
    let told = compare(&table, Factor::Slip);
    near(told.rest_squares, 17.452, 5e-4);
    assert_eq!((told.freedom, told.swatches, told.scatter), (12, 15, Scatter::Swatches));
    let values: Vec<f64> =
        table.lines().skip(1).map(|l| l.split_once(',').unwrap().1.parse().unwrap()).collect();
    let mean = values.iter().sum::<f64>() / 15.0;
    let total: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    near(total - told.rest_squares, 27.897, 5e-4);
    let f = ((total - told.rest_squares) / 2.0) / (told.rest_squares / 12.0);
    near(f, 9.59, 5e-3);
    let means: Vec<f64> = told.levels.iter().map(|level| level.mean.unwrap()).collect();
    [5.34, 7.72, 8.56].iter().zip(means).for_each(|(wanted, got)| near(got, *wanted, 1e-9));
}

#[test]
fn pairs_and_holms_adjustment_are_the_librarys() {
    // statsmodels 0.15.0, ols('y ~ C(g)') and multipletests(method='holm') on the same groups.
    let told = estimated(&compare(&one_way(), Factor::Slip));
    let library = [
        (-2.38, [-4.041812030595931, -0.7181879694040658], 0.00884768226396169, 0.01769536),
        (-3.22, [-4.881812030595929, -1.5581879694040643], 0.0011851884056791023, 0.00355557),
        (-0.84, [-2.5018120305959317, 0.8218120305959355], 0.29235368005284906, 0.29235368),
    ];
    for (got, (difference, interval, p, holm)) in told.iter().zip(library) {
        near(got.difference, difference, 1e-9);
        near(got.standard_error, 0.7627144507175233, 1e-9);
        near(got.interval[0], interval[0], 1e-7);
        near(got.interval[1], interval[1], 1e-7);
        near(got.p, p, 1e-9);
        near(got.p_holm, holm, 1e-8);
    }
    assert_eq!(told.iter().map(|d| d.told_apart).collect::<Vec<_>>(), [true, true, false]);
    assert!(told[0].more_of_each.is_none() && told[2].more_of_each.is_some());
}

const UNBALANCED: &str = "slip,paint,l\nriver white,mustard leaf,71.2\nriver white,mustard leaf,69.8\n\
    river white,mustard leaf,72.9\nriver white,walnut hull,64.1\nriver white,walnut hull,66.0\n\
    bank buff,mustard leaf,63.5\nbank buff,walnut hull,58.2\nbank buff,walnut hull,60.9\nbank buff,walnut hull,57.4\n\
    bank buff,walnut hull,59.3\nchalk,mustard leaf,75.0\nchalk,mustard leaf,77.8\nchalk,walnut hull,70.6\n";

#[test]
fn an_unbalanced_table_of_two_factors_is_the_librarys() {
    // statsmodels 0.15.0, ols('l ~ C(slip) + C(paint)'): differences, standard errors, intervals, p; Holm's by
    // multipletests; means with both paints weighing the same by t_test.
    let told = compare(UNBALANCED, Factor::Slip);
    assert_eq!(told.adjusted_for, [Factor::Paint]);
    assert_eq!(told.freedom, 9);
    near(told.rest_squares, 18.84865000000003, 1e-9);
    let library = [
        (
            -11.9805,
            1.1348969483320217,
            [-14.5478152607071, -9.413184739292888],
            2.275843340267716e-06,
            6.82753002e-06,
        ),
        (
            -6.689,
            0.9815169099126346,
            [-8.909345508166421, -4.468654491833567],
            7.773325809832144e-05,
            1.55466516e-04,
        ),
        (
            5.2915,
            1.058511940309499,
            [2.8969796323214085, 7.686020367678526],
            0.0007399783865061491,
            7.39978387e-04,
        ),
    ];
    for (got, (difference, error, interval, p, holm)) in estimated(&told).iter().zip(library) {
        near(got.difference, difference, 1e-9);
        near(got.standard_error, error, 1e-9);
        near(got.interval[0], interval[0], 1e-7);
        near(got.interval[1], interval[1], 1e-7);
        near(got.p / p, 1.0, 1e-6);
        near(got.p_holm / holm, 1.0, 1e-6);
    }
    let means = [
        ("bank buff", 61.54825, [59.9654813, 63.1310187]),
        ("chalk", 73.52875, [71.60936102, 75.44813898]),
        ("river white", 68.23725, [66.75953578, 69.71496422]),
    ];
    for (got, (name, mean, interval)) in told.levels.iter().zip(means) {
        assert_eq!(got.level, name);
        near(got.mean.unwrap(), mean, 1e-9);
        near(got.interval.unwrap()[0], interval[0], 1e-6);
        near(got.interval.unwrap()[1], interval[1], 1e-6);
    }
}

#[test]
fn an_interaction_is_the_librarys() {
    // statsmodels 0.15.0, anova_lm of ols('l ~ C(slip) + C(paint)') and ols('l ~ C(slip) * C(paint)').
    let told = &compare(UNBALANCED, Factor::Slip).interactions;
    assert_eq!((told.len(), told[0].with, told[0].freedom), (1, Factor::Paint, [2, 7]));
    near(told[0].f, 0.2837840550616595, 1e-9);
    near(told[0].p, 0.7611950503010088, 1e-9);
    // Paint changes sides with the slip.
    let crossing = "slip,paint,l\nA,P,60\nA,P,61\nA,Q,70\nA,Q,71\nB,P,70\nB,P,71\nB,Q,60\nB,Q,61\n";
    let told = compare(crossing, Factor::Slip);
    assert!(told.interactions[0].p < 0.001);
    let said = sherdlight::report::comparison_table(&told);
    assert!(said.contains("Beware: what the slip does changes with paint"), "{said}");
}

/// Two firings of three tiles, each with two swatches of two slips.
const SPLIT: &str = "tile,slip,firing,l\n1,river white,one,60.1\n1,river white,one,61.1\n1,bank buff,one,58.8\n\
    1,bank buff,one,59.5\n2,river white,one,62.7\n2,river white,one,62.4\n2,bank buff,one,61.0\n2,bank buff,one,61.9\n\
    3,river white,one,62.3\n3,river white,one,62.6\n3,bank buff,one,62.1\n3,bank buff,one,60.7\n\
    4,river white,two,63.5\n4,river white,two,62.4\n4,bank buff,two,59.9\n4,bank buff,two,60.0\n\
    5,river white,two,66.1\n5,river white,two,65.5\n5,bank buff,two,62.0\n5,bank buff,two,63.0\n\
    6,river white,two,67.0\n6,river white,two,68.4\n6,bank buff,two,64.7\n6,bank buff,two,65.5\n";

#[test]
fn firings_are_judged_by_tiles_and_slips_within_them() {
    // In a balanced split plot the test of whole tiles is the t test of their means: scipy 1.17.1, ttest_ind.
    let firing = compare(SPLIT, Factor::Firing);
    assert_eq!((firing.scatter, firing.freedom), (Scatter::Tiles, 4));
    let told = &estimated(&firing)[0];
    near(told.difference, 61.266666666667 - 64.0, 1e-9);
    near(told.difference / told.standard_error, -1.71770130257199, 1e-9);
    near(told.p, 0.16098259254780553, 1e-9);
    near(told.interval[0], -7.151418097456178, 1e-7);
    near(told.interval[1], 1.6847514307895235, 1e-7);
    assert_eq!(firing.unequal_tiles, None);
    let cut: Vec<&str> =
        SPLIT.lines().filter(|line| !line.starts_with("1,") || line.ends_with("60.1")).collect();
    let uneven = compare(&cut.join("\n"), Factor::Firing);
    assert_eq!(uneven.unequal_tiles, Some([1, 4]));
    assert!(sherdlight::report::comparison_table(&uneven).contains("Tiles hold from 1 to 4 readings"));
    // Slips within tiles: statsmodels 0.15.0, ols('l ~ C(slip) + C(tile)').
    let slip = compare(SPLIT, Factor::Slip);
    assert_eq!((slip.scatter, &slip.adjusted_for[..]), (Scatter::Swatches, &[Factor::Tile][..]));
    let told = &estimated(&slip)[0];
    near(told.difference, -2.0833333333333535, 1e-9);
    near(told.standard_error, 0.31049191415908106, 1e-9);
    near(told.interval[0], -2.7384140106174675, 1e-7);
}

#[test]
fn sample_sizes_are_the_librarys_rounded_up() {
    // statsmodels 0.15.0, TTestIndPower().solve_power(d, alpha=0.05, power=0.8): 5.09, 16.71, 63.77, 3.07.
    for (difference, wanted) in [(2.0, 6), (1.0, 17), (0.5, 64), (3.0, 4)] {
        assert_eq!(swatches_needed(difference, 1.0), Some(wanted), "{difference}");
    }
    assert_eq!(swatches_needed(1.0, 2.0), Some(64), "only the ratio counts");
    assert_eq!((swatches_needed(0.0, 1.0), swatches_needed(0.01, 1.0)), (None, None));
    assert_eq!(swatches_needed(1.0, 0.0), Some(2));
    // Student's t of 10 degrees of freedom, as tables print it: 2.228 and 0.879.
    near(detectable(1.0, 10), 2.228 + 0.879, 1e-3);
}

#[test]
fn lost_swatches_and_blanks_are_left_out_and_counted() {
    let table = "tile;role;slip;l\n1;trial;a;60,5\n1;trial;a;61,0\n1;trial;B;64,1\n1;control;b;63,2\n1;blank;a;90,0\n\
                 1;trial;a;\n1;trial;;70,0\n";
    let told = compare(table, Factor::Slip);
    assert_eq!(told.swatches, 4);
    let names: Vec<(&str, usize)> = told.levels.iter().map(|l| (&*l.level, l.swatches)).collect();
    assert_eq!(names, [("a", 2), ("B", 2)], "case does not part levels");
    let out: Vec<(&str, usize)> = told.left_out.iter().map(|l| (&*l.reason, l.count)).collect();
    assert_eq!(out, [("blanks", 1), ("without slip", 1), ("without a value of l", 1)]);
    near(estimated(&told)[0].difference, 60.75 - 63.65, 1e-9);
    let told = compare("coats,l\n2,60\n2.0,61\n10,63\n10,62\n", Factor::Coats);
    assert_eq!(told.levels.iter().map(|l| l.swatches).collect::<Vec<_>>(), [2, 2], "2 and 2.0 are one");
    let many: String = (0..600).map(|n| format!("s{n},{n}\n")).collect();
    let refused = Readings::read(format!("slip,l\n{many}").as_bytes(), "l").unwrap_err();
    assert!(matches!(refused, TrialError::TooLarge { .. }), "{refused}");
}

#[test]
fn neither_the_order_of_rows_nor_a_constant_matters() {
    let mut rows: Vec<&str> = SPLIT.lines().skip(1).collect();
    rows.reverse();
    let turned = format!("tile,slip,firing,l\n{}\n", rows.join("\n"));
    let raised: String = rows
        .iter()
        .map(|row| {
            let (levels, value) = row.rsplit_once(',').unwrap();
            format!("{levels},{}\n", value.parse::<f64>().unwrap() + 1e6)
        })
        .collect();
    for by in [Factor::Slip, Factor::Firing] {
        let first = &estimated(&compare(SPLIT, by))[0];
        for other in [&turned, &format!("tile,slip,firing,l\n{raised}")] {
            let told = &estimated(&compare(other, by))[0];
            near(told.difference, first.difference, 1e-8);
            near(told.standard_error, first.standard_error, 1e-8);
        }
    }
}

/// Readings that add up exactly, with sums that rounding leaves a digit off: there is no scatter, and that is said.
#[test]
fn rounding_is_no_scatter() {
    let exact: String = (1..=2)
        .flat_map(|tile| ["a", "b"].map(|slip| ["p", "q"].map(|paint| (tile, slip, paint))))
        .flatten()
        .map(|(tile, slip, paint)| {
            let l = 60.1
                + 0.3 * f64::from(tile)
                + f64::from(u8::from(slip == "b")) * 3.0
                + f64::from(u8::from(paint == "q"));
            format!("{tile},{slip},{paint},{l:.1}\n")
        })
        .collect();
    let comparison = compare(&format!("tile,slip,paint,l\n{exact}"), Factor::Slip);
    assert_eq!(comparison.sigma, Some(0.0));
    let text = comparison_table(&comparison);
    assert!(text.contains("Like swatches read alike to the last digit") && text.contains("−3.00"), "{text}");
}

#[test]
fn faults_are_told_by_name() {
    let read = |table: &str, value: &str| Readings::read(table.as_bytes(), value).unwrap_err();
    let known = read("slip,l\na,1\n", "m").to_string();
    assert!(known.contains("no column 'm'; it has slip, l"), "{known}");
    assert!(matches!(read("slip,l\na,1\n", "slip"), TrialError::NotAValue { .. }));
    assert!(matches!(read("slip,l\na,\n", "l"), TrialError::NoValues { .. }));
    let half = read("slip,l,u95_l\na,60,1\nb,70,1\n", "u95 L").to_string();
    assert!(half.contains("tells how sure each reading of 'l' is"), "{half}");
    let cells = read("role,slip,l\ntrial,a,pale\nspare,a,1\n", "l").to_string();
    assert!(cells.contains("row 2, column l: 'pale' is no number"), "{cells}");
    assert!(cells.contains("row 3, column role: 'spare' is no role"), "{cells}");
    let large = read("slip,l\na,1e300\n", "l").to_string();
    assert!(large.contains("row 2, column l: 1e300 is no reading"), "{large}");
    let twice = read("tile,firing,l\n1,one,60\n1,two,61\n", "l").to_string();
    assert!(twice.contains("tile '1' stands in the firings 'one' and 'two'"), "{twice}");
    let one = Readings::read(b"slip,l\na,1\na,2\n", "l").unwrap();
    let said = Comparison::new(&one, Factor::Slip).unwrap_err().to_string();
    assert!(said.contains("every swatch has the slip 'a'"), "{said}");
    let said = Comparison::new(&one, Factor::Firing).unwrap_err().to_string();
    assert!(said.contains("no swatch tells its firing"), "{said}");
}
