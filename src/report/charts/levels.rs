//! Levels of a trial in their order: means with 95 % intervals, a row each.

use super::parts::{MARGIN, bar_across, heading, heading_height, nothing, remark};
use super::scale::Scale;
use super::svg::{ACCENT, Anchor, BAND, INK, Look, PAPER, QUIET, RULE, Svg};
use super::text::cut;
use crate::report::words::fixed;

/// Natural width.
const WIDTH: f64 = 740.0;
/// Height of a row.
const ROW: f64 = 28.0;
/// Left and right end of the plot.
const PLOT: [f64; 2] = [290.0, 570.0];

/// A row of the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelMark {
    /// What it is.
    pub name: String,
    /// Its value; none where it is not told.
    pub value: Option<f64>,
    /// Its 95 % interval.
    pub interval: Option<[f64; 2]>,
    /// Whether it is the control.
    pub control: bool,
}

/// What the chart says besides its rows.
#[derive(Debug, Clone, Copy)]
pub struct LevelsTold<'a> {
    /// Over the chart.
    pub title: &'a str,
    /// How to read it.
    pub remark: &'a str,
    /// What the values are, under the scale.
    pub unit: &'a str,
    /// Decimals of the values.
    pub digits: usize,
    /// Whether the values are differences, which are set against zero.
    pub about_zero: bool,
}

/// A row a level in the order given: its mean as a dot on the bar of its 95 % interval, both also in figures. The control is
/// a ring, named, and its mean runs down the chart as a dashed line.
pub fn levels_chart(id: &str, told: LevelsTold, marks: &[LevelMark]) -> String {
    if !marks.iter().any(|mark| mark.value.is_some_and(f64::is_finite)) {
        return nothing(id, WIDTH, told.title, "There is no value here that can be told from all else.");
    }
    let lines = remark(told.remark, WIDTH);
    let top = heading_height(lines.len()) + 12.0;
    let bottom = top + ROW * marks.len() as f64;
    let mut svg = Svg::new(id, WIDTH, bottom + 44.0, told.title, &description(told, marks));
    heading(&mut svg, told.title, &lines);
    let ends =
        marks.iter().flat_map(|mark| mark.value.into_iter().chain(mark.interval.into_iter().flatten()));
    let zero = told.about_zero.then_some(0.0);
    let scale = Scale::covering(ends.chain(zero), PLOT[0], PLOT[1], 6);
    for (value, text) in scale.ticks() {
        let x = scale.at(value);
        svg.line([x, top], [x, bottom], RULE, 1.0, false);
        svg.small([x, bottom + 16.0], Anchor::Middle, QUIET, "none", &text);
    }
    if told.about_zero {
        svg.line([scale.at(0.0), top], [scale.at(0.0), bottom], INK, 1.4, false);
    }
    let control = marks.iter().find(|mark| mark.control).and_then(|mark| mark.value);
    if let Some(value) = control {
        svg.line([scale.within(value), top], [scale.within(value), bottom], ACCENT, 1.4, true);
    }
    svg.line([PLOT[0], bottom], [PLOT[1], bottom], INK, 1.0, false);
    svg.small([(PLOT[0] + PLOT[1]) / 2.0, bottom + 34.0], Anchor::Middle, QUIET, "none", told.unit);
    for (number, mark) in marks.iter().enumerate() {
        row(&mut svg, &scale, mark, top + ROW * (number as f64 + 0.5), told.digits);
    }
    svg.finish()
}

fn row(svg: &mut Svg, scale: &Scale, mark: &LevelMark, y: f64, digits: usize) {
    svg.line([MARGIN, y + ROW / 2.0], [WIDTH - MARGIN, y + ROW / 2.0], RULE, 0.6, false);
    let room = PLOT[0] - MARGIN - 14.0 - if mark.control { 56.0 } else { 0.0 };
    svg.words([MARGIN, y + 4.0], Anchor::Start, 0.0, INK, false, &cut(&mark.name, room, 12.0));
    if mark.control {
        svg.small([PLOT[0] - 14.0, y + 4.0], Anchor::End, ACCENT, "none", "control");
    }
    svg.group(&format!("{}: {}", mark.name, figures(mark, digits)));
    if let Some(ends) = mark.interval.map(|ends| ends.map(|end| scale.at(end))) {
        let [from, to] = [ends[0].max(PLOT[0]), ends[1].min(PLOT[1])];
        svg.frame([from, y - 5.0], [to - from, 10.0], Look::filled(BAND));
        bar_across(svg, ends, y, PLOT, 5.0);
    }
    if let Some(value) = mark.value.filter(|value| value.is_finite()) {
        let look = if mark.control { Look::edged(PAPER, ACCENT, 2.2) } else { Look::edged(INK, PAPER, 0.8) };
        svg.circle([scale.within(value), y], 5.0, look);
    }
    svg.end();
    svg.small([WIDTH - MARGIN, y + 4.0], Anchor::End, INK, "none", &figures(mark, digits));
}

/// `62.1 (60.0 to 64.2)`.
fn figures(mark: &LevelMark, digits: usize) -> String {
    match (mark.value, mark.interval) {
        (Some(value), Some([low, high])) => {
            format!("{} ({} to {})", fixed(value, digits), fixed(low, digits), fixed(high, digits))
        }
        (Some(value), None) => format!("{} (no interval)", fixed(value, digits)),
        (None, _) => "cannot be separated".into(),
    }
}

fn description(told: LevelsTold, marks: &[LevelMark]) -> String {
    /// More rows than this are counted; the table beside the chart has them all.
    const MOST: usize = 30;
    let row = |mark: &LevelMark| {
        let control = if mark.control { ", the control" } else { "" };
        format!("{}{control}: {}", mark.name, figures(mark, told.digits))
    };
    let mut rows: Vec<String> = marks.iter().take(MOST).map(row).collect();
    if marks.len() > MOST {
        rows.push(format!("and {} more", marks.len() - MOST));
    }
    format!("{}, with 95 % intervals. {}.", told.unit, rows.join("; "))
}
