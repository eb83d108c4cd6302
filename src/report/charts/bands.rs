//! Target ranges behind the marks: what is accepted light with a dashed edge, the aim darker with a solid one. An open
//! end has no edge and runs to the end of the plot.

use super::scale::Scale;
use super::svg::{BAND, Look, QUIET, Svg};
use crate::verdict::Range;

/// Ground of the aim.
pub(super) const AIM: &str = "#d8c7a6";

/// Which of the two ranges.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Band {
    Accept,
    Aim,
}

/// A stretch of pixels along one axis, the smaller end first, and which of its ends are limits.
#[derive(Clone, Copy)]
pub(super) struct Stretch {
    pub(super) ends: [f64; 2],
    pub(super) limits: [bool; 2],
}

impl Stretch {
    /// The part of a range that lies within a plot from `plot[0]` to `plot[1]` pixels; `None` where none of it does, or
    /// where the range has no limit at all.
    pub(super) fn of(range: Range, scale: &Scale, plot: [f64; 2]) -> Option<Self> {
        let range = range.map(|end| end.filter(|v| v.is_finite()));
        if range == [None; 2] || matches!(range, [Some(low), Some(high)] if low > high) {
            return None;
        }
        let at = range.map(|end| end.map(|value| scale.at(value)));
        // A scale that rises on the page has its low values at large pixels.
        let falls = scale.at(1.0) < scale.at(0.0);
        let [from, to] = if falls { [at[1], at[0]] } else { at };
        let ends = [from.unwrap_or(plot[0]).max(plot[0]), to.unwrap_or(plot[1]).min(plot[1])];
        let limit = |end: Option<f64>| end.is_some_and(|v| (plot[0]..=plot[1]).contains(&v));
        (ends[0] <= ends[1]).then_some(Self { ends, limits: [limit(from), limit(to)] })
    }

    /// From end to end without a limit.
    pub(super) fn whole(ends: [f64; 2]) -> Self {
        Self { ends, limits: [false; 2] }
    }

    /// From limit to limit.
    pub(super) fn closed(ends: [f64; 2]) -> Self {
        Self { ends, limits: [true; 2] }
    }
}

/// A range as an area, its limits as edges.
pub(super) fn band(svg: &mut Svg, x: Stretch, y: Stretch, kind: Band) {
    let ([left, right], [top, bottom]) = (x.ends, y.ends);
    let fill = if kind == Band::Aim { AIM } else { BAND };
    svg.rect([left, top], [right - left, bottom - top], fill);
    let (width, dashes) = edge(kind);
    let sides = [
        (x.limits[0], [[left, top], [left, bottom]]),
        (x.limits[1], [[right, top], [right, bottom]]),
        (y.limits[0], [[left, top], [right, top]]),
        (y.limits[1], [[left, bottom], [right, bottom]]),
    ];
    for (_, side) in sides.iter().filter(|(limit, _)| *limit) {
        svg.polyline(side, QUIET, width, dashes);
    }
}

fn edge(kind: Band) -> (f64, &'static str) {
    match kind {
        Band::Aim => (1.5, ""),
        Band::Accept => (1.0, "3 2.5"),
    }
}

/// Whether a value lies in a range, without its interval.
pub(super) fn holds([low, high]: Range, value: f64) -> bool {
    low.is_none_or(|low| value >= low) && high.is_none_or(|high| value <= high)
}

/// A small sample of a band for a key.
pub(super) fn sample(svg: &mut Svg, place: [f64; 2], size: [f64; 2], kind: Band) {
    let (width, dashes) = edge(kind);
    let fill = if kind == Band::Aim { AIM } else { BAND };
    svg.frame(place, size, Look { fill, edge: QUIET, width, dashes });
}
