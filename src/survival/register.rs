//! Lays the unfired piece over the fired one, and says whether it is the same piece.

use super::coarse::{self, apart, guesses};
use super::few::Form;
use super::field::Field;
use super::picture::Picture;
use super::refine::{Give, Pace, matches, refined};
use super::view::{Frame, View};
use rayon::prelude::*;

/// Pixels to a piece unit on which the field is drawn tight, coarse to fine; finer than the photographs is no use.
const SCALES: [f64; 3] = [96.0, 192.0, 384.0];
/// How many fields go on to each of them.
const GO_ON: [usize; 3] = [usize::MAX, 5, 2];
/// How far about a node is looked there, pixels, and how often.
const REACH: [i32; 3] = [4, 3, 3];
const ROUNDS: [usize; 3] = [3, 3, 3];
/// Soft fields suit vessels, stiff ones pieces whose paint is gone: what agrees best is taken.
const GIVE: [&[&[Give]]; 3] = [
    &[&[Give::Bending(3.0)], &[Give::Few(Form::Flat)], &[Give::Few(Form::Curved)]],
    &[
        &[Give::Bending(1.0)],
        &[Give::Bending(100.0)],
        &[Give::Few(Form::Curved)],
        &[Give::Turned, Give::Turned, Give::Bending(3.0)],
    ],
    &[
        &[Give::Bending(0.5)],
        &[Give::Bending(20.0)],
        &[Give::Few(Form::Flat)],
        &[Give::Few(Form::Curved)],
        &[Give::Few(Form::Curved), Give::Bending(20.0)],
    ],
];
/// Fields less than this apart, piece units, are one.
const SAME: f64 = 0.004;
/// Pixels of a map to a pixel of a picture, at least.
const LEAST_PIXELS: f64 = 1.2;
/// Two photographs with a smaller share of places in place than this are taken to show two pieces. Chance alone puts less
/// than a sixteenth there: one pixel about the middle of a search over seven by seven.
pub const LEAST_AGREEMENT: f64 = 0.09;

/// How well two pieces agree once they are laid over each other.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Agreement {
    /// Places that were compared.
    pub places: usize,
    /// Mean correlation there of what changes over short distances, -1 to 1.
    pub correlation: f64,
    /// Share of the places that agree best where they lie, within one pixel, 0 to 1.
    pub in_place: f64,
}

/// Why the unfired piece cannot be laid over the fired one.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Unmatched {
    /// The photographs show two pieces, or two sides of one.
    #[error("the two photographs do not show the same piece from the same side")]
    AnotherPiece(Agreement),
    /// A piece is too small in its photograph.
    #[error("the piece is too small in the photograph to be compared")]
    TooSmall,
    /// Nothing on the unfired piece reads as paint.
    #[error("no paint is seen before the fire on what both photographs show")]
    NoPaint,
}

/// Where each place of the fired piece lies in the photograph of the unfired one.
#[derive(Clone, Debug)]
pub struct Registration {
    after: Frame,
    before: Frame,
    field: Field,
    /// How well they agree.
    pub agreement: Agreement,
}

impl Registration {
    /// Map pixel of the photograph before the fire, of a map pixel after it; `None` where that side of the wall was turned
    /// away.
    pub fn before(&self, after: [f64; 2]) -> Option<[f64; 2]> {
        let own = self.after.own(after);
        let seen = (LEAST_AREA..=1.0 / LEAST_AREA).contains(&self.field.area_ratio(own));
        seen.then(|| self.before.pixel(self.field.at(own)))
    }

    /// Side of a square as large as the piece, pixels of the map before the fire.
    pub(super) fn unit(&self) -> f64 {
        self.before.unit
    }
}

/// A wall that shows less than this share of its area in one photograph against the other is seen too flat to be compared.
const LEAST_AREA: f64 = 0.4;

/// Finds where each place of the fired piece lies in the photograph of the unfired one.
///
/// # Errors
/// [`Unmatched::AnotherPiece`] where the two do not agree, [`Unmatched::TooSmall`] where a piece has too few pixels.
pub fn register(before: &View, after: &View) -> Result<Registration, Unmatched> {
    let registration = best(before, after)?;
    if registration.agreement.in_place < LEAST_AGREEMENT {
        return Err(Unmatched::AnotherPiece(registration.agreement));
    }
    Ok(registration)
}

/// The best way to lay them over each other, however badly they agree.
pub(super) fn best(before: &View, after: &View) -> Result<Registration, Unmatched> {
    let frames = [after, before].map(Frame::of);
    let [Some(own), Some(other)] = frames else { return Err(Unmatched::TooSmall) };
    let finest = own.unit.min(other.unit) / LEAST_PIXELS;
    let pictures = |scale: f64| {
        let scale = scale.min(finest);
        rayon::join(|| Picture::of(after, &own, scale), || Picture::of(before, &other, scale))
    };
    let (small_after, small_before) = pictures(coarse::SCALE);
    let mut fields = guesses(&small_after, &small_before, &own);
    let mut agreement = Agreement::default();
    for level in 0..SCALES.len() {
        let (after, before) = pictures(SCALES[level]);
        fields.truncate(GO_ON[level]);
        let ways: Vec<(&Field, &[Give])> =
            fields.iter().flat_map(|field| GIVE[level].iter().map(move |&give| (field, give))).collect();
        let tried = ways.into_par_iter().map(|(field, give)| {
            let field = give.iter().fold(field.clone(), |field, &give| {
                let pace = Pace { reach: REACH[level], rounds: ROUNDS[level], give };
                refined(&field, &after, &before, pace)
            });
            (agreement_of(&field, &after, &before, REACH[level]), field)
        });
        let mut scored: Vec<(Agreement, Field)> = tried.collect();
        let rank = |(agreement, _): &(Agreement, Field)| agreement.correlation * agreement.in_place;
        scored.sort_by(|one, two| rank(two).total_cmp(&rank(one)));
        agreement = scored.first().map_or(agreement, |best| best.0);
        fields.clear();
        for (_, field) in scored {
            if fields.iter().all(|known| apart(known, &field, &after) > SAME) {
                fields.push(field);
            }
        }
    }
    let field = fields.into_iter().next().ok_or(Unmatched::TooSmall)?;
    Ok(Registration { after: own, before: other, field, agreement })
}

/// How well the two agree as they lie.
fn agreement_of(field: &Field, after: &Picture, before: &Picture, reach: i32) -> Agreement {
    let found: Vec<_> = matches(field, after, before, reach).into_iter().flatten().collect();
    let near = |shift: Option<[f64; 2]>| shift.is_some_and(|s| s[0].hypot(s[1]) <= 1.0);
    let many = found.len().max(1) as f64;
    Agreement {
        places: found.len(),
        correlation: found.iter().map(|m| m.here.max(0.0)).sum::<f64>() / many,
        in_place: found.iter().filter(|m| near(m.shift)).count() as f64 / many,
    }
}

#[cfg(test)]
impl Registration {
    /// Two photographs of one frame, with a field between.
    pub(super) fn told(frame: Frame, to: impl Fn([f64; 2]) -> [f64; 2], agreement: Agreement) -> Self {
        Self { after: frame, before: frame, field: Field::new(&frame, to), agreement }
    }
}
