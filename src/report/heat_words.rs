//! The figures of a firing for a terminal.

use super::words::fixed;
use crate::ledger::temperatures::{Moment, ProbeSummary, Steepest, Summary};

/// No line is longer.
const WIDTH: usize = 99;
/// Marks beside each other in a table.
const MARKS_A_TABLE: usize = 6;

/// The figures as plain text: tables with one line a probe, then spread, gaps, broken readings and remarks. No line
/// has 100 columns.
pub fn heat_words(summary: &Summary) -> String {
    let [low, high] = summary.marks.window;
    let span = match (summary.from.as_str(), summary.to.as_str()) {
        ("", _) | (_, "") => String::new(),
        (from, to) => format!(", {} to {}", cut(from, 30), cut(to, 30)),
    };
    let mut text = format!("Temperatures of the firing, {} minutes{span}\n", fixed(summary.minutes, 1));
    let head =
        ["probe", "peak C", "after min", "at", &format!("min at {} to {} C", fixed(low, 0), fixed(high, 0))];
    table(&mut text, &head, &[0, 3], summary, |probe| {
        let peak = probe.peak.as_ref();
        vec![
            peak.map_or_else(unknown, |peak| fixed(peak.celsius, 1)),
            peak.map_or_else(unknown, |peak| fixed(peak.at.minutes, 1)),
            peak.map_or_else(unknown, |peak| cut(peak.at.written.as_deref().unwrap_or(""), 26)),
            probe.window_minutes.map_or_else(unknown, |minutes| least(probe, minutes)),
        ]
    });
    for (number, marks) in summary.marks.above.chunks(MARKS_A_TABLE).enumerate() {
        let mut head = vec!["min at or above".to_owned()];
        head.extend(marks.iter().map(|mark| format!("{} C", fixed(*mark, 0))));
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        table(&mut text, &head, &[0], summary, |probe| {
            let minutes = |at: usize| probe.above.get(number * MARKS_A_TABLE + at);
            (0..marks.len()).map(|at| minutes(at).map_or_else(unknown, |m| least(probe, m.minutes))).collect()
        });
    }
    let head = ["C a minute", "to peak", "steepest", "from min", "first cooling", "steepest", "from min"];
    table(&mut text, &head, &[0], summary, |probe| {
        let rate = |steepest: &Option<Steepest>| {
            steepest.as_ref().map_or_else(unknown, |s| fixed(s.celsius_per_minute, 1))
        };
        let from = |steepest: &Option<Steepest>| {
            steepest.as_ref().map_or_else(unknown, |s| fixed(s.from.minutes, 1))
        };
        vec![
            probe.heating_celsius_per_minute.map_or_else(unknown, |rate| fixed(rate, 1)),
            rate(&probe.heating_steepest),
            from(&probe.heating_steepest),
            probe.cooling_first_celsius_per_minute.map_or_else(unknown, |rate| fixed(rate, 1)),
            rate(&probe.cooling_steepest),
            from(&probe.cooling_steepest),
        ]
    });
    text.push('\n');
    heat_notes(summary).iter().for_each(|note| wrapped(&mut text, note));
    text
}

/// What stands under the tables, a sentence or two each: peaks, spread, gaps, broken readings, remarks.
pub(super) fn heat_notes(summary: &Summary) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some([low, high]) = summary.peaks_celsius {
        notes.push(format!("Peaks from {} to {} C.", fixed(low, 1), fixed(high, 1)));
    }
    if let Some(spread) = &summary.spread {
        let largest =
            format!("at most {} C, {}", fixed(spread.largest_celsius, 1), moment(&spread.largest_at));
        let median = spread.median_celsius.map_or_else(String::new, |median| {
            let minutes = fixed(spread.median_of_minutes, 1);
            format!("; half of the {minutes} min over 500 C it is {} C or less", fixed(median, 1))
        });
        notes.push(format!("Between the probes: {largest}{median}."));
    }
    for probe in &summary.probes {
        let name = cut(&probe.name, 24);
        for gap in &probe.gaps {
            let (from, to) = (moment(&gap.from), moment(&gap.to));
            notes.push(format!("{name}: gap of {} min, from {from} to {to}.", fixed(gap.minutes, 1)));
        }
        for broken in &probe.broken {
            let when = match broken.readings {
                1 => format!("one reading, {}", moment(&broken.from)),
                count => format!("{count} readings, {} to {}", moment(&broken.from), moment(&broken.to)),
            };
            notes.push(format!("{name}: {when}: {}; left out.", broken.why));
        }
    }
    for remark in &summary.remarks {
        notes.push(remark.clone());
    }
    notes.push(
        "Heating: from 100 C to the peak, and the steepest 5 minutes. First cooling: the 10 minutes after the last time at 0.9 of the peak."
            .into(),
    );
    if summary.probes.iter().any(is_least) {
        notes.push("+ at least: a part of the log is not known.".into());
    }
    notes
}

pub(super) fn unknown() -> String {
    "-".into()
}

fn is_least(probe: &ProbeSummary) -> bool {
    // A thousandth of a minute is rounding.
    probe.unknown_minutes > 0.001
}

/// Minutes, with a sign where they are the least they can be.
pub(super) fn least(probe: &ProbeSummary, minutes: f64) -> String {
    format!("{}{}", fixed(minutes, 1), if is_least(probe) { "+" } else { " " })
}

/// `14:02:10 (12.5 min)`.
fn moment(moment: &Moment) -> String {
    let minutes = fixed(moment.minutes, 1);
    match &moment.written {
        Some(written) => format!("{} ({minutes} min)", cut(written, 30)),
        None => format!("{minutes} min"),
    }
}

/// A table with one line a probe; `left` are the columns that stand left.
fn table(
    text: &mut String,
    head: &[&str],
    left: &[usize],
    summary: &Summary,
    cells: impl Fn(&ProbeSummary) -> Vec<String>,
) {
    let mut rows = vec![head.iter().map(|h| (*h).to_owned()).collect::<Vec<_>>()];
    rows.extend(summary.probes.iter().map(|probe| {
        let mut row = vec![cut(&probe.name, 24)];
        row.extend(cells(probe));
        row
    }));
    let width = |c: usize| {
        rows.iter().filter_map(|row| row.get(c)).map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..head.len()).map(width).collect();
    text.push('\n');
    for row in &rows {
        let line: Vec<String> = row
            .iter()
            .zip(&widths)
            .enumerate()
            .map(|(c, (cell, width))| {
                let air = " ".repeat(width - cell.chars().count());
                if left.contains(&c) { format!("{cell}{air}") } else { format!("{air}{cell}") }
            })
            .collect();
        text.push_str(line.join("  ").trim_end());
        text.push('\n');
    }
}

/// A sentence in lines of the width, those after the first set in.
fn wrapped(text: &mut String, sentence: &str) {
    let mut line = String::new();
    for word in sentence.split_whitespace() {
        let word = cut(word, WIDTH - 3);
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > WIDTH {
            text.push_str(&line);
            text.push('\n');
            line = "  ".into();
        } else if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(&word);
    }
    text.push_str(&line);
    text.push('\n');
}

/// At most `most` letters without control characters, with a sign where some are left out.
fn cut(text: &str, most: usize) -> String {
    let clean = text.chars().map(|c| if c.is_control() { ' ' } else { c });
    match text.chars().count() {
        count if count <= most => clean.collect(),
        _ => clean.take(most.saturating_sub(1)).chain(['…']).collect(),
    }
}
