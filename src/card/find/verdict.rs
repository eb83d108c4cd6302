//! Which placement is the card: good by itself, and better than any other reading of the same place.

use super::agreement;
use super::matching::Placement;
use crate::card::Layout;

/// What a placement must reach, one row or the other: the least share of the reference colours' spread
/// that is explained, with and without lightness, and how far off at most the colours of that part of the
/// patches are that must agree, once the mixing of the channels is allowed for ([`agreement`]). Chosen on
/// composed pictures, half of those there are: cards with up to a quarter hidden, shaded or glared stay
/// below 0.13; half cards and cards with rows swapped begin at 0.138.
const ENOUGH: [[f64; 2]; 2] = [
    // Pale or tinted, like a poor print: little is explained before the mixing is allowed for.
    [0.45, 0.09],
    [0.62, 0.132],
];
/// Least lead in merit over any other reading of a place.
pub(super) const LEAST_LEAD: f64 = 0.16;
/// What a place must reach to be shown as a doubtful find: share explained, share that agrees.
const DOUBTFUL: [f64; 2] = [0.45, 0.4];
/// Patches by which a larger card may agree less than a smaller one and still be taken.
const SPARE: f64 = 2.0;

/// How far the search came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Step {
    Spots,
    Grid,
    Colours,
    Doubtful,
    Mirrored,
}

impl Step {
    pub fn text(self) -> &'static str {
        match self {
            Self::Spots => "no even spots that could be patches; show the whole card, sharp and evenly lit",
            Self::Grid => "no spots on a common grid; show the whole card, flat and not covered",
            Self::Colours => "a grid was seen, but its colours are not those of the card",
            Self::Doubtful => "a grid of like colours was seen, but which patch is which stays doubtful",
            Self::Mirrored => "the card is seen mirrored; use the picture as the camera took it",
        }
    }
}

/// What the placements come to.
#[derive(Debug, Default)]
pub(super) struct Verdict {
    /// The card, and its lead.
    pub card: Option<(Placement, f64)>,
    /// Other cards.
    pub others: Vec<Placement>,
    /// Places that fall short, the best first.
    pub doubtful: Vec<Placement>,
    furthest: Option<Step>,
}

impl Verdict {
    /// How far the search came in a picture with so many spots and grids.
    pub fn step(&self, spots: usize, grids: usize) -> Step {
        match self.furthest {
            _ if spots < 6 => Step::Spots,
            Some(step) if grids > 0 => step,
            _ => Step::Grid,
        }
    }
}

/// Sorts out the placements of all grids.
pub(super) fn verdict(mut all: Vec<Placement>, layout: &Layout, reference: &[[f64; 3]]) -> Verdict {
    all.sort_by(|a, b| b.merit().total_cmp(&a.merit()));
    let mut out = Verdict::default();
    let mut cards: Vec<(Placement, f64)> = Vec::new();
    for place in places(all, layout) {
        let (best, lead) = (&place[0], lead(&place, layout));
        let step = if !is_enough(best, reference) {
            Some(Step::Colours)
        } else if best.mirrored {
            Some(Step::Mirrored)
        } else {
            (lead < LEAST_LEAD).then_some(Step::Doubtful)
        };
        out.furthest = out.furthest.max(step);
        match step {
            None => cards.push((best.clone(), lead)),
            Some(_) if best.explained > DOUBTFUL[0] && best.agree > DOUBTFUL[1] => {
                out.doubtful.push(best.clone());
            }
            Some(_) => {}
        }
    }
    // Of several cards the one with the largest patches, unless fewer of them agree.
    let agree = cards.iter().map(|c| c.0.agree).fold(0.0, f64::max);
    let spare = (SPARE + 0.5) / (layout.rows * layout.columns) as f64;
    let size = |i: usize| cards[i].0.to_px.area(middle(layout)).abs();
    let best = (0..cards.len())
        .filter(|&i| cards[i].0.agree >= agree - spare)
        .max_by(|&i, &j| size(i).total_cmp(&size(j)).then(j.cmp(&i)));
    if let Some(best) = best {
        out.card = Some(cards.remove(best));
        out.others = cards.into_iter().map(|c| c.0).collect();
    }
    out
}

/// Whether the colours are those of the card.
fn is_enough(placement: &Placement, reference: &[[f64; 3]]) -> bool {
    let explained = placement.explained.min(placement.explained_chroma);
    if explained < ENOUGH[0][0] {
        return false;
    }
    let off = agreement::farthest(&placement.seen, reference);
    ENOUGH.iter().any(|row| explained >= row[0] && off <= row[1])
}

/// Placements by the place they lie in, the best of each first.
fn places(all: Vec<Placement>, layout: &Layout) -> Vec<Vec<Placement>> {
    let mut places: Vec<Vec<Placement>> = Vec::new();
    for placement in all {
        match places.iter_mut().find(|place| overlap(&place[0], &placement, layout)) {
            Some(place) => place.push(placement),
            None => places.push(vec![placement]),
        }
    }
    places
}

/// Whether the middle of one lies within the other.
fn overlap(one: &Placement, other: &Placement, layout: &Layout) -> bool {
    let middle = middle(layout);
    let within = |inner: &Placement, outer: &Placement| {
        let Some(back) = outer.to_px.inverse() else { return true };
        let [u, v] = back.apply(inner.to_px.apply(middle));
        (u - middle[0]).abs() < middle[0] + 0.5 && (v - middle[1]).abs() < middle[1] + 0.5
    };
    within(one, other) || within(other, one)
}

/// Lead of the first over the best other reading of the same place.
fn lead(place: &[Placement], layout: &Layout) -> f64 {
    let best = &place[0];
    let other = place.iter().find(|p| !same_reading(p, best, layout));
    best.merit() - other.map_or(0.0, |p| p.merit().max(0.0))
}

/// Middle of the grid, in patch numbers.
fn middle(layout: &Layout) -> [f64; 2] {
    [0.5 * (layout.columns - 1) as f64, 0.5 * (layout.rows - 1) as f64]
}

/// Whether two placements put the corner patches in about the same places.
fn same_reading(one: &Placement, other: &Placement, layout: &Layout) -> bool {
    let (right, low) = ((layout.columns - 1) as f64, (layout.rows - 1) as f64);
    [[0.0, 0.0], [right, 0.0], [right, low], [0.0, low]].iter().all(|&corner| {
        let (p, q) = (one.to_px.apply(corner), other.to_px.apply(corner));
        (p[0] - q[0]).hypot(p[1] - q[1]) < 0.5 * other.to_px.area(corner).abs().sqrt()
    })
}
