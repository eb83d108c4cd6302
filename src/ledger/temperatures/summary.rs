//! The figures of a firing.

pub use super::curve::Moment;
use super::curve::{Curve, Point, at, curves, seconds_between};
use super::spread::spread;
use super::{Broken, Spread, TemperatureLog};
use serde::Serialize;

/// Heating is counted from here, degrees C: free water is gone.
const HEATING_FROM: f64 = 100.0;
/// The steepest rates are over this many seconds.
const STEEPEST_OVER: f64 = 300.0;
/// Cooling begins when the probe is for the last time at this share of its peak in degrees C ...
const COOLING_FROM: f64 = 0.9;
/// ... and its first part lasts this many seconds.
const COOLING_FIRST: f64 = 600.0;
/// Readings further apart than this many seconds may miss a short peak.
const SPARSE: f64 = 120.0;

/// What is asked of a log.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Marks {
    /// Minutes are counted at or above each of these, degrees C.
    pub above: Vec<f64>,
    /// The firing window, degrees C.
    pub window: [f64; 2],
}

impl Default for Marks {
    /// Marks every 50 degrees from 600 to 800; the window is 680 to 750, common practice for organic black on
    /// white slip, without a published source.
    fn default() -> Self {
        Self { above: vec![600.0, 650.0, 700.0, 750.0, 800.0], window: [680.0, 750.0] }
    }
}

/// Time at or above one mark.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MinutesAbove {
    /// The mark, degrees C.
    pub celsius: f64,
    /// Minutes at or above it, by straight lines between readings. Unknown time is not in it, so where there is
    /// any this is the least it can be.
    pub minutes: f64,
}

/// The highest reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Peak {
    /// Degrees C.
    pub celsius: f64,
    /// When; of several equal ones the first.
    pub at: Moment,
}

/// The steepest change over five minutes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Steepest {
    /// Degrees C a minute, positive for heating and for cooling.
    pub celsius_per_minute: f64,
    /// When the five minutes began.
    pub from: Moment,
}

/// Time without readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Gap {
    /// The last reading before.
    pub from: Moment,
    /// The first reading after.
    pub to: Moment,
    /// Minutes between them.
    pub minutes: f64,
}

/// The figures of one probe. `None` where its readings do not tell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProbeSummary {
    /// Its name.
    pub name: String,
    /// Sound readings.
    pub readings: usize,
    /// Readings left out as broken.
    pub readings_left_out: usize,
    /// Median interval of its readings, seconds.
    pub usual_interval_seconds: Option<f64>,
    /// Its highest reading.
    pub peak: Option<Peak>,
    /// Minutes at or above each mark; empty where no two readings follow each other.
    pub above: Vec<MinutesAbove>,
    /// Minutes inside the window, its ends included.
    pub window_minutes: Option<f64>,
    /// Minutes of the log, from its first to its last row, in which this probe is known.
    pub known_minutes: f64,
    /// Minutes of the log in which it is not: gaps, broken stretches, before its first and after its last reading.
    pub unknown_minutes: f64,
    /// Mean rate from the last time it passed 100 degrees C upward before its peak, to the peak; degrees C a minute.
    pub heating_celsius_per_minute: Option<f64>,
    /// Steepest rise over five minutes without a gap; `None` where it never rose for that long.
    pub heating_steepest: Option<Steepest>,
    /// Mean rate of cooling over the ten minutes after the last time it was at or over 0.9 of its peak in degrees C;
    /// degrees C a minute, positive for cooling. `None` where the log ends before, or a gap lies in it.
    pub cooling_first_celsius_per_minute: Option<f64>,
    /// Steepest fall over five minutes without a gap.
    pub cooling_steepest: Option<Steepest>,
    /// Intervals more than three times as long as usual, and longer than 30 seconds. No line is drawn across them.
    pub gaps: Vec<Gap>,
    /// Readings left out, with the reason.
    pub broken: Vec<Broken>,
}

