//! Choosing the correction: each model predicts every patch from the others; the simplest that does
//! about as well as the best is taken.

use super::correct::Correction;
use super::models::{Kind, Model, Sample};
use super::reading::{ModelTried, Residuals};
use crate::colour::{LabD50, ciede2000};

/// What the choice gave.
pub(crate) struct Choice {
    pub correction: Correction,
    pub models: Vec<ModelTried>,
    pub fit: Residuals,
    pub held_out: Residuals,
    /// Change of light across the card, where there are patches enough to tell.
    pub light_gradient: Option<f64>,
}

/// A model fitted to all patches and judged on patches it has not seen.
struct Trial {
    model: Model,
    predicted: Vec<LabD50>,
    errors: Vec<f64>,
}

/// Robust fit of one kind: rounds of weights after Huber 1964, the bend at the median error.
pub(crate) fn robust_fit(kind: Kind, with_slope: bool, samples: &[Sample]) -> (Model, Vec<f64>) {
    let mut model = Model::balance(samples);
    model.kind = kind;
    model.with_slope = with_slope;
    let mut weights = vec![1.0; samples.len()];
    for round in 0..4 {
        model = model.fitted(samples, &weights, if round == 0 { 12 } else { 4 });
        let errors = errors(&model, samples);
        let bend = median(&errors).max(0.5);
        weights = errors.iter().map(|e| (bend / e.max(1e-9)).min(1.0)).collect();
    }
    (model, weights)
}

/// CIEDE2000 of each patch under a model.
pub(crate) fn errors(model: &Model, samples: &[Sample]) -> Vec<f64> {
    samples.iter().map(|s| ciede2000(model.patch(s.light, s.place), s.lab)).collect()
}

/// `None` where the patches do not fix the model.
fn trial(kind: Kind, with_slope: bool, samples: &[Sample]) -> Option<Trial> {
    let (model, weights) = robust_fit(kind, with_slope, samples);
    let predicted = model.held_out(samples, &weights)?;
    let errors = predicted.iter().zip(samples).map(|(p, s)| ciede2000(*p, s.lab)).collect();
    Some(Trial { model, predicted, errors })
}

/// Patches from which on a slope of light over the card is fitted.
const SLOPED: usize = 8;

/// Fits all models that the number of patches allows and takes one. `samples`: the usable patches.
/// `None` where they fix none of them.
pub(crate) fn choose(samples: &[Sample]) -> Option<Choice> {
    let with_slope = samples.len() >= SLOPED;
    let kinds = Kind::ALL.into_iter().filter(|k| k.patches().contains(&samples.len()));
    let mut trials: Vec<Trial> = kinds.filter_map(|k| trial(k, with_slope, samples)).collect();
    let models = trials
        .iter()
        .map(|t| ModelTried { model: t.model.kind.name().into(), held_out_de00: mean(&t.errors) })
        .collect();
    // The first of equals: the simplest that is not worse.
    let order = |&i: &usize, &j: &usize| mean(&trials[i].errors).total_cmp(&mean(&trials[j].errors));
    let chosen = (0..trials.len()).min_by(order)?;
    let mut chosen = trials.swap_remove(chosen);
    rebase(&mut chosen.model, samples);
    let held_out = chosen
        .predicted
        .iter()
        .zip(samples)
        .map(|(p, s)| (s.lab, [p.l - s.lab.l, p.a - s.lab.a, p.b - s.lab.b]))
        .collect();
    Some(Choice {
        models,
        fit: residuals(&errors(&chosen.model, samples)),
        held_out: residuals(&chosen.errors),
        light_gradient: with_slope.then(|| across(chosen.model.slope)),
        correction: Correction {
            model: chosen.model.kind.name().into(),
            fitted: chosen.model,
            other_edition: None,
            held_out,
        },
    })
}

/// Light that halves across so small a thing as a card is a shadow on it. A shadow only takes light
/// away: colours are then given relative to the lit end.
fn rebase(model: &mut Model, samples: &[Sample]) {
    if model.with_slope && across(model.slope) > SHADOW {
        let log_light = |s: &Sample| model.slope[0] * s.place[0] + model.slope[1] * s.place[1];
        model.base = samples.iter().map(log_light).fold(0.0, f64::max);
    }
}

/// Change of light across the card above which it is taken for a shadow.
const SHADOW: f64 = 1.0;

/// Same kind of model on other reference colours.
pub(crate) fn refit(correction: &Correction, samples: &[Sample]) -> Model {
    let mut model = robust_fit(correction.fitted.kind, correction.fitted.with_slope, samples).0;
    model.base = correction.fitted.base;
    model
}

/// Relative change between the lightest and the darkest corner of the card.
fn across(slope: [f64; 2]) -> f64 {
    (slope[0].abs() + slope[1].abs()).exp() - 1.0
}

pub(crate) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / (values.len() as f64).max(1.0)
}

pub(crate) fn median(values: &[f64]) -> f64 {
    quantile(values, 0.5)
}

/// Quantile, straight between order statistics; 0 of nothing.
pub(crate) fn quantile(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let Some(last) = sorted.len().checked_sub(1) else { return 0.0 };
    let at = share * last as f64;
    let (i, part) = (at.floor() as usize, at.fract());
    sorted[i] + part * (sorted[(i + 1).min(last)] - sorted[i])
}

fn residuals(errors: &[f64]) -> Residuals {
    Residuals { mean: mean(errors), p95: quantile(errors, 0.95), max: quantile(errors, 1.0) }
}
