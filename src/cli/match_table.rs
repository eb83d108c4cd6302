//! A comparison as text for the terminal.

use super::table::align;
use sherdlight::reading::{ColourDifference, Comparison, SpreadPart};

/// What stands out first, then a table each for colours, tones, shares and spread, then what was assumed.
pub fn match_table(found: &Comparison) -> String {
    let mut text: String = found.findings.iter().map(|line| format!("{line}\n")).collect();
    for table in [colours(found), contrast(found), tones(found), shares(found), spread(&found.spread)] {
        if !table.is_empty() {
            text.push('\n');
            text.push_str(&table);
        }
    }
    text.push('\n');
    text.push_str(&format!(
        "Replica less reference. Real: {} % chance of any false call over all {} comparisons ({}).\n",
        found.family.level * 100.0,
        found.family.comparisons,
        found.family.procedure
    ));
    found.assumed.iter().for_each(|line| text.push_str(&format!("{line}\n")));
    text
}

fn real(differs: bool) -> String {
    if differs { "real" } else { "not told apart" }.into()
}

fn row(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|cell| (*cell).to_owned()).collect()
}

/// `+1.2 ±3.4`.
fn signed(value: f64, u95: f64, decimals: usize) -> String {
    format!("{value:+.decimals$} ±{u95:.decimals$}")
}

fn colours(found: &Comparison) -> String {
    if found.differences.is_empty() {
        return String::new();
    }
    let mut rows = vec![row(&["surface", "", "CIEDE2000", "95 %", "delta L*", "delta C*", "delta h", ""])];
    for d in &found.differences {
        let line = |name: &str, what: &str, c: &ColourDifference, last: String| {
            let hue = if c.u95_lch[2] < 90.0 {
                format!("{:+.0}° ±{:.0}", c.delta_lch[2], c.u95_lch[2])
            } else {
                "-".into()
            };
            vec![
                name.to_owned(),
                what.to_owned(),
                format!("{:.1}", c.de00),
                format!("{:.1} to {:.1}", c.de00_interval[0], c.de00_interval[1]),
                signed(c.delta_lch[0], c.u95_lch[0], 1),
                signed(c.delta_lch[1], c.u95_lch[1], 1),
                hue,
                last,
            ]
        };
        rows.push(line(&d.surface, "in one light", &d.in_one_light, real(d.differs)));
        rows.push(line("", "as read", &d.plain, String::new()));
    }
    align(&rows, &[2, 3, 4, 5, 6])
}

fn contrast(found: &Comparison) -> String {
    let Some(c) = &found.contrast else { return String::new() };
    let change = |log: f64| 100.0 * log.exp_m1();
    align(
        &[
            row(&["contrast", "replica", "reference", "change", "95 %", "delta L*", ""]),
            vec![
                "white : black".into(),
                format!("{:.1}", c.replica),
                format!("{:.1}", c.reference),
                format!("{:+.0} %", change(c.log_ratio)),
                format!("{:+.0} to {:+.0} %", change(c.log_ratio - c.u95), change(c.log_ratio + c.u95)),
                signed(c.delta_l, c.delta_l_u95, 1),
                real(c.differs),
            ],
        ],
        &[1, 2, 3, 4, 5],
    )
}

fn tones(found: &Comparison) -> String {
    if found.tones.is_empty() {
        return String::new();
    }
    let mut rows = vec![row(&["without a card", "light given back against the others", "95 %", ""])];
    rows.extend(found.tones.iter().map(|t| {
        vec![
            t.surface.clone(),
            format!("{:.2} times", t.log_ratio.exp()),
            format!("{:.2} to {:.2}", (t.log_ratio - t.u95).exp(), (t.log_ratio + t.u95).exp()),
            real(t.differs),
        ]
    }));
    align(&rows, &[1, 2])
}

fn shares(found: &Comparison) -> String {
    if found.shares.is_empty() {
        return String::new();
    }
    let mut rows = vec![row(&["share in view", "replica", "reference", "difference", ""])];
    rows.extend(found.shares.iter().map(|s| {
        vec![
            s.surface.clone(),
            format!("{:.0} %", 100.0 * s.replica),
            format!("{:.0} %", 100.0 * s.reference),
            signed(100.0 * (s.replica - s.reference), 100.0 * s.u95, 0),
            real(s.differs),
        ]
    }));
    if let Some(u) = &found.white_unevenness {
        rows.push(vec![
            "unevenness of white".into(),
            format!("{:.1} %", 100.0 * u.replica),
            format!("{:.1} %", 100.0 * u.reference),
            signed(100.0 * (u.replica - u.reference), 100.0 * u.u95, 1),
            "not judged".into(),
        ]);
    }
    align(&rows, &[1, 2, 3])
}

fn spread(parts: &[SpreadPart]) -> String {
    if parts.is_empty() {
        return String::new();
    }
    let titles = ["references", "", "mean", "sd", "range", "one more piece", "replica", ""];
    let mut rows = vec![row(&titles)];
    rows.extend(parts.iter().map(|p| {
        vec![
            p.surface.clone(),
            if p.surface == "contrast" { "white : black".into() } else { p.value.clone() },
            format!("{:.1}", p.mean),
            format!("{:.1}", p.sd),
            format!("{:.1} to {:.1}", p.range[0], p.range[1]),
            p.prediction.map_or_else(|| "-".into(), |[low, high]| format!("{low:.1} to {high:.1}")),
            format!("{:.1}", p.replica),
            p.place.clone(),
        ]
    }));
    align(&rows, &[2, 3, 4, 5, 6])
}
