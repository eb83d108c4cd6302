//! One strip of the chart: points with their intervals on a scale.

use super::layout::{Column, LEFT, Layout, apart};
use crate::ledger::trend::{Trend, TrendRow};
use crate::report::charts::scale::Scale;
use crate::report::charts::svg::{ACCENT, Anchor, BAND, INK, QUIET, RULE, Svg};
use crate::report::words::{fixed, plus_minus};

/// A value and the ends of its interval, where known.
type Shown = Option<(f64, Option<[f64; 2]>)>;

/// What a strip shows.
pub(super) struct Panel<'a> {
    pub(super) trend: &'a Trend,
    pub(super) layout: &'a Layout,
    pub(super) name: &'a str,
    pub(super) top: f64,
    pub(super) height: f64,
    /// Aim range; an open end is drawn to the edge.
    pub(super) band: Option<[Option<f64>; 2]>,
    pub(super) of: fn(&TrendRow) -> Shown,
    /// Whether levels, limits and the EWMA are drawn: they are those of the value followed.
    pub(super) charted: bool,
}

impl Panel<'_> {
    pub(super) fn draw(&self, svg: &mut Svg) {
        let (top, bottom, right) = (self.top, self.top + self.height, self.layout.right);
        let rows = &self.trend.points;
        let ends = rows.iter().filter_map(self.of).flat_map(|(value, interval)| {
            // Of many points only the values: their intervals are not drawn.
            let [low, high] = interval.filter(|_| !self.layout.thinned()).unwrap_or([value; 2]);
            [low, high]
        });
        let stretches = if self.charted { self.trend.stretches.as_slice() } else { &[] };
        let limits = stretches.iter().filter_map(|s| s.limits).flat_map(|l| [l.lower, l.upper]);
        let scale = Scale::covering(ends.chain(limits), bottom, top, 4);
        if let Some([low, high]) = self.band {
            let inside =
                |end: Option<f64>, open: f64| end.map_or(open, |end| scale.at(end).clamp(top, bottom));
            let (from, to) = (inside(high, top), inside(low, bottom));
            if to - from > 0.5 {
                svg.rect([LEFT, from], [right - LEFT, to - from], BAND);
                svg.words([LEFT + 4.0, from + 13.0], Anchor::Start, 0.0, QUIET, false, "aim");
            }
        }
        for (value, text) in scale.ticks() {
            svg.line([LEFT, scale.at(value)], [right, scale.at(value)], RULE, 1.0, false);
            svg.words([LEFT - 8.0, scale.at(value) + 4.0], Anchor::End, 0.0, QUIET, false, &text);
        }
        svg.line([LEFT, top], [LEFT, bottom], INK, 1.0, false);
        svg.words([18.0, top + self.height / 2.0], Anchor::Middle, -90.0, INK, true, self.name);
        if !rows.iter().any(|row| (self.of)(row).is_some()) {
            let middle = [(LEFT + right) / 2.0, top + self.height / 2.0];
            svg.words(middle, Anchor::Middle, 0.0, QUIET, false, "no value in these readings");
        }
        if self.charted {
            self.levels(svg, &scale);
            // Under single points, but over the bars of many.
            if !self.layout.thinned() {
                self.smooth(svg, &scale);
            }
        }
        for column in &self.layout.columns {
            match self.layout.thinned() {
                true => self.range(svg, &scale, column),
                false => self.point(svg, &scale, column.from),
            }
        }
        if self.charted {
            if self.layout.thinned() {
                self.smooth(svg, &scale);
            }
            self.called(svg, &scale);
        }
    }

    /// Means and limits of the levels, named at the right end.
    fn levels(&self, svg: &mut Svg, scale: &Scale) {
        for stretch in &self.trend.stretches {
            let ends = [self.layout.edge(stretch.first - 1), self.layout.edge(stretch.last)];
            let mut line = |value: f64, dash: &str| {
                svg.polyline(&ends.map(|x| [x, scale.at(value)]), INK, 1.2, dash);
            };
            line(stretch.mean, "");
            if let Some(limits) = stretch.limits {
                line(limits.lower, "7 4");
                line(limits.upper, "7 4");
            }
        }
        let Some(last) = self.trend.stretches.last() else { return };
        let mut named = vec![(last.mean, format!("mean {}", fixed(last.mean, 1)))];
        if let Some(limits) = last.limits {
            named.push((limits.upper, format!("upper limit {}", fixed(limits.upper, 1))));
            named.push((limits.lower, format!("lower limit {}", fixed(limits.lower, 1))));
        }
        if let Some(smooth) = self.trend.points.last().and_then(|row| row.ewma) {
            named.push((smooth, "moving average".into()));
        }
        let places: Vec<f64> = named.iter().map(|(value, _)| scale.at(*value)).collect();
        for ((_, text), y) in named.iter().zip(apart(&places, 14.0)) {
            svg.words([self.layout.right + 8.0, y + 4.0], Anchor::Start, 0.0, INK, false, text);
        }
    }

    /// One point with its interval.
    fn point(&self, svg: &mut Svg, scale: &Scale, place: usize) {
        let row = &self.trend.points[place];
        let Some((value, interval)) = (self.of)(row) else { return };
        let (x, cap) = (self.layout.x(place), (self.layout.pitch / 3.0).min(4.0));
        if let Some(ends) = interval {
            let [low, high] = ends.map(|end| scale.at(end));
            if low - high > 0.5 {
                svg.line([x, low], [x, high], QUIET, 1.0, false);
                svg.line([x - cap, low], [x + cap, low], QUIET, 1.0, false);
                svg.line([x - cap, high], [x + cap, high], QUIET, 1.0, false);
            }
        }
        let half = interval.map(|[_, high]| high - value);
        let tip =
            format!("{}: {}", row.number, half.map_or(fixed(value, 1), |half| plus_minus(value, half, 1)));
        svg.dot([x, scale.at(value)], (self.layout.pitch * 0.4).clamp(1.5, 3.5), ACCENT, &tip);
        if self.charted && row.outside {
            let [y, side] = [scale.at(value), 6.0];
            let ring = [[x, y - side], [x + side, y], [x, y + side], [x - side, y], [x, y - side]];
            svg.polyline(&ring, INK, 1.4, "");
        }
    }

    /// Many points as the range of their values.
    fn range(&self, svg: &mut Svg, scale: &Scale, column: &Column) {
        let values =
            self.trend.points[column.from..column.to].iter().filter_map(self.of).map(|(value, _)| value);
        let (low, high) =
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        if low <= high {
            let x = self.layout.middle(column);
            let (from, to) = (scale.at(low), scale.at(high).min(scale.at(low) - 2.0));
            svg.line([x, from], [x, to], ACCENT, 1.6, false);
        }
    }

    /// The moving average, broken where a new level begins.
    fn smooth(&self, svg: &mut Svg, scale: &Scale) {
        for stretch in &self.trend.stretches {
            let within = |column: &&Column| (stretch.first - 1..stretch.last).contains(&(column.to - 1));
            let line: Vec<[f64; 2]> = self
                .layout
                .columns
                .iter()
                .filter(within)
                .filter_map(|column| {
                    let smooth = self.trend.points[column.to - 1].ewma?;
                    Some([self.layout.middle(column), scale.at(smooth)])
                })
                .collect();
            // Light under dark, so that it is seen over bars.
            if self.layout.thinned() {
                svg.polyline(&line, "#ffffff", 4.0, "");
            }
            svg.polyline(&line, INK, 2.0, "1.5 2.5");
        }
    }

    /// Onsets stand out, however many points there are.
    fn called(&self, svg: &mut Svg, scale: &Scale) {
        for call in &self.trend.calls {
            let row = &self.trend.points[call.onset - 1];
            if let Some((value, _)) = (self.of)(row) {
                svg.dot([self.layout.x(call.onset - 1), scale.at(value)], 5.0, INK, &call.text);
            }
        }
    }
}
