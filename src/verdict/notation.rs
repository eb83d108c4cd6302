//! Target ranges about a Munsell notation: often all that is known of a piece in a collection.
//!
//! Charts step by 1 in value, 2 in chroma and 2.5 in hue, and a notation read from one names all colours nearer to its
//! chip than to the next. So the aim reaches half a step each way, and what is accepted a whole step: the next chip,
//! which another eye might have chosen (common practice; no publication gives such limits).

use super::learn::{STARTER, fully_off};
use super::targets::{Quantity, Range, Target, Targets};
use crate::colour::{LabD50, MunsellNotation, XyzD50, munsell_value_to_y};

/// Half a step of a chart: value, chroma, hue. The accept range has twice this.
const HALF_STEP: [f64; 3] = [0.5, 1.0, 2.5 / 2.0];
/// Below this chroma a colour is too near grey for its hue to be held to a range.
const LEAST_CHROMA: f64 = 1.0;

/// What was added for a notation.
#[derive(Debug, Clone, PartialEq)]
pub struct AddedNotation {
    /// L*, a*, b* of the notation for D50, now the centre of the aim.
    pub lab: [f64; 3],
    /// The new ranges: lightness, chroma and, where the notation has one, hue.
    pub ranges: Vec<Target>,
    /// Why a hue has no range, where that is so.
    pub without_hue: Option<&'static str>,
}

/// Adds or replaces the ranges of a surface's lightness, chroma and hue and the centre of its aim, and says so in the
/// set's note. `None`, and nothing changed, where the renotation has no such real colour.
pub fn add_notation(
    targets: &mut Targets,
    surface: &str,
    notation: MunsellNotation,
) -> Option<AddedNotation> {
    let colour = notation.to_lab()?;
    let (hues, without_hue) = match hues(notation, colour) {
        Ok(hues) => (Some(hues), None),
        Err(why) => (None, Some(why)),
    };
    let lightness = [1.0, 2.0].map(|steps| lightness(notation.value, steps * HALF_STEP[0]));
    let chroma = [1.0, 2.0].map(|steps| chroma(notation, colour, steps * HALF_STEP[1]));
    let starter = Targets::load(STARTER).ok();
    let mut ranges = vec![(Quantity::Lightness, lightness), (Quantity::Chroma, chroma)];
    ranges.extend(hues.map(|hues| (Quantity::Hue, hues)));
    let ranges: Vec<Target> = ranges
        .into_iter()
        .map(|(value, [aim, accept])| {
            let mut target = Target { surface: surface.into(), value, aim, accept, fully_off: None };
            target.fully_off = starter.as_ref().and_then(|starter| fully_off(starter, &target));
            target
        })
        .collect();
    // A hue of before belongs to another colour.
    targets.remove(surface, Quantity::Hue);
    ranges.iter().for_each(|range| targets.set(range.clone()));
    // Adding 0 makes a negative zero plain.
    let lab = [colour.l, colour.a, colour.b].map(|v| (v * 100.0).round() / 100.0 + 0.0);
    targets.aim_colours.insert(surface.into(), lab);
    targets.note = with_note(&targets.note, surface, notation);
    Some(AddedNotation { lab, ranges, without_hue })
}

/// L* of the values about one; what lies beyond black or white is open.
fn lightness(value: f64, half: f64) -> Range {
    let l = |value: f64| {
        let y = munsell_value_to_y(value);
        (0.0 < value && value < 10.0).then(|| tenths(XyzD50 { x: 0.0, y, z: 0.0 }.to_lab().l))
    };
    [l(value - half), l(value + half)]
}

/// C*ab of the chromas about one. C*ab grows nearly in proportion to chroma; about a neutral the mean over the hues
/// tells how much a step is.
fn chroma(notation: MunsellNotation, colour: LabD50, half: f64) -> Range {
    let a_step = match notation.hue {
        Some(_) if notation.chroma > 0.0 => colour.to_lch().c / notation.chroma,
        _ => {
            let steps: Vec<f64> = (1..=40)
                .filter_map(|step| {
                    let hue = Some(2.5 * f64::from(step));
                    let value = notation.value.clamp(1.0, 9.0);
                    MunsellNotation { hue, value, chroma: 2.0 }.to_lab()
                })
                .map(|lab| lab.to_lch().c / 2.0)
                .collect();
            steps.iter().sum::<f64>() / steps.len().max(1) as f64
        }
    };
    let low = notation.chroma - half;
    [(low > 0.0).then(|| tenths(low * a_step)), Some(tenths((notation.chroma + half) * a_step))]
}

/// Hue angles of the hues about one: half-way to the neighbours on the chart, and the neighbours.
fn hues(notation: MunsellNotation, colour: LabD50) -> Result<[Range; 2], &'static str> {
    if notation.hue.is_none() || notation.chroma < LEAST_CHROMA {
        return Err("it is too near grey to have a hue");
    }
    let here = colour.to_lch().h;
    // The neighbour may end at a lower chroma; its hue angle there is nearly the same.
    let off = |turn: f64| {
        let next = notation.turned(turn);
        let mut chromas = (0..8).map(|less| next.chroma - 0.5 * f64::from(less)).filter(|c| *c > 0.0);
        let lab = chromas.find_map(|chroma| MunsellNotation { chroma, ..next }.to_lab())?;
        Some((lab.to_lch().h - here + 180.0).rem_euclid(360.0) - 180.0)
    };
    let (Some(before), Some(after)) = (off(-2.0 * HALF_STEP[2]), off(2.0 * HALF_STEP[2])) else {
        return Err("its neighbours on the hue circle are no real colours");
    };
    let (low, high) = (here + before.min(after), here + before.max(after));
    if low < 0.0 || high > 360.0 {
        return Err("a range across 0 degrees cannot be used");
    }
    let half = |end: f64| Some(tenths((here + end) / 2.0));
    Ok([[half(low), half(high)], [Some(tenths(low)), Some(tenths(high))]])
}

fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// The note with a sentence on this surface in brackets, in the place of an earlier one.
fn with_note(note: &str, surface: &str, notation: MunsellNotation) -> String {
    let begin = format!("[{surface}: Munsell ");
    let mut kept = note.to_owned();
    if let Some(from) = kept.find(&begin)
        && let Some(length) = kept[from..].find(']')
    {
        kept.replace_range(from..=from + length, "");
    }
    let [value, chroma, hue] = HALF_STEP;
    format!(
        "{} {begin}{notation}. Aim: {value} of value, {chroma} of chroma, {hue} of hue each way, half a step of a chart. \
         Accept: a whole step.]",
        kept.trim()
    )
}
