//! What stands out, and what was assumed, in plain sentences.

use crate::reading::{ColourDifference, Comparison, Difference};

/// What was assumed, for so many reference shots with a card and without one.
pub(super) fn assumed(with_card: usize, without: usize) -> Vec<String> {
    let mut said = vec![
        "Shares of surfaces hold for like views of the pieces only.".to_owned(),
        "In one light: the surfaces that do not differ are taken for the same, so that they tell the light of the two \
         shots."
            .to_owned(),
    ];
    if with_card + without > 1 {
        said.push(
            "The reference shots are averaged. Whether they show one piece or several is not known: the mean counts as \
             sure as one shot, and their spread holds both what the pieces and what the shots differ by."
                .to_owned(),
        );
    }
    if without > 0 {
        said.push(
            "A reference shot without a card was read with the camera's own white balance and curve: no colour of it is \
             given, only how light its surfaces are against each other."
                .to_owned(),
        );
    }
    said
}

/// What stands out, the surest first.
pub(super) fn findings(found: &Comparison) -> Vec<String> {
    let mut said: Vec<(f64, String)> = Vec::new();
    for d in found.differences.iter().filter(|d| d.differs) {
        said.push((d.p_adjusted, format!("{}: {}.", capital(&d.surface), sentence(d))));
    }
    for c in found.contrast.iter().filter(|c| c.differs) {
        let how = if c.log_ratio > 0.0 { "stronger" } else { "weaker" };
        said.push((
            c.p_adjusted,
            format!("Black on white is {how}: white to black {:.1} for {:.1}.", c.replica, c.reference),
        ));
    }
    for t in found.tones.iter().filter(|t| t.differs) {
        let how = if t.log_ratio > 0.0 { "lighter" } else { "darker" };
        let times = t.log_ratio.abs().exp();
        said.push((
            t.p_adjusted,
            format!("{} is {how} against the other surfaces, {times:.2} times.", capital(&t.surface)),
        ));
    }
    for s in found.shares.iter().filter(|s| s.differs) {
        let (mine, theirs) = (100.0 * s.replica, 100.0 * s.reference);
        said.push((s.p_adjusted, format!("{} covers {mine:.0} % for {theirs:.0} %.", capital(&s.surface))));
    }
    said.sort_by(|one, other| one.0.total_cmp(&other.0));
    let mut said: Vec<String> = said.into_iter().map(|(_, text)| text).collect();
    if said.is_empty() {
        said.push("Nothing differs for sure.".into());
    }
    let only = &found.only_in;
    for (names, what) in
        [(&only.replica, "Not every reference shot shows"), (&only.reference, "The replica does not show")]
    {
        if !names.is_empty() {
            said.push(format!("{what}: {}. Not compared.", names.join(", ")));
        }
    }
    said
}

fn sentence(d: &Difference) -> String {
    let (de00, [low, high]) = (d.in_one_light.de00, d.in_one_light.de00_interval);
    format!("{}, CIEDE2000 {de00:.1} ({low:.1} to {high:.1})", d.words)
}

/// `lighter, stronger in colour, yellower`: what is larger than its own doubt, in the words of the trade.
pub(super) fn words(of: &ColourDifference) -> String {
    let ([l, c, h], u) = (of.delta_lch, of.u95_lch);
    let mut parts = Vec::new();
    if l.abs() > u[0] {
        parts.push(if l > 0.0 { "lighter" } else { "darker" });
    }
    if c.abs() > u[1] {
        parts.push(if c > 0.0 { "stronger in colour" } else { "greyer" });
    }
    if h.abs() > u[2] && u[2] < 90.0 {
        parts.push(if h > 0.0 { "yellower" } else { "redder" });
    }
    if parts.is_empty() {
        parts.push("another colour");
    }
    parts.join(", ")
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
