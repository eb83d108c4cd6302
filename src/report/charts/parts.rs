//! What several charts have in common: headings, key entries, error bars, and the picture of nothing.

use super::bands::{Band, sample};
use super::marks::grade_mark;
use super::svg::{Anchor, INK, QUIET, Svg};
use super::text::{width, wrapped};
use crate::reading::Grade;

/// Left and right margin.
pub(super) const MARGIN: f64 = 16.0;
/// Between lines of words.
const LINE: f64 = 16.0;

/// Height that a heading takes whose remark has this many lines.
pub(super) fn heading_height(lines: usize) -> f64 {
    36.0 + LINE * lines as f64
}

/// The title, and below it lines that say how to read the chart.
pub(super) fn heading(svg: &mut Svg, title: &str, lines: &[String]) {
    svg.words([MARGIN, 26.0], Anchor::Start, 0.0, INK, true, title);
    for (number, line) in lines.iter().enumerate() {
        let y = 28.0 + LINE * (number + 1) as f64;
        svg.words([MARGIN, y], Anchor::Start, 0.0, QUIET, false, line);
    }
}

/// A remark in lines that fit a chart of this width.
pub(super) fn remark(text: &str, chart_width: f64) -> Vec<String> {
    wrapped(text, chart_width - 2.0 * MARGIN, 12.0)
}

/// A small picture that says why there is no chart.
pub(super) fn nothing(id: &str, chart_width: f64, title: &str, why: &str) -> String {
    let lines = remark(why, chart_width);
    let mut svg = Svg::new(id, chart_width, heading_height(lines.len()) + 8.0, title, why);
    heading(&mut svg, title, &lines);
    svg.finish()
}

/// One entry of a key.
pub(super) enum Entry {
    Grade(Grade, String),
    Band(Band, &'static str),
}

/// Entries of a key side by side, in as many lines as they need; gives where the next line would stand.
pub(super) fn key(svg: &mut Svg, [left, top]: [f64; 2], room: f64, entries: &[Entry]) -> f64 {
    let (mut x, mut y) = (left, top);
    for entry in entries {
        let words = match entry {
            Entry::Grade(_, words) => words.as_str(),
            Entry::Band(_, words) => words,
        };
        let wide = 24.0 + width(words, 12.0) + 16.0;
        if x > left && x + wide > left + room {
            (x, y) = (left, y + 20.0);
        }
        match entry {
            Entry::Grade(grade, _) => grade_mark(svg, [x + 9.0, y - 4.0], 5.0, *grade),
            Entry::Band(kind, _) => sample(svg, [x + 1.0, y - 10.0], [16.0, 12.0], *kind),
        }
        svg.words([x + 24.0, y], Anchor::Start, 0.0, INK, false, words);
        x += wide;
    }
    y + 20.0
}

/// A line across from `from` to `to` with caps, cut at the ends of the plot; an end that is cut has no cap.
pub(super) fn bar_across(svg: &mut Svg, [from, to]: [f64; 2], y: f64, plot: [f64; 2], cap: f64) {
    let ends = [from.max(plot[0]), to.min(plot[1])];
    if ends[0] >= ends[1] {
        return;
    }
    svg.line([ends[0], y], [ends[1], y], QUIET, 1.2, false);
    for (end, whole) in [(ends[0], from >= plot[0]), (ends[1], to <= plot[1])] {
        if whole {
            svg.line([end, y - cap], [end, y + cap], QUIET, 1.2, false);
        }
    }
}
