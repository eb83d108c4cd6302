//! Swatches of a tile ranked, graded, and told from each other.
//!
//! Comes in: the swatches of one piece, target ranges and the rule. Goes out: the same with rank, grade and the names of
//! those each cannot be told from. Two swatches differ where the vector of their L*, a*, b* differences is not 0: what card
//! and light do to both alike is no part of that. Every pair is compared, so the chance of any false difference on a tile is
//! held at 5 % by Holm's procedure (`family`).

use super::family::{LEVEL, chi_square_exceeds, holm};
use super::grade::grade;
use super::{DecisionRule, Targets};
use crate::reading::{Contrast, Grade, Reading, Surface, Swatch, Warning};
use crate::surface::Label;

/// Half-width of a 95 % interval over its standard deviation.
const COVERAGE: f64 = 1.96;
/// Least standard deviation of a difference: rounding of an 8-bit photograph, in CIELAB units.
const LEAST: f64 = 0.05;

/// Fills in rank, grade and likeness. `warnings` are those of the photograph: some forbid any grade.
pub fn judge_swatches(swatches: &mut [Swatch], warnings: &[Warning], targets: &Targets, rule: DecisionRule) {
    let mut order: Vec<usize> = (0..swatches.len()).filter(|&i| swatches[i].lab.is_some()).collect();
    let lightness = |i: &usize| swatches[*i].lab.map_or(f64::INFINITY, |lab| lab[0]);
    order.sort_by(|i, j| lightness(i).total_cmp(&lightness(j)));
    for (rank, &i) in order.iter().enumerate() {
        swatches[i].rank = Some(rank + 1);
    }
    let pairs: Vec<(usize, usize)> =
        order.iter().enumerate().flat_map(|(k, &i)| order[k + 1..].iter().map(move |&j| (i, j))).collect();
    let chances: Vec<(f64, f64)> =
        pairs.iter().map(|&(i, j)| (chance(&swatches[i], &swatches[j]), 1.0)).collect();
    for (&(i, j), adjusted) in pairs.iter().zip(holm(&chances)) {
        if adjusted > LEVEL {
            let (one, other) = (swatches[i].id.clone(), swatches[j].id.clone());
            swatches[i].like.push(other);
            swatches[j].like.push(one);
        }
    }
    for swatch in swatches.iter_mut() {
        if let Some((grade, because)) = graded(swatch, warnings, targets, rule) {
            (swatch.grade, swatch.grade_because) = (Some(grade), because);
        }
    }
}

/// The chance of a difference as large as this, or larger, between two swatches that are alike.
fn chance(one: &Swatch, other: &Swatch) -> f64 {
    let (Some(p), Some(q), Some(up), Some(uq)) = (one.lab, other.lab, one.apart_u95, other.apart_u95) else {
        return 1.0;
    };
    let square = |c: usize| {
        let sd = (up[c].hypot(uq[c]) / COVERAGE).max(LEAST);
        ((p[c] - q[c]) / sd).powi(2)
    };
    chi_square_exceeds((0..3).map(square).sum(), 3)
}

/// A swatch graded as if it were the one surface of a piece, paint with its contrast to the slip about it.
fn graded(
    swatch: &Swatch,
    warnings: &[Warning],
    targets: &Targets,
    rule: DecisionRule,
) -> Option<(Grade, Vec<String>)> {
    let (lab, u95, label) = (swatch.lab?, swatch.u95?, swatch.label?);
    let surface = Some(Surface { lab, u95, area_px: 1, ..Surface::default() });
    let mut reading = Reading { warnings: warnings.to_vec(), ..Reading::default() };
    let surfaces = &mut reading.surfaces;
    let is = |wanted: Label| label == wanted as u8;
    if is(Label::White) {
        surfaces.white = surface;
    } else if is(Label::Red) {
        surfaces.red = surface;
    } else if is(Label::Body) {
        surfaces.body = surface;
    } else if is(Label::Black) || is(Label::LostPaint) {
        surfaces.black = surface;
        reading.contrast = swatch.contrast.map(|c| Contrast {
            delta_l: c.delta_l,
            de00: c.de00,
            reflectance_ratio: c.reflectance_ratio,
            u95: c.u95,
            ..Contrast::default()
        });
    } else {
        return None;
    }
    Some(grade(&reading, targets, rule))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn swatch(id: &str, lab: [f64; 3], apart: f64) -> Swatch {
        Swatch {
            id: id.into(),
            lab: Some(lab),
            u95: Some([2.0; 3]),
            apart_u95: Some([apart; 3]),
            label: Some(Label::Black as u8),
            ..Swatch::default()
        }
    }

    #[test]
    fn ranks_run_from_the_darkest_and_only_real_differences_count() {
        let targets = Targets::load("three-colour-low-fired").expect("built in");
        let mut all = vec![
            swatch("pale", [60.0, 0.0, 5.0], 0.5),
            swatch("dark", [25.0, 0.0, 3.0], 0.5),
            swatch("dark too", [25.3, 0.0, 3.0], 0.5),
            Swatch { id: "hidden".into(), left_out: Some("edge".into()), ..Swatch::default() },
        ];
        judge_swatches(&mut all, &[], &targets, DecisionRule::default());
        let ranks: Vec<Option<usize>> = all.iter().map(|s| s.rank).collect();
        assert_eq!(ranks, [Some(3), Some(1), Some(2), None]);
        assert!(all[0].like.is_empty(), "{:?}", all[0].like);
        assert_eq!(all[1].like, ["dark too"]);
        assert_eq!(all[2].like, ["dark"]);
        assert!(all[3].grade.is_none() && all[1].grade.is_some());
    }

    #[test]
    fn a_photograph_that_forbids_a_grade_gives_its_swatches_none() {
        let targets = Targets::load("three-colour-low-fired").expect("built in");
        let warning = Warning { code: crate::reading::OVEREXPOSED.into(), text: "too bright".into() };
        let mut all = vec![swatch("dark", [25.0, 0.0, 3.0], 0.5)];
        judge_swatches(&mut all, &[warning], &targets, DecisionRule::default());
        assert_eq!(all[0].grade, Some(Grade::CannotTell));
        assert!(all[0].grade_because[0].contains("too bright"), "{:?}", all[0].grade_because);
    }

    /// Twenty swatches of one paint, read with known scatter: over many tiles at most one in twenty shows any difference.
    #[test]
    fn alike_swatches_are_rarely_told_apart() {
        let targets = Targets::load("three-colour-low-fired").expect("built in");
        let mut state = 20_261_129_u64;
        // Sum of twelve even numbers less six: near normal, standard deviation 1.
        let mut normal = || {
            (0..12)
                .map(|_| {
                    state =
                        state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                    (state >> 11) as f64 / (1u64 << 53) as f64
                })
                .sum::<f64>()
                - 6.0
        };
        let tiles = 200;
        let mut any = 0;
        for _ in 0..tiles {
            let mut all: Vec<Swatch> = (0..20)
                .map(|i| {
                    let lab = [40.0 + 0.5 * normal(), 0.5 * normal(), 5.0 + 0.5 * normal()];
                    swatch(&format!("s{i}"), lab, 0.5 * COVERAGE)
                })
                .collect();
            judge_swatches(&mut all, &[], &targets, DecisionRule::default());
            any += usize::from(all.iter().any(|s| s.like.len() < 19));
        }
        assert!(any * 100 <= tiles * 8, "{any} of {tiles}");
    }
}
