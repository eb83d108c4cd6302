//! Small pieces of text that the tables of a trial share.

use crate::report::words::fixed;
use crate::trial::LeftOut;

/// Letters of a line of words.
const WIDTH: usize = 96;

/// Decimals for readings that scatter by this much: three digits of it at most, two where it is not known.
pub(super) fn decimals(sigma: Option<f64>) -> usize {
    match sigma {
        Some(sigma) if sigma > 0.0 && sigma.is_finite() => {
            (2.0 - sigma.log10().floor()).clamp(0.0, 6.0) as usize
        }
        _ => 2,
    }
}

/// Degrees of freedom in words.
pub(super) fn degrees(freedom: usize) -> String {
    format!("{freedom} degree{} of freedom", if freedom == 1 { "" } else { "s" })
}

/// With its sign.
pub(super) fn signed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if value > 0.0 { format!("+{text}") } else { text }
}

/// An interval.
pub(super) fn range([low, high]: [f64; 2], decimals: usize) -> String {
    format!("{} to {}", fixed(low, decimals), fixed(high, decimals))
}

/// Line ends and control characters would break a terminal's columns.
pub(super) fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// Lines of equal columns; those in `right` to the right.
pub(super) fn aligned(rows: &[Vec<String>], right: &[usize]) -> String {
    let width = |c: usize| rows.iter().filter_map(|r| r.get(c)).map(|t| t.chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..rows.first().map_or(0, Vec::len)).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .zip(&widths)
            .enumerate()
            .map(|(c, (cell, width))| {
                let gap = " ".repeat(width - cell.chars().count());
                if right.contains(&c) { format!("{gap}{cell}") } else { format!("{cell}{gap}") }
            })
            .collect();
        text += cells.join("  ").trim_end();
        text.push('\n');
    }
    text
}

/// One line for each kind of row that was not used.
pub(super) fn left_out(all: &[LeftOut]) -> String {
    all.iter().map(|left| format!("{} left out, {}.\n", left.count, one_line(&left.reason))).collect()
}

/// Words in lines that fit a terminal, the last with its end; a number stays with its percent sign.
pub(super) fn wrapped(text: &str) -> String {
    let (mut lines, mut used) = (String::new(), 0);
    for word in text.replace(" %", "\u{a0}%").split(' ') {
        let length = word.chars().count();
        if used > 0 && used + 1 + length > WIDTH {
            lines.push('\n');
            used = 0;
        }
        if used > 0 {
            lines.push(' ');
            used += 1;
        }
        lines.push_str(word);
        used += length;
    }
    lines.push('\n');
    lines
}

/// What is said where like swatches do not scatter at all.
pub(in crate::report) const NO_SCATTER: &str = "Like swatches read alike to the last digit: without any scatter the smallest \
     difference counts as real. Check that the readings were not copied from one swatch to the next.";
