//! What the decoration says of a form.
//!
//! Comes in: the ring about the axis on which a form puts each place, and what the place is. Goes out: how much the rings
//! leave open of it. Pots are turned to be painted: rims, bands and rows of motifs run round the axis, so the form that
//! is right puts like on like.

use crate::surface::Label;

/// Kinds that are told apart.
const KINDS: usize = 4;

/// White, red, painted or bare; what hides the decoration (shine, clouds, shade) says nothing.
fn kind(label: Label) -> Option<usize> {
    match label {
        Label::White => Some(0),
        Label::Red => Some(1),
        Label::Black | Label::LostPaint => Some(2),
        Label::Body => Some(3),
        _ => None,
    }
}

/// Entropy of what a place is where its ring is known, nats (0 to ln 4), from rings and labels of all places seen: the
/// plug-in estimate with the term of Miller (1955) for rings of few places, without which the form with the most rings
/// would win.
pub(super) fn left_open(seen: impl Iterator<Item = (u32, Label)>) -> f64 {
    let mut rings: Vec<[u32; KINDS]> = Vec::new();
    for (ring, label) in seen {
        let Some(kind) = kind(label) else { continue };
        let ring = ring as usize;
        if ring >= rings.len() {
            rings.resize(ring + 1, [0; KINDS]);
        }
        rings[ring][kind] += 1;
    }
    let (mut open, mut all) = (0.0, 0.0);
    for counts in rings.iter().filter(|counts| counts.iter().any(|&n| n > 0)) {
        let kinds = counts.iter().filter(|&&n| n > 0).map(|&n| f64::from(n));
        let (n, terms, found) =
            kinds.fold((0.0, 0.0, 0.0), |(n, terms, found), k| (n + k, terms + k * k.ln(), found + 1.0));
        open += n * n.ln() - terms + (found - 1.0) / 2.0;
        all += n;
    }
    open / f64::max(all, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use Label::{Black, Body, Glare, Red, White};

    /// Worked by hand: a ring of one kind leaves nothing open; half and half leaves ln 2, and (2 - 1) / 2 over its places
    /// for few places; shine does not count.
    #[test]
    fn rings_of_one_kind_leave_nothing_open() {
        let whole = [White, Red, Body].into_iter().zip(0u32..).flat_map(|(label, ring)| [(ring, label); 40]);
        assert!(left_open(whole.chain([(1, Glare); 30])).abs() < 1e-12);
        let mixed = (0..80).map(|k| (3, if k % 2 == 0 { White } else { Black }));
        assert!((left_open(mixed) - 2f64.ln() - 0.5 / 80.0).abs() < 1e-12);
        assert_eq!(left_open(std::iter::empty()), 0.0);
    }

    /// Labels that have nothing to do with the rings leave about the same open, however many rings there are.
    #[test]
    fn more_rings_alone_explain_nothing() {
        let mut state = 7u64;
        let labels: Vec<Label> = (0..3000)
            .map(|_| {
                // A linear congruential generator (Knuth, MMIX constants).
                state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                if (state >> 60) < 5 { Black } else { White }
            })
            .collect();
        let by = |rings: u32| left_open(labels.iter().zip(0u32..).map(|(label, k)| (k % rings, *label)));
        let few = by(5);
        for rings in [20, 60, 150] {
            assert!((by(rings) - few).abs() < 0.01, "{} for {few}", by(rings));
        }
    }
}
