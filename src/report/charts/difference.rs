//! A replica against its reference: a row a surface, with its differences about zero.

use super::marks::interval;
use super::parts::{MARGIN, bar_across, heading, heading_height, nothing, remark};
use super::ratios::{Ratio, ratio_rows, ratios};
use super::scale::Scale;
use super::svg::{Anchor, INK, Look, PAPER, QUIET, RULE, Svg};
use super::text::{told, wrapped};
use crate::reading::{Comparison, Difference};
use crate::report::words::{capital, fixed, plus_minus};

/// Natural width.
pub(super) const WIDTH: f64 = 720.0;
/// Height of a row.
pub(super) const ROW: f64 = 48.0;
/// Where the words of a row have to end.
const WORDS_END: f64 = 150.0;
/// Left and right ends of the three columns.
pub(super) const COLUMNS: [[f64; 2]; 3] = [[164.0, 286.0], [311.0, 433.0], [458.0, 580.0]];
/// Titles over the columns.
const NAMES: [&str; 3] = ["lightness ΔL*", "chroma ΔC*", "hue Δh, degrees"];
/// Intervals widen a column no farther than this beyond its farthest value; hue of a near grey is hardly known.
const REACH: [f64; 3] = [20.0, 20.0, 40.0];
const TITLE: &str = "The replica against its reference";

/// A row a surface that both show: L*, C* and h of the replica less those of the reference, in one light, with their
/// 95 % intervals; filled marks where the difference is real, hollow ones where it is not told apart. White against
/// black, and what can be said without a card, as ratios below.
pub fn difference_chart(id: &str, found: &Comparison) -> String {
    let ratios = ratios(found);
    if found.differences.is_empty() && ratios.is_empty() {
        let why = "Replica and reference show no surface in common, so nothing was compared.";
        return nothing(id, WIDTH, TITLE, why);
    }
    let first = match found.differences.is_empty() {
        false => {
            "Replica less reference, in one light: the surfaces that do not differ are taken for the same. Lines: 95 % intervals."
        }
        true => {
            "Replica over reference: light against that of the other surfaces of the piece. Lines: 95 % intervals."
        }
    };
    let note = format!("{first} Filled: the difference is real; hollow: not told apart.");
    let lines = remark(&note, WIDTH);
    let top = heading_height(lines.len()) + 48.0;
    let rows_end = match found.differences.len() {
        0 => top - 48.0,
        rows => top + ROW * rows as f64 + 8.0,
    };
    let height =
        if ratios.is_empty() { rows_end + 8.0 } else { rows_end + 56.0 + ROW * ratios.len() as f64 + 8.0 };
    let mut svg = Svg::new(id, WIDTH, height, TITLE, &description(found, &ratios));
    heading(&mut svg, TITLE, &lines);
    if !found.differences.is_empty() {
        surfaces(&mut svg, &found.differences, top);
    }
    if !ratios.is_empty() {
        ratio_rows(&mut svg, &ratios, rows_end);
    }
    svg.finish()
}

