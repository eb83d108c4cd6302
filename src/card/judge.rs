//! Which patches can be trusted, and why not the others.

use super::choose::{errors, median};
use super::models::{Kind, Model, Sample};
use super::reading::WhyNot;
use super::sample::PatchLight;
use super::{CardDefinition, CardSettings};
use crate::colour::LabD50;

/// A patch with more than this share of its pixels at the top of the encoding is clipped.
const HIGH_SHARE: f64 = 0.1;
/// The same for the bottom, where single pixels of noise do less harm.
const LOW_SHARE: f64 = 0.25;
/// Patches kept before those crushed at the bottom are given up.
const ENOUGH: usize = 12;
/// An outlier lies this many times the median error off, and at least [`OUTLIER_DE`].
const OUTLIER_TIMES: f64 = 4.0;
const OUTLIER_DE: f64 = 8.0;
/// Part of the patches that are taken to be in order while outliers are sought.
const KEPT: f64 = 0.65;

/// Why each patch is left out; `None` for those that can be used.
pub(crate) fn judge(
    definition: &CardDefinition,
    settings: &CardSettings,
    seen: &[PatchLight],
    places: &[[f64; 2]],
) -> Vec<Option<WhyNot>> {
    let mut why: Vec<Option<WhyNot>> = seen
        .iter()
        .zip(&definition.patches)
        .map(|(s, p)| {
            if settings.skip.contains(&p.id) {
                Some(WhyNot::Told)
            } else if s.count == 0 {
                Some(WhyNot::Covered)
            } else if s.high > HIGH_SHARE {
                Some(WhyNot::Clipped)
            } else {
                None
            }
        })
        .collect();
    let crushed: Vec<usize> =
        (0..seen.len()).filter(|&i| why[i].is_none() && seen[i].low > LOW_SHARE).collect();
    let left = why.iter().filter(|w| w.is_none()).count();
    if left >= ENOUGH + crushed.len() {
        crushed.iter().for_each(|&i| why[i] = Some(WhyNot::Clipped));
    }
    uneven(seen, &mut why);
    for _ in 0..2 {
        outliers(definition, seen, places, &mut why);
    }
    why
}

/// Patches with something on them: their pixels scatter far more than those of the others.
fn uneven(seen: &[PatchLight], why: &mut [Option<WhyNot>]) {
    let spreads: Vec<f64> =
        seen.iter().zip(why.iter()).filter(|(_, w)| w.is_none()).map(|(s, _)| s.spread).collect();
    let limit = (5.0 * median(&spreads)).max(0.25);
    for (s, w) in seen.iter().zip(why.iter_mut()) {
        if w.is_none() && s.spread > limit {
            *w = Some(WhyNot::Covered);
        }
    }
}

/// Patches whose colour cannot be brought in line with the others.
fn outliers(
    definition: &CardDefinition,
    seen: &[PatchLight],
    places: &[[f64; 2]],
    why: &mut [Option<WhyNot>],
) {
    let usable: Vec<usize> = (0..seen.len()).filter(|&i| why[i].is_none()).collect();
    if usable.len() < *Kind::CurveMatrix.patches().start() {
        return;
    }
    let samples = samples(definition, seen, places, &usable);
    let model = trimmed_fit(&samples);
    let errors = errors(&model, &samples);
    let limit = (OUTLIER_TIMES * median(&errors)).max(OUTLIER_DE);
    // Never more than a third of them: then it is the fit that is wrong.
    let mut worst: Vec<usize> = (0..usable.len()).filter(|&k| errors[k] > limit).collect();
    worst.sort_by(|&a, &b| errors[b].total_cmp(&errors[a]));
    worst.truncate(usable.len() / 3);
    for k in worst {
        let got = model.patch(samples[k].light, samples[k].place);
        // A channel that touches the bottom here and there explains it better than a cover.
        let crushed = seen[usable[k]].low > 0.02;
        why[usable[k]] = Some(if crushed { WhyNot::Clipped } else { reason(got, samples[k].lab) });
    }
}

/// A fit to the part of the patches that agree best with each other: least trimmed squares by
/// concentration steps (Rousseeuw & Van Driessen 2006), from a fit to all.
fn trimmed_fit(samples: &[Sample]) -> Model {
    let kept = (samples.len() as f64 * KEPT).ceil() as usize;
    let mut weights = vec![1.0; samples.len()];
    let mut model = Model::balance(samples);
    model.kind = Kind::Matrix;
    for _ in 0..6 {
        model = model.fitted(samples, &weights, 6);
        let errors = errors(&model, samples);
        let mut order: Vec<usize> = (0..samples.len()).collect();
        order.sort_by(|&a, &b| errors[a].total_cmp(&errors[b]));
        weights = vec![0.0; samples.len()];
        order[..kept].iter().for_each(|&i| weights[i] = 1.0);
        model.kind = Kind::CurveMatrix;
        model.with_slope = true;
    }
    model
}

/// Lighter and greyer in the same hue: a shine. Darker in the same hue: a shadow. Else something lies
/// on it.
fn reason(got: LabD50, wanted: LabD50) -> WhyNot {
    let d_l = got.l - wanted.l;
    // How far the colour is from a paler or weaker one of the wanted hue.
    let chroma2 = (wanted.a * wanted.a + wanted.b * wanted.b).max(1.0);
    let share = ((got.a * wanted.a + got.b * wanted.b) / chroma2).clamp(0.0, 1.1);
    let off_hue = (got.a - share * wanted.a).hypot(got.b - share * wanted.b);
    if off_hue > f64::max(8.0, 0.5 * d_l.abs()) {
        WhyNot::Covered
    } else if d_l > 3.0 {
        WhyNot::Glare
    } else if d_l < -3.0 {
        WhyNot::Shaded
    } else {
        WhyNot::Covered
    }
}

/// The patches to fit to.
pub(crate) fn samples(
    definition: &CardDefinition,
    seen: &[PatchLight],
    places: &[[f64; 2]],
    which: &[usize],
) -> Vec<Sample> {
    which
        .iter()
        .map(|&i| Sample { light: seen[i].light, lab: definition.patches[i].lab, place: places[i] })
        .collect()
}
