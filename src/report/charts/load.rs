//! A load at a glance: L* of black against L* of white, a mark a piece.

use super::bands::{Band, Stretch, band, holds};
use super::marks::{LoadMark, counted, grade_mark, interval, shown};
use super::parts::{Entry, MARGIN, heading, heading_height, key, nothing, remark};
use super::placing::places;
use super::scale::Scale;
use super::svg::{Anchor, INK, PAPER, QUIET, RULE, Svg};
use super::text::{told, width, wrapped};
use crate::report::words::plus_minus;
use crate::verdict::{Quantity, Range, Target, Targets};

const WIDTH: f64 = 720.0;
const LEFT: f64 = 66.0;
const PLOT: [f64; 2] = [466.0, 400.0];
const RADIUS: f64 = 5.0;
/// More pieces than this bear no numbers: they would cover everything.
const MOST_NUMBERED: usize = 150;
/// How far an interval may widen the plot, in L*; a longer one runs out of the picture.
const REACH: f64 = 6.0;
const TITLE: &str = "White and black of the load";
const RIGHT_WAY: &str = "too much air, heat or time: the black pales, the white stays clean";
const DOWN_WAY: &str = "too little air, or too short: the white greys, the black is weak";

/// A piece of which both surfaces are seen.
struct Seen<'a> {
    mark: &'a LoadMark,
    white: [f64; 2],
    black: [f64; 2],
}

/// L* of black paint across, dark to the left, and L* of white slip upwards; a mark a piece, formed by its grade, with
/// its 95 % intervals and its number; the target ranges behind. Beside it what the directions mean, which is common
/// practice.
pub fn load_chart(id: &str, marks: &[LoadMark], targets: &Targets) -> String {
    let seen: Vec<Seen> = marks
        .iter()
        .filter_map(|mark| Some(Seen { mark, white: shown(mark.white)?, black: shown(mark.black)? }))
        .collect();
    if seen.is_empty() {
        let why = "No piece of this load shows both white and black, so there is nothing to draw.";
        return nothing(id, WIDTH, TITLE, why);
    }
    let range = |surface| targets.get(surface, Quantity::Lightness);
    let (white, black) = (range("white"), range("black"));
    let lines = remark(&subtitle(marks, &seen), WIDTH);
    let top = heading_height(lines.len()) + 8.0;
    let (right, bottom) = (LEFT + PLOT[0], top + PLOT[1]);
    let mut svg = Svg::new(id, WIDTH, bottom + 54.0, TITLE, &description(marks, &seen, [white, black]));
    heading(&mut svg, TITLE, &lines);

    let x = Scale::covering(covered(seen.iter().map(|s| s.black), black), LEFT, right, 8);
    let y = Scale::covering(covered(seen.iter().map(|s| s.white), white), bottom, top, 8);
    let plot = [[LEFT, right], [top, bottom]];
    let mut bands = Vec::new();
    for (kind, of) in
        [(Band::Accept, (|target| target.accept) as fn(&Target) -> Range), (Band::Aim, |target| target.aim)]
    {
        let across = black.and_then(|target| Stretch::of(of(target), &x, plot[0]));
        let down = white.and_then(|target| Stretch::of(of(target), &y, plot[1]));
        if across.is_some() || down.is_some() {
            let whole = |ends| Stretch::whole(ends);
            band(&mut svg, across.unwrap_or(whole(plot[0])), down.unwrap_or(whole(plot[1])), kind);
            bands.push(kind);
        }
    }
    axes(&mut svg, &x, &y, plot);
    pieces(&mut svg, &seen, &x, &y, plot);
    beside(&mut svg, [right + 20.0, top], &seen, &bands);
    svg.finish()
}

/// What a scale covers: values, their intervals as far as they may reach, the limits.
fn covered(values: impl Iterator<Item = [f64; 2]>, target: Option<&Target>) -> impl Iterator<Item = f64> {
    let limits: Vec<f64> = target.iter().flat_map(|t| t.aim.into_iter().chain(t.accept)).flatten().collect();
    values
        .flat_map(|[value, half]| {
            let reach = if half.is_finite() { half.clamp(1.5, REACH) } else { 1.5 };
            [value - reach, value + reach]
        })
        .chain(limits)
}

