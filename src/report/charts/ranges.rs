//! A piece against its target ranges: a row a value.

use super::bands::{Band, Stretch, band};
use super::parts::{Entry, MARGIN, bar_across, heading, heading_height, key, nothing, remark};
use super::scale::Scale;
use super::svg::{ACCENT, Anchor, INK, Look, PAPER, QUIET, RULE, Svg};
use crate::reading::Reading;
use crate::report::words::{capital, fixed, plus_minus};
use crate::verdict::{DecisionRule, Estimate, Place, Quantity, Target, Targets, estimate, sentence};

const WIDTH: f64 = 640.0;
const ROW: f64 = 46.0;
/// Height of a bar.
const BAR: f64 = 12.0;
/// Left and right end of the scales.
const ENDS: [f64; 2] = [170.0, 476.0];
const TITLE: &str = "Values against the target ranges";

/// A value with its target.
struct Row<'a> {
    target: &'a Target,
    value: Estimate,
    place: Place,
}

/// A row for every value of the target ranges that the piece shows, on a scale of its own: what is accepted, the aim,
/// the value with its 95 % interval. The description says which values lie outside, by the rule that the piece was
/// graded by.
pub fn ranges_chart(id: &str, reading: &Reading, targets: &Targets) -> String {
    let risk = Some(reading.decision.risk).filter(|risk| (0.001..=0.5).contains(risk));
    let rule = risk.map_or_else(DecisionRule::default, |risk| DecisionRule { risk });
    let rows: Vec<Row> = targets
        .values
        .iter()
        .filter_map(|target| {
            let value = estimate(reading, &target.surface, target.value)?;
            let place = rule.place(value, target.accept);
            value.value.is_finite().then_some(Row { target, value, place })
        })
        .collect();
    if rows.is_empty() {
        let why = "The piece shows no value that the target ranges speak of, so there is nothing to draw.";
        return nothing(id, WIDTH, TITLE, why);
    }
    let lines = remark(
        "Each row has a scale of its own; lines: 95 % intervals. Disc: accepted; ring: a limit lies too near to tell; diamond: outside what is accepted.",
        WIDTH,
    );
    let top = heading_height(lines.len()) + 34.0;
    let height = top + ROW * rows.len() as f64 + 8.0;
    let mut svg = Svg::new(id, WIDTH, height, TITLE, &description(&rows, rule));
    heading(&mut svg, TITLE, &lines);
    let entries =
        [Entry::Band(Band::Aim, "aim"), Entry::Band(Band::Accept, "accepted; no edge: no limit there")];
    key(&mut svg, [MARGIN, top - 16.0], WIDTH - 2.0 * MARGIN, &entries);
    for (number, row) in rows.iter().enumerate() {
        let y = top + ROW * (number as f64 + 0.5);
        svg.line([MARGIN, y - ROW / 2.0], [WIDTH - MARGIN, y - ROW / 2.0], RULE, 1.0, false);
        draw(&mut svg, row, y);
    }
    svg.finish()
}

fn draw(svg: &mut Svg, row: &Row, y: f64) {
    let Row { target, value: Estimate { value, u95, .. }, place } = row;
    svg.words([MARGIN, y + 4.0], Anchor::Start, 0.0, INK, true, &name(target));
    let scale = scale(row);
    let down = Stretch::closed([y - BAR / 2.0, y + BAR / 2.0]);
    for (kind, range) in [(Band::Accept, target.accept), (Band::Aim, target.aim)] {
        if let Some(across) = Stretch::of(range, &scale, ENDS) {
            band(svg, across, down, kind);
        }
    }
    svg.line([ENDS[0], y + BAR / 2.0], [ENDS[1], y + BAR / 2.0], QUIET, 1.0, false);
    // Limits of the aim above the bar, those of what is accepted below it: they lie near each other.
    for (range, baseline) in [(target.aim, y - BAR / 2.0 - 3.0), (target.accept, y + BAR / 2.0 + 12.0)] {
        let mut last = f64::NEG_INFINITY;
        for limit in range.into_iter().flatten().filter(|limit| limit.is_finite()) {
            let text = figure(target.value, limit);
            let x = scale.within(limit).max(last);
            svg.small([x, baseline], Anchor::Middle, QUIET, "none", &text);
            last = x + super::text::width(&text, 11.0) + 6.0;
        }
    }
    if u95.is_finite() && *u95 > 0.0 {
        bar_across(svg, [scale.at(value - u95), scale.at(value + u95)], y, ENDS, 4.0);
    }
    let (x, said) = (scale.within(*value), said(target.value, *value, *u95));
    svg.group(&format!("{}: {said}", name(target)));
    match place {
        // Outside what is accepted stands out by form too.
        Place::Outside => {
            let corners = [[x, y - 6.5], [x + 6.5, y], [x, y + 6.5], [x - 6.5, y]];
            svg.polygon(&corners, Look::edged(ACCENT, PAPER, 0.8));
        }
        Place::Across => svg.circle([x, y], 4.5, Look::edged(PAPER, INK, 1.8)),
        Place::Inside => svg.circle([x, y], 4.5, Look::edged(INK, PAPER, 0.8)),
    }
    svg.end();
    svg.words([WIDTH - MARGIN, y + 4.0], Anchor::End, 0.0, INK, false, &said);
}

