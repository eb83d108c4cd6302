//! Probes that do not tell the heat: no reading, beyond the thermocouple, a jump, standing still.
//!
//! Limits without a source beside them are common practice.

use super::curve::Moment;
use super::{Cell, TemperatureLog};
use serde::Serialize;

/// Range of a type K thermocouple, degrees C: IEC 60584-1 (2013) tabulates it from -270 to 1372; below -200 it is
/// hardly used (from memory).
const TYPE_K: [f64; 2] = [-200.0, 1372.0];
/// A jump: this many degrees C or more between two readings ...
const JUMP: f64 = 150.0;
/// ... faster than this, degrees C a second: sheathed probes in a flame take seconds to follow it, ...
const JUMP_A_SECOND: f64 = 30.0;
/// ... or this many degrees C within [`JUMP_SECONDS`].
const JUMP_IN_ALL: f64 = 600.0;
/// Readings further apart, in seconds, are not asked for jumps.
const JUMP_SECONDS: f64 = 60.0;
/// A spike: up to three readings that leave both neighbours by this many degrees C to one side, ...
const SPIKE: f64 = 300.0;
/// ... which are no further apart than this many degrees C ...
const SPIKE_RETURN: f64 = 100.0;
/// ... and this many seconds.
const SPIKE_SECONDS: f64 = 180.0;
/// Standing still: one value for this many readings at least, and ...
const STILL_READINGS: usize = 5;
/// ... for so many seconds while another probe moves by so many degrees C. The second pair is for probes up to
/// [`STEAM`], which drying clay holds for a while.
const STILL: [(f64, f64); 2] = [(600.0, 100.0), (1200.0, 300.0)];
/// Up to here, degrees C, water may hold a probe.
const STEAM: f64 = 105.0;

/// Why readings are not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BrokenKind {
    /// The logger wrote a word for no reading, as with an open circuit.
    NoReading,
    /// Below -200 or above 1372 degrees C, which no type K thermocouple reads.
    OutOfRange,
    /// Between jumps that no probe can make.
    Jump,
    /// One value for long while another probe moved.
    StandsStill,
}

/// Readings of one probe that are left out of its figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Broken {
    /// Why, for programs.
    pub kind: BrokenKind,
    /// The first of them.
    pub from: Moment,
    /// The last of them.
    pub to: Moment,
    /// How many there are.
    pub readings: usize,
    /// Why, as a sentence without its end.
    pub why: String,
}

/// One reading of one probe.
pub(super) struct Event {
    /// Its row in the log.
    pub(super) row: usize,
    pub(super) seconds: f64,
    /// Degrees C; none for a word for no reading.
    pub(super) celsius: Option<f64>,
    pub(super) broken: Option<BrokenKind>,
}

/// The readings of every probe, those that do not tell the heat marked.
pub(super) fn events(log: &TemperatureLog) -> Vec<Vec<Event>> {
    let mut probes: Vec<Vec<Event>> = (0..log.probes.len()).map(|probe| of_probe(log, probe)).collect();
    for events in &mut probes {
        mark_jumps(events);
        mark_spikes(events);
    }
    let still: Vec<Vec<usize>> = (0..probes.len()).map(|probe| standing_still(&probes, probe)).collect();
    for (events, still) in probes.iter_mut().zip(still) {
        still.into_iter().for_each(|at| events[at].broken = Some(BrokenKind::StandsStill));
    }
    probes
}

/// Consecutive broken readings of one kind, told.
pub(super) fn stretches(log: &TemperatureLog, probe: usize, events: &[Event]) -> Vec<Broken> {
    let mut told = Vec::new();
    for group in events.chunk_by(|a, b| a.broken == b.broken) {
        let ([first, ..], [.., last]) = (group, group) else { continue };
        let Some(kind) = first.broken else { continue };
        let value = first.celsius.map_or_else(String::new, |c| format!("{c:.0}"));
        let why = match kind {
            BrokenKind::NoReading => match log.rows[first.row].cells.get(probe) {
                Some(Cell::NoReading(word)) => format!("no reading, the logger wrote '{word}'"),
                _ => "no reading".to_owned(),
            },
            BrokenKind::OutOfRange => {
                format!("{value} C is beyond a type K thermocouple, {} to {} C", TYPE_K[0], TYPE_K[1])
            }
            BrokenKind::Jump => format!("a jump to {value} C that no probe can make"),
            BrokenKind::StandsStill => format!("stands still at {value} C while another probe moves"),
        };
        let (from, to) = (Moment::of_row(log, first.row), Moment::of_row(log, last.row));
        told.push(Broken { kind, from, to, readings: group.len(), why });
    }
    told
}

