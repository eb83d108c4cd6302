//! What runs down the chart: firings, changes of batch, drifts, and the names of the points.

use super::cut;
use super::layout::{LETTER, Layout};
use crate::ledger::trend::{Trend, TrendBy, TrendRow};
use crate::report::charts::svg::{Anchor, INK, QUIET, RULE, Svg};
use crate::report::words::plus_minus;

/// More marks of a kind than this are too many to read: none is named.
const MOST_MARKS: usize = 60;

/// Heights of the rows above the panels, and the ends of the panels.
pub(super) struct Rows {
    pub(super) calls: [f64; 2],
    pub(super) batches: f64,
    pub(super) firings: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
}

/// Names of firings above the panels, and thin lines where the firing changes.
pub(super) fn firings(svg: &mut Svg, trend: &Trend, layout: &Layout, rows: &Rows) {
    if trend.by == TrendBy::Firing {
        return;
    }
    let points = &trend.points;
    let starts: Vec<usize> =
        (0..points.len()).filter(|&at| at == 0 || points[at].firing != points[at - 1].firing).collect();
    if starts.len() > MOST_MARKS {
        return;
    }
    for (at, &start) in starts.iter().enumerate() {
        let end = starts.get(at + 1).copied().unwrap_or(points.len());
        let (from, to) = (layout.edge(start), layout.edge(end));
        if start > 0 {
            svg.line([from, rows.firings - 10.0], [from, rows.bottom], RULE, 1.0, false);
        }
        let room = ((to - from - 6.0) / LETTER) as usize;
        if let Some(firing) = points[start].firing.as_deref().filter(|_| room >= 2) {
            // The word itself where there is room for it.
            let text = match room > firing.chars().count() + 7 && !firing.to_lowercase().contains("fir") {
                true => format!("firing {firing}"),
                false => cut(firing, room),
            };
            svg.words([from + 3.0, rows.firings], Anchor::Start, 0.0, QUIET, false, &text);
        }
    }
}

/// Changes of batch: dashed lines with the new batch's name.
pub(super) fn batches(svg: &mut Svg, trend: &Trend, layout: &Layout, rows: &Rows) {
    if trend.batch_changes.len() > MOST_MARKS {
        return;
    }
    for (at, change) in trend.batch_changes.iter().enumerate() {
        let x = layout.edge(change.at - 1);
        svg.line([x, rows.batches - 10.0], [x, rows.bottom], QUIET, 1.2, true);
        let end =
            trend.batch_changes.get(at + 1).map_or(layout.right + 140.0, |next| layout.edge(next.at - 1));
        let room = ((end - x - 6.0) / LETTER) as usize;
        if room >= 5 {
            let text = cut(&format!("batch: {}", change.to), room);
            svg.words([x + 3.0, rows.batches], Anchor::Start, 0.0, QUIET, false, &text);
        }
    }
}

/// Drifts: thick lines at the onset, with words above.
pub(super) fn calls(svg: &mut Svg, trend: &Trend, layout: &Layout, rows: &Rows) {
    let mut free = [f64::NEG_INFINITY; 2];
    for call in &trend.calls {
        let x = layout.edge(call.onset - 1);
        // What passed is told, but stands back.
        let weight = if call.lasts { 2.5 } else { 1.0 };
        svg.line([x, rows.calls[0] - 12.0], [x, rows.bottom], INK, weight, false);
        let back = if call.back { " back" } else { "" };
        let text = match call.lasts {
            true => format!("{}{back} by {}", call.direction, plus_minus(call.size.abs(), call.size_u95, 1)),
            false => format!("{}{back}, passed", call.direction),
        };
        let width = text.chars().count() as f64 * (LETTER + 0.6);
        // A line of words is free where the last ones on it have ended.
        if let Some(row) = free.iter().position(|end| *end + 8.0 < x) {
            svg.words([x + 5.0, rows.calls[row]], Anchor::Start, 0.0, INK, call.lasts, &text);
            free[row] = x + width;
        }
    }
}

/// Names of the points under the panels; of many points, the days.
pub(super) fn names(svg: &mut Svg, trend: &Trend, layout: &Layout, rows: &Rows) {
    let (least, turn) = if layout.thinned() { (90.0, 0.0) } else { (22.0, -40.0) };
    let every = (least / layout.pitch).ceil().max(1.0) as usize;
    for (place, row) in trend.points.iter().enumerate().step_by(every) {
        let x = layout.x(place);
        svg.line([x, rows.bottom], [x, rows.bottom + 4.0], INK, 1.0, false);
        match layout.thinned() {
            true => svg.words([x, rows.bottom + 18.0], Anchor::Start, turn, INK, false, &day(row)),
            false => {
                svg.words([x + 4.0, rows.bottom + 16.0], Anchor::End, turn, INK, false, &cut(&name(row), 20))
            }
        }
    }
}

fn name(row: &TrendRow) -> String {
    row.piece.clone().or_else(|| row.firing.clone()).unwrap_or_else(|| row.number.to_string())
}

fn day(row: &TrendRow) -> String {
    row.time.as_deref().and_then(|time| time.get(..10)).map_or_else(|| row.number.to_string(), str::to_owned)
}
