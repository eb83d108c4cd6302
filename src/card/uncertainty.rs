//! How far a corrected colour can be trusted, from the patches that were predicted from the others.

use super::metric::metric;
use crate::colour::LabD50;
use nalgebra::{Matrix3, Vector3};

/// Distance in CIELAB at which a patch counts e^-0.5 as much as one of the same colour.
const REACH: f64 = 20.0;
/// Share with which every patch counts however far it lies: the floor from the residuals overall.
const FLOOR: f64 = 0.1;
/// Share of the squared held-out residuals that a surface of that colour shares with the patches. The rest is each patch's
/// own: how its print differs from the table, its noise, its pigment. Of two patches of nearly one colour, both kept
/// out of the fit, the errors have 0.59 of their square in common within 25 in CIELAB, greys 0.46 (16 photographs of real cards,
/// `examples/withheld`).
pub(crate) const COMMON: f64 = 0.5;
/// Half-width where nothing is known.
const WIDEST: f64 = 100.0;

/// Half-widths of the 95 % interval of L*, a*, b* near a colour: the root mean square of the held-out
/// residuals, weighted by nearness, times the coverage factor of the t distribution for the effective
/// number of patches (JCGM 100:2008, G.3 and G.6; the residuals are taken about zero, so that a common
/// offset counts too). Residuals grow with chroma as the eye's tolerance does, so they are pooled in the
/// scales of CIEDE2000, along lightness, chroma and hue, and brought back at the colour asked for.
pub(crate) fn u95(held_out: &[(LabD50, [f64; 3])], near: LabD50) -> [f64; 3] {
    let (mut sum, mut squares, mut weights) = (Vector3::zeros(), 0.0, 0.0);
    for (lab, residual) in held_out {
        let d2 = (lab.l - near.l).powi(2) + (lab.a - near.a).powi(2) + (lab.b - near.b).powi(2);
        let weight = if d2.is_finite() { (-0.5 * d2 / (REACH * REACH)).exp() } else { 0.0 } + FLOOR;
        let scaled = metric(*lab) * Vector3::from(*residual);
        weights += weight;
        squares += weight * weight;
        sum += scaled.component_mul(&scaled) * weight;
    }
    let back = metric(near).try_inverse().filter(|m| m.iter().all(|v| v.is_finite()));
    let (Some(back), false) = (back, held_out.is_empty()) else { return [WIDEST; 3] };
    let freedom = (weights * weights / squares).max(1.0);
    let factor = coverage_factor(freedom);
    let variance = back * Matrix3::from_diagonal(&(sum / weights)) * back.transpose();
    [0, 1, 2].map(|k| {
        let u = factor * variance[(k, k)].sqrt();
        if u.is_finite() { u.min(WIDEST) } else { WIDEST }
    })
}

/// t for 95 % two-sided coverage (JCGM 100:2008 table G.2), straight between entries in 1 / freedom.
pub(crate) fn coverage_factor(freedom: f64) -> f64 {
    const TABLE: [(f64, f64); 16] = [
        (1.0, 12.71),
        (2.0, 4.30),
        (3.0, 3.18),
        (4.0, 2.78),
        (5.0, 2.57),
        (6.0, 2.45),
        (7.0, 2.36),
        (8.0, 2.31),
        (9.0, 2.26),
        (10.0, 2.23),
        (12.0, 2.18),
        (15.0, 2.13),
        (20.0, 2.09),
        (30.0, 2.04),
        (50.0, 2.01),
        (100.0, 1.984),
    ];
    let normal = 1.96;
    let wanted = 1.0 / freedom.max(1.0);
    let mut last = (0.0, normal);
    for &(n, t) in TABLE.iter().rev() {
        let here = (1.0 / n, t);
        if wanted <= here.0 {
            let share = (wanted - last.0) / (here.0 - last.0);
            return last.1 + share * (here.1 - last.1);
        }
        last = here;
    }
    TABLE[0].1
}

#[cfg(test)]
mod tests {
    use super::super::CardDefinition;
    use super::super::choose::choose;
    use super::super::models::Sample;
    use super::*;
    use crate::colour::LinearRgb;

