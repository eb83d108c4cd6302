//! What may lie behind the faults of a piece, and what to change the next time.
//!
//! Comes in: the verdicts on faults, each with the chance that its value lies outside the accept range. Goes out: causes,
//! the likeliest first, with the signs for and against, and one change to try. That a sign points to a cause is common
//! practice among makers, without a published source; every cause says so. No temperature is read from a colour.

use crate::reading::{Cause, Fault};

/// What the links from signs to causes rest on.
const BASIS: &str = "common practice, no published source";
/// A cause with less support than this is not named.
const LEAST_SUPPORT: f64 = 0.2;

/// A fault that should be there or not for a cause to be likely.
enum Sign {
    There(&'static str),
    NotThere(&'static str),
}
use Sign::{NotThere, There};

struct Link {
    cause: &'static str,
    signs: &'static [Sign],
    next: &'static str,
    /// Less air and smothering make carbon monoxide.
    smothers: bool,
    /// The fire is to be changed, so the window is worth a word.
    fire: bool,
}

/// The two causes that no one fire has everywhere.
pub(super) const OVER_FIRED: &str = "too much air, heat or time in the fire";
pub(super) const UNDER_FIRED: &str = "too little air in the fire, or too short a fire";

const LINKS: [Link; 8] = [
    Link {
        cause: OVER_FIRED,
        signs: &[There("burned-out"), NotThere("greyed")],
        next: "End the hot part sooner or let less air reach the piece.",
        smothers: true,
        fire: true,
    },
    Link {
        cause: UNDER_FIRED,
        signs: &[There("greyed"), There("weak-black"), NotThere("burned-out")],
        next: "Let more air reach the piece, or keep the fire up some minutes longer.",
        smothers: false,
        fire: true,
    },
    Link {
        cause: "soot laid on the white towards the end of the fire",
        signs: &[There("greyed"), NotThere("weak-black"), NotThere("burned-out")],
        next: "Let the smoke clear with air before the fire dies down.",
        smothers: false,
        fire: true,
    },
    Link {
        cause: "iron in the slip clay, which colours as soon as it meets air",
        signs: &[There("buffed"), NotThere("greyed")],
        next: "Fire a tile of another white clay beside this one, in the same fire.",
        smothers: false,
        fire: false,
    },
    Link {
        cause: "thin paint, or a slip that does not hold carbon",
        signs: &[There("weak-black"), NotThere("burned-out"), NotThere("greyed")],
        next: "Boil the paint thicker or lay it twice; if that does not help, try it on another slip.",
        smothers: false,
        fire: false,
    },
    Link {
        cause: "fuel, flame or smoke that touched the piece",
        signs: &[There("clouded")],
        next: "Keep fuel off the piece with cover sherds, or turn its good side away from the fuel.",
        smothers: false,
        fire: false,
    },
    Link {
        cause: "too little air for the red",
        signs: &[There("dull-red"), There("greyed")],
        next: "Let more air reach the piece before it cools.",
        smothers: false,
        fire: true,
    },
    Link {
        cause: "a thin coat of red, a weak ochre, or too little polish",
        signs: &[There("dull-red"), NotThere("greyed")],
        next: "Lay a second coat of red and polish it before it is dry.",
        smothers: false,
        fire: false,
    },
];

const ONE_CHANGE: &str = "Change only this, keep the rest as it was, and fire a piece you know beside it.";
const WINDOW: &str = "Makers fire this ware at about 680 to 750 degrees C with a short hold (common practice); air and \
                      minutes count as much as degrees, and no temperature can be read from a colour.";
const CAUTION: &str = "A fire with little air gives off carbon monoxide: fire outdoors, stand upwind, never lean over \
                       it, and follow the local rules for open fires.";

/// Whether a cause may come from where the piece stood: air, heat, smoke and fuel are not the same all over a fire; slip and
/// paint are.
pub(super) fn hangs_on_place(cause: &str) -> bool {
    let of_fuel = |link: &Link| link.signs.iter().any(|sign| matches!(sign, There("clouded")));
    LINKS.iter().any(|link| link.cause == cause && (link.fire || of_fuel(link)))
}

/// Causes with their evidence, the likeliest first, and sentences on what to do the next time.
pub(super) fn causes(faults: &[Fault]) -> (Vec<Cause>, Vec<String>) {
    let chance = |name: &str| faults.iter().find(|f| f.fault == name).and_then(|f| f.probability);
    let mut found: Vec<(&Link, Cause)> = LINKS
        .iter()
        .map(|link| (link, weighed(link, faults)))
        .filter(|(link, cause)| {
            // Doubt alone is no sign: one fault at least must be likelier than not.
            let likely = |sign: &Sign| matches!(sign, There(name) if chance(name).is_some_and(|p| p > 0.5));
            cause.support >= LEAST_SUPPORT && link.signs.iter().any(likely)
        })
        .collect();
    // A stable order: causes of equal support stay in the order of the table.
    found.sort_by(|(_, a), (_, b)| b.support.total_cmp(&a.support));
    let next = found.first().map_or_else(Vec::new, |(link, _)| {
        let mut said = vec![link.next.to_owned(), ONE_CHANGE.into()];
        said.extend(link.fire.then(|| WINDOW.to_owned()));
        said.extend(link.smothers.then(|| CAUTION.to_owned()));
        said
    });
    (found.into_iter().map(|(_, cause)| cause).collect(), next)
}

fn weighed(link: &Link, faults: &[Fault]) -> Cause {
    let mut cause = Cause {
        cause: link.cause.into(),
        support: 1.0,
        basis: BASIS.into(),
        next: link.next.into(),
        ..Cause::default()
    };
    for sign in link.signs {
        let (name, wanted) = match sign {
            There(name) => (name, true),
            NotThere(name) => (name, false),
        };
        let fault = faults.iter().find(|fault| fault.fault == *name);
        let there = fault.and_then(|fault| fault.probability);
        // What is not seen speaks against a sign that is wanted, and not against one that is not.
        let holds = there.map_or(f64::from(u8::from(!wanted)), |p| if wanted { p } else { 1.0 - p });
        cause.support *= holds;
        let seen = there.is_some_and(|p| p > 0.5);
        let evidence = fault.and_then(|fault| fault.because.first()).map_or("", String::as_str);
        let words = format!("{}: {evidence}", sign_words(name, seen));
        if holds > 0.5 { cause.evidence_for.push(words) } else { cause.against.push(words) }
    }
    cause
}

fn sign_words(fault: &str, seen: bool) -> String {
    let name = match fault {
        "burned-out" => "burned out",
        "weak-black" => "weak black",
        "dull-red" => "dull red",
        other => other,
    };
    if seen { format!("Likely {name}") } else { format!("Likely not {name}") }
}
