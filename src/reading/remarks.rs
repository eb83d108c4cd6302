//! Checks on how the piece was photographed, in words with their figures.

use super::ground::GroundLight;
use super::record::{PiecePart, Surfaces, Warning};

/// More than 5 % of the piece is over-exposed: no grade.
pub const OVEREXPOSED: &str = "piece-overexposed";
/// More than 5 % of the piece is cut off at the bottom of the encoding: no grade.
pub const UNDEREXPOSED: &str = "piece-underexposed";
/// Checks that forbid a grade.
pub const NO_GRADE: [&str; 4] =
    [crate::card::CARD_OVEREXPOSED, crate::card::CARD_SMALL, OVEREXPOSED, UNDEREXPOSED];

/// Every code a record's `warnings` may hold, in the order of the road. The README has a line for each.
pub const WARNING_CODES: [&str; 45] = [
    "no-profile",
    "bad-profile",
    "wide-gamut-profile",
    "gain-map",
    "bad-exif",
    "grey",
    "transparent",
    "more-pages",
    "card-edition-unknown",
    "card-poor-fit",
    "card-two",
    "card-clipped",
    "card-overexposed",
    "card-underexposed",
    "card-blacks-crushed",
    "card-glare",
    "card-shaded",
    "card-covered",
    "card-light-uneven",
    "card-light-mixed",
    "card-blurred",
    "card-small",
    "card-borrowed",
    "card-borrowed-auto-white-balance",
    "card-borrowed-doubtful",
    "card-seen-as-well",
    crate::card::WITHOUT_CARD,
    "ground-patterned",
    "hand-left-out",
    "pieces-left-out",
    "piece-cut",
    "smudged-seen",
    "ball-not-used",
    "form-unknown",
    "not-pottery",
    "piece-clipped",
    "piece-overexposed",
    "piece-crushed",
    "piece-underexposed",
    "piece-out-of-gamut",
    "piece-other-light",
    "piece-other-tint",
    "another-piece",
    "before-too-small",
    "before-no-paint",
];

/// Shares of the piece beyond the ends of the encoding: worth a warning; too much for a grade.
const BEYOND: [f64; 2] = [0.01, 0.05];

/// Remarks on one piece.
pub(super) fn piece(piece: &PiecePart, ground: Option<&GroundLight>, surfaces: &Surfaces) -> Vec<Warning> {
    let ends = [
        beyond(
            piece.clipped_fraction,
            ["piece-clipped", OVEREXPOSED],
            "is over-exposed and was left out",
            "darker",
        ),
        beyond(
            piece.crushed_fraction,
            ["piece-crushed", UNDEREXPOSED],
            "is cut off at the dark end of the file",
            "brighter",
        ),
    ];
    let others = [out_of_gamut(piece), other_light(ground, surfaces), other_tint(ground)];
    ends.into_iter().chain(others).flatten().collect()
}

fn warning(code: &str, text: String) -> Option<Warning> {
    Some(Warning { code: code.into(), text })
}

fn beyond(share: f64, [some, much]: [&str; 2], what: &str, next: &str) -> Option<Warning> {
    if share <= BEYOND[0] {
        return None;
    }
    let too_much = share > BEYOND[1];
    let verdict = if too_much { ", too much for a grade" } else { "" };
    let text = format!("{:.0} % of the piece {what}{verdict}. Shoot again one step {next}.", 100.0 * share);
    warning(if too_much { much } else { some }, text)
}

fn out_of_gamut(piece: &PiecePart) -> Option<Warning> {
    let share = piece.out_of_gamut_fraction;
    if share <= BEYOND[0] {
        return None;
    }
    let text = format!(
        "{:.0} % of the piece has a corrected colour outside sRGB. It was measured, but the pictures cannot show it \
         as it is. Check that the piece gets the card's light and that --card names your card.",
        100.0 * share
    );
    warning("piece-out-of-gamut", text)
}

/// Light on a table differs by so much from place to place without anybody's fault: 5 % at either place
/// (as in `light::anchor`), in quadrature. A judgement, not a publication.
const NATURAL_LIGHT: f64 = 0.07;
/// The same for its tint, distance in the a*, b* plane at L* 50.
const NATURAL_TINT: f64 = 3.0;
/// From the half-width of a 95 % interval to the one-sided 95 % bound: is it *more* than natural?
const ONE_SIDED: f64 = 1.645 / 1.96;

/// Whether the ground about the piece is surely in other light than that about the card, as far as both are one
/// ground: of one tint.
pub(super) fn is_other_light(ground: &GroundLight) -> bool {
    ground.ratio.ln().abs() - ONE_SIDED * ground.log_u95 > (1.0 + NATURAL_LIGHT).ln()
        && !is_other_tint(ground)
}

fn is_other_tint(ground: &GroundLight) -> bool {
    ground.tint - ONE_SIDED * ground.tint_u95 > NATURAL_TINT
}

fn other_light(ground: Option<&GroundLight>, surfaces: &Surfaces) -> Option<Warning> {
    let ground = ground.filter(|g| is_other_light(g))?;
    let readings: Vec<String> = surfaces
        .iter()
        .take(2)
        .map(|(name, surface)| {
            let here = super::ground::in_light(surface.lab, ground.ratio);
            format!("{name} L* {:.1} by the card's light, {:.1} by the ground's", surface.lab[0], here[0])
        })
        .collect();
    let text = format!(
        "The ground about the piece is {:.0} % {} than the ground about the card (± {:.0} %). If it is one ground, the \
         piece gets other light: {}. Lay the card beside the piece, in the same light.",
        100.0 * (ground.ratio - 1.0).abs(),
        if ground.ratio < 1.0 { "darker" } else { "lighter" },
        100.0 * ground.ratio * ground.log_u95,
        readings.join("; ")
    );
    warning("piece-other-light", text)
}

fn other_tint(ground: Option<&GroundLight>) -> Option<Warning> {
    let ground = ground.filter(|g| is_other_tint(g))?;
    let text = format!(
        "The ground about the piece has another tint than about the card (by {:.1} ± {:.1} in a*, b*): the light differs, or \
         the ground does. Lay both on one ground, in one light.",
        ground.tint, ground.tint_u95
    );
    warning("piece-other-tint", text)
}