fn surfaces(svg: &mut Svg, differences: &[Difference], top: f64) {
    let bottom = top + ROW * differences.len() as f64;
    let value = |d: &Difference, part: usize| [d.in_one_light.delta_lch[part], d.in_one_light.u95_lch[part]];
    let scales = [0, 1, 2].map(|part| {
        let farthest = differences
            .iter()
            .map(|d| value(d, part))
            .filter(|[value, _]| value.is_finite())
            .map(|[value, half]| {
                value.abs() + if half.is_finite() { half.clamp(0.0, REACH[part]) } else { 0.0 }
            })
            .fold(1.0, f64::max);
        let [left, right] = COLUMNS[part];
        Scale::about_zero(farthest, left, right)
    });
    for ((name, scale), [left, right]) in NAMES.iter().zip(&scales).zip(COLUMNS) {
        svg.words([(left + right) / 2.0, top - 26.0], Anchor::Middle, 0.0, INK, true, name);
        for (value, text) in scale.ticks() {
            let x = scale.at(value);
            svg.line([x, top], [x, bottom], RULE, 1.0, false);
            svg.small([x, top - 8.0], Anchor::Middle, QUIET, "none", &text);
        }
        svg.line([left, top], [right, top], INK, 1.0, false);
        svg.line([scale.at(0.0), top], [scale.at(0.0), bottom], INK, 1.4, false);
    }
    svg.words([WIDTH - MARGIN, top - 26.0], Anchor::End, 0.0, INK, true, "CIEDE2000");
    svg.small([WIDTH - MARGIN, top - 8.0], Anchor::End, QUIET, "none", "95 % interval");
    for (number, difference) in differences.iter().enumerate() {
        let y = top + ROW * (number as f64 + 0.5);
        titles(svg, &difference.surface, &difference.words, y);
        for (part, (scale, ends)) in scales.iter().zip(COLUMNS).enumerate() {
            let name = format!("{} {}", capital(&difference.surface), NAMES[part]);
            mark(svg, value(difference, part), scale, ends, y, difference.differs, &name);
        }
        let colour = &difference.in_one_light;
        let [low, high] = colour.de00_interval;
        svg.words(
            [WIDTH - MARGIN, y - 1.0],
            Anchor::End,
            0.0,
            INK,
            difference.differs,
            &fixed(colour.de00, 1),
        );
        if low.is_finite() && high.is_finite() {
            let text = format!("{} to {}", fixed(low, 1), fixed(high, 1));
            svg.small([WIDTH - MARGIN, y + 14.0], Anchor::End, QUIET, "none", &text);
        }
    }
}

/// Name and words of a row, and the line above it.
pub(super) fn titles(svg: &mut Svg, name: &str, words: &str, y: f64) {
    svg.line([MARGIN, y - ROW / 2.0], [WIDTH - MARGIN, y - ROW / 2.0], RULE, 1.0, false);
    let lines = wrapped(words, WORDS_END - MARGIN, 11.0);
    let first = y + 4.0 - 7.0 * lines.len().min(2) as f64;
    svg.words([MARGIN, first], Anchor::Start, 0.0, INK, true, &capital(name));
    for (row, line) in lines.iter().take(2).enumerate() {
        svg.small([MARGIN, first + 14.0 + 13.0 * row as f64], Anchor::Start, QUIET, "none", line);
    }
}

/// A value with its interval in a column; filled where it is real. What is no number is not drawn.
pub(super) fn mark(
    svg: &mut Svg,
    value: [f64; 2],
    scale: &Scale,
    ends: [f64; 2],
    y: f64,
    real: bool,
    name: &str,
) {
    if !value[0].is_finite() {
        return;
    }
    if let Some(interval) = interval(value) {
        bar_across(svg, interval.map(|end| scale.at(end)), y, ends, 4.0);
    }
    svg.group(&format!("{name}: {}", plus_minus(value[0], value[1], 1)));
    let look = if real { Look::edged(INK, PAPER, 0.8) } else { Look::edged(PAPER, INK, 1.8) };
    svg.circle([scale.within(value[0]), y], 5.0, look);
    svg.end();
}

fn description(found: &Comparison, ratios: &[Ratio]) -> String {
    let names = |differs: bool| -> Vec<String> {
        let surfaces = found.differences.iter().filter(|d| d.differs == differs).map(|d| d.surface.clone());
        let others = ratios.iter().filter(|r| r.differs == differs).map(|r| r.name.clone());
        surfaces.chain(others).collect()
    };
    let mut text = match (names(true), names(false)) {
        (real, alike) if real.is_empty() => format!("Nothing is told apart: {}.", told(&alike, 12)),
        (real, alike) if alike.is_empty() => format!("The difference is real in {}.", told(&real, 12)),
        (real, alike) => {
            format!("The difference is real in {}; not told apart: {}.", told(&real, 12), told(&alike, 12))
        }
    };
    for difference in &found.differences {
        let colour = &difference.in_one_light;
        let [low, high] = colour.de00_interval;
        text += &format!(
            " {}: CIEDE2000 {}, 95 %: {} to {}, {}.",
            capital(&difference.surface),
            fixed(colour.de00, 1),
            fixed(low, 1),
            fixed(high, 1),
            difference.words
        );
    }
    for ratio in ratios {
        text += &format!(" {}: {}, {}.", capital(&ratio.name), ratio.said(), ratio.words);
    }
    text
}
