//! The chart: the value with its limits on top, L* and b* below.

use super::layout::{LEFT, Layout, MARGIN};
use super::marks::{self, Rows};
use super::panel::Panel;
use super::{order_words, title};
use crate::ledger::trend::{Trend, TrendRow, TrendValue};
use crate::report::charts::svg::{Anchor, INK, QUIET, Svg};
use crate::report::charts::text::wrapped;
use crate::report::words::{capital, fixed, sentence};

/// Height of the strip of the value.
const TALL: f64 = 230.0;
/// Height of the strips below it.
const LOW: f64 = 100.0;
/// Between strips.
const GAP: f64 = 26.0;
/// Between lines of words.
const LINE: f64 = 16.0;

/// The chart as SVG; the same bytes for the same trend, under a megabyte for any number of points. Everything is told by
/// form as well as by colour, so that it reads in grey.
pub fn trend_chart(trend: &Trend) -> String {
    let layout = Layout::new(trend);
    let width = layout.right + MARGIN;
    let room = width - LEFT - 20.0;
    let found = wrapped(&sentence(&trend.finding.text), room, 12.0);
    let remark = wrapped(&sentence(&remarks(trend, &layout)), room, 12.0);
    let head = 30.0 + LINE * (found.len() + remark.len()) as f64;
    let (has_calls, has_batches) = (!trend.calls.is_empty(), !trend.batch_changes.is_empty());
    let calls = [head + LINE * 2.0, head + LINE];
    let batches = head + if has_calls { 3.0 * LINE } else { LINE };
    let firings = batches + if has_batches { LINE } else { 0.0 };
    let top = firings + 10.0;
    // The value itself is not drawn twice.
    let below_it = match trend.value {
        TrendValue::Lightness | TrendValue::Yellow => 1.0,
        _ => 2.0,
    };
    let bottom = top + TALL + below_it * (LOW + GAP);
    let rows = Rows { calls, batches, firings, top, bottom };
    let below = if layout.thinned() { 40.0 } else { 112.0 };
    let mut svg = Svg::new("trend", width, bottom + below, &title(trend), &description(trend));
    svg.words([LEFT, 26.0], Anchor::Start, 0.0, INK, true, &title(trend));
    let lines = found.iter().map(|line| (line, INK)).chain(remark.iter().map(|line| (line, QUIET)));
    for (at, (line, colour)) in lines.enumerate() {
        svg.words([LEFT, 28.0 + LINE * (at + 1) as f64], Anchor::Start, 0.0, colour, false, line);
    }
    for panel in panels(trend, &layout, &rows) {
        panel.draw(&mut svg);
    }
    marks::firings(&mut svg, trend, &layout, &rows);
    marks::batches(&mut svg, trend, &layout, &rows);
    marks::calls(&mut svg, trend, &layout, &rows);
    marks::names(&mut svg, trend, &layout, &rows);
    svg.finish()
}

fn panels<'a>(trend: &'a Trend, layout: &'a Layout, rows: &Rows) -> Vec<Panel<'a>> {
    let low = |name, number: usize, band, of| Panel {
        trend,
        layout,
        name,
        top: rows.top + TALL + GAP + number as f64 * (LOW + GAP),
        height: LOW,
        band,
        of,
        charted: false,
    };
    let mut panels = vec![Panel {
        trend,
        layout,
        name: trend.value.sign(),
        top: rows.top,
        height: TALL,
        band: trend.aim,
        of: match trend.value {
            // No colour lies nearer to the target than the target.
            TrendValue::Distance => {
                |row| Some((row.value?, row.interval.map(|ends| ends.map(|end| end.max(0.0)))))
            }
            _ => |row| Some((row.value?, row.interval)),
        },
        charted: true,
    }];
    if trend.value != TrendValue::Lightness {
        panels.push(low("L*", 0, trend.aim_l, |row: &TrendRow| shown(row.l, row.l_u95)));
    }
    if trend.value != TrendValue::Yellow {
        panels.push(low("b*", panels.len() - 1, None, |row: &TrendRow| shown(row.b, row.b_u95)));
    }
    panels
}

fn shown(value: f64, u95: f64) -> Option<(f64, Option<[f64; 2]>)> {
    value.is_finite().then_some((value, u95.is_finite().then_some([value - u95, value + u95])))
}

/// How to read the chart.
fn remarks(trend: &Trend, layout: &Layout) -> String {
    let points = match layout.thinned() {
        false => "Dots with bars: values with 95 % intervals; a diamond: outside the limits.".to_owned(),
        true => format!(
            "{} points, up to {} in a column: each bar is the range of its values.",
            trend.points.len(),
            layout.columns.first().map_or(1, |column| column.to - column.from)
        ),
    };
    let aim = if trend.aim.is_some() || trend.aim_l.is_some() { " Band: aim range." } else { "" };
    format!(
        "{points} Whole line: mean; dashed: control limits; dotted: moving average.{aim} {}.",
        capital(order_words(trend))
    )
}

/// What is seen, for those who cannot see it.
fn description(trend: &Trend) -> String {
    let mut text = trend.finding.text.clone();
    if let (Some(first), Some(last)) = (trend.points.first(), trend.points.last()) {
        text += &format!(
            " {} points, {}, evenly spaced. L* from {} at first to {} at last, b* from {} to {}.",
            trend.points.len(),
            order_words(trend),
            fixed(first.l, 1),
            fixed(last.l, 1),
            fixed(first.b, 1),
            fixed(last.b, 1)
        );
        if let (Some(from), Some(to), false) = (first.value, last.value, trend.value == TrendValue::Lightness)
        {
            text += &format!(" {} from {} to {}.", trend.value.sign(), fixed(from, 1), fixed(to, 1));
        }
    }
    sentence(&text)
}
