//! What is left of the paint and how it stands out: a row a piece.

use super::bands::{Band, Stretch, band, holds};
use super::marks::{LoadMark, counted, grade_mark, interval, shown};
use super::parts::{Entry, MARGIN, bar_across, heading, heading_height, key, nothing, remark};
use super::scale::Scale;
use super::svg::{Anchor, INK, QUIET, RULE, Svg};
use super::text::{cut, told};
use crate::report::words::{capital, plus_minus};
use crate::verdict::{Quantity, Range, Target, Targets};

const WIDTH: f64 = 720.0;
const ROW: f64 = 20.0;
/// Where numbers end, marks and names stand.
const NUMBERS: f64 = 44.0;
const NAMES: f64 = 66.0;
/// Left and right end of the two columns.
const COLUMNS: [[f64; 2]; 2] = [[276.0, 456.0], [500.0, 698.0]];
const TITLE: &str = "Paint kept, and contrast, piece by piece";

/// One column: what it shows of a piece, in its unit.
struct Column<'a> {
    name: &'static str,
    ends: [f64; 2],
    of: fn(&LoadMark) -> Option<[f64; 2]>,
    target: Option<&'a Target>,
    /// Of the target's unit over the column's.
    factor: f64,
    scale: Scale,
}

/// A row a piece in the order given: the share of its paint that still reads black, and white less black in L*, each
/// with its 95 % interval before the target ranges.
pub fn kept_chart(id: &str, marks: &[LoadMark], targets: &Targets) -> String {
    if !marks.iter().any(|mark| shown(mark.kept).is_some() || shown(mark.contrast).is_some()) {
        let why =
            "No piece of this load shows paint, or white and black together, so there is nothing to draw.";
        return nothing(id, WIDTH, TITLE, why);
    }
    let columns = columns(marks, targets);
    let lines = remark("Dots with lines: values with 95 % intervals, cut at the column's ends.", WIDTH);
    let top = heading_height(lines.len()) + 74.0;
    let bottom = top + ROW * marks.len() as f64;
    let mut svg = Svg::new(id, WIDTH, bottom + 34.0, TITLE, &description(marks, &columns));
    heading(&mut svg, TITLE, &lines);
    let mut entries: Vec<Entry> = counted(marks.iter().map(|mark| mark.grade))
        .into_iter()
        .map(|(grade, words)| Entry::Grade(grade, words))
        .collect();
    if columns.iter().any(|column| column.target.is_some()) {
        entries.extend([Entry::Band(Band::Aim, "aim"), Entry::Band(Band::Accept, "accepted")]);
    }
    key(&mut svg, [MARGIN, top - 52.0], WIDTH - 2.0 * MARGIN, &entries);
    for column in &columns {
        ground(&mut svg, column, [top, bottom]);
    }
    for (number, mark) in marks.iter().enumerate() {
        row(&mut svg, mark, &columns, top + ROW * (number as f64 + 0.5));
    }
    svg.finish()
}

fn percent(mark: &LoadMark) -> Option<[f64; 2]> {
    shown(mark.kept).map(|kept| kept.map(|part| 100.0 * part))
}

fn columns<'a>(marks: &[LoadMark], targets: &'a Targets) -> [Column<'a>; 2] {
    let contrast = |mark: &LoadMark| shown(mark.contrast);
    let target = targets.get("contrast", Quantity::DeltaLightness);
    let limits = target.iter().flat_map(|t| t.aim.into_iter().chain(t.accept)).flatten();
    let values = marks.iter().filter_map(contrast).flat_map(|value| {
        let [low, high] = interval(value).unwrap_or([value[0]; 2]);
        [low.max(value[0] - 20.0), high.min(value[0] + 20.0)]
    });
    let scale = Scale::covering(values.chain(limits), COLUMNS[1][0], COLUMNS[1][1], 5);
    [
        Column {
            name: "paint that still reads black, %",
            ends: COLUMNS[0],
            of: percent,
            target: targets.get("paint", Quantity::RetainedFraction),
            factor: 100.0,
            scale: Scale::covering([0.0, 100.0].into_iter(), COLUMNS[0][0], COLUMNS[0][1], 5),
        },
        Column { name: "white less black, L*", ends: COLUMNS[1], of: contrast, target, factor: 1.0, scale },
    ]
}

