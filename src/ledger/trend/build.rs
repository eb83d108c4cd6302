//! From readings to the trend.

use super::answer::*;
use super::drift::{CALL_SCORE, Drift, LEAST_BASELINE, NEWEST, drifts_of};
use super::order::{self, Firing, Valued};
use super::point::{TrendBy, TrendLeftOut, TrendPoint, TrendValue};
use super::series::{Difference, Earlier, Series};
use super::statistics::{
    EWMA_WEIGHT, ewma, ewma_limits, individuals_limits, mean, mean_u95, moving_range_sigma, normal_score,
    standard_deviation,
};
use super::value::value_of;
use super::words;
use crate::verdict::{Quantity, Targets};
use rayon::prelude::*;

/// The schema's name.
const SCHEMA: &str = "sherdlight.trend/1";

impl Trend {
    /// The trend of one surface. `points` in any order, `left_out`: readings that were left away before, with the
    /// reason. Any number of points is welcome, none among them; the finding says what that means.
    pub fn new(
        points: Vec<TrendPoint>,
        surface: &str,
        value: TrendValue,
        by: TrendBy,
        targets: &Targets,
        left_out: Vec<TrendLeftOut>,
    ) -> Self {
        let target_centre = targets.aim_colours.get(surface).copied();
        let aim_of = |quantity| targets.get(surface, quantity).map(|target| target.aim);
        let mut left_out = left_out;
        let readings = valued(points, value, by, target_centre, &mut left_out);
        let (mut readings, mut trend) = (
            readings,
            Self {
                schema: SCHEMA,
                surface: surface.into(),
                value,
                by,
                order: "given",
                illuminant: "D50",
                observer: "CIE 1931 2 degree",
                targets: targets.id.clone(),
                target_centre,
                aim: match value {
                    TrendValue::Lightness => aim_of(Quantity::Lightness),
                    TrendValue::Chroma => aim_of(Quantity::Chroma),
                    _ => None,
                },
                aim_l: aim_of(Quantity::Lightness),
                finding: TrendFinding {
                    state: "no-value",
                    baseline: 0,
                    needed: LEAST_BASELINE + NEWEST,
                    text: String::new(),
                },
                calls: vec![],
                stretches: vec![],
                batch_changes: vec![],
                points: vec![],
                firings: vec![],
                left_out: left_out.into_iter().filter(|left| left.count > 0).collect(),
                rules: words::rules(value, by),
                parameters: words::parameters(),
            },
        );
        if order::sort(&mut readings) {
            trend.order = "time";
        }
        let firings = order::firings(&readings);
        trend.firings = firings.par_iter().map(firing_mean).collect();
        let numbers = match by {
            TrendBy::Firing => (0..firings.len()).collect(),
            TrendBy::Date => order::firing_numbers(&readings),
        };
        trend.points = match by {
            TrendBy::Firing => firings.par_iter().map(firing_row).collect(),
            TrendBy::Date => {
                drop(firings);
                readings.into_par_iter().map(reading_row).collect()
            }
        };
        trend.points.iter_mut().enumerate().for_each(|(at, row)| row.number = at + 1);
        trend.batch_changes = batch_changes(&trend.points);
        trend.judge(&numbers);
        trend
    }

    /// Drifts, levels and limits. Either every point has a value or none has.
    fn judge(&mut self, firings: &[usize]) {
        let values: Vec<f64> = self.points.iter().filter_map(|row| row.value).collect();
        if values.len() == self.points.len() && !values.is_empty() {
            let series = Series::new(&values, firings);
            let drifts = drifts_of(&series);
            let starts: Vec<usize> =
                std::iter::once(0).chain(drifts.iter().map(|drift| drift.onset)).collect();
            for (at, start) in starts.iter().enumerate() {
                let end = starts.get(at + 1).copied().unwrap_or(values.len());
                self.level(&values, *start, end);
            }
            for (at, drift) in drifts.iter().enumerate() {
                let end = starts.get(at + 2).copied().unwrap_or(values.len());
                let size =
                    series.difference(&(starts[at]..drift.onset), &(drift.onset..end), Earlier::default());
                let call = self.call(drift, &size);
                self.calls.push(call);
            }
        }
        self.finding = words::finding(self, firings);
    }

    /// One level: its limits, and what they mean for its points.
    fn level(&mut self, values: &[f64], start: usize, end: usize) {
        let values = &values[start..end];
        let (centre, sigma, limits) = (mean(values), moving_range_sigma(values), individuals_limits(values));
        let smooth = ewma(values, centre, EWMA_WEIGHT);
        for (row, level) in self.points[start..end].iter_mut().zip(smooth) {
            row.ewma = Some(level);
            // Rounding alone leaves nothing out.
            let slack = 1e-9;
            row.outside = limits.zip(row.value).is_some_and(|(limits, value)| {
                limits.leaves_out(value) && (value - centre).abs() > limits.upper - centre + slack
            });
        }
        self.stretches.push(TrendStretch {
            first: start + 1,
            last: end,
            count: end - start,
            mean: centre,
            mean_u95: mean_u95(values),
            sd: standard_deviation(values),
            limits,
            ewma_limits: sigma.map(|sigma| ewma_limits(centre, sigma, EWMA_WEIGHT, None)),
        });
    }

