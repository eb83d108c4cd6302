//! Planted turns of analytic solids.

use super::*;
use crate::survival::drawn::{Solid, at_rest, pulls};

const SCALE: f64 = 192.0;
/// Open above its widest.
const ELLIPSOID: Solid = Solid { shape: [0.2, 0.0, -0.6], ends: [-0.2, 0.5] };
const BOWL: Solid = Solid { shape: [0.25, 0.0, -1.0], ends: [-0.05, 0.42] };

/// How a solid was turned and set down again, and the sines at which it is looked down on after the fire and before it.
#[derive(Debug)]
struct Planted {
    degrees: f64,
    sines: [f64; 2],
    lean: f64,
    size: f64,
    shift: [f64; 2],
}

impl Planted {
    /// Where the unfired solid shows what the fired one shows at a place, by parallel rays: `None` where the wall is turned
    /// away in one of them.
    fn sends(&self, solid: &Solid, place: [f64; 2]) -> Option<[f64; 2]> {
        let seen = solid.seen(self.sines[0], place)?;
        let azimuth = seen.azimuth + self.degrees.to_radians();
        let is_seen = !seen.inside && seen.azimuth.cos() > 0.35 && azimuth.cos() > 0.2;
        let (sine, cosine) = (self.sines[1], (1.0 - self.sines[1].powi(2)).sqrt());
        let x = seen.radius * azimuth.sin();
        let y = cosine * seen.along + sine * seen.radius * azimuth.cos();
        let (sin, cos) = self.lean.sin_cos();
        let turned = [cos * x - sin * y, sin * x + cos * y];
        is_seen.then(|| [0, 1].map(|c| self.size * turned[c] + self.shift[c]))
    }
}

/// How far the field of a turned solid lies off at worst, and how far the turn it says, degrees.
fn off(solid: &Solid, planted: &Planted, wild: Option<usize>) -> [f64; 2] {
    let field = at_rest([-0.55, -0.55, 0.55, 0.75]);
    let sends = |place| planted.sends(solid, place);
    let pulls = pulls(&field, SCALE, wild, sends);
    let profile = Profile::of(&solid.picture(planted.sines[0], SCALE));
    let found = turned(&profile, &field, &pulls, SCALE, 0.7).expect("enough pulls");
    let (mut worst, mut turns) = (0f64, Vec::new());
    for node in (0..found.to.len()).map(|i| field.node(i)) {
        let Some(want) = sends(node) else { continue };
        let got = found.at(node);
        worst = worst.max((got[0] - want[0]).hypot(got[1] - want[1]));
        let Some(seen) = solid.seen(planted.sines[0], node).filter(|s| s.azimuth.abs() < 0.3) else {
            continue;
        };
        // Back on the axis of the unfired one, its azimuth there.
        let [x, y] = [0, 1].map(|c| (got[c] - planted.shift[c]) / planted.size);
        let across = planted.lean.cos() * x + planted.lean.sin() * y;
        turns.push((across / seen.radius).asin().to_degrees() - seen.azimuth.to_degrees());
    }
    let turn = turns.iter().sum::<f64>() / turns.len() as f64;
    [worst, turn - planted.degrees]
}

/// The planted turn within a tenth of a degree, the field within a pixel of the picture where the wall is seen, edges and all;
/// and no less where one pull in ten goes astray by a dozen pixels.
#[test]
fn planted_turns_come_back() {
    let planted = [
        Planted { degrees: 0.0, sines: [0.3, 0.3], lean: 0.0, size: 1.0, shift: [0.0; 2] },
        Planted { degrees: 14.0, sines: [0.3, 0.2], lean: 0.04, size: 1.03, shift: [0.02, -0.03] },
        Planted { degrees: -21.0, sines: [0.4, 0.5], lean: -0.05, size: 0.96, shift: [-0.03, 0.01] },
    ];
    for (solid, planted) in [ELLIPSOID, BOWL].iter().flat_map(|solid| planted.iter().map(move |p| (solid, p)))
    {
        for wild in [None, Some(10)] {
            let [field, turn] = off(solid, planted, wild);
            assert!(
                field < 1.0 / SCALE && turn.abs() < 0.1,
                "{field} {turn}: {solid:?} {planted:?} {wild:?}"
            );
        }
    }
}

/// Set down elsewhere in the picture, by a twelfth of its size: far more than any pull may lie off.
#[test]
fn a_vessel_set_down_elsewhere_is_found() {
    for shift in [[0.0, 0.05], [0.08, 0.0], [-0.06, -0.06]] {
        let planted = Planted { degrees: 8.0, sines: [0.15, 0.35], lean: 0.02, size: 1.0, shift };
        for solid in [ELLIPSOID, BOWL] {
            let [field, turn] = off(&solid, &planted, None);
            assert!(field < 1.0 / SCALE && turn.abs() < 0.1, "{field} {turn}: {solid:?} {shift:?}");
        }
    }
}

/// Two dozen pulls are needed.
#[test]
fn too_few_pulls_bear_no_field() {
    let field = at_rest([-0.55, -0.55, 0.55, 0.75]);
    let planted = Planted { degrees: 5.0, sines: [0.3; 2], lean: 0.0, size: 1.0, shift: [0.0; 2] };
    let profile = Profile::of(&BOWL.picture(0.3, SCALE));
    for (many, is_enough) in [(0, false), (23, false), (24, true)] {
        let mut left = many;
        let sends = |place| planted.sends(&BOWL, place);
        let mut pulls = pulls(&field, SCALE, None, sends);
        for pull in pulls.iter_mut().filter(|pull| pull.is_some()) {
            if left == 0 {
                *pull = None;
            } else {
                left -= 1;
            }
        }
        assert_eq!(turned(&profile, &field, &pulls, SCALE, 0.7).is_some(), is_enough, "{many}");
    }
}
