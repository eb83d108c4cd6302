//! The figures in words: what is wrong, and what to do.

use super::{CARD_OVEREXPOSED, CARD_SMALL, Capture, Remark, Shown, remark};
use crate::card::reading::{CardPlace, PatchReading, WhyNot};

/// Shares of clipped pixels: worth a warning; too many for a grade.
const CLIPPED: [f64; 2] = [0.01, 0.05];

pub(super) fn overexposed(capture: &Capture, shown: &Shown) -> Option<Remark> {
    let percent = 100.0 * capture.clipped;
    if capture.clipped > CLIPPED[1] {
        let text = format!(
            "{percent:.0} % of the card's patches is over-exposed, too much for a grade. Shoot again one step darker."
        );
        return remark(CARD_OVEREXPOSED, text);
    }
    (capture.clipped > CLIPPED[0])
        .then(|| {
            let which = listed(shown.patches, WhyNot::Clipped);
            format!(
                "{percent:.0} % of the card's patches is over-exposed{which} and was left out. Shoot again one step darker."
            )
        })
        .and_then(|text| remark("card-clipped", text))
}

/// ` (patches 19, 20)`, where there are any.
fn listed(patches: &[PatchReading], why: WhyNot) -> String {
    let ids: Vec<&str> = patches.iter().filter(|p| p.why_not == Some(why)).map(|p| p.id.as_str()).collect();
    match ids.len() {
        0 => String::new(),
        1 => format!(" (patch {})", ids[0]),
        _ => format!(" (patches {})", ids.join(", ")),
    }
}

/// Light of a perfect white, two steps under the top, below which darks drown in noise and coarse codes (common
/// practice: a code of an 8-bit file is then a twentieth of the light of a black of L* 20).
const DARK: f64 = 0.25;
/// Light of a perfect white that a good exposure leaves under the top.
const GOOD: f64 = 0.7;

pub(super) fn underexposed(capture: &Capture) -> Option<Remark> {
    let light = capture.white_light.filter(|light| *light < DARK)?;
    let text = format!(
        "The photo is too dark: white on the card has {:.0} % of the light the file can hold. Shoot again {:.0} steps \
         brighter.",
        100.0 * light,
        (GOOD / light.max(1e-3)).log2().round()
    );
    remark("card-underexposed", text)
}

pub(super) fn crushed(shown: &Shown) -> Option<Remark> {
    let darkest = *shown.definition.neutrals().last()?;
    let seen = shown.seen[darkest];
    if seen.count == 0 || seen.low <= 0.25 {
        return None;
    }
    let text = format!(
        "{:.0} % of the card's black patch is cut off at the bottom of the file: how dark the black paint is cannot be \
         told well. Shoot brighter, with the camera's contrast low.",
        100.0 * seen.low
    );
    remark("card-blacks-crushed", text)
}

/// One patch alone may miss for its own reasons, a worn or reprinted colour; a shine or a shadow takes more.
const LEAST_ALIKE: usize = 2;

pub(super) fn left_out(patches: &[PatchReading], why: WhyNot) -> Option<Remark> {
    let count = patches.iter().filter(|p| p.why_not == Some(why)).count();
    if count < LEAST_ALIKE {
        return None;
    }
    let (code, what, next) = match why {
        WhyNot::Glare => (
            "card-glare",
            "are lighter and paler than the others allow: a shine",
            "Turn the card or the light",
        ),
        WhyNot::Shaded => (
            "card-shaded",
            "are darker than the others allow: a shadow",
            "Keep hand, pot and yourself out of its light",
        ),
        _ => {
            ("card-covered", "do not fit the others, as if something lay on them", "Lay the whole card free")
        }
    };
    let (which, all) = (listed(patches, why), patches.len());
    remark(code, format!("{count} of the card's {all} patches{which} {what}. They were left out. {next}."))
}

/// Change of light across the card that is worth a warning.
const UNEVEN: f64 = 0.2;

pub(super) fn uneven(gradient: Option<f64>) -> Option<Remark> {
    let gradient = gradient.filter(|g| *g > UNEVEN)?;
    let text = format!(
        "The light changes by {:.0} % across the card. Light it evenly and keep shadows off it.",
        100.0 * gradient
    );
    remark("card-light-uneven", text)
}

/// Change of tint across the card that is worth a warning.
const MIXED: f64 = 0.1;

pub(super) fn mixed(capture: &Capture) -> Option<Remark> {
    let change = capture.tint_change.filter(|c| *c > MIXED)?;
    let text = format!(
        "The tint of the light changes by {:.0} % across the card: two kinds of light are mixed. Switch lamps off, or \
         move away from coloured walls.",
        100.0 * change
    );
    remark("card-light-mixed", text)
}

/// Border widths beyond which colours of neighbours leak in. In patch sides: into the inner half of a patch, by a
/// fiftieth. In pixels: past the 2 pixels that a surface's inner part keeps from others, by a fifth at its rim.
const SOFT: (f64, f64) = (0.3, 6.0);

pub(super) fn blurred(capture: &Capture, shown: &Shown) -> Option<Remark> {
    let width = capture.edge_px?;
    let of_patch = width / shown.place.patch_side_px.max(1.0);
    if of_patch <= SOFT.0 && width <= SOFT.1 {
        return None;
    }
    let text = format!(
        "The card is blurred: its borders are {width:.1} pixels wide, {:.0} % of a patch. The piece may be sharper or not. \
         Focus on the piece, keep the camera still, and wipe the lens.",
        100.0 * of_patch
    );
    remark("card-blurred", text)
}

/// Side of a patch in pixels below which there is no grade.
const LEAST_SIDE: f64 = 12.0;

pub(super) fn small(place: &CardPlace) -> Option<Remark> {
    let side = place.patch_side_px;
    if side >= LEAST_SIDE {
        return None;
    }
    let text = format!(
        "A patch of the card is {side:.0} pixels wide, too little for a grade. Go nearer, or shoot at full size."
    );
    remark(CARD_SMALL, text)
}
