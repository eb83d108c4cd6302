//! A column of times as seconds on one line of time.

use super::stamp::{Clock, Date, Stamp, days};
use super::unit::TimeUnit;
use super::{LogError, TimeKind};

const DAY: f64 = 86_400.0;

/// What the column of times holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TimeForm {
    /// Date and time.
    Dated,
    /// Figures between colons; whether the column's name says that they count from the start.
    Clock { elapsed: bool },
    /// Plain numbers.
    Number,
}

/// Seconds of each time, or why it cannot be read.
pub(super) struct Clocked {
    pub(super) seconds: Vec<Result<f64, String>>,
    pub(super) kind: TimeKind,
    pub(super) remarks: Vec<String>,
}

impl Clocked {
    /// Date and time. Where days and months are written as `5/3/2026`, a figure over 12 tells which is the day;
    /// else the order is taken that makes the log shorter, which is remarked.
    pub(super) fn dated(texts: &[String]) -> Self {
        let stamps: Vec<Option<Stamp>> =
            texts.iter().map(|t| Stamp::read(t).filter(|s| s.date.is_some())).collect();
        let mut remarks = Vec::new();
        let day_first = day_first(&stamps, &mut remarks);
        // The first right row says whether the file has zones.
        let zoned = stamps.iter().flatten().next().is_some_and(|stamp| stamp.zone.is_some());
        let seconds = stamps.iter().map(|stamp| {
            let stamp = stamp.ok_or("is no date with a time")?;
            if stamp.zone.is_some() != zoned {
                return Err(match zoned {
                    true => "has no zone, where the first row has one".to_owned(),
                    false => "has a zone, where the first row has none".to_owned(),
                });
            }
            let clock = stamp.clock.map_or(Ok(0.0), |clock| of_day(&clock))?;
            let day = match stamp.date {
                Some(Date::Told { year, month, day }) => days(year, month, day),
                Some(Date::Open { one, other, year }) if day_first => days(year, other, one),
                Some(Date::Open { one, other, year }) => days(year, one, other),
                None => None,
            };
            Ok(day.ok_or("is no day of the calendar")? as f64 * DAY + clock
                - f64::from(stamp.zone.unwrap_or(0)))
        });
        let seconds = seconds.collect();
        Self { seconds, kind: if zoned { TimeKind::ZonedDates } else { TimeKind::LocalDates }, remarks }
    }

    /// Times of day, or times since the start: those where the name says so, where hours pass 24, or where the
    /// first is under a minute. Times of day are put on the day that brings them nearest to the row before.
    pub(super) fn clock(
        texts: &[String],
        column: &str,
        elapsed: bool,
        unit: Option<TimeUnit>,
    ) -> Result<Self, LogError> {
        let clocks: Vec<Option<Clock>> = texts
            .iter()
            .map(|t| Stamp::read(t).filter(|s| s.date.is_none() && s.zone.is_none()).and_then(|s| s.clock))
            .collect();
        let right = || clocks.iter().flatten();
        let from_zero = right().next().is_some_and(|c| !c.half_day && c.seconds() < 60.0);
        let elapsed = elapsed || from_zero || right().any(|c| c.figures[0] >= 24.0);
        let unclear = elapsed && unit.is_none() && right().any(|c| c.two);
        if unclear {
            return Err(LogError::TimeUnitUnknown { column: column.to_owned() });
        }
        let minutes = elapsed && matches!(unit, Some(TimeUnit::Minutes));
        let mut before: Option<f64> = None;
        let seconds = clocks.iter().map(|clock| {
            let clock = clock.ok_or("is no time")?;
            if elapsed {
                return Ok(if clock.two && minutes { clock.seconds() / 60.0 } else { clock.seconds() });
            }
            let here = of_day(&clock)?;
            let here = before.map_or(here, |before| here + ((before - here) / DAY).round() * DAY);
            before = Some(here);
            Ok(here)
        });
        let seconds = seconds.collect();
        let kind = if elapsed { TimeKind::Elapsed } else { TimeKind::TimeOfDay };
        Ok(Self { seconds, kind, remarks: Vec::new() })
    }

    /// Numbers that count from the start, in a unit.
    pub(super) fn numbers(values: Vec<Result<Option<f64>, String>>, unit: TimeUnit) -> Self {
        /// Thirty thousand years in seconds: no log is longer.
        const LONGEST: f64 = 1e12;
        let seconds = values
            .into_iter()
            .map(|value| match value? {
                Some(value) if (value * unit.seconds()).abs() <= LONGEST => Ok(value * unit.seconds()),
                Some(_) => Err("is too far off for a time".to_owned()),
                None => Err("is no time".to_owned()),
            })
            .collect();
        Self { seconds, kind: TimeKind::Elapsed, remarks: Vec::new() }
    }
}

fn of_day(clock: &Clock) -> Result<f64, String> {
    match clock.figures[0] < 24.0 {
        true => Ok(clock.seconds()),
        false => Err("is no time of day".to_owned()),
    }
}

/// Whether `5/3/2026` is the fifth of March.
fn day_first(stamps: &[Option<Stamp>], remarks: &mut Vec<String>) -> bool {
    let open: Vec<(u32, u32, i64)> = stamps
        .iter()
        .flatten()
        .filter_map(|stamp| match stamp.date {
            Some(Date::Open { one, other, year }) => Some((one, other, year)),
            _ => None,
        })
        .collect();
    let first_over = open.iter().filter(|(one, ..)| *one > 12).count();
    let second_over = open.iter().filter(|(_, other, _)| *other > 12).count();
    if first_over != second_over {
        return first_over > second_over;
    }
    let span = |day_first: bool| {
        let on = open.iter().filter_map(|(one, other, year)| match day_first {
            true => days(*year, *other, *one),
            false => days(*year, *one, *other),
        });
        let (first, last) = on.fold((i64::MAX, i64::MIN), |(a, b), day| (a.min(day), b.max(day)));
        last.saturating_sub(first)
    };
    let day_first = span(true) < span(false);
    if open.iter().any(|date| *date != open[0]) {
        let order = if day_first { "day/month/year" } else { "month/day/year" };
        remarks.push(format!("Dates were read as {order}, the order in which the log is shorter."));
    }
    day_first
}
