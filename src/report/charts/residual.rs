//! How well the correction fits the card: a bar a patch.

use super::parts::{MARGIN, heading, heading_height, nothing};
use super::scale::Scale;
use super::svg::{ACCENT, Anchor, INK, Look, PAPER, QUIET, RULE, Svg};
use super::text::{cut, told, width, wrapped};
use crate::colour::ciede2000;
use crate::reading::{CardPart, PatchPart};
use crate::report::display::hex_of_lab;
use crate::report::words::fixed;

const WIDTH: f64 = 640.0;
/// Left and right end of the bars; to the right stand the words of the mean.
const ENDS: [f64; 2] = [62.0, 522.0];
/// Most bars in a line; more go into further lines.
const MOST: usize = 36;
/// Height of the bars' scale, of a swatch, and of a line of bars with all that belongs to it.
const HIGH: f64 = 88.0;
const SWATCH: f64 = 28.0;
const LINE: f64 = HIGH + SWATCH + 46.0;
const TITLE: &str = "Patches of the card after correction";

/// A bar a patch of the card: CIEDE2000 between its reference colour and its corrected one; below it both colours and
/// the patch's number. Patches that were not used are hatched. The line is the mean of the residuals with each patch
/// predicted from the others.
pub fn residual_chart(id: &str, card: &CardPart) -> String {
    let bars: Vec<(&PatchPart, f64)> = card
        .patches
        .iter()
        .map(|patch| (patch, ciede2000(patch.lab_reference.into(), patch.lab_corrected.into())))
        .collect();
    if !bars.iter().any(|(_, residual)| residual.is_finite()) {
        let why = match card.borrowed_from {
            Some(_) => "The correction is borrowed from another photograph: this one has no patches to show.",
            None => "No patches of a card were read in this photograph.",
        };
        return nothing(id, WIDTH, TITLE, why);
    }
    let mean = card.held_out_de00.map(|r| r.mean).filter(|mean| mean.is_finite());
    let rows = bars.len().div_ceil(MOST);
    let each = bars.len().div_ceil(rows);
    let lines = key_lines(&bars);
    let top = heading_height(lines.len()) + 12.0;
    let mut svg = Svg::new(id, WIDTH, top + LINE * rows as f64 + 22.0, TITLE, &description(&bars, mean));
    heading(&mut svg, TITLE, &lines);
    let hatching = svg.hatching(PAPER, QUIET);
    let most = bars.iter().map(|(_, residual)| *residual).chain(mean);
    let values: Vec<f64> = most.chain([0.0]).collect();
    for (number, part) in bars.chunks(each).enumerate() {
        let bottom = top + LINE * number as f64 + HIGH;
        let scale = Scale::covering(values.iter().copied(), bottom, bottom - HIGH, 3);
        line(&mut svg, part, each, &scale, bottom, &hatching);
        if let Some(mean) = mean {
            let y = scale.within(mean);
            // Light under dark, so that it is seen over bars.
            svg.line([ENDS[0], y], [ENDS[1] + 6.0, y], PAPER, 3.6, false);
            svg.line([ENDS[0], y], [ENDS[1] + 6.0, y], ACCENT, 1.8, true);
            let words = ["mean with each", "patch predicted", "from the others"];
            let x = ENDS[1] + 10.0;
            svg.small([x, y + 4.0], Anchor::Start, ACCENT, "none", &fixed(mean, 1));
            for (row, words) in words.iter().enumerate().filter(|_| number == 0) {
                svg.small([x, y + 18.0 + 13.0 * row as f64], Anchor::Start, INK, "none", words);
            }
        }
    }
    let middle = (ENDS[0] + ENDS[1]) / 2.0;
    let bottom = top + LINE * rows as f64 + 2.0;
    svg.words([middle, bottom], Anchor::Middle, 0.0, INK, true, "patch of the card");
    svg.finish()
}