/// The figures of a log. All numbers are finite.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// What was asked.
    pub marks: Marks,
    /// Minutes from the first to the last row.
    pub minutes: f64,
    /// The first row's time as written.
    pub from: String,
    /// The last row's time as written.
    pub to: String,
    /// One entry a probe.
    pub probes: Vec<ProbeSummary>,
    /// How far the probes lie apart, where two or more are known at one time.
    pub spread: Option<Spread>,
    /// Lowest and highest peak of the probes, degrees C, where two or more have one.
    pub peaks_celsius: Option<[f64; 2]>,
    /// What must be known beside the figures, as sentences.
    pub remarks: Vec<String>,
}

/// Computes the figures of a log. Marks that are not finite are left out.
pub fn summary(log: &TemperatureLog, marks: &Marks) -> Summary {
    let curves = curves(log);
    let above = marks.above.iter().copied().filter(|mark| mark.is_finite()).collect();
    let marks = Marks { above, window: marks.window };
    let seconds = log.rows.last().map_or(0.0, |row| row.seconds);
    let of = |(name, curve): (&String, &Curve)| probe(log, name, curve, &marks, seconds);
    let probes: Vec<ProbeSummary> = log.probes.iter().zip(&curves).map(of).collect();
    let peaks: Vec<f64> = probes.iter().filter_map(|probe| Some(probe.peak.as_ref()?.celsius)).collect();
    let written = |row: Option<&super::LogRow>| row.map(|row| row.written.clone()).unwrap_or_default();
    Summary {
        minutes: seconds / 60.0,
        from: written(log.rows.first()),
        to: written(log.rows.last()),
        spread: spread(log, &curves),
        peaks_celsius: (peaks.len() > 1).then(|| {
            peaks
                .iter()
                .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], p| [low.min(*p), high.max(*p)])
        }),
        remarks: remarks(&probes),
        probes,
        marks,
    }
}

fn probe(log: &TemperatureLog, name: &str, curve: &Curve, marks: &Marks, seconds: f64) -> ProbeSummary {
    let pieces = curve.pieces();
    let known: f64 = pieces.iter().map(|(seconds, _)| seconds).sum();
    let minutes = |range: [f64; 2]| seconds_between(&pieces, range) / 60.0;
    let has_lines = !pieces.is_empty();
    let above = |mark: &f64| MinutesAbove { celsius: *mark, minutes: minutes([*mark, f64::INFINITY]) };
    let [low, high] = marks.window;
    let gap = |(from, to): &(usize, usize)| Gap {
        from: Moment::of_row(log, *from),
        to: Moment::of_row(log, *to),
        minutes: (log.rows[*to].seconds - log.rows[*from].seconds) / 60.0,
    };
    ProbeSummary {
        name: name.to_owned(),
        readings: curve.points().count(),
        readings_left_out: curve.broken.iter().map(|broken| broken.readings).sum(),
        usual_interval_seconds: curve.usual_seconds,
        peak: curve.peak().map(|p| Peak { celsius: p.celsius, at: Moment::of_row(log, p.row) }),
        above: if has_lines { marks.above.iter().map(above).collect() } else { Vec::new() },
        window_minutes: (has_lines && low.is_finite() && high.is_finite() && low <= high)
            .then(|| minutes([low, high])),
        known_minutes: known / 60.0,
        unknown_minutes: ((seconds - known) / 60.0).max(0.0),
        heating_celsius_per_minute: heating(curve),
        heating_steepest: steepest(curve, 1.0),
        cooling_first_celsius_per_minute: cooling_first(curve),
        cooling_steepest: steepest(curve, -1.0),
        gaps: curve.gaps.iter().map(gap).collect(),
        broken: curve.broken.clone(),
    }
}