    fn call(&self, drift: &Drift, size: &Difference) -> TrendCall {
        let onset_range = drift.onset_range.map(|place| place + 1);
        let onset = drift.onset + 1;
        let near = onset_range[0].saturating_sub(NEWEST)..=onset_range[1] + NEWEST;
        let close = self.batch_changes.iter().filter(|change| near.contains(&change.at));
        let batch_change = close.min_by_key(|change| change.at.abs_diff(onset)).map(|change| change.at);
        let mut call = TrendCall {
            direction: if drift.rose { "rose" } else { "fell" },
            back: drift.back,
            onset,
            onset_name: words::name_of(&self.points[drift.onset]),
            onset_range,
            called_at: drift.called_at + 1,
            size: size.value,
            size_u95: size.u95(),
            lasts: normal_score(size.t(), size.freedom).abs() > CALL_SCORE,
            score: drift.score,
            batch_change,
            text: String::new(),
        };
        call.text = words::call(self, &call);
        call
    }
}

/// Values of readings; those that cannot be points are counted.
fn valued(
    points: Vec<TrendPoint>,
    value: TrendValue,
    by: TrendBy,
    centre: Option<[f64; 3]>,
    left_out: &mut Vec<TrendLeftOut>,
) -> Vec<Valued> {
    let all = points.len();
    let known: Vec<Valued> = points
        .into_par_iter()
        .map(|point| {
            let found = value_of(&point, value, centre);
            (point, found)
        })
        // Without a target there is no distance at all: the readings are shown without it.
        .filter(|(_, found)| found.is_some() || (value == TrendValue::Distance && centre.is_none()))
        .collect();
    let reason = match value {
        TrendValue::Whiteness => "whose colour lies outside the limits of the whiteness formula",
        _ => "without a value",
    };
    left_out.push(TrendLeftOut { reason: reason.into(), count: all - known.len() });
    if by == TrendBy::Date {
        return known;
    }
    let valued = known.len();
    let known: Vec<Valued> = known.into_iter().filter(|(point, _)| point.firing.is_some()).collect();
    left_out.push(TrendLeftOut { reason: "whose firing is not known".into(), count: valued - known.len() });
    known
}

fn reading_row((point, value): Valued) -> TrendRow {
    TrendRow {
        number: 0,
        value: value.map(|(value, _)| value),
        interval: value.and_then(|(_, interval)| interval),
        l: point.lab[0],
        l_u95: point.u95[0],
        b: point.lab[2],
        b_u95: point.u95[2],
        area_fraction: point.area_fraction,
        readings: 1,
        time: point.taken.or(point.date),
        piece: Some(point.piece),
        firing: point.firing,
        batch: point.batch,
        photo: Some(point.photo),
        ewma: None,
        outside: false,
    }
}

fn firing_row(firing: &Firing) -> TrendRow {
    let value = firing.value();
    let ((l, l_u95), (b, b_u95)) = (firing.of(|point| point.lab[0]), firing.of(|point| point.lab[2]));
    let first = firing.readings.first().map(|(point, _)| point);
    TrendRow {
        number: 0,
        value: value.map(|(value, _)| value),
        interval: value.and_then(|(value, u95)| Some([value - u95?, value + u95?])),
        l,
        l_u95,
        b,
        b_u95,
        area_fraction: firing.of(|point| point.area_fraction).0,
        readings: firing.readings.len(),
        time: first.and_then(|point| point.taken.clone().or_else(|| point.date.clone())),
        piece: None,
        firing: Some(firing.name.into()),
        batch: firing.batch().map(Into::into),
        photo: None,
        ewma: None,
        outside: false,
    }
}

fn firing_mean(firing: &Firing) -> FiringMean {
    let value = firing.value();
    FiringMean {
        firing: firing.name.into(),
        readings: firing.readings.len(),
        mean: value.map(|(value, _)| value),
        u95: value.and_then(|(_, u95)| u95),
        l: firing.of(|point| point.lab[0]).0,
        b: firing.of(|point| point.lab[2]).0,
    }
}

/// Between consecutive points that both name a batch, and not the same.
fn batch_changes(points: &[TrendRow]) -> Vec<BatchChange> {
    let changed = |pair: &[TrendRow]| {
        let (from, to) = (pair[0].batch.as_ref()?, pair[1].batch.as_ref()?);
        (from != to).then(|| BatchChange { at: pair[1].number, from: from.clone(), to: to.clone() })
    };
    points.windows(2).filter_map(changed).collect()
}