/// Holds all limits and the value with its interval, with some air at the ends.
fn scale(row: &Row) -> Scale {
    let Row { target, value: Estimate { value, u95, .. }, .. } = row;
    let limits = target.aim.into_iter().chain(target.accept).flatten();
    let half = if u95.is_finite() { u95.max(0.0) } else { 0.0 };
    let [least, most] = target.value.bounds();
    let ends = [(value - half).max(least.min(*value)), (value + half).min(most.max(*value))];
    let all = limits.chain(ends).filter(|v| v.is_finite()).map(|v| v.clamp(-1e6, 1e6));
    let (low, high) =
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    let air = (0.18 * (high - low)).max(if target.value.is_fraction() { 0.02 } else { 1.0 });
    // The scale ends where the value can go no farther, unless it did.
    let ends = [(low - air).max(least.min(low)), (high + air).min(most.max(high))];
    Scale::plain(ends, ENDS[0], ENDS[1])
}

fn name(target: &Target) -> String {
    let surface = capital(&target.surface);
    match target.value {
        Quantity::Lightness => format!("{surface} L*"),
        Quantity::Chroma => format!("{surface} chroma C*"),
        Quantity::Hue => format!("{surface} hue h"),
        Quantity::Evenness => format!("{surface} unevenness"),
        Quantity::DeltaLightness => "White less black".into(),
        Quantity::Ciede2000 => "White against black".into(),
        Quantity::ReflectanceRatio => "White : black, light".into(),
        Quantity::RetainedFraction => "Paint still black".into(),
        Quantity::AreaFraction => "Under fire clouds".into(),
    }
}

/// The value with its half-width and unit.
fn said(quantity: Quantity, value: f64, u95: f64) -> String {
    match quantity {
        Quantity::Lightness | Quantity::Evenness | Quantity::DeltaLightness => {
            format!("{} L*", plus_minus(value, u95, 1))
        }
        Quantity::Chroma => format!("{} C*", plus_minus(value, u95, 1)),
        Quantity::Hue => format!("{}°", plus_minus(value, u95, 0)),
        Quantity::Ciede2000 => format!("{} CIEDE2000", plus_minus(value, u95, 1)),
        Quantity::ReflectanceRatio => format!("{} times", plus_minus(value, u95, 1)),
        Quantity::RetainedFraction => format!("{} %", plus_minus(100.0 * value, 100.0 * u95, 0)),
        Quantity::AreaFraction => format!("{} %", plus_minus(100.0 * value, 100.0 * u95, 1)),
    }
}

/// A limit as a small figure.
fn figure(quantity: Quantity, limit: f64) -> String {
    let value = if quantity.is_fraction() {
        (1000.0 * limit).round() / 10.0
    } else {
        (1000.0 * limit).round() / 1000.0
    };
    let decimals = (0..3).find(|d| (value * 10f64.powi(*d)).fract().abs() < 1e-6).unwrap_or(3);
    let unit = match quantity {
        q if q.is_fraction() => " %",
        Quantity::Hue => "°",
        _ => "",
    };
    format!("{}{unit}", fixed(value, decimals as usize))
}

fn description(rows: &[Row], rule: DecisionRule) -> String {
    let within = rows.iter().filter(|row| rule.place(row.value, row.target.aim) == Place::Inside).count();
    let values = if rows.len() == 1 { "value" } else { "values" };
    let mut text = format!("Of {} {values} with a range, {within} surely in the aim.", rows.len());
    let told = |row: &Row, place, accept| {
        crate::report::words::sentence(&sentence(row.target, row.value, place, accept))
    };
    let mut none = true;
    for row in rows {
        if !row.value.u95.is_finite() {
            text += &format!(" {}: the interval is not known, so nothing can be told.", name(row.target));
            continue;
        }
        match (row.place, rule.place(row.value, row.target.aim)) {
            (Place::Outside, _) => text += &format!(" {}", told(row, Place::Outside, true)),
            (Place::Across, _) => text += &format!(" {}", told(row, Place::Across, true)),
            (Place::Inside, Place::Outside) => text += &format!(" {}", told(row, Place::Outside, false)),
            _ => {}
        }
        none &= row.place != Place::Outside;
    }
    if none {
        text += " None lies outside what is accepted.";
    }
    text
}
