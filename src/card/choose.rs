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
    /// Change of light across the card, whether the correction uses it or not.
    pub light_gradient: Option<f64>,
}

/// A model fitted to all patches and judged on patches it has not seen.
struct Trial {
    model: Model,
    predicted: Vec<LabD50>,
    errors: Vec<f64>,
}

impl Trial {
    fn mean(&self) -> f64 {
        mean(&self.errors)
    }
}

/// Robust fit of one kind: three rounds of weights after Huber 1964, the bend at the median error.
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

fn trial(kind: Kind, with_slope: bool, samples: &[Sample]) -> Trial {
    let (model, weights) = robust_fit(kind, with_slope, samples);
    let predicted: Vec<LabD50> = (0..samples.len())
        .map(|i| {
            let mut without = weights.clone();
            without[i] = 0.0;
            // The full fit is near: a few steps from it reach the fit without this patch.
            let others = model.fitted(samples, &without, 3);
            others.patch(samples[i].light, samples[i].place)
        })
        .collect();
    let errors = predicted.iter().zip(samples).map(|(p, s)| ciede2000(*p, s.lab)).collect();
    Trial { model, predicted, errors }
}

/// Whether `better` predicts so much better than `other` that it is not chance: the mean of the paired
/// differences against their standard error (the one-standard-error rule of Breiman et al. 1984,
/// section 3.4.3, on pairs).
fn clearly_better(better: &Trial, other: &Trial) -> bool {
    let differences: Vec<f64> = other.errors.iter().zip(&better.errors).map(|(o, b)| o - b).collect();
    let n = differences.len() as f64;
    let m = mean(&differences);
    let variance = differences.iter().map(|d| (d - m).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    m > 0.0 && m > (variance / n).sqrt()
}

/// Fits all models that the number of patches allows and takes one. `samples`: the usable patches.
pub(crate) fn choose(samples: &[Sample]) -> Choice {
    let n = samples.len();
    let kinds: Vec<Kind> = Kind::ALL.into_iter().filter(|k| n >= k.least_patches()).collect();
    // Does a slope of light over the card help? Asked of a middling model.
    let asked = if kinds.contains(&Kind::GammaMatrix) { Kind::GammaMatrix } else { Kind::Balance };
    let (level, sloped) = (trial(asked, false, samples), trial(asked, true, samples));
    let with_slope = n >= 10 && clearly_better(&sloped, &level);
    let light_gradient = (n >= 8).then(|| across(sloped.model.slope));
    let mut trials: Vec<Trial> = kinds.iter().map(|&k| trial(k, with_slope, samples)).collect();
    let models = trials
        .iter()
        .map(|t| ModelTried { model: t.model.kind.name().into(), held_out_de00: t.mean() })
        .collect();
    let best = (0..trials.len()).min_by(|&i, &j| trials[i].mean().total_cmp(&trials[j].mean())).unwrap_or(0);
    let chosen = (0..best).find(|&i| !clearly_better(&trials[best], &trials[i])).unwrap_or(best);
    let mut chosen = trials.swap_remove(chosen);
    rebase(&mut chosen.model, samples);
    let held_out = chosen
        .predicted
        .iter()
        .zip(samples)
        .map(|(p, s)| (s.lab, [p.l - s.lab.l, p.a - s.lab.a, p.b - s.lab.b]))
        .collect();
    Choice {
        models,
        fit: residuals(&errors(&chosen.model, samples)),
        held_out: residuals(&chosen.errors),
        light_gradient,
        correction: Correction {
            model: chosen.model.kind.name().into(),
            fitted: chosen.model,
            other_edition: None,
            held_out,
        },
    }
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
