//! The light on each place of a piece, relative to the light on the card.
//!
//! Comes in: the corrected picture and the surface map, whose first light field was found with the labels. Goes out:
//! from [`settle`] the map with its shading, the light on each place as a share of that on the piece's brightest part, and
//! an [`Anchor`]: what that brightest part gets as a share of the card's light, with its range. [`find_levels`] finds the
//! form of each piece and gives each a [`Level`]: from the ball where one lies beside it, else guessed from the form.

mod anchor;
mod ball;
mod clouds;
mod field;
mod form;
mod guess;
mod level;
mod shade;
mod view;

pub use anchor::{Anchor, anchor};
pub use ball::BALL_UNUSED;
pub use level::{Level, Source};
pub use view::View;

use crate::card::{CardReading, CorrectedImage};
use crate::photo::Photo;
use crate::surface::{SurfaceMap, mark_dark, mark_glare, mark_smudged, tell_paint};
use ball::BallLight;
use form::Forms;

/// What the pieces are, as far as their form goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FormChoice {
    /// Round where the outline is symmetric and the shading agrees.
    #[default]
    Auto,
    /// Vessels turned about an axis.
    Round,
    /// Flat pieces that lie in the card's plane.
    Flat,
}

/// A ball shows the light, but the piece has no form that is known.
pub const FORM_UNKNOWN: &str = "form-unknown";

/// The camera over the card. `None` where the card lies in another photograph, or its corners give no plane.
pub fn view(photo: &Photo, card: &CardReading) -> Option<View> {
    // A borrowed card lies in other light, whatever else is seen here.
    let place = card.place.as_ref().filter(|_| card.borrowed.is_none())?;
    View::of(place, [photo.width(), photo.height()], photo.facts.focal_35mm)
}

/// The level of the light on each piece, the largest piece first, where a ball shows it or the form lets it be guessed; the
/// light in the map is put right where the form tells more. What could not be used is said in the map's and the pieces'
/// warnings.
pub fn find_levels(
    view: &View,
    image: &CorrectedImage,
    map: &mut SurfaceMap,
    choice: FormChoice,
) -> Vec<Option<Level>> {
    let ball = BallLight::read(image, map, view).and_then(|ball| match ball {
        Ok(ball) => Some(ball),
        Err(why) => {
            map.warnings.push((BALL_UNUSED.into(), format!("The ball does not tell the light: {why}.")));
            None
        }
    });
    let numbers = 1..=u8::try_from(map.pieces.len()).unwrap_or(u8::MAX);
    numbers
        .map(|number| {
            let forms = Forms::of(map, number, view, choice);
            let Some(ball) = &ball else { return guess::guess(image, map, number, view, &forms, choice) };
            let level = level::find(image, map, number, view, ball, &forms);
            if level.is_none() {
                let text = "The ball shows the light, but the outline and shading of the piece are those of no round \
                            vessel. L* is as uncertain as without a ball; if it is a round vessel say --form round, if \
                            it is flat and lies as the card does --form flat.";
                map.pieces[usize::from(number) - 1].warnings.push((FORM_UNKNOWN.into(), text.into()));
            }
            level
        })
        .collect()
}

/// Settles light and surfaces of a freshly mapped photograph together: fits the smooth shading, tells glare from red
/// and paint from slip by it, marks as cloud what the slip gives back too little, fits again without the clouds, and
/// marks shade and smudged places.
pub fn settle(image: &CorrectedImage, map: &mut SurfaceMap) {
    let mut smooth = std::mem::take(&mut map.light);
    field::shade(image, map, &mut smooth);
    mark_glare(image, map, &smooth);
    let slips = tell_paint(image, map, &smooth);
    field::shade(image, map, &mut smooth);
    mark_glare(image, map, &smooth);
    // Soot pulls the first fit down a little; with most of it marked, the second look sees its margin.
    for _ in 0..2 {
        if !clouds::mark(map, &slips, &smooth) {
            break;
        }
        field::shade(image, map, &mut smooth);
    }
    mark_dark(image, map, &smooth);
    shade::mark(map, &smooth);
    mark_smudged(map);
    map.light = smooth;
}
