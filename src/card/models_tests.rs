//! The models against published fits.

use super::super::fit::Goal;
use super::*;
use crate::colour::ciede2000;

/// Published-method fits on a synthetic camera with the 24 patches; the file names its source
/// (colour-science 0.4.7 and numpy 2.4.6; Finlayson, Mackiewicz & Hurlbert 2015).
#[derive(serde::Deserialize)]
struct Reference {
    camera_rgb: Vec<[f64; 3]>,
    target_xyz_d50: Vec<[f64; 3]>,
    test_rgb: Vec<[f64; 3]>,
    fits: std::collections::BTreeMap<String, ReferenceFit>,
}

#[derive(serde::Deserialize)]
struct ReferenceFit {
    matrix_rows: Vec<Vec<f64>>,
    test_xyz: Vec<[f64; 3]>,
    exposure_half_test_xyz_times_2: Vec<[f64; 3]>,
}

const CASES: [(&str, Kind); 2] =
    [("linear_3", Kind::Matrix), ("root_polynomial_degree2", Kind::RootPolynomial)];

fn reference() -> Reference {
    serde_json::from_str(include_str!("../../tests/data/rpcc.json")).expect("reference file")
}

fn numbers(XyzD50 { x, y, z }: XyzD50) -> [f64; 3] {
    [x, y, z]
}

fn xyz([x, y, z]: [f64; 3]) -> XyzD50 {
    XyzD50 { x, y, z }
}

/// The published matrix as a model.
fn published(fit: &ReferenceFit, kind: Kind) -> Model {
    let mut model = Model::balance(&[]);
    model.kind = kind;
    for t in 0..kind.terms() {
        let column = Vector3::from_fn(|k, _| fit.matrix_rows[k][t]);
        model.mix[t] = (srgb_matrix().try_inverse().unwrap() * column).into();
    }
    model
}

#[test]
fn terms_and_matrix_give_the_published_outputs() {
    let data = reference();
    for (name, kind) in CASES {
        let fit = &data.fits[name];
        let model = published(fit, kind);
        for (k, light) in data.test_rgb.iter().enumerate() {
            let got = Vector3::from(numbers(model.apply(*light)));
            let half = Vector3::from(numbers(model.apply(light.map(|v| 0.5 * v)))) * 2.0;
            for c in 0..3 {
                assert!((got[c] - fit.test_xyz[k][c]).abs() < 2e-7, "{name} {k}");
                assert!((half[c] - fit.exposure_half_test_xyz_times_2[k][c]).abs() < 2e-7, "{name} {k}");
            }
        }
    }
}

fn samples(data: &Reference) -> Vec<Sample> {
    let pairs = data.camera_rgb.iter().zip(&data.target_xyz_d50);
    pairs.map(|(&light, &target)| Sample { light, lab: xyz(target).to_lab(), place: [0.0; 2] }).collect()
}

/// The same steps, asked for plain least squares in XYZ without damping, give the published fits' outputs.
/// The veil times the matrix is the constant of the affine fit, so that one takes several steps.
#[test]
fn undamped_steps_in_xyz_give_the_published_fits() {
    let data = reference();
    let samples = samples(&data);
    let affine = ("affine_4", Kind::Affine);
    for (name, kind) in CASES.into_iter().chain([affine]) {
        let mut model = Model::balance(&samples);
        model.kind = kind;
        let model = model.fitted_to(Goal::PlainXyz, &samples, &[1.0; 24], 30);
        for (light, wanted) in data.test_rgb.iter().zip(&data.fits[name].test_xyz) {
            for (got, wanted) in numbers(model.apply(*light)).iter().zip(wanted) {
                assert!((got - wanted).abs() < 1e-6, "{name} {light:?}: {got} {wanted}");
            }
        }
    }
}

/// The fit minimises colour difference, so it must not be worse in it than plain least squares in
/// XYZ on the same terms.
#[test]
fn fits_at_least_as_well_as_plain_least_squares() {
    let data = reference();
    let samples = samples(&data);
    for (name, kind) in CASES {
        let mut model = Model::balance(&samples);
        model.kind = kind;
        let model = model.fitted(&samples, &[1.0; 24], 20);
        let plain = published(&data.fits[name], kind);
        let error = |model: &Model| {
            let squares = samples.iter().map(|s| ciede2000(model.patch(s.light, s.place), s.lab).powi(2));
            (squares.sum::<f64>() / 24.0).sqrt()
        };
        assert!(error(&model) < error(&plain), "{name}: {} against {}", error(&model), error(&plain));
    }
}

/// First-order held-out predictions against fits that really leave the patch out.
#[test]
fn held_out_predictions_are_those_of_fits_without_the_patch() {
    let data = reference();
    // A tone curve laid over the lights, so that every unknown has work to do.
    let mut samples = samples(&data);
    samples.iter_mut().for_each(|s| s.light = s.light.map(|v| v.max(0.0).powf(0.8)));
    for kind in Kind::ALL {
        let mut model = Model::balance(&samples);
        (model.kind, model.with_slope) = (kind, true);
        let weights = vec![1.0; 24];
        let model = model.fitted(&samples, &weights, 40);
        let quick = model.held_out(&samples, &weights).expect("well posed");
        for (i, sample) in samples.iter().enumerate() {
            let mut others = weights.clone();
            others[i] = 0.0;
            let slow = model.fitted(&samples, &others, 40).patch(sample.light, sample.place);
            let (off, error) = (ciede2000(quick[i], slow), ciede2000(slow, sample.lab));
            assert!(off < 0.1 + 0.15 * error, "{kind:?} patch {}: {off} of {error}", i + 1);
        }
    }
}
