//! What a load says about its fire, and the one thing to change next.
//!
//! Comes in: the pieces of one firing, each with the readings that show it. Goes out: sentences. Each piece speaks with its
//! likeliest cause; the causes are counted over the load. The links from signs to causes are common practice, without a
//! published source. No temperature is read from a colour.

use super::causes::{OVER_FIRED, UNDER_FIRED, causes, hangs_on_place};
use crate::reading::{Cause, Fault, Grade, NO_GRADE, Reading};

/// A cause with at least this support counts for its piece; with less it only may be.
const CLEAR: f64 = 0.5;
/// Names of pieces told in a sentence; the rest are counted.
const NAMED: usize = 8;

/// One piece of a load.
#[derive(Debug, Clone)]
pub struct LoadPiece<'a> {
    /// Its name, for people.
    pub name: String,
    /// Where it stood in the fire, where that is known.
    pub place: Option<&'a str>,
    /// Its grade, over all its views.
    pub grade: Grade,
    /// The readings that show it; at least one.
    pub views: Vec<&'a Reading>,
}

/// What a load says about its fire.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FireVerdict {
    /// What points where, the most pieces first.
    pub findings: Vec<String>,
    /// The one change, and what goes with it.
    pub next: Vec<String>,
}

/// What one piece says.
struct Voice<'a> {
    piece: &'a LoadPiece<'a>,
    cause: Cause,
    next: Vec<String>,
}

/// What the pieces of one firing say about it; the same pieces in another order say the same but for the order of names.
pub fn fire(pieces: &[LoadPiece]) -> FireVerdict {
    let voices: Vec<Voice> = pieces.iter().filter_map(voice).collect();
    let mut groups: Vec<Group> = Vec::new();
    for voice in &voices {
        let place = groups.iter().position(|group| group.cause == voice.cause.cause);
        let at = place.unwrap_or_else(|| {
            groups.push(Group { cause: &voice.cause.cause, voices: Vec::new() });
            groups.len() - 1
        });
        groups[at].voices.push(voice);
    }
    groups.sort_by(|one, other| {
        let weight = |group: &Group| (group.clear().count(), group.support());
        let ((count, support), (other_count, other_support)) = (weight(one), weight(other));
        other_count
            .cmp(&count)
            .then(other_support.total_cmp(&support))
            .then_with(|| one.cause.cmp(other.cause))
    });
    let clear: Vec<&Group> = groups.iter().filter(|group| group.clear().count() > 0).collect();
    let mut findings: Vec<String> = clear.iter().map(|group| group.words(pieces.len())).collect();
    let alone = clear.iter().all(|group| group.clear().count() == 1);
    if pieces.len() > 3 && alone && clear.iter().any(|group| hangs_on_place(group.cause)) {
        let apart = if clear.len() > 1 { "No two pieces say the same. " } else { "" };
        findings.push(format!("{apart}{ALONE}"));
    }
    let of = |cause: &str| clear.iter().find(|group| group.cause == cause);
    let next = match (of(OVER_FIRED), of(UNDER_FIRED)) {
        (Some(over), Some(under)) if both_matter(over, under) => {
            findings.insert(0, uneven(over, under));
            vec![EVEN.to_owned(), COMMON.into()]
        }
        _ => match clear.first() {
            Some(group) => group.next(),
            None => quiet(pieces, &groups, &mut findings),
        },
    };
    FireVerdict { findings, next }
}

/// Whether neither side is a rare exception: one piece in twenty makes no uneven fire.
fn both_matter(one: &Group, other: &Group) -> bool {
    let (one, other) = (one.clear().count(), other.clear().count());
    RARE * one.min(other) >= one.max(other)
}

/// A side with less than one piece to this many of the other is an exception.
const RARE: usize = 5;
const EVEN: &str = "Make the fire even before you change air or time: shield the side that burned hottest with cover \
                    sherds, and give the side that stayed dirty more room to breathe.";
const COMMON: &str = "That is common practice, with no published source.";

const ALONE: &str = "A piece alone may only have stood badly: look at its place first.";

/// Pieces with the same likeliest cause.
struct Group<'a> {
    cause: &'a str,
    voices: Vec<&'a Voice<'a>>,
}

