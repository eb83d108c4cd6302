//! Where things stand in the chart.

use crate::ledger::trend::Trend;

/// Left end of the panels.
pub(super) const LEFT: f64 = 64.0;
/// Room to the right of the panels, for the names of the lines.
pub(super) const MARGIN: f64 = 150.0;
/// More points than this are drawn in columns.
pub(super) const MOST_POINTS: usize = 300;
/// Columns of a thinned chart.
const COLUMNS: usize = 450;
/// About the width of a letter.
pub(super) const LETTER: f64 = 6.4;

/// A group of neighbouring points that share one place across.
#[derive(Debug, Clone, Copy)]
pub(super) struct Column {
    /// Its first point, from 0.
    pub(super) from: usize,
    /// One past its last.
    pub(super) to: usize,
}

/// Places of points across.
pub(super) struct Layout {
    count: usize,
    /// Right end of the panels.
    pub(super) right: f64,
    /// Pixels a point.
    pub(super) pitch: f64,
    /// The points in columns, in order; one a column where there are few.
    pub(super) columns: Vec<Column>,
}

impl Layout {
    pub(super) fn new(trend: &Trend) -> Self {
        let count = trend.points.len().max(1);
        let width = (count as f64 * 26.0).clamp(560.0, 1040.0);
        let each = if trend.points.len() > MOST_POINTS { count.div_ceil(COLUMNS) } else { 1 };
        let columns = (0..trend.points.len())
            .step_by(each)
            .map(|from| Column { from, to: (from + each).min(trend.points.len()) })
            .collect();
        Self { count, right: LEFT + width, pitch: width / count as f64, columns }
    }

    /// Whether columns hold several points.
    pub(super) fn thinned(&self) -> bool {
        self.count > MOST_POINTS
    }

    /// The middle of a point, counted from 0.
    pub(super) fn x(&self, place: usize) -> f64 {
        LEFT + self.pitch * (place as f64 + 0.5)
    }

    /// The left side of a point, counted from 0.
    pub(super) fn edge(&self, place: usize) -> f64 {
        LEFT + self.pitch * place as f64
    }

    /// The middle of a column.
    pub(super) fn middle(&self, column: &Column) -> f64 {
        (self.edge(column.from) + self.edge(column.to)) / 2.0
    }
}

/// Heights moved apart so that no two stand nearer than `least`; in the order given.
pub(super) fn apart(heights: &[f64], least: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..heights.len()).collect();
    order.sort_by(|&a, &b| heights[a].total_cmp(&heights[b]));
    let mut moved = heights.to_vec();
    for pair in order.windows(2) {
        moved[pair[1]] = moved[pair[1]].max(moved[pair[0]] + least);
    }
    moved
}
