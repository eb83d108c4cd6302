//! A small writer of charts as SVG: text in, text out, the same bytes for the same numbers.
//!
//! Looks are presentation attributes only: a page whose content security policy forbids styles can hold the chart. All
//! ids begin with the chart's own, so that one page can hold many.

use super::text::is_shown;
use std::fmt::Write;

/// Paper behind everything.
pub(in crate::report) const PAPER: &str = "#fffdf9";
/// Words and axes.
pub(in crate::report) const INK: &str = "#26211d";
/// Words and lines that stand back; edges of bands.
pub(in crate::report) const QUIET: &str = "#635a51";
/// Lines that only guide the eye.
pub(in crate::report) const RULE: &str = "#d9cfc2";
/// What is to be seen first.
pub(in crate::report) const ACCENT: &str = "#8f3a1d";
/// Areas behind the marks.
pub(in crate::report) const BAND: &str = "#e9dfcf";

/// An SVG picture that grows element by element.
pub(in crate::report) struct Svg {
    text: String,
    id: String,
}

/// Which side of its point a text stands on.
#[derive(Clone, Copy)]
pub(in crate::report) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn name(self) -> &'static str {
        match self {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        }
    }
}

/// How a shape is filled and edged.
#[derive(Clone, Copy)]
pub(in crate::report) struct Look<'a> {
    /// A colour, `none`, or what [`Svg::hatching`] gave.
    pub(in crate::report) fill: &'a str,
    /// A colour or `none`.
    pub(in crate::report) edge: &'a str,
    /// Of the edge.
    pub(in crate::report) width: f64,
    /// Lengths of dashes and gaps of the edge; empty for a solid one.
    pub(in crate::report) dashes: &'a str,
}

impl<'a> Look<'a> {
    /// Filled without an edge.
    pub(in crate::report) fn filled(fill: &'a str) -> Self {
        Self { fill, edge: "none", width: 0.0, dashes: "" }
    }

    /// Filled with a solid edge.
    pub(in crate::report) fn edged(fill: &'a str, edge: &'a str, width: f64) -> Self {
        Self { fill, edge, width, dashes: "" }
    }

    fn attributes(self) -> String {
        let Self { fill, edge, width, dashes } = self;
        if edge == "none" {
            return format!("fill=\"{fill}\"");
        }
        format!("fill=\"{fill}\" stroke=\"{edge}\" stroke-width=\"{}\"{}", short(width), dash(dashes))
    }
}

fn dash(dashes: &str) -> String {
    if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dashes}\"") }
}