impl Group<'_> {
    fn clear(&self) -> impl Iterator<Item = &&Voice<'_>> {
        self.voices.iter().filter(|voice| voice.cause.support >= CLEAR)
    }

    fn support(&self) -> f64 {
        self.voices.iter().map(|voice| voice.cause.support).sum()
    }

    /// `2 of 5 pieces (03, 06) point to too much air; 1 more may.`
    fn words(&self, of: usize) -> String {
        let names: Vec<&str> = self.clear().map(|voice| voice.piece.name.as_str()).collect();
        let (count, may) = (names.len(), self.voices.len() - names.len());
        let points = if count == 1 { "points" } else { "point" };
        let more = match may {
            0 => String::new(),
            1 => "; 1 more may".into(),
            may => format!("; {may} more may"),
        };
        if of == 1 {
            return format!("The piece points to {}.", self.cause);
        }
        format!("{count} of {of} pieces ({}) {points} to {}{more}.", told(&names), self.cause)
    }

    fn places(&self) -> Vec<&str> {
        let mut places: Vec<&str> = Vec::new();
        for place in self.clear().filter_map(|voice| voice.piece.place) {
            if !places.contains(&place) {
                places.push(place);
            }
        }
        places
    }

    /// What the piece with the most support says.
    fn next(&self) -> Vec<String> {
        let best = self.voices.iter().max_by(|a, b| a.cause.support.total_cmp(&b.cause.support));
        best.map_or_else(Vec::new, |voice| voice.next.clone())
    }
}

fn told(names: &[&str]) -> String {
    match names.len().saturating_sub(NAMED) {
        0 => names.join(", "),
        more => format!("{} and {more} more", names[..NAMED].join(", ")),
    }
}

fn voice<'a>(piece: &'a LoadPiece<'a>) -> Option<Voice<'a>> {
    // A photograph that forbids a grade is no witness either.
    let bears = |reading: &&&Reading| !reading.warnings.iter().any(|w| NO_GRADE.contains(&w.code.as_str()));
    let views: Vec<&Reading> = piece.views.iter().filter(bears).copied().collect();
    let (causes, next) = causes(&over_views(&views));
    causes.into_iter().next().map(|cause| Voice { piece, cause, next })
}

/// Of each fault the view that shows it most clearly.
fn over_views(views: &[&Reading]) -> Vec<Fault> {
    let mut faults: Vec<Fault> = Vec::new();
    for fault in views.iter().flat_map(|reading| &reading.faults) {
        match faults.iter_mut().find(|known| known.fault == fault.fault) {
            Some(known) if known.probability < fault.probability => *known = fault.clone(),
            Some(_) => {}
            None => faults.push(fault.clone()),
        }
    }
    faults
}

fn uneven(over: &Group, under: &Group) -> String {
    let at = |group: &Group| match group.places().as_slice() {
        [] => String::new(),
        places => format!(" ({})", places.join(", ")),
    };
    format!(
        "The fire was uneven: some pieces had too much air, heat or time{}, others too little{}.",
        at(over),
        at(under)
    )
}

