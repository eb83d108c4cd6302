//! The self-test of every table of colours, built in, read or learned.

use super::CardDefinition;
use super::layout::SIDE;
use crate::colour::constants::WHITE_D50;
use crate::colour::{LabD50, ciede2000};

/// The observer that is taken.
pub(super) const OBSERVER: &str = "CIE 1931 2 degree";
/// The illuminant that is taken.
pub(super) const ILLUMINANT: &str = "D50";
/// Fewest patches a correction can rest on.
pub(super) const LEAST_PATCHES: usize = 6;
/// Chroma below which a patch counts as neutral.
pub(super) const NEUTRAL: f64 = 5.0;
/// Publications print the white of D50 as 0.9642, 1, 0.8249 to 0.8252 (ISO 15076-1, CIE 15, ASTM E308).
const WHITE_OFF: f64 = 5e-4;
/// Least distance from the lightest to the darkest patch in L*: what fixes exposure and tone.
const LEAST_LIGHTNESS: f64 = 20.0;
/// Least spread of a*, b* about their mean (root mean square): what fixes the colour mixing.
const LEAST_COLOUR: f64 = 3.0;
/// Two patches this near in CIEDE2000 look the same.
const TWIN: f64 = 1.0;
/// Mean CIEDE2000 between a card and itself turned, below which it does not tell which way it lies.
const LEAST_TURNED: f64 = 4.0;

