//! The part of a comparison that is told as ratios, on a scale of doublings: white against black, and surfaces
//! within their own piece where there is no card.

use super::difference::{COLUMNS, ROW, WIDTH, mark, titles};
use super::parts::MARGIN;
use super::scale::Scale;
use super::svg::{Anchor, INK, QUIET, RULE, Svg};
use super::text::width;
use crate::reading::Comparison;
use crate::report::words::fixed;

/// Ratios that may stand at the scale; each with its inverse.
const TICKS: [f64; 9] = [1.1, 1.25, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0, 20.0];
/// The scale goes no farther than this, and at least so far.
const MOST: f64 = 20.0;
const LEAST: f64 = 1.25;

/// A ratio of the replica over that of the reference.
pub(super) struct Ratio {
    pub(super) name: String,
    pub(super) words: String,
    /// Natural logarithm, and the half-width of its 95 % interval.
    pub(super) log: [f64; 2],
    pub(super) differs: bool,
}

impl Ratio {
    /// `1.32 (1.05 to 1.65)`.
    pub(super) fn said(&self) -> String {
        let [log, half] = self.log;
        let times = |log: f64| fixed(log.clamp(-20.0, 20.0).exp(), 2);
        match half.is_finite() {
            true => format!("{} ({} to {})", times(log), times(log - half), times(log + half)),
            false => format!("{} (± not known)", times(log)),
        }
    }
}

/// Surfaces of a piece against each other where there is no card, then white against black.
pub(super) fn ratios(found: &Comparison) -> Vec<Ratio> {
    let words = |differs: bool, log: f64, more: &str, less: &str| match (differs, log > 0.0) {
        (false, _) => "not told apart".to_owned(),
        (true, true) => more.into(),
        (true, false) => less.into(),
    };
    let mut all: Vec<Ratio> = found
        .tones
        .iter()
        .map(|tone| Ratio {
            name: tone.surface.clone(),
            words: words(tone.differs, tone.log_ratio, "lighter in its piece", "darker in its piece"),
            log: [tone.log_ratio, tone.u95],
            differs: tone.differs,
        })
        .collect();
    all.extend(found.contrast.as_ref().map(|contrast| Ratio {
        name: "white : black".into(),
        words: words(
            contrast.differs,
            contrast.log_ratio,
            "black on white is stronger",
            "black on white is weaker",
        ),
        log: [contrast.log_ratio, contrast.u95],
        differs: contrast.differs,
    }));
    all.retain(|ratio| ratio.log[0].is_finite());
    all
}

/// The rows, from `top` downwards: a title, a scale, a row each.
pub(super) fn ratio_rows(svg: &mut Svg, ratios: &[Ratio], top: f64) {
    let (left, right) = (COLUMNS[0][0], COLUMNS[2][1]);
    let (plot, middle) = (top + 56.0, (left + right) / 2.0);
    let bottom = plot + ROW * ratios.len() as f64;
    let title = "light given back, replica over reference (a ratio)";
    svg.words([middle, plot - 26.0], Anchor::Middle, 0.0, INK, true, title);
    svg.words([WIDTH - MARGIN, plot - 26.0], Anchor::End, 0.0, INK, true, "ratio");
    svg.small([WIDTH - MARGIN, plot - 8.0], Anchor::End, QUIET, "none", "95 % interval");
    let reach = ratios
        .iter()
        .map(|ratio| ratio.log[0].abs() + if ratio.log[1].is_finite() { ratio.log[1].max(0.0) } else { 0.0 })
        .fold(LEAST.ln(), f64::max);
    let reach = (1.08 * reach).min(MOST.ln());
    let scale = Scale::plain([-reach, reach], left, right);
    let mut last = middle;
    tick(svg, &scale, 1.0, [plot, bottom]);
    for value in TICKS.into_iter().filter(|value| value.ln() <= reach) {
        // Left and right are mirrors: room on one side is room on the other.
        if scale.at(value.ln()) - last >= width("0.00", 11.0) + 14.0 {
            last = scale.at(value.ln());
            tick(svg, &scale, value, [plot, bottom]);
            tick(svg, &scale, 1.0 / value, [plot, bottom]);
        }
    }
    svg.line([left, plot], [right, plot], INK, 1.0, false);
    svg.line([middle, plot], [middle, bottom], INK, 1.4, false);
    for (number, ratio) in ratios.iter().enumerate() {
        let y = plot + ROW * (number as f64 + 0.5);
        titles(svg, &ratio.name, &ratio.words, y);
        mark(svg, ratio.log, &scale, [left, right], y, ratio.differs, &format!("{}, logarithm", ratio.name));
        let said = ratio.said();
        let (value, interval) = said.split_once(" (").unwrap_or((&said, ""));
        svg.words([WIDTH - MARGIN, y - 1.0], Anchor::End, 0.0, INK, ratio.differs, value);
        svg.small([WIDTH - MARGIN, y + 14.0], Anchor::End, QUIET, "none", interval.trim_end_matches(')'));
    }
}

fn tick(svg: &mut Svg, scale: &Scale, value: f64, [top, bottom]: [f64; 2]) {
    let x = scale.at(value.ln());
    svg.line([x, top], [x, bottom], RULE, 1.0, false);
    let decimals = if (value * 10.0).fract().abs() < 1e-9 { usize::from(value.fract() > 1e-9) } else { 2 };
    svg.small([x, top - 8.0], Anchor::Middle, QUIET, "none", &fixed(value, decimals));
}
