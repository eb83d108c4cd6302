//! From a photograph to what its card gave: found or told, sampled, judged, fitted.

use super::choose::{choose, refit};
use super::find::{self, Found, Search};
use super::geometry::{Grid, Homography, Plane};
use super::judge::{judge, samples};
use super::models::Sample;
use super::reading::{CardPlace, CardReading, CardSettings, CardStatus, PatchReading};
use super::sample::sample;
use super::{CardDefinition, CardError, Correction, capture};
use crate::colour::ciede2000;
use crate::photo::Photo;

/// Mean CIEDE2000 of a picture as it came below which it is right for every purpose here: then a
/// correction need not lower it further.
const RIGHT_AS_IT_IS: f64 = 2.0;

/// Mean CIEDE2000 of the patches as the file gives them.
fn uncorrected(samples: &[Sample]) -> f64 {
    let plain = Correction::plain();
    samples.iter().map(|s| ciede2000(plain.patch(s), s.lab)).sum::<f64>() / samples.len().max(1) as f64
}

/// Patches below which no correction is made.
const LEAST_PATCHES: usize = 6;

/// Mean held-out CIEDE2000 above which what was found is not taken for the card: several times what
/// even a home-printed copy shows.
const MOST_HELD_OUT: f64 = 25.0;
/// Mean held-out CIEDE2000 that is worth a warning.
const POOR_FIT: f64 = 6.0;

/// Finds (unless told), samples and fits the card.
///
/// # Errors
/// [`CardError::NotFound`] or [`CardError::TooFewPatches`].
pub fn read_card(photo: &Photo, settings: &CardSettings) -> Result<CardReading, CardError> {
    let mut editions = match &settings.definition {
        Some(told) => vec![told.clone()],
        None => vec![CardDefinition::load("chart24-b")?, CardDefinition::load("chart24-a")?],
    };
    if let Some(mm) = settings.patch_mm {
        editions = editions.into_iter().map(|card| card.with_patch_mm(mm)).collect();
    }
    let (status, found) = match settings.corners {
        Some(corners) => {
            let grid = told_grid(&editions[0], &corners)?;
            (CardStatus::Given, Found { grid, lead: None, others: Vec::new() })
        }
        None => (CardStatus::Found, find::find(photo, &editions[0])?),
    };
    let grid = found.grid;
    let seen = sample(photo, &grid);
    let places: Vec<[f64; 2]> = (0..seen.len()).map(|i| grid.place(i)).collect();

    let why_not = judge(&editions[0], settings, &seen, &places);
    let usable: Vec<usize> = (0..seen.len()).filter(|&i| why_not[i].is_none()).collect();
    if usable.len() < LEAST_PATCHES {
        return Err(CardError::TooFewPatches { usable: usable.len(), total: seen.len() });
    }
    let mut choices: Vec<_> = editions
        .iter()
        .filter_map(|definition| Some((definition, choose(&samples(definition, &seen, &places, &usable))?)))
        .collect();
    if choices.is_empty() {
        return Err(CardError::TooFewPatches { usable: usable.len(), total: seen.len() });
    }
    choices.sort_by(|a, b| a.1.held_out.mean.total_cmp(&b.1.held_out.mean));
    let others: Vec<&CardDefinition> = choices[1..].iter().map(|(definition, _)| *definition).collect();
    let (definition, mut choice) = choices.swap_remove(0);
    let mut warnings: Vec<(String, String)> = two_cards(&found.others).into_iter().collect();
    if status == CardStatus::Found && choice.held_out.mean > MOST_HELD_OUT {
        return Err(CardError::NotFound {
            step: "a grid was seen, but no correction brings its colours in line with the card's".into(),
            tried: format!("held-out CIEDE2000 {:.1}, at most {MOST_HELD_OUT}", choice.held_out.mean),
            search: Box::new(Search { doubtful_px: vec![grid.corners([0.0; 2])], ..Search::default() }),
        });
    }
    let before = uncorrected(&samples(definition, &seen, &places, &usable));
    if choice.held_out.mean >= before && before > RIGHT_AS_IT_IS {
        return Err(CardError::NoBetter { before, after: choice.held_out.mean });
    }
    if let Some(other) = others.first() {
        choice.correction.other_edition =
            Some(refit(&choice.correction, &samples(other, &seen, &places, &usable)));
        let text = format!(
            "the card's edition is not known; {} fits best and is used, the difference counts in u95; \
             say --card chart24-a for charts made before November 2014, chart24-b for later ones",
            definition.id
        );
        warnings.push(("card-edition-unknown".into(), text));
    }
    if choice.held_out.mean > POOR_FIT {
        let text = format!(
            "the card's patches are predicted from each other only to CIEDE2000 {:.1}; look for glare, \
             shadow, strong tint, or a card of another make",
            choice.held_out.mean
        );
        warnings.push(("card-poor-fit".into(), text));
    }

    let all: Vec<usize> = (0..seen.len()).collect();
    let patches: Vec<PatchReading> = samples(definition, &seen, &places, &all)
        .iter()
        .enumerate()
        .map(|(i, sample)| PatchReading {
            id: definition.patches[i].id.clone(),
            centre_px: seen[i].centre_px,
            rgb_linear: seen[i].light,
            used: why_not[i].is_none(),
            why_not: why_not[i],
            lab_reference: sample.lab,
            lab_corrected: choice.correction.patch(sample),
        })
        .collect();
    let place = place(&grid, definition);
    let (capture, remarks) = capture::check(&capture::Shown {
        photo,
        grid: &grid,
        place: &place,
        definition,
        seen: &seen,
        patches: &patches,
        light_gradient: choice.light_gradient,
    });
    warnings.extend(remarks);
    Ok(CardReading {
        status,
        definition: definition.id.clone(),
        place: Some(place),
        lead: found.lead,
        candidates_px: found.others,
        patches,
        correction: choice.correction,
        models: choice.models,
        fit: choice.fit,
        held_out: choice.held_out,
        light_gradient: choice.light_gradient,
        capture,
        borrowed: None,
        warnings,
    })
}