/// Mean rate from the last upward passing of 100 degrees C before the peak, to the peak.
fn heating(curve: &Curve) -> Option<f64> {
    let peak = curve.peak().filter(|peak| peak.celsius > HEATING_FROM)?;
    let (mut from, mut before): (Option<f64>, Option<Point>) = (None, None);
    for run in &curve.runs {
        for (place, point) in run.iter().enumerate().take_while(|(_, point)| point.seconds <= peak.seconds) {
            let passed = before.filter(|b| b.celsius < HEATING_FROM && point.celsius >= HEATING_FROM);
            if let Some(b) = passed {
                let share = (HEATING_FROM - b.celsius) / (point.celsius - b.celsius);
                // A passing between two runs happened at a time nobody knows.
                from = (place > 0).then_some(b.seconds + share * (point.seconds - b.seconds));
            }
            before = Some(*point);
        }
    }
    let minutes = (peak.seconds - from?) / 60.0;
    (minutes > 0.0).then(|| (peak.celsius - HEATING_FROM) / minutes)
}

/// Mean rate of the ten minutes after the last time at 0.9 of the peak.
fn cooling_first(curve: &Curve) -> Option<f64> {
    let level = COOLING_FROM * curve.peak().filter(|peak| peak.celsius > 0.0)?.celsius;
    let high = |run: &Vec<Point>| run.iter().any(|point| point.celsius >= level);
    let run = curve.runs.iter().rev().find(|run| high(run))?;
    let last = run.iter().rposition(|point| point.celsius >= level)?;
    let (a, b) = (run[last], run.get(last + 1)?);
    let share = (a.celsius - level) / (a.celsius - b.celsius);
    let from = a.seconds + share * (b.seconds - a.seconds);
    Some((level - at(run, from + COOLING_FIRST)?) / (COOLING_FIRST / 60.0))
}

/// Steepest change over five minutes; `sign` is 1 for a rise, -1 for a fall. On straight lines it begins or ends at a
/// reading.
fn steepest(curve: &Curve, sign: f64) -> Option<Steepest> {
    let mut best: Option<(f64, f64)> = None;
    for run in &curve.runs {
        for point in run {
            let windows = [
                at(run, point.seconds - STEEPEST_OVER)
                    .map(|start| (point.seconds - STEEPEST_OVER, point.celsius - start)),
                at(run, point.seconds + STEEPEST_OVER).map(|end| (point.seconds, end - point.celsius)),
            ];
            for (from, change) in windows.into_iter().flatten() {
                if sign * change > best.map_or(0.0, |(_, change)| change) {
                    best = Some((from, sign * change));
                }
            }
        }
    }
    best.map(|(from, change)| Steepest {
        celsius_per_minute: change / (STEEPEST_OVER / 60.0),
        from: Moment::between_rows(from),
    })
}

fn remarks(probes: &[ProbeSummary]) -> Vec<String> {
    let mut said = vec![match probes.len() {
        1 => "One probe tells the heat where it sat and never describes a load.".to_owned(),
        _ => "Each probe tells the heat where it sat; the load between them may have been hotter or cooler."
            .to_owned(),
    }];
    for probe in probes {
        let name = &probe.name;
        match (&probe.peak, probe.readings_left_out) {
            (None, _) => said.push(format!("{name} has no sound reading, so nothing is known of it.")),
            (_, 0) => {}
            (_, 1) => said.push(format!("{name}: one broken reading is left out of the figures.")),
            (_, count) => said.push(format!("{name}: {count} broken readings are left out of the figures.")),
        }
        // A thousandth of a minute is rounding.
        if probe.peak.is_some() && probe.unknown_minutes > 0.001 {
            said.push(format!(
                "{name} is not known for {:.1} minutes of the log; its minutes are the least they can be, and its peak may \
                 have been missed.",
                probe.unknown_minutes
            ));
        }
        if let Some(seconds) = probe.usual_interval_seconds.filter(|seconds| *seconds > SPARSE) {
            said.push(format!(
                "{name} was read every {:.1} minutes; a short peak between two readings is not seen.",
                seconds / 60.0
            ));
        }
    }
    said
}