impl Svg {
    /// A picture with a title and a description for those who cannot see it; `id` begins with a letter and holds
    /// letters, digits and hyphens.
    pub(in crate::report) fn new(id: &str, width: f64, height: f64, title: &str, description: &str) -> Self {
        let (width, height) = (short(width), short(height));
        let id = escaped(id);
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" \
             aria-labelledby=\"{id}-title {id}-description\" \
             width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
             font-family=\"system-ui, sans-serif\" font-size=\"12\">\n\
             <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-description\">{}</desc>\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"{PAPER}\"/>\n",
            escaped(title),
            escaped(description)
        );
        Self { text, id }
    }

    pub(in crate::report) fn line(
        &mut self,
        [x1, y1]: [f64; 2],
        [x2, y2]: [f64; 2],
        colour: &str,
        width: f64,
        dashed: bool,
    ) {
        let dash = if dashed { dash("4 4") } else { String::new() };
        let _ = writeln!(
            self.text,
            "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke=\"{colour}\" stroke-width=\"{}\"{dash}/>",
            short(x1),
            short(y1),
            short(x2),
            short(y2),
            short(width)
        );
    }

    /// Straight lines from point to point; `dashes` are lengths of dashes and gaps, none for a solid line. Fewer than
    /// two points are no line.
    pub(in crate::report) fn polyline(
        &mut self,
        points: &[[f64; 2]],
        colour: &str,
        width: f64,
        dashes: &str,
    ) {
        if points.len() < 2 {
            return;
        }
        let _ = writeln!(
            self.text,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\" \
             stroke-linejoin=\"round\"{}/>",
            listed(points),
            short(width),
            dash(dashes)
        );
    }

    /// A closed shape.
    pub(in crate::report) fn polygon(&mut self, points: &[[f64; 2]], look: Look) {
        let _ = writeln!(self.text, "<polygon points=\"{}\" {}/>", listed(points), look.attributes());
    }

    pub(in crate::report) fn rect(&mut self, place: [f64; 2], size: [f64; 2], colour: &str) {
        self.frame(place, size, Look::filled(colour));
    }

    /// A rectangle with its look.
    pub(in crate::report) fn frame(&mut self, [x, y]: [f64; 2], [width, height]: [f64; 2], look: Look) {
        let _ = writeln!(
            self.text,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" {}/>",
            short(x),
            short(y),
            short(width.max(0.0)),
            short(height.max(0.0)),
            look.attributes()
        );
    }

    pub(in crate::report) fn dot(&mut self, [x, y]: [f64; 2], radius: f64, colour: &str, tip: &str) {
        let _ = writeln!(
            self.text,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{colour}\"><title>{}</title></circle>",
            short(x),
            short(y),
            short(radius),
            escaped(tip)
        );
    }

    /// A circle with its look.
    pub(in crate::report) fn circle(&mut self, [x, y]: [f64; 2], radius: f64, look: Look) {
        let (x, y, radius) = (short(x), short(y), short(radius));
        let _ = writeln!(self.text, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" {}/>", look.attributes());
    }

    /// The right half of a disc.
    pub(in crate::report) fn half_disc(&mut self, [x, y]: [f64; 2], radius: f64, colour: &str) {
        let [x, top, bottom, radius] = [x, y - radius, y + radius, radius].map(short);
        let _ = writeln!(
            self.text,
            "<path d=\"M{x} {top}A{radius} {radius} 0 0 1 {x} {bottom}Z\" fill=\"{colour}\"/>"
        );
    }

    /// A line with a head at its end.
    pub(in crate::report) fn arrow(&mut self, from: [f64; 2], to: [f64; 2], colour: &str, width: f64) {
        let way = [to[0] - from[0], to[1] - from[1]];
        let length = way[0].hypot(way[1]).max(1e-9);
        let [x, y] = way.map(|part| part / length);
        let back = |along: f64, aside: f64| [to[0] - along * x - aside * y, to[1] - along * y + aside * x];
        self.line(from, back(6.0, 0.0), colour, width, false);
        self.polygon(&[to, back(9.0, 4.0), back(9.0, -4.0)], Look::filled(colour));
    }

    /// Opens a group that shows `tip` under a pointer; [`Svg::end`] closes it.
    pub(in crate::report) fn group(&mut self, tip: &str) {
        let _ = writeln!(self.text, "<g><title>{}</title>", escaped(tip));
    }

    /// Closes a group.
    pub(in crate::report) fn end(&mut self) {
        self.text.push_str("</g>\n");
    }

    /// A filling of slanted lines; gives what a [`Look`] takes. Once a picture.
    pub(in crate::report) fn hatching(&mut self, ground: &str, colour: &str) -> String {
        let name = format!("{}-hatching", self.id);
        let _ = writeln!(
            self.text,
            "<defs><pattern id=\"{name}\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(45)\"><rect width=\"5\" height=\"5\" fill=\"{ground}\"/>\
             <line x1=\"1\" y1=\"0\" x2=\"1\" y2=\"5\" stroke=\"{colour}\" stroke-width=\"1.4\"/></pattern></defs>"
        );
        format!("url(#{name})")
    }

    /// A text; `turn` in degrees, clockwise about its point.
    pub(in crate::report) fn words(
        &mut self,
        [x, y]: [f64; 2],
        anchor: Anchor,
        turn: f64,
        colour: &str,
        bold: bool,
        text: &str,
    ) {
        let (x, y) = (short(x), short(y));
        let turned = if turn == 0.0 {
            String::new()
        } else {
            format!(" transform=\"rotate({} {x} {y})\"", short(turn))
        };
        let weight = if bold { " font-weight=\"600\"" } else { "" };
        let _ = writeln!(
            self.text,
            "<text x=\"{x}\" y=\"{y}\" text-anchor=\"{}\" fill=\"{colour}\"{weight}{turned}>{}</text>",
            anchor.name(),
            escaped(text)
        );
    }

    /// A text of 11 pixels, the least that is used, on a rim of `ground` that parts it from lines behind it; `none` for
    /// no rim.
    pub(in crate::report) fn small(
        &mut self,
        [x, y]: [f64; 2],
        anchor: Anchor,
        colour: &str,
        ground: &str,
        text: &str,
    ) {
        let rim = match ground {
            "none" => String::new(),
            ground => format!(
                " stroke=\"{ground}\" stroke-width=\"3\" stroke-linejoin=\"round\" paint-order=\"stroke\""
            ),
        };
        let _ = writeln!(
            self.text,
            "<text x=\"{}\" y=\"{}\" font-size=\"11\" text-anchor=\"{}\" fill=\"{colour}\"{rim}>{}</text>",
            short(x),
            short(y),
            anchor.name(),
            escaped(text)
        );
    }

    /// The finished picture.
    pub(in crate::report) fn finish(mut self) -> String {
        self.text.push_str("</svg>\n");
        self.text
    }
}

fn listed(points: &[[f64; 2]]) -> String {
    points.iter().map(|[x, y]| format!("{},{}", short(*x), short(*y))).collect::<Vec<_>>().join(" ")
}

/// A number with two decimals at most, no farther out than any picture is large.
fn short(value: f64) -> String {
    if !value.is_finite() {
        return "0".into();
    }
    ((value.clamp(-1e6, 1e6) * 100.0).round() / 100.0 + 0.0).to_string()
}

/// Text for use in XML: markup escaped; control characters (which XML 1.0 forbids) and marks that turn the direction
/// of what follows left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars().filter(|c| is_shown(*c)) {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}