/// Says so where there are more cards than one.
fn two_cards(others: &[[[f64; 2]; 4]]) -> Option<(String, String)> {
    let middle = |quad: &[[f64; 2]; 4]| {
        let [x, y] = [0, 1].map(|k| quad.iter().map(|p| p[k]).sum::<f64>() / 4.0);
        format!("{x:.0}, {y:.0}")
    };
    let places: Vec<String> = others.iter().map(middle).collect();
    let text = format!(
        "more than one card is in the picture; the one with the larger patches is used, not that about \
         pixel {}; take the other away, or give the corners of the right one with --card-corners",
        places.join(" and ")
    );
    (!others.is_empty()).then(|| ("card-two".into(), text))
}

/// Where the grid lies, with the frame of its definition.
pub(super) fn place(grid: &Grid, definition: &CardDefinition) -> CardPlace {
    let width_px = grid.patch_width_px();
    CardPlace {
        corners_px: grid.corners([0.0; 2]),
        frame_px: grid.corners(definition.layout.margin()),
        patch_side_px: width_px * grid.tall.sqrt(),
        mm_per_px: definition.layout.patch_mm().map(|mm| mm / width_px),
        aspect: grid.extent()[1] / grid.extent()[0],
        extent_mm: definition.layout.patch_mm().map(|mm| grid.extent().map(|side| side * mm)),
    }
}

/// The grid between corners told by hand.
fn told_grid(definition: &CardDefinition, corners: &[[f64; 2]; 4]) -> Result<Grid, CardError> {
    let layout = &definition.layout;
    let [width, height] = layout.extent();
    let to_px = Homography::from_corners(width, height, corners).filter(|_| is_convex(corners));
    match to_px {
        Some(to_px) => Ok(Grid {
            to_px: Plane::straight(to_px),
            pitch: layout.pitch(),
            tall: layout.tall(),
            rows: layout.rows,
            columns: layout.columns,
        }),
        None => Err(CardError::NotFound {
            step: "the told corners are not those of a rectangle seen from the front".into(),
            tried: "give the outer corners of the patch grid in reading order: first patch, end of the \
                    first row, last patch, start of the last row"
                .into(),
            search: Box::default(),
        }),
    }
}

/// Whether four corners go round one way, clockwise in the picture: a card seen from its front.
fn is_convex(c: &[[f64; 2]; 4]) -> bool {
    (0..4).all(|i| {
        let (p, q, r) = (c[i], c[(i + 1) % 4], c[(i + 2) % 4]);
        (q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0]) > 0.0
    })
}
