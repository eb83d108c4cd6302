//! How far the probes lie apart.

use super::TemperatureLog;
use super::curve::{Curve, Moment, Piece, seconds_between};
use serde::Serialize;

/// The median spread is that of the time when the hottest probe is at or over this, degrees C.
pub(super) const HOT: f64 = 500.0;

/// Highest less lowest reading of all sound probes at one time, where two or more are known.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    /// Its median over the time when the hottest of the probes is at or over 500 degrees C, each minute counting
    /// alike; degrees C. None where that never was.
    pub median_celsius: Option<f64>,
    /// Minutes that the median is taken over.
    pub median_of_minutes: f64,
    /// The largest at any reading, degrees C.
    pub largest_celsius: f64,
    /// When that was.
    pub largest_at: Moment,
}

/// None where no two probes are known at one time. Between readings a probe is on its straight line.
pub(super) fn spread(log: &TemperatureLog, curves: &[Curve]) -> Option<Spread> {
    let at_row = |row: usize| {
        let values = curves.iter().filter_map(|curve| curve.at(log.rows[row].seconds));
        let (count, low, high) = values.fold((0, f64::INFINITY, f64::NEG_INFINITY), |(n, low, high), c| {
            (n + 1, low.min(c), high.max(c))
        });
        (count > 1).then_some(high - low)
    };
    // The highest of lines less the lowest is largest at a corner, and every corner is a row.
    let rows = (0..log.rows.len()).filter_map(|row| Some((row, at_row(row)?)));
    let (row, largest_celsius) = rows.reduce(|best, next| if next.1 > best.1 { next } else { best })?;
    let hot = hot_pieces(curves);
    let seconds: f64 = hot.iter().map(|(seconds, _)| seconds).sum();
    Some(Spread {
        median_celsius: median(&hot, seconds),
        median_of_minutes: seconds / 60.0,
        largest_celsius,
        largest_at: Moment::of_row(log, row),
    })
}

/// The spread as straight pieces while it is hot.
fn hot_pieces(curves: &[Curve]) -> Vec<Piece> {
    let mut times: Vec<f64> = curves.iter().flat_map(|curve| curve.points().map(|p| p.seconds)).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let mut pieces = Vec::new();
    let mut lines: Vec<[f64; 2]> = Vec::new();
    for pair in times.windows(2) {
        lines.clear();
        lines.extend(curves.iter().filter_map(|curve| over(curve, pair[0], pair[1])));
        if lines.len() > 1 && lines.iter().any(|line| line[0].max(line[1]) >= HOT) {
            cut(&lines, pair[1] - pair[0], &mut pieces);
        }
    }
    pieces
}

/// The ends of a curve over an interval that holds no reading inside; none where one run does not span it.
fn over(curve: &Curve, from: f64, to: f64) -> Option<[f64; 2]> {
    let run = curve.runs.partition_point(|run| run.last().is_some_and(|last| last.seconds <= from));
    let run = curve.runs.get(run)?;
    Some([super::curve::at(run, from)?, super::curve::at(run, to)?])
}

/// Cuts an interval where two probes cross or one passes [`HOT`], so that the spread is straight in each piece.
fn cut(lines: &[[f64; 2]], seconds: f64, pieces: &mut Vec<Piece>) {
    let mut cuts = vec![0.0, 1.0];
    let mut crossing = |one: [f64; 2], other: [f64; 2]| {
        let (before, after) = (one[0] - other[0], one[1] - other[1]);
        if before * after < 0.0 {
            cuts.push(before / (before - after));
        }
    };
    for (place, line) in lines.iter().enumerate() {
        crossing(*line, [HOT, HOT]);
        lines[place + 1..].iter().for_each(|other| crossing(*line, *other));
    }
    cuts.sort_by(f64::total_cmp);
    let ends = |share: f64| {
        let values = lines.iter().map(|[a, b]| a + share * (b - a));
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), c| (low.min(c), high.max(c)))
    };
    for pair in cuts.windows(2).filter(|pair| pair[1] > pair[0]) {
        let (_, middle) = ends((pair[0] + pair[1]) / 2.0);
        if middle >= HOT {
            let ((low0, high0), (low1, high1)) = (ends(pair[0]), ends(pair[1]));
            pieces.push((seconds * (pair[1] - pair[0]), [high0 - low0, high1 - low1]));
        }
    }
}

/// The value that half of the time lies at or under, by halving the range.
fn median(pieces: &[Piece], seconds: f64) -> Option<f64> {
    let values = || pieces.iter().flat_map(|(_, ends)| *ends);
    let (mut low, mut high) = (values().reduce(f64::min)?, values().reduce(f64::max)?);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        match seconds_between(pieces, [f64::NEG_INFINITY, middle]) < seconds / 2.0 {
            true => low = middle,
            false => high = middle,
        }
    }
    Some(high)
}
