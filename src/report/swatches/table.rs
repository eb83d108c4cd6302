//! The swatches of one piece in words, the darkest first.

use crate::reading::{Reading, Swatch};
use crate::surface::Label;

/// Rows of a table for people: a line of titles, then a swatch a line by rank, those not read last.
pub fn swatch_table(reading: &Reading) -> Vec<Vec<String>> {
    let titles = [
        "rank",
        "swatch",
        "place",
        "is",
        "L*",
        "a*",
        "b*",
        "against slip dL*",
        "contrast left",
        "kept",
        "grade",
    ];
    let mut rows = vec![titles.map(str::to_owned).to_vec()];
    let mut swatches: Vec<&Swatch> = reading.swatches.iter().flatten().collect();
    swatches.sort_by_key(|s| (s.rank.unwrap_or(usize::MAX), s.row, s.column));
    rows.extend(swatches.into_iter().map(row));
    rows
}

fn row(swatch: &Swatch) -> Vec<String> {
    let name = |n: u8| Label::ALL.get(usize::from(n)).map_or("unclear", |label| label.name());
    let with =
        |value: Option<(f64, f64)>| value.map_or_else(String::new, |(v, u)| format!("{v:.1} ± {u:.1}"));
    let of = |c: usize| with(swatch.lab.zip(swatch.u95).map(|(lab, u95)| (lab[c], u95[c])));
    let percent = |v: Option<f64>| v.map_or_else(String::new, |v| format!("{:.0} %", 100.0 * v));
    vec![
        swatch.rank.map_or_else(String::new, |rank| rank.to_string()),
        swatch.id.clone(),
        format!("{}.{}", swatch.row, swatch.column),
        swatch.label.map_or_else(|| "not read".into(), |n| name(n).to_owned()),
        of(0),
        of(1),
        of(2),
        with(swatch.contrast.map(|c| (c.delta_l, c.u95.delta_l))),
        percent(swatch.contrast_left),
        percent(swatch.retained_fraction),
        match (&swatch.left_out, swatch.grade) {
            (Some(why), _) => left_out(why).into(),
            (None, Some(grade)) => grade.name().replace('-', " "),
            (None, None) => String::new(),
        },
    ]
}

/// Why a swatch was not read, in words.
fn left_out(why: &str) -> &'static str {
    match why {
        "edge" => "left out: at the edge of sight",
        "cloud" => "left out: under a fire cloud",
        "shade" => "left out: in shade",
        "glare" => "left out: it shines",
        _ => "left out: over-exposed",
    }
}
