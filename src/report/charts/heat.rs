//! The temperatures of a firing over time, with the firing window behind them.

use super::scale::Scale;
use super::svg::{Anchor, BAND, INK, QUIET, RULE, Svg};
use super::text::cut;
use crate::ledger::temperatures::{Curve, Point, ProbeSummary, Summary, TemperatureLog, curves};
use crate::report::words::fixed;

/// Colours dark enough for thin lines on paper; the pattern tells the probes apart in grey.
const COLOURS: [&str; 5] = ["#8f3a1d", "#0b5c8a", "#26211d", "#1f6b3a", "#6a3d87"];
/// Lengths of dashes and gaps. Five colours and six patterns: thirty probes before a pair comes again.
const PATTERNS: [&str; 6] = ["", "8 4", "2 3", "12 3 2 3", "16 5", "6 2 2 2 2 2"];
/// Stretches of time in which a long line keeps its first, lowest, highest and last reading.
const STRETCHES: usize = 150;
const LEFT: f64 = 64.0;
const TOP: f64 = 62.0;
const PLOT: [f64; 2] = [600.0, 340.0];
/// Height of a probe's entry in the key.
const ENTRY: f64 = 38.0;

/// Temperatures over time as SVG; ids in it begin with `id`. The lines are those the figures were taken from: none across
/// a gap or a broken reading.
pub fn heat_chart(id: &str, log: &TemperatureLog, summary: &Summary) -> String {
    let curves = curves(log);
    let key = ENTRY * summary.probes.len() as f64;
    let (right, bottom) = (LEFT + PLOT[0], TOP + PLOT[1]);
    let height = (bottom + 62.0).max(TOP + key + 20.0);
    let title = "Temperatures of the firing";
    let mut svg = Svg::new(id, right + 216.0, height, title, &description(summary));
    svg.words([LEFT, 26.0], Anchor::Start, 0.0, INK, true, title);
    svg.words([LEFT, 43.0], Anchor::Start, 0.0, QUIET, false, &subtitle(summary));

    let hours = summary.minutes > 600.0;
    let unit = if hours { 3600.0 } else { 60.0 };
    let x = Scale::covering([0.0, summary.minutes * 60.0 / unit].into_iter(), LEFT, right, 8);
    let values = curves.iter().flat_map(Curve::points).map(|point| point.celsius);
    let y = Scale::covering(values.chain(summary.marks.window), bottom, TOP, 8);
    window(&mut svg, summary, &y);
    for (value, text) in y.ticks() {
        svg.line([LEFT, y.at(value)], [right, y.at(value)], RULE, 1.0, false);
        svg.words([LEFT - 8.0, y.at(value) + 4.0], Anchor::End, 0.0, QUIET, false, &text);
    }
    for (value, text) in x.ticks() {
        svg.line([x.at(value), bottom], [x.at(value), bottom + 5.0], INK, 1.0, false);
        svg.words([x.at(value), bottom + 19.0], Anchor::Middle, 0.0, QUIET, false, &text);
    }
    svg.line([LEFT, TOP], [LEFT, bottom], INK, 1.0, false);
    svg.line([LEFT, bottom], [right, bottom], INK, 1.0, false);
    svg.words([18.0, TOP + PLOT[1] / 2.0], Anchor::Middle, -90.0, INK, true, "degrees C");
    let axis = if hours { "hours since the first reading" } else { "minutes since the first reading" };
    svg.words([LEFT + PLOT[0] / 2.0, bottom + 40.0], Anchor::Middle, 0.0, INK, true, axis);

    let at = |point: &Point| [x.at(point.seconds / unit), y.at(point.celsius)];
    for (number, curve) in curves.iter().enumerate() {
        let (colour, pattern) = look(number);
        for line in thinned(curve, summary.minutes * 60.0) {
            match line.as_slice() {
                [alone] => svg.dot(at(alone), 1.5, colour, &fixed(alone.celsius, 0)),
                line => svg.polyline(&line.iter().map(at).collect::<Vec<_>>(), colour, 1.8, pattern),
            }
        }
    }
    peaks(&mut svg, &curves, summary, &at);
    for (number, probe) in summary.probes.iter().enumerate() {
        entry(&mut svg, number, probe, [right + 22.0, TOP + ENTRY * number as f64]);
    }
    svg.finish()
}

/// Colour and pattern of a probe's line.
fn look(number: usize) -> (&'static str, &'static str) {
    (COLOURS[number % COLOURS.len()], PATTERNS[number % PATTERNS.len()])
}

fn window(svg: &mut Svg, summary: &Summary, y: &Scale) {
    let [low, high] = summary.marks.window;
    if low.is_finite() && high.is_finite() && low <= high {
        svg.rect([LEFT, y.at(high)], [PLOT[0], y.at(low) - y.at(high)], BAND);
    }
}