/// One line of bars over its own scale.
fn line(svg: &mut Svg, bars: &[(&PatchPart, f64)], each: usize, scale: &Scale, bottom: f64, hatching: &str) {
    for (value, text) in scale.ticks() {
        svg.line([ENDS[0], scale.at(value)], [ENDS[1], scale.at(value)], RULE, 1.0, false);
        svg.words([ENDS[0] - 8.0, scale.at(value) + 4.0], Anchor::End, 0.0, QUIET, false, &text);
    }
    let middle = bottom - HIGH / 2.0;
    svg.words([20.0, middle], Anchor::Middle, -90.0, INK, true, "CIEDE2000");
    let pitch = (ENDS[1] - ENDS[0]) / each as f64;
    let wide = (0.72 * pitch).clamp(2.0, 22.0);
    let longest = bars.iter().map(|(patch, _)| width(&number(patch), 11.0)).fold(0.0, f64::max);
    let every = ((longest + 4.0) / pitch).ceil().max(1.0) as usize;
    for (place, (patch, residual)) in bars.iter().enumerate() {
        let x = ENDS[0] + pitch * (place as f64 + 0.5);
        let left = x - wide / 2.0;
        svg.group(&tip(patch, *residual));
        if residual.is_finite() {
            let look = match patch.used {
                true => Look::filled(INK),
                false => Look::edged(hatching, QUIET, 1.2),
            };
            let y = scale.within(*residual);
            svg.frame([left, y], [wide, bottom - y], look);
        }
        for (lab, y) in
            [(patch.lab_reference, bottom + 6.0), (patch.lab_corrected, bottom + 6.0 + SWATCH / 2.0)]
        {
            if lab.iter().all(|v| v.is_finite()) {
                svg.rect([left, y], [wide, SWATCH / 2.0], &hex_of_lab(lab));
            }
        }
        svg.frame([left, bottom + 6.0], [wide, SWATCH], Look::edged("none", QUIET, 1.0));
        svg.end();
        if place % every == 0 {
            let text = cut(&number(patch), pitch * every as f64 - 2.0, 11.0);
            svg.small([x, bottom + SWATCH + 19.0], Anchor::Middle, INK, "none", &text);
        }
    }
    svg.line([ENDS[0], bottom], [ENDS[1], bottom], INK, 1.0, false);
}

fn number(patch: &PatchPart) -> String {
    cut(&patch.id, 40.0, 11.0)
}

fn tip(patch: &PatchPart, residual: f64) -> String {
    let used = match (patch.used, &patch.why_not) {
        (true, _) => String::new(),
        (false, Some(why)) => format!(", not used: {why}"),
        (false, None) => ", not used".into(),
    };
    format!("Patch {}: CIEDE2000 {}{used}", number(patch), fixed(residual, 2))
}

/// Patches that were not used, by the reason.
fn not_used(bars: &[(&PatchPart, f64)]) -> Vec<(String, Vec<String>)> {
    let mut reasons: Vec<(String, Vec<String>)> = Vec::new();
    for (patch, _) in bars.iter().filter(|(patch, _)| !patch.used) {
        let why = patch.why_not.clone().unwrap_or_else(|| "no reason recorded".into());
        match reasons.iter_mut().find(|(known, _)| *known == why) {
            Some((_, patches)) => patches.push(number(patch)),
            None => reasons.push((why, vec![number(patch)])),
        }
    }
    reasons
}

fn key_lines(bars: &[(&PatchPart, f64)]) -> Vec<String> {
    let mut text =
        "Swatches: upper half the reference colour, lower half as corrected. Filled bar: used for the correction.".to_owned();
    let reasons = not_used(bars);
    if !reasons.is_empty() {
        let each: Vec<String> =
            reasons.iter().map(|(why, patches)| format!("{why} ({})", told(patches, 12))).collect();
        text += &format!(" Hatched: not used, {}.", each.join("; "));
    }
    wrapped(&text, WIDTH - 2.0 * MARGIN, 12.0)
}

fn description(bars: &[(&PatchPart, f64)], mean: Option<f64>) -> String {
    let used: Vec<f64> = bars.iter().filter(|(p, r)| p.used && r.is_finite()).map(|(_, r)| *r).collect();
    let mut text = format!("{} patches, {} of them used for the correction.", bars.len(), used.len());
    if !used.is_empty() {
        text += &format!(
            " Over those, CIEDE2000 between reference and corrected colour is {} in the mean",
            fixed(used.iter().sum::<f64>() / used.len() as f64, 1)
        );
        let farthest =
            bars.iter().filter(|(p, r)| p.used && r.is_finite()).max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((patch, residual)) = farthest {
            text += &format!(" and {} at most, patch {}", fixed(*residual, 1), number(patch));
        }
        text.push('.');
    }
    if let Some(mean) = mean {
        text += &format!(" With each patch predicted from the others the mean is {}.", fixed(mean, 1));
    }
    for (why, patches) in not_used(bars) {
        text += &format!(" Not used, {why}: {}.", told(&patches, 30));
    }
    text
}