/// Where a flaw sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum At {
    /// A field of the card itself.
    Card(&'static str),
    /// A field of the layout.
    Layout(&'static str),
    /// A field of a patch.
    Patch(usize, &'static str),
    /// The patches together.
    Patches,
}

/// What the self-test found.
#[derive(Debug, Default)]
pub(super) struct Checked {
    /// What makes the card useless.
    pub flaws: Vec<(At, String)>,
    /// What the user should know.
    pub remarks: Vec<String>,
}

/// Tests a card: layout, words, each patch, then the colours together.
pub(super) fn check(card: &CardDefinition) -> Checked {
    let mut out = Checked::default();
    words(card, &mut out.flaws);
    out.flaws.extend(card.layout.flaws().into_iter().map(|(field, reason)| (At::Layout(field), reason)));
    let counts = [card.layout.rows, card.layout.columns];
    each_patch(card, &mut out.flaws);
    if counts.iter().all(|n| SIDE.contains(n)) && card.patches.len() != card.layout.patches() {
        let reason =
            format!("{} patches are listed, the layout has {}", card.patches.len(), card.layout.patches());
        out.flaws.push((At::Patches, reason));
    }
    if card.patches.len() < LEAST_PATCHES {
        out.flaws.push((At::Patches, format!("at least {LEAST_PATCHES} patches are needed")));
    }
    if out.flaws.is_empty() {
        neutral_row(card, &mut out.flaws);
        spread(card, &mut out);
        turned(card, &mut out.remarks);
    }
    out
}

fn words(card: &CardDefinition, flaws: &mut Vec<(At, String)>) {
    for (field, text, most) in
        [("id", &card.id, 64), ("name", &card.name, 1000), ("source", &card.source, 4000)]
    {
        if text.trim().is_empty() || text.chars().count() > most || text.chars().any(char::is_control) {
            let reason = format!("must be words, at most {most} characters, without line breaks");
            flaws.push((At::Card(field), reason));
        }
    }
    if card.observer != OBSERVER {
        flaws.push((At::Card("observer"), format!("must be '{OBSERVER}', is '{}'", card.observer)));
    }
    if card.illuminant != ILLUMINANT {
        flaws.push((At::Card("illuminant"), format!("must be '{ILLUMINANT}', is '{}'", card.illuminant)));
    }
    if !(0..3).all(|k| (card.white[k] - WHITE_D50[k]).abs() <= WHITE_OFF) {
        let [x, y, z] = card.white;
        flaws.push((At::Card("white"), format!("must be that of D50, 0.9642, 1, 0.8249; is {x}, {y}, {z}")));
    }
}

fn each_patch(card: &CardDefinition, flaws: &mut Vec<(At, String)>) {
    let mut seen = std::collections::BTreeMap::new();
    for (i, patch) in card.patches.iter().enumerate() {
        if patch.id.trim().is_empty() || patch.id.contains(',') || patch.id.chars().any(char::is_control) {
            flaws.push((At::Patch(i, "id"), "must be a short word without commas".into()));
        } else if let Some(first) = seen.insert(patch.id.as_str(), i) {
            let reason = format!("patch '{}' is listed twice: patches {} and {}", patch.id, first + 1, i + 1);
            flaws.push((At::Patch(i, "id"), reason));
        }
        let LabD50 { l, a, b } = patch.lab;
        if !((0.0..=100.5).contains(&l) && a.abs() <= 150.0 && b.abs() <= 150.0) {
            let reason = format!("no possible colour of a surface: L* {l}, a* {a}, b* {b}");
            flaws.push((At::Patch(i, "lab"), reason));
        }
        if patch.u95.is_some_and(|u| !u.iter().all(|v| (0.0..=50.0).contains(v))) {
            flaws.push((At::Patch(i, "u95"), "half-widths must lie between 0 and 50".into()));
        }
    }
}

/// The grey scale: low chroma, and L* falls along it. Finds a table whose rows were mixed up.
fn neutral_row(card: &CardDefinition, flaws: &mut Vec<(At, String)>) {
    let Some(row) = card.layout.neutral_row else { return };
    let first = (row - 1) * card.layout.columns;
    let lab = |i: usize| card.patches[i].lab;
    for i in first..first + card.layout.columns {
        let chroma = lab(i).a.hypot(lab(i).b);
        if chroma >= NEUTRAL {
            let reason = format!(
                "row {row} is the grey scale, but this patch has a chroma of {chroma:.1}; are the patches in order?"
            );
            flaws.push((At::Patch(i, "lab"), reason));
        } else if i > first && lab(i).l > lab(i - 1).l - TWIN {
            let reason = format!(
                "L* must fall along the grey scale in row {row}, but goes from {:.1} to {:.1}",
                lab(i - 1).l,
                lab(i).l
            );
            flaws.push((At::Patch(i, "lab"), reason));
        }
    }
}

/// Whether the colours differ enough to fit a correction to. Neutrals are welcome but not needed: the
/// fit of differences in CIELAB balances grey by any known colours.
fn spread(card: &CardDefinition, out: &mut Checked) {
    let n = card.patches.len() as f64;
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let (mut mean, mut squares) = ([0.0; 2], [0.0; 3]);
    for patch in &card.patches {
        (low, high) = (low.min(patch.lab.l), high.max(patch.lab.l));
        mean[0] += patch.lab.a / n;
        mean[1] += patch.lab.b / n;
    }
    for patch in &card.patches {
        let (a, b) = (patch.lab.a - mean[0], patch.lab.b - mean[1]);
        squares[0] += a * a / n;
        squares[1] += a * b / n;
        squares[2] += b * b / n;
    }
    if high - low < LEAST_LIGHTNESS {
        let reason = format!(
            "L* runs only from {low:.1} to {high:.1}; a card needs light and dark patches, at least {LEAST_LIGHTNESS} apart"
        );
        out.flaws.push((At::Patches, reason));
    }
    let spread = (squares[0] + squares[2]).sqrt();
    if spread < LEAST_COLOUR {
        let reason = format!("a* and b* differ only by {spread:.1}; a card needs patches of several colours");
        out.flaws.push((At::Patches, reason));
    }
    // The smaller principal axis of the colours in a*, b*.
    let half = 0.5 * (squares[0] + squares[2]);
    let root = (half * half - squares[0] * squares[2] + squares[1] * squares[1]).max(0.0).sqrt();
    if (half - root).max(0.0).sqrt() < LEAST_COLOUR && spread >= LEAST_COLOUR {
        out.remarks.push(
            "the colours lie nearly on one line in a*, b*: surfaces of other hues than the card's will be less sure"
                .into(),
        );
    }
    let neutrals = card.neutrals();
    if neutrals.len() < 3 {
        out.remarks.push(format!(
            "{} of the patches are neutral (chroma below {NEUTRAL}): the grey balance rests on the coloured ones",
            neutrals.len()
        ));
    }
    for pair in neutrals.windows(2) {
        let [one, other] = [pair[0], pair[1]].map(|i| &card.patches[i]);
        if ciede2000(one.lab, other.lab) < TWIN {
            out.remarks.push(format!("the neutral patches '{}' and '{}' look the same", one.id, other.id));
        }
    }
}

/// Whether a card laid another way round looks different.
fn turned(card: &CardDefinition, remarks: &mut Vec<String>) {
    let (rows, columns) = (card.layout.rows, card.layout.columns);
    let lab = |r: usize, c: usize| card.patches[r * columns + c].lab;
    let mean = |to: &dyn Fn(usize, usize) -> (usize, usize)| {
        let mut sum = 0.0;
        for r in 0..rows {
            for c in 0..columns {
                let (tr, tc) = to(r, c);
                sum += ciede2000(lab(r, c), lab(tr, tc));
            }
        }
        sum / (rows * columns) as f64
    };
    let mut least = mean(&|r, c| (rows - 1 - r, columns - 1 - c));
    if rows == columns {
        least = least.min(mean(&|r, c| (c, rows - 1 - r))).min(mean(&|r, c| (columns - 1 - c, r)));
    }
    if least < LEAST_TURNED {
        remarks.push(
            "turned round, the card looks nearly like itself: it may not be found; give its corners with --card-corners"
                .into(),
        );
    }
}