fn of_probe(log: &TemperatureLog, probe: usize) -> Vec<Event> {
    let event = |(row, of): (usize, &super::LogRow)| {
        let (celsius, broken) = match of.cells.get(probe)? {
            Cell::Empty => return None,
            Cell::Celsius(c) if (TYPE_K[0]..=TYPE_K[1]).contains(c) => (Some(*c), None),
            Cell::Celsius(c) => (Some(*c), Some(BrokenKind::OutOfRange)),
            Cell::NoReading(_) => (None, Some(BrokenKind::NoReading)),
        };
        Some(Event { row, seconds: of.seconds, celsius, broken })
    };
    log.rows.iter().enumerate().filter_map(event).collect()
}

/// Sound readings: place among the events, seconds, degrees C.
fn sound(events: &[Event]) -> Vec<(usize, f64, f64)> {
    let of = |(at, event): (usize, &Event)| {
        Some((at, event.seconds, event.celsius.filter(|_| event.broken.is_none())?))
    };
    events.iter().enumerate().filter_map(of).collect()
}

fn is_jump(one: &(usize, f64, f64), other: &(usize, f64, f64)) -> bool {
    let (seconds, change) = ((other.1 - one.1).abs(), (other.2 - one.2).abs());
    seconds <= JUMP_SECONDS && change >= JUMP && (change > JUMP_A_SECOND * seconds || change >= JUMP_IN_ALL)
}

/// Parts the readings at every jump, trusts the part whose readings lie furthest apart (a loose lead reads the air),
/// and goes outward from it: a part that a jump parts from the last trusted reading is broken.
fn mark_jumps(events: &mut [Event]) {
    let readings = sound(events);
    let parts: Vec<&[(usize, f64, f64)]> = readings.chunk_by(|a, b| !is_jump(a, b)).collect();
    let reach = |part: &usize| {
        let ends = parts[*part].iter().fold([f64::MAX, f64::MIN], |[l, h], r| [l.min(r.2), h.max(r.2)]);
        ends[1] - ends[0]
    };
    let of = |one: &usize, other: &usize| {
        reach(one).total_cmp(&reach(other)).then(parts[*one].len().cmp(&parts[*other].len()))
    };
    let Some(trusted) = (0..parts.len()).rev().max_by(of) else { return };
    let mut broken: Vec<usize> = Vec::new();
    let mut last = parts[trusted].last();
    for part in &parts[trusted + 1..] {
        match (last, part.first()) {
            (Some(last), Some(first)) if is_jump(last, first) => broken.extend(part.iter().map(|r| r.0)),
            _ => last = part.last(),
        }
    }
    let mut first = parts[trusted].first();
    for part in parts[..trusted].iter().rev() {
        match (first, part.last()) {
            (Some(first), Some(last)) if is_jump(last, first) => broken.extend(part.iter().map(|r| r.0)),
            _ => first = part.first(),
        }
    }
    broken.into_iter().for_each(|at| events[at].broken = Some(BrokenKind::Jump));
}

fn mark_spikes(events: &mut [Event]) {
    let readings = sound(events);
    let mut at = 1;
    while at + 1 < readings.len() {
        let before = readings[at - 1];
        let is_spike = |count: &usize| {
            let Some(after) = readings.get(at + count) else { return false };
            let inside = &readings[at..at + count];
            let near = (after.2 - before.2).abs() <= SPIKE_RETURN && after.1 - before.1 <= SPIKE_SECONDS;
            let (low, high) = (before.2.min(after.2), before.2.max(after.2));
            near && (inside.iter().all(|r| r.2 >= high + SPIKE) || inside.iter().all(|r| r.2 <= low - SPIKE))
        };
        match (1..=3).find(is_spike) {
            Some(count) => {
                readings[at..at + count].iter().for_each(|r| events[r.0].broken = Some(BrokenKind::Jump));
                at += count + 1;
            }
            None => at += 1,
        }
    }
}

/// Places of the readings of a probe that stands still while another moves.
fn standing_still(probes: &[Vec<Event>], probe: usize) -> Vec<usize> {
    let readings = sound(&probes[probe]);
    let mut still = Vec::new();
    for group in readings.chunk_by(|a, b| a.2 == b.2) {
        let ([first, ..], [.., last]) = (group, group) else { continue };
        let (least, moved) = if first.2 <= STEAM { STILL[1] } else { STILL[0] };
        if group.len() < STILL_READINGS || last.1 - first.1 < least {
            continue;
        }
        let others = probes.iter().enumerate().filter(|(other, _)| *other != probe);
        let moves = others.into_iter().any(|(_, events)| {
            let from = events.partition_point(|event| event.seconds < first.1);
            let to = events.partition_point(|event| event.seconds <= last.1);
            let sound =
                events[from..to].iter().filter(|event| event.broken.is_none()).filter_map(|e| e.celsius);
            let (low, high) =
                sound.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), c| (l.min(c), h.max(c)));
            high - low >= moved
        });
        if moves {
            still.extend(group.iter().map(|reading| reading.0));
        }
    }
    still
}