fn axes(svg: &mut Svg, x: &Scale, y: &Scale, [[left, right], [top, bottom]]: [[f64; 2]; 2]) {
    for (value, text) in y.ticks() {
        svg.line([left, y.at(value)], [right, y.at(value)], RULE, 1.0, false);
        svg.words([left - 8.0, y.at(value) + 4.0], Anchor::End, 0.0, QUIET, false, &text);
    }
    for (value, text) in x.ticks() {
        svg.line([x.at(value), top], [x.at(value), bottom + 5.0], RULE, 1.0, false);
        svg.words([x.at(value), bottom + 19.0], Anchor::Middle, 0.0, QUIET, false, &text);
    }
    svg.line([left, top], [left, bottom], INK, 1.0, false);
    svg.line([left, bottom], [right, bottom], INK, 1.0, false);
    let of = |surface| format!("L* of {surface} (CIELAB, D50, 2 degree observer)");
    svg.words([20.0, (top + bottom) / 2.0], Anchor::Middle, -90.0, INK, true, &of("white slip"));
    svg.words([(left + right) / 2.0, bottom + 40.0], Anchor::Middle, 0.0, INK, true, &of("black paint"));
}

fn pieces(svg: &mut Svg, seen: &[Seen], x: &Scale, y: &Scale, plot: [[f64; 2]; 2]) {
    let [[left, right], [top, bottom]] = plot;
    let at = |piece: &Seen| [x.within(piece.black[0]), y.within(piece.white[0])];
    let weight = if seen.len() > 20 { 0.6 } else { 0.9 };
    let mut lines = Vec::new();
    for piece in seen {
        let [across, down] = at(piece);
        if let Some([low, high]) = interval(piece.black) {
            lines.push([x.within(low), down, x.within(high), down]);
        }
        if let Some([low, high]) = interval(piece.white) {
            lines.push([across, y.within(high), across, y.within(low)]);
        }
    }
    for [x1, y1, x2, y2] in &lines {
        svg.line([*x1, *y1], [*x2, *y2], QUIET, weight, false);
    }
    let middles: Vec<[f64; 2]> = seen.iter().map(at).collect();
    let numbers: Vec<String> = seen.iter().map(|piece| piece.mark.number.to_string()).collect();
    let widths: Vec<f64> = numbers.iter().map(|number| width(number, 11.0) + 2.0).collect();
    let placed = match seen.len() {
        1..=MOST_NUMBERED => places(&middles, &widths, RADIUS + 1.5, &lines, [left, top, right, bottom]),
        _ => Vec::new(),
    };
    for (place, middle) in placed.iter().zip(&middles).filter(|(place, _)| place.far) {
        svg.line(*middle, place.middle, INK, 0.8, false);
    }
    for (piece, middle) in seen.iter().zip(&middles) {
        svg.group(&tip(piece));
        grade_mark(svg, *middle, RADIUS, piece.mark.grade);
        svg.end();
    }
    for (place, number) in placed.iter().zip(&numbers) {
        svg.small([place.middle[0], place.middle[1] + 4.0], Anchor::Middle, INK, PAPER, number);
    }
}

fn tip(piece: &Seen) -> String {
    let of = |[value, half]: [f64; 2]| plus_minus(value, half, 1);
    let LoadMark { number, name, .. } = piece.mark;
    let name: String = name.chars().take(80).collect();
    format!("{number}, {name}: white L* {}, black L* {}", of(piece.white), of(piece.black))
}