/// Where no cause is clear.
fn quiet(pieces: &[LoadPiece], groups: &[Group], findings: &mut Vec<String>) -> Vec<String> {
    let count = |grades: &[Grade]| pieces.iter().filter(|piece| grades.contains(&piece.grade)).count();
    let (good, faulty) = (count(&[Grade::Sound, Grade::Marginal]), count(&[Grade::Faulty]));
    if let Some(group) = groups.first() {
        let names: Vec<&str> = group.voices.iter().map(|voice| voice.piece.name.as_str()).collect();
        findings.push(format!("Nothing is clear; {} may point to {}.", told(&names), group.cause));
        return group.next();
    }
    if faulty == 0 && 2 * good < pieces.len().max(1) {
        findings.push("Most of these photographs do not bear an answer about the fire.".into());
        return vec![
            "Photograph again in softer light, or with a light ball, before you change the fire.".into(),
        ];
    }
    if faulty > 0 {
        findings.push("No known cause explains what is wrong here: see the pieces one by one.".into());
        return vec![];
    }
    findings.push("Nothing in this load speaks against its fire.".into());
    vec!["Keep the fire as it was, and change one material at a time.".into()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Verdict;

    fn reading(faults: &[(&str, f64)]) -> Reading {
        let fault = |&(name, p): &(&str, f64)| Fault {
            fault: name.into(),
            verdict: if p > 0.95 { Verdict::Present } else { Verdict::CannotTell },
            severity: None,
            probability: Some(p),
            because: vec![],
        };
        Reading { faults: faults.iter().map(fault).collect(), ..Reading::default() }
    }

    fn piece<'a>(name: &str, place: Option<&'a str>, grade: Grade, views: Vec<&'a Reading>) -> LoadPiece<'a> {
        LoadPiece { name: name.into(), place, grade, views }
    }

    // The links from signs to causes are common practice, with no published source.
    #[test]
    fn most_pieces_decide_and_an_uneven_fire_is_said() {
        let over = reading(&[("burned-out", 0.99), ("greyed", 0.01), ("weak-black", 0.1)]);
        let under = reading(&[("burned-out", 0.01), ("greyed", 0.98), ("weak-black", 0.97)]);
        let good = reading(&[("burned-out", 0.01), ("greyed", 0.01), ("weak-black", 0.01)]);
        let rest = [
            piece("4", None, Grade::Sound, vec![&good]),
            piece("5", None, Grade::Sound, vec![&good]),
            piece("6", None, Grade::Sound, vec![&good]),
        ];
        let mut load = vec![
            piece("1", Some("edge"), Grade::Faulty, vec![&good, &over]),
            piece("2", Some("edge"), Grade::Faulty, vec![&over]),
        ];
        load.extend(rest.iter().cloned());
        let said = fire(&load);
        assert_eq!(said.findings, ["2 of 5 pieces (1, 2) point to too much air, heat or time in the fire."]);
        assert!(said.next[0].starts_with("End the hot part sooner"), "{:?}", said.next);
        load.push(piece("3", Some("lee"), Grade::Faulty, vec![&under]));
        let said = fire(&load);
        assert!(said.findings[0].contains("uneven"), "{:?}", said.findings);
        assert!(said.findings[0].contains("time (edge), others too little (lee)"), "{:?}", said.findings);
        assert_eq!(said.next[0], EVEN);
        load.reverse();
        assert_eq!(fire(&load).next, said.next);
        // One piece in many makes no uneven fire, and a photograph that bears no grade is no witness.
        let mut many: Vec<LoadPiece> =
            (0..20).map(|n| piece(&n.to_string(), None, Grade::Faulty, vec![&over])).collect();
        many.push(piece("20", None, Grade::Faulty, vec![&under]));
        assert!(fire(&many).findings[0].starts_with("20 of 21 pieces"), "{:?}", fire(&many));
        let mut small = over.clone();
        small.warnings.push(crate::reading::Warning { code: NO_GRADE[0].into(), text: String::new() });
        let none = fire(&[piece("1", None, Grade::CannotTell, vec![&small])]);
        assert!(none.findings[0].contains("do not bear an answer"), "{none:?}");
        // Each piece says something else.
        let alone = [load[0].clone(), load[4].clone(), load[1].clone(), load[2].clone()];
        let said = fire(&alone);
        assert!(
            said.findings.last().unwrap().starts_with("No two pieces say the same."),
            "{:?}",
            said.findings
        );
    }

    #[test]
    fn a_load_that_says_nothing_is_not_made_to_speak() {
        let good = reading(&[("burned-out", 0.01), ("greyed", 0.01), ("weak-black", 0.01)]);
        let sound = fire(&[piece("1", None, Grade::Sound, vec![&good])]);
        assert!(sound.findings[0].contains("Nothing in this load"), "{sound:?}");
        let doubtful = reading(&[("burned-out", 0.3), ("greyed", 0.4), ("weak-black", 0.4)]);
        let unclear = fire(&[piece("1", None, Grade::CannotTell, vec![&doubtful])]);
        assert!(unclear.findings[0].contains("do not bear an answer"), "{unclear:?}");
        let mut mostly: Vec<LoadPiece> =
            (0..5).map(|n| piece(&n.to_string(), None, Grade::CannotTell, vec![&doubtful])).collect();
        mostly.push(piece("6", None, Grade::Sound, vec![&good]));
        assert!(fire(&mostly).findings[0].contains("do not bear an answer"));
        let faulty = fire(&[piece("1", None, Grade::Faulty, vec![&good])]);
        assert!(faulty.findings[0].contains("No known cause") && faulty.next.is_empty(), "{faulty:?}");
        let may = reading(&[("burned-out", 0.7), ("greyed", 0.5), ("weak-black", 0.2)]);
        let perhaps = fire(&[piece("1", None, Grade::CannotTell, vec![&may])]);
        assert!(perhaps.findings[0].contains("Nothing is clear; 1 may point to too much"), "{perhaps:?}");
        assert!(fire(&[]).findings[0].contains("do not bear an answer"));
    }
}
