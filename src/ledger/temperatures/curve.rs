//! The sound readings of a probe as straight lines between them, and what can be asked of such lines.

use super::TemperatureLog;
use super::broken::{Broken, Event, events, stretches};
use serde::Serialize;

/// An interval is a gap where it is longer than this many usual ones, and than [`GAP_SECONDS`] (common practice).
const GAP_TIMES: f64 = 3.0;
/// No shorter interval is a gap, in seconds.
const GAP_SECONDS: f64 = 30.0;

/// When something was.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moment {
    /// Minutes since the log's first row.
    pub minutes: f64,
    /// The time as written, where it is that of a row.
    pub written: Option<String>,
}

impl Moment {
    pub(super) fn of_row(log: &TemperatureLog, row: usize) -> Self {
        Self { minutes: log.rows[row].seconds / 60.0, written: Some(log.rows[row].written.clone()) }
    }

    pub(super) fn between_rows(seconds: f64) -> Self {
        Self { minutes: seconds / 60.0, written: None }
    }
}

/// One sound reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Point {
    /// Its row in the log.
    pub(crate) row: usize,
    pub(crate) seconds: f64,
    pub(crate) celsius: f64,
}

/// All that is known of one probe.
pub(crate) struct Curve {
    /// Sound readings without a gap or a broken one between them, in the order of time.
    pub(crate) runs: Vec<Vec<Point>>,
    /// Rows before and after each gap.
    pub(super) gaps: Vec<(usize, usize)>,
    pub(super) broken: Vec<Broken>,
    /// Median interval of the readings, in seconds.
    pub(super) usual_seconds: Option<f64>,
}

/// A straight piece: its seconds, and the values at its ends.
pub(super) type Piece = (f64, [f64; 2]);

/// The curves of all probes.
pub(crate) fn curves(log: &TemperatureLog) -> Vec<Curve> {
    events(log).iter().enumerate().map(|(probe, events)| Curve::of(log, probe, events)).collect()
}

impl Curve {
    fn of(log: &TemperatureLog, probe: usize, events: &[Event]) -> Self {
        let mut intervals: Vec<f64> =
            events.windows(2).map(|pair| pair[1].seconds - pair[0].seconds).collect();
        intervals.sort_by(f64::total_cmp);
        let usual_seconds = intervals.get(intervals.len().saturating_sub(1) / 2).copied();
        let is_gap = |one: &Event, other: &Event| {
            let seconds = other.seconds - one.seconds;
            usual_seconds.is_some_and(|usual| seconds > GAP_TIMES * usual && seconds > GAP_SECONDS)
        };
        let gaps = events.windows(2).filter(|pair| is_gap(&pair[0], &pair[1]));
        let gaps = gaps.map(|pair| (pair[0].row, pair[1].row)).collect();
        let sound = |event: &Event| {
            let celsius = event.celsius.filter(|_| event.broken.is_none())?;
            Some(Point { row: event.row, seconds: event.seconds, celsius })
        };
        let runs = events
            .chunk_by(|a, b| a.broken.is_none() == b.broken.is_none() && !is_gap(a, b))
            .map(|run| run.iter().filter_map(sound).collect::<Vec<_>>())
            .filter(|run| !run.is_empty())
            .collect();
        Self { runs, gaps, broken: stretches(log, probe, events), usual_seconds }
    }

    /// All sound readings.
    pub(crate) fn points(&self) -> impl Iterator<Item = &Point> {
        self.runs.iter().flatten()
    }

    /// The first of the highest readings.
    pub(crate) fn peak(&self) -> Option<Point> {
        self.points().copied().reduce(|best, point| if point.celsius > best.celsius { point } else { best })
    }

    /// The straight pieces of all runs.
    pub(super) fn pieces(&self) -> Vec<Piece> {
        let pairs = self.runs.iter().flat_map(|run| run.windows(2));
        pairs.map(|p| (p[1].seconds - p[0].seconds, [p[0].celsius, p[1].celsius])).collect()
    }

    /// Degrees C at a time; none outside all runs.
    pub(super) fn at(&self, seconds: f64) -> Option<f64> {
        let run = self.runs.partition_point(|run| run.last().is_some_and(|last| last.seconds < seconds));
        at(self.runs.get(run)?, seconds)
    }
}

/// Degrees C of a run at a time; none outside it.
pub(super) fn at(run: &[Point], seconds: f64) -> Option<f64> {
    let next = run.partition_point(|point| point.seconds < seconds);
    let after = run.get(next)?;
    if after.seconds == seconds {
        return Some(after.celsius);
    }
    let before = &run[next.checked_sub(1)?];
    let share = (seconds - before.seconds) / (after.seconds - before.seconds);
    Some(before.celsius + share * (after.celsius - before.celsius))
}

/// Seconds that straight pieces spend from `low` to `high`, both included.
pub(super) fn seconds_between(pieces: &[Piece], [low, high]: [f64; 2]) -> f64 {
    let of = |(seconds, [a, b]): &Piece| {
        let (least, most) = (a.min(*b), a.max(*b));
        if least >= low && most <= high {
            return *seconds;
        }
        if least == most {
            return 0.0;
        }
        seconds * ((most.min(high) - least.max(low)) / (most - least)).max(0.0)
    };
    pieces.iter().map(of).sum()
}