/// To the right of the plot: the key, and what the directions mean.
fn beside(svg: &mut Svg, [left, top]: [f64; 2], seen: &[Seen], bands: &[Band]) {
    let room = WIDTH - left - MARGIN;
    svg.words([left, top + 12.0], Anchor::Start, 0.0, INK, true, "Grade (pieces)");
    let mut y = top + 34.0;
    for (grade, words) in counted(seen.iter().map(|piece| piece.mark.grade)) {
        y = key(svg, [left, y], room, &[Entry::Grade(grade, words)]);
    }
    if !bands.is_empty() {
        svg.words([left, y + 14.0], Anchor::Start, 0.0, INK, true, "Target ranges");
        y += 36.0;
        for kind in bands.iter().rev() {
            let words = if *kind == Band::Aim { "aim" } else { "accepted" };
            y = key(svg, [left, y], room, &[Entry::Band(*kind, words)]);
        }
    }
    svg.words([left, y + 14.0], Anchor::Start, 0.0, INK, true, "Which way a firing errs");
    y += 32.0;
    for (end, words) in [([34.0, 0.0], RIGHT_WAY), ([26.0, 26.0], DOWN_WAY)] {
        svg.arrow([left + 1.0, y], [left + 1.0 + end[0], y + end[1]], INK, 1.8);
        y += end[1] + 20.0;
        for line in wrapped(words, room, 12.0) {
            svg.words([left, y], Anchor::Start, 0.0, INK, false, &line);
            y += 16.0;
        }
        y += 10.0;
    }
    svg.small([left, y], Anchor::Start, QUIET, "none", "Directions: common practice");
}

fn subtitle(marks: &[LoadMark], seen: &[Seen]) -> String {
    let numbers = match seen.len() {
        1..=MOST_NUMBERED => "its number beside it",
        _ => "too many for numbers",
    };
    let mut text = format!("A mark is a piece, {numbers}; thin lines: 95 % intervals, cut at the frame.");
    let missing = missing(marks);
    if !missing.is_empty() {
        text += &format!(" Not drawn, since white or black is not seen: {}.", told(&missing, 12));
    }
    text
}

fn missing(marks: &[LoadMark]) -> Vec<String> {
    let lacks = |mark: &&LoadMark| shown(mark.white).is_none() || shown(mark.black).is_none();
    marks.iter().filter(lacks).map(|mark| mark.number.to_string()).collect()
}

/// The finding, by the values themselves.
fn description(marks: &[LoadMark], seen: &[Seen], [white, black]: [Option<&Target>; 2]) -> String {
    let pieces = if seen.len() == 1 { "piece" } else { "pieces" };
    let mut text = format!("Of {} {pieces} with both surfaces seen, ", seen.len());
    if white.is_none() && black.is_none() {
        text += "none can be held against a range: the target ranges have none for L* of white or black.";
    } else {
        let lies = |piece: &Seen, of: fn(&Target) -> Range| {
            white.is_none_or(|t| holds(of(t), piece.white[0]))
                && black.is_none_or(|t| holds(of(t), piece.black[0]))
        };
        let aim = seen.iter().filter(|piece| lies(piece, |t| t.aim)).count();
        let accepted = seen.iter().filter(|piece| lies(piece, |t| t.accept)).count();
        let lie = |count: usize| if count == 1 { "lies" } else { "lie" };
        text += &format!(
            "{aim} {} in the aim; {} more {} in what is accepted, {} outside, by their values without the intervals.",
            lie(aim),
            accepted - aim.min(accepted),
            lie(accepted - aim.min(accepted)),
            seen.len() - accepted
        );
        let beyond = |out: &dyn Fn(&Seen) -> bool| -> Vec<String> {
            seen.iter().filter(|piece| out(piece)).map(|piece| piece.mark.number.to_string()).collect()
        };
        let above = |target: Option<&Target>, value: f64| {
            target.and_then(|t| t.accept[1]).is_some_and(|high| value > high)
        };
        let below = |target: Option<&Target>, value: f64| {
            target.and_then(|t| t.accept[0]).is_some_and(|low| value < low)
        };
        for (words, numbers) in [
            ("Black paler than accepted", beyond(&|p| above(black, p.black[0]))),
            ("Black darker than accepted", beyond(&|p| below(black, p.black[0]))),
            ("White darker than accepted", beyond(&|p| below(white, p.white[0]))),
            ("White lighter than accepted", beyond(&|p| above(white, p.white[0]))),
        ] {
            if !numbers.is_empty() {
                text += &format!(" {words}: {}.", told(&numbers, 20));
            }
        }
    }
    let missing = missing(marks);
    if !missing.is_empty() {
        text += &format!(" Not drawn, since white or black is not seen: {}.", told(&missing, 20));
    }
    text +=
        &format!(" Directions, by common practice: to the right, {RIGHT_WAY}; down and right, {DOWN_WAY}.");
    text
}