    #[test]
    fn coverage_factors_are_those_of_the_table() {
        // JCGM 100:2008, table G.2, column 95 %.
        for (freedom, t) in [(1.0, 12.71), (5.0, 2.57), (10.0, 2.23), (25.0, 2.06), (1e9, 1.96)] {
            assert!((coverage_factor(freedom) - t).abs() < 0.01, "{freedom}");
        }
    }

    /// Normal numbers by a seed (Box & Muller 1958; the generator is that of Knuth's MMIX).
    fn normal(seed: &mut u64) -> f64 {
        let mut even = || {
            *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((*seed >> 11) as f64 + 0.5) / (1u64 << 53) as f64
        };
        let (one, two) = (even(), even());
        (-2.0 * one.ln()).sqrt() * (std::f64::consts::TAU * two).cos()
    }

    /// A camera whose channels leak into each other reads cards whose patches are off their table, each by itself: what the
    /// fit gets wrong at the colours of slip, ochre, paint and clay lies inside the half-width of a surface, and one more such
    /// patch inside that of a patch.
    #[test]
    fn a_surface_lies_inside_its_half_width_and_a_patch_inside_its_own() {
        let card = CardDefinition::load("chart24-iso").unwrap();
        let colours =
            [[80.0, 1.0, 8.0], [40.0, 26.0, 22.0], [28.0, 1.0, 3.0], [54.0, 8.0, 17.0]].map(LabD50::from);
        let seen = |lab: LabD50, off: [f64; 3]| {
            let rgb = lab.to_xyz().to_linear_rgb().0.map(f64::from);
            let mixed = [0, 1, 2].map(|c| 0.8 * rgb[c] + 0.15 * rgb[(c + 1) % 3] + 0.05 * rgb[(c + 2) % 3]);
            [0, 1, 2].map(|c| 0.7 * mixed[c] * (1.0 + 0.015 * off[c]) + 0.002)
        };
        let mut seed = 7;
        let (mut looks, mut surfaces, mut patches) = (0.0, 0.0, 0.0);
        for _ in 0..40 {
            let samples: Vec<Sample> = card
                .patches
                .iter()
                .enumerate()
                .map(|(i, patch)| Sample {
                    light: seen(patch.lab, [0; 3].map(|_| normal(&mut seed))),
                    lab: patch.lab,
                    place: [(i % 6) as f64 / 6.0 - 0.4, (i / 6) as f64 / 6.0 - 0.25],
                })
                .collect();
            let correction = choose(&samples).unwrap().correction;
            let read = |light: [f64; 3]| correction.apply(LinearRgb(light.map(|v| v as f32))).to_lab();
            for lab in colours {
                let inside = |got: LabD50, u: [f64; 3]| {
                    let off = [got.l - lab.l, got.a - lab.a, got.b - lab.b];
                    off.iter().zip(u).filter(|(off, u)| off.abs() <= *u).count() as f64
                };
                let (surface, patch) =
                    (read(seen(lab, [0.0; 3])), read(seen(lab, [0; 3].map(|_| normal(&mut seed)))));
                looks += 3.0;
                surfaces += inside(surface, correction.surface_u95(surface));
                patches += inside(patch, correction.u95(patch));
            }
        }
        let (surfaces, patches) = (surfaces / looks, patches / looks);
        assert!(surfaces >= 0.95, "{surfaces} of the surfaces, {patches} of the patches");
        assert!((0.9..1.0).contains(&patches), "{surfaces} of the surfaces, {patches} of the patches");
    }

    #[test]
    fn always_finite_and_wider_where_the_patches_fit_worse() {
        let lab = |l: f64, b: f64| LabD50 { l, a: 0.0, b };
        let mut held_out: Vec<_> = (0..12).map(|i| (lab(90.0, f64::from(i)), [0.5; 3])).collect();
        held_out.extend((0..12).map(|i| (lab(20.0, f64::from(i)), [3.0; 3])));
        let (light, dark) = (u95(&held_out, lab(90.0, 5.0)), u95(&held_out, lab(20.0, 5.0)));
        assert!(light[0] < dark[0] && light[0] > 1.0);
        for near in [lab(f64::NAN, 0.0), lab(1e300, 0.0)] {
            assert!(u95(&held_out, near).iter().all(|u| u.is_finite()));
        }
        assert!(u95(&[], lab(50.0, 0.0)).iter().all(|u| u.is_finite()));
    }
}
