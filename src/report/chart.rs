//! A small writer of charts as SVG: text in, text out, the same bytes for the same numbers.

use std::fmt::Write;

pub(super) const INK: &str = "#26211d";
pub(super) const QUIET: &str = "#635a51";
pub(super) const RULE: &str = "#d9cfc2";
pub(super) const ACCENT: &str = "#8f3a1d";
pub(super) const BAND: &str = "#e9dfcf";

/// An SVG picture that grows element by element.
pub(super) struct Svg {
    text: String,
}

/// Which side of its point a text stands on.
#[derive(Clone, Copy)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

impl Svg {
    /// A picture with a title and a description for those who cannot see it.
    pub(super) fn new(width: f64, height: f64, title: &str, description: &str) -> Self {
        let (width, height) = (short(width), short(height));
        let text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-labelledby=\"title description\" \
             width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
             font-family=\"system-ui, sans-serif\" font-size=\"12\">\n\
             <title id=\"title\">{}</title>\n<desc id=\"description\">{}</desc>\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"#fffdf9\"/>\n",
            escaped(title),
            escaped(description)
        );
        Self { text }
    }

    pub(super) fn line(
        &mut self,
        [x1, y1]: [f64; 2],
        [x2, y2]: [f64; 2],
        colour: &str,
        width: f64,
        dashed: bool,
    ) {
        let dash = if dashed { " stroke-dasharray=\"4 4\"" } else { "" };
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

    /// Straight lines from point to point; `dashes` are lengths of dashes and gaps, none for a solid line.
    pub(super) fn polyline(&mut self, points: &[[f64; 2]], colour: &str, width: f64, dashes: &str) {
        let points: Vec<String> =
            points.iter().map(|[x, y]| format!("{},{}", short(*x), short(*y))).collect();
        let dash = if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dashes}\"") };
        let _ = writeln!(
            self.text,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\" \
             stroke-linejoin=\"round\"{dash}/>",
            points.join(" "),
            short(width)
        );
    }

    pub(super) fn rect(&mut self, [x, y]: [f64; 2], [width, height]: [f64; 2], colour: &str) {
        let _ = writeln!(
            self.text,
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{colour}\"/>",
            short(x),
            short(y),
            short(width.max(0.0)),
            short(height.max(0.0))
        );
    }

    pub(super) fn dot(&mut self, [x, y]: [f64; 2], radius: f64, colour: &str, tip: &str) {
        let _ = writeln!(
            self.text,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{colour}\"><title>{}</title></circle>",
            short(x),
            short(y),
            short(radius),
            escaped(tip)
        );
    }

    /// A text; `turn` in degrees, clockwise about its point.
    pub(super) fn words(
        &mut self,
        [x, y]: [f64; 2],
        anchor: Anchor,
        turn: f64,
        colour: &str,
        bold: bool,
        text: &str,
    ) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let (x, y) = (short(x), short(y));
        let turned = if turn == 0.0 {
            String::new()
        } else {
            format!(" transform=\"rotate({} {x} {y})\"", short(turn))
        };
        let weight = if bold { " font-weight=\"600\"" } else { "" };
        let _ = writeln!(
            self.text,
            "<text x=\"{x}\" y=\"{y}\" text-anchor=\"{anchor}\" fill=\"{colour}\"{weight}{turned}>{}</text>",
            escaped(text)
        );
    }

    /// A line through points; `dash` as in SVG, empty for a whole line.
    pub(super) fn path(&mut self, points: &[[f64; 2]], colour: &str, width: f64, dash: &str) {
        if points.len() < 2 {
            return;
        }
        let dash = if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dash}\"") };
        let _ = write!(
            self.text,
            "<polyline fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\"{dash} points=\"",
            short(width)
        );
        for [x, y] in points {
            let _ = write!(self.text, "{},{} ", short(*x), short(*y));
        }
        self.text.push_str("\"/>\n");
    }

    /// The finished picture.
    pub(super) fn finish(mut self) -> String {
        self.text.push_str("</svg>\n");
        self.text
    }
}

/// A straight scale from values to pixels, with round ticks.
pub(super) struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
    /// Distance of the ticks in values.
    pub(super) step: f64,
}

impl Scale {
    /// Covers all finite values and ends on ticks; `from` and `to` are the pixels of its ends.
    /// Ticks are 1, 2 or 5 times a power of ten apart, about `count` of them.
    pub(super) fn covering(values: impl Iterator<Item = f64>, from: f64, to: f64, count: usize) -> Self {
        let (low, high) = values
            .filter(|v| v.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        let (low, high) = if low <= high { (low, high) } else { (0.0, 1.0) };
        // One value alone still gets a scale of about one unit to either side.
        let (low, high) = if high - low < 1.0 {
            ((low + high) / 2.0 - 0.75, (low + high) / 2.0 + 0.75)
        } else {
            (low, high)
        };
        let rough = (high - low) / count.max(1) as f64;
        let power = 10f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|m| m * power)
            .find(|s| *s >= rough * 0.999)
            .unwrap_or(rough);
        Self { low: (low / step).floor() * step, high: (high / step).ceil() * step, from, to, step }
    }

    /// The pixel of a value.
    pub(super) fn at(&self, value: f64) -> f64 {
        self.from + (value - self.low) / (self.high - self.low) * (self.to - self.from)
    }

    /// All ticks: value and text.
    pub(super) fn ticks(&self) -> Vec<(f64, String)> {
        let decimals = (-self.step.log10().floor()).max(0.0) as usize;
        let count = ((self.high - self.low) / self.step).round() as usize;
        (0..=count)
            .map(|i| self.low + i as f64 * self.step)
            .map(|value| (value, super::words::fixed(value, decimals)))
            .collect()
    }
}

/// A number with two decimals at most.
fn short(value: f64) -> String {
    if !value.is_finite() {
        return "0".into();
    }
    ((value * 100.0).round() / 100.0 + 0.0).to_string()
}

/// Text for use in XML: markup escaped, control characters (which XML 1.0 forbids) left out.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars().filter(|c| !c.is_control() && !matches!(*c, '\u{FFFE}' | '\u{FFFF}')) {
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