/// A dot at each peak, and the numbers of its probes above it; peaks close to each other share a label.
fn peaks(svg: &mut Svg, curves: &[Curve], summary: &Summary, at: &impl Fn(&Point) -> [f64; 2]) {
    let mut placed: Vec<(usize, [f64; 2])> = Vec::new();
    for (number, (curve, probe)) in curves.iter().zip(&summary.probes).enumerate() {
        let Some(peak) = curve.peak() else { continue };
        let tip = format!("{}: peak {} °C", probe.name, fixed(peak.celsius, 0));
        svg.dot(at(&peak), 3.5, look(number).0, &tip);
        placed.push((number, at(&peak)));
    }
    placed.sort_by(|(_, one), (_, other)| one[0].total_cmp(&other[0]));
    let close =
        |one: &[f64; 2], other: &[f64; 2]| other[0] - one[0] < 16.0 && (one[1] - other[1]).abs() < 16.0;
    for group in placed.chunk_by(|(_, one), (_, other)| close(one, other)) {
        let mut numbers: Vec<usize> = group.iter().map(|(number, _)| number + 1).collect();
        numbers.sort_unstable();
        let text = numbers.iter().map(usize::to_string).collect::<Vec<_>>().join(", ");
        let middle = (group[0].1[0] + group[group.len() - 1].1[0]) / 2.0;
        let top = group.iter().map(|(_, place)| place[1]).fold(f64::INFINITY, f64::min);
        svg.words([middle, top - 8.0], Anchor::Middle, 0.0, INK, true, &text);
    }
}

/// One probe in the key: its number, line and name, and its peak.
fn entry(svg: &mut Svg, number: usize, probe: &ProbeSummary, [left, top]: [f64; 2]) {
    let (colour, pattern) = look(number);
    svg.words([left + 12.0, top + 12.0], Anchor::End, 0.0, INK, true, &(number + 1).to_string());
    svg.polyline(&[[left + 18.0, top + 8.0], [left + 60.0, top + 8.0]], colour, 1.8, pattern);
    svg.words([left + 66.0, top + 12.0], Anchor::Start, 0.0, INK, true, &cut(&probe.name, 132.0, 12.0));
    let said = match &probe.peak {
        Some(peak) => format!("peak {} °C after {} min", fixed(peak.celsius, 0), fixed(peak.at.minutes, 0)),
        None => "no sound reading".into(),
    };
    svg.words([left + 18.0, top + 27.0], Anchor::Start, 0.0, QUIET, false, &said);
}

fn subtitle(summary: &Summary) -> String {
    let [low, high] = summary.marks.window;
    let left_out =
        match summary.probes.iter().any(|probe| probe.readings_left_out > 0 || !probe.gaps.is_empty()) {
            true => "; no line where a reading is missing or broken",
            false => "",
        };
    format!("band: firing window, {} to {} °C; numbers at the peaks{left_out}", fixed(low, 0), fixed(high, 0))
}

/// The finding, for those who cannot see the picture.
fn description(summary: &Summary) -> String {
    let [low, high] = summary.marks.window;
    let of = |probe: &ProbeSummary| match (&probe.peak, probe.window_minutes) {
        (Some(peak), Some(minutes)) => format!(
            "{} peaked at {} °C after {} minutes and was known to be inside {} to {} °C for {} minutes.",
            probe.name,
            fixed(peak.celsius, 0),
            fixed(peak.at.minutes, 0),
            fixed(low, 0),
            fixed(high, 0),
            fixed(minutes, 1)
        ),
        (Some(peak), None) => format!("{} peaked at {} °C.", probe.name, fixed(peak.celsius, 0)),
        (None, _) => format!("{} has no sound reading.", probe.name),
    };
    let mut said: Vec<String> = summary.probes.iter().map(of).collect();
    said.extend(summary.remarks.first().cloned());
    said.join(" ")
}

/// The runs of a curve. A long one keeps in each stretch of time its first, lowest, highest and last reading, so
/// its peak; readings that stand alone are thinned alike.
fn thinned(curve: &Curve, seconds: f64) -> Vec<Vec<Point>> {
    let all = curve.points().count();
    if all <= 4 * STRETCHES {
        return curve.runs.clone();
    }
    let stretch = |point: &Point| (point.seconds / seconds.max(1.0) * STRETCHES as f64) as usize;
    let thin = |points: &[Point]| -> Vec<Point> {
        let parts = points.chunk_by(|a, b| stretch(a) == stretch(b));
        parts.flat_map(ends_and_extremes).collect()
    };
    let (alone, lines): (Vec<&Vec<Point>>, Vec<&Vec<Point>>) =
        curve.runs.iter().partition(|run| run.len() == 1);
    let alone: Vec<Point> = alone.into_iter().flatten().copied().collect();
    let dots = thin(&alone).into_iter().map(|point| vec![point]);
    lines.into_iter().map(|run| thin(run)).chain(dots).collect()
}

/// First, lowest, highest and last point, in the order of time, each once.
fn ends_and_extremes(part: &[Point]) -> Vec<Point> {
    let by = |wanted: fn(f64, f64) -> bool| {
        (0..part.len())
            .reduce(|best, at| if wanted(part[at].celsius, part[best].celsius) { at } else { best })
    };
    let mut places: Vec<usize> = [Some(0), by(|a, b| a < b), by(|a, b| a > b), part.len().checked_sub(1)]
        .into_iter()
        .flatten()
        .collect();
    places.sort_unstable();
    places.dedup();
    places.into_iter().filter_map(|at| part.get(at).copied()).collect()
}