impl Column<'_> {
    fn range(&self, of: fn(&Target) -> Range) -> Option<Range> {
        self.target.map(|target| of(target).map(|end| end.map(|value| self.factor * value)))
    }
}

/// Name, scale and bands of a column.
fn ground(svg: &mut Svg, column: &Column, [top, bottom]: [f64; 2]) {
    let [left, right] = column.ends;
    svg.words([left, top - 27.0], Anchor::Start, 0.0, INK, true, column.name);
    for (kind, of) in
        [(Band::Accept, (|t| t.accept) as fn(&Target) -> Range), (Band::Aim, |t: &Target| t.aim)]
    {
        if let Some(across) = column.range(of).and_then(|r| Stretch::of(r, &column.scale, column.ends)) {
            band(svg, across, Stretch::whole([top, bottom]), kind);
        }
    }
    for (value, text) in column.scale.ticks() {
        let x = column.scale.at(value);
        svg.line([x, top], [x, bottom], RULE, 1.0, false);
        for y in [top - 8.0, bottom + 16.0] {
            svg.small([x, y], Anchor::Middle, QUIET, "none", &text);
        }
    }
    for y in [top, bottom] {
        svg.line([left, y], [right, y], INK, 1.0, false);
    }
}

fn row(svg: &mut Svg, mark: &LoadMark, columns: &[Column; 2], y: f64) {
    svg.line([MARGIN, y + ROW / 2.0], [COLUMNS[1][1], y + ROW / 2.0], RULE, 0.6, false);
    svg.words([NUMBERS, y + 4.0], Anchor::End, 0.0, INK, true, &mark.number.to_string());
    grade_mark(svg, [NUMBERS + 11.0, y], 4.5, mark.grade);
    let name = cut(&mark.name, COLUMNS[0][0] - NAMES - 12.0, 12.0);
    svg.words([NAMES, y + 4.0], Anchor::Start, 0.0, INK, false, &name);
    for column in columns {
        let Some(value) = (column.of)(mark) else {
            svg.small([column.ends[0] + 6.0, y + 4.0], Anchor::Start, INK, "none", "not seen");
            continue;
        };
        if let Some(ends) = interval(value) {
            bar_across(svg, ends.map(|end| column.scale.at(end)), y, column.ends, 3.0);
        }
        let tip = format!("{}: {}", mark.number, plus_minus(value[0], value[1], 1));
        svg.dot([column.scale.within(value[0]), y], 4.0, INK, &tip);
    }
}

/// How many lie where, and the least.
fn description(marks: &[LoadMark], columns: &[Column; 2]) -> String {
    let mut said = Vec::new();
    for column in columns {
        let values: Vec<(usize, f64)> =
            marks.iter().filter_map(|mark| Some((mark.number, (column.of)(mark)?[0]))).collect();
        let Some((number, least)) = values.iter().min_by(|a, b| a.1.total_cmp(&b.1)) else {
            said.push(format!("{}: seen on no piece.", capital(column.name)));
            continue;
        };
        let mut text =
            format!("{}: seen on {} of {} pieces", capital(column.name), values.len(), marks.len());
        if let (Some(aim), Some(accept)) = (column.range(|t| t.aim), column.range(|t| t.accept)) {
            let inside = values.iter().filter(|(_, value)| holds(aim, *value)).count();
            let outside: Vec<String> = values
                .iter()
                .filter(|(_, value)| !holds(accept, *value))
                .map(|(number, _)| number.to_string())
                .collect();
            text += &format!("; {inside} in the aim; outside what is accepted: {}", told(&outside, 20));
        } else {
            text += "; the target ranges have none for it";
        }
        said.push(format!("{text}; the least is {least:.1}, piece {number}."));
    }
    said.push("By the values, without their intervals.".into());
    said.join(" ")
}
