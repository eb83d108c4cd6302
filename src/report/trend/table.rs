//! The table for a terminal.

use super::{order_words, title};
use crate::ledger::trend::{Trend, TrendBy, TrendRow, TrendValue};
use crate::report::words::{UNKNOWN, fixed, plus_minus};
use rayon::prelude::*;
use std::borrow::Cow;

/// Columns that stand left; numbers stand right.
const WORDS: usize = 5;

/// Points that are listed: the newest. Nobody reads more in a terminal; the JSON holds all.
const LISTED: usize = 500;

/// The finding, then one line a point with columns aligned, then levels, firings and rules.
pub fn trend_table(trend: &Trend) -> String {
    let mut text = format!("{}, {}\n{}\n\n", title(trend), order_words(trend), signed(&trend.finding.text));
    let name = if trend.by == TrendBy::Firing { "readings" } else { "piece" };
    let value = if trend.value == TrendValue::Distance { "to target" } else { trend.value.sign() };
    let head = ["n", "taken", "firing", name, "batch", value, "L*", "b*", ""].map(Cow::Borrowed);
    let earlier = trend.points.len().saturating_sub(LISTED);
    if earlier > 0 {
        text += &format!(
            "The last {LISTED} points; the {earlier} before are counted as well, and --json lists all.\n\n"
        );
    }
    let rows: Vec<[Cow<str>; 9]> = std::iter::once(head)
        .chain(trend.points[earlier..].par_iter().map(|row| cells(trend, row)).collect::<Vec<_>>())
        .collect();
    // The value itself is not shown twice.
    let twice = match trend.value {
        TrendValue::Lightness => Some(6),
        TrendValue::Yellow => Some(7),
        _ => None,
    };
    write_aligned(&mut text, &rows, twice);
    levels(&mut text, trend);
    if trend.by == TrendBy::Date && trend.firings.len() > 1 && trend.firings.len() < trend.points.len() {
        firings(&mut text, trend);
    }
    text.push('\n');
    for left in &trend.left_out {
        let readings = if left.count == 1 { "reading is" } else { "readings are" };
        text += &format!("{} {readings} left out, {}.\n", left.count, left.reason);
    }
    for rule in &trend.rules {
        text += &format!("{}: {}\n", rule.name, signed(&rule.text));
    }
    text
}

/// A sentence with a true plus-minus sign.
fn signed(text: &str) -> String {
    text.replace("+-", "±")
}

fn cells<'a>(trend: &Trend, row: &'a TrendRow) -> [Cow<'a, str>; 9] {
    let told = |text: &'a Option<String>| text.as_deref().map_or(Cow::Borrowed("-"), one_line);
    let value = match (row.value, row.interval) {
        (None, _) => "-".into(),
        (Some(value), None) => format!("{} (± not known)", fixed(value, 1)),
        (Some(value), Some([low, high]))
            if trend.value == TrendValue::Distance && trend.by == TrendBy::Date =>
        {
            format!("{} ({} to {})", fixed(value, 1), fixed(low, 1), fixed(high, 1))
        }
        (Some(value), Some([_, high])) => plus_minus(value, high - value, 1),
    };
    let piece = match &row.piece {
        Some(piece) => one_line(piece),
        None => row.readings.to_string().into(),
    };
    [
        row.number.to_string().into(),
        row.time.as_deref().map_or(Cow::Borrowed("-"), |time| one_line(time.get(..16).unwrap_or(time))),
        told(&row.firing),
        piece,
        told(&row.batch),
        value.into(),
        plus_minus(row.l, row.l_u95, 1).into(),
        plus_minus(row.b, row.b_u95, 1).into(),
        remark(trend, row).into(),
    ]
}

/// What is to be said of one point.
fn remark(trend: &Trend, row: &TrendRow) -> String {
    let mut said: Vec<String> = Vec::new();
    // Calls and changes stand in the order of points.
    if let Ok(at) = trend.calls.binary_search_by_key(&row.number, |call| call.onset) {
        said.push(format!("{} from here on", trend.calls[at].direction));
    }
    if trend.batch_changes.binary_search_by_key(&row.number, |change| change.at).is_ok() {
        said.push("new batch".into());
    }
    if row.outside {
        said.push("outside the limits".into());
    }
    said.join(", ")
}

fn write_aligned(text: &mut String, rows: &[[Cow<str>; 9]], without: Option<usize>) {
    let wide = |row: &[Cow<str>; 9]| -> [usize; 9] { std::array::from_fn(|c| row[c].chars().count()) };
    let most = |a: [usize; 9], b: [usize; 9]| std::array::from_fn(|c| a[c].max(b[c]));
    let widths = rows.par_iter().map(wide).reduce(|| [0; 9], most);
    let lines: Vec<String> = rows
        .par_iter()
        .map(|row| {
            let mut line = String::with_capacity(120);
            for (c, cell) in row.iter().enumerate().filter(|(c, _)| Some(*c) != without) {
                let air = widths[c] - cell.chars().count();
                let left = (1..WORDS).contains(&c) || c == 8;
                line.extend(std::iter::repeat_n(' ', if left { 0 } else { air }));
                line.push_str(cell);
                line.extend(std::iter::repeat_n(' ', if left { air } else { 0 }));
                line.push_str("  ");
            }
            line.truncate(line.trim_end().len());
            line.push('\n');
            line
        })
        .collect();
    text.extend(lines);
}

fn levels(text: &mut String, trend: &Trend) {
    text.push('\n');
    for (at, stretch) in trend.stretches.iter().enumerate() {
        if let Some(call) = at.checked_sub(1).and_then(|before| trend.calls.get(before)) {
            *text += &format!("{}\n", signed(&call.text));
        }
        let limits = stretch.limits.map_or(String::new(), |limits| {
            format!("; control limits {} and {}", fixed(limits.lower, 1), fixed(limits.upper, 1))
        });
        let mean = match stretch.mean_u95 {
            Some(u95) => plus_minus(stretch.mean, u95, 1),
            None => fixed(stretch.mean, 1),
        };
        *text += &format!("Points {} to {}: mean {mean}{limits}.\n", stretch.first, stretch.last);
    }
    for change in &trend.batch_changes {
        let (from, to) = (one_line(&change.from), one_line(&change.to));
        *text += &format!("From point {} on the batch is {to}; before it was {from}.\n", change.at);
    }
}

fn firings(text: &mut String, trend: &Trend) {
    text.push_str("\nMeans by firing, ± from the scatter of its pieces:\n");
    for firing in &trend.firings {
        let mean = match (firing.mean, firing.u95) {
            (Some(mean), Some(u95)) => plus_minus(mean, u95, 1),
            (Some(mean), None) => format!("{} (one reading: no ±)", fixed(mean, 1)),
            _ => UNKNOWN.into(),
        };
        let readings = if firing.readings == 1 { "reading" } else { "readings" };
        *text += &format!(
            "{}: {mean}, {} {readings}, L* {}, b* {}\n",
            one_line(&firing.firing),
            firing.readings,
            fixed(firing.l, 1),
            fixed(firing.b, 1)
        );
    }
}

/// Line ends and control characters would break a terminal's columns.
fn one_line(text: &str) -> Cow<'_, str> {
    match text.chars().any(char::is_control) {
        false => Cow::Borrowed(text),
        true => text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect::<String>().into(),
    }
}
